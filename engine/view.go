package engine

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"rafter/engine/clock"
)

// View is all that can be shown at one instant, and what `rafter run` prints as JSON. It is a reading, never
// an input: nothing is decided from it.
type View struct {
	At           Seconds            `json:"at"`
	Rules        string             `json:"rules"`
	Clock        ClockView          `json:"clock"`
	Period       PeriodView         `json:"period"`
	Interval     Maybe[TimerView]   `json:"interval"`
	Home         TeamView           `json:"home"`
	Away         TeamView           `json:"away"`
	Arrow        Side               `json:"arrow"`
	RunningClock bool               `json:"running_clock"`
	Award        Maybe[Award]       `json:"award"`
	ShotClock    Maybe[TimerView]   `json:"shot_clock"`
	Timeout      Maybe[TimeoutView] `json:"timeout"`
	// Show is the graphic that the operator has put on air; empty until one is chosen.
	Show    string        `json:"show"`
	Lower   Maybe[Lower]  `json:"lower"`
	Message Maybe[string] `json:"message"`
	Horn    bool          `json:"horn"`
	// PlayerFoulLimit is the count of fouls that brings a player out; 0 where the rule set has none.
	PlayerFoulLimit int `json:"player_foul_limit"`
	// PeriodEnded holds from the clock's zero until the next command: the wall's steady lit frame.
	PeriodEnded bool        `json:"period_ended"`
	Final       bool        `json:"final"`
	Winner      Maybe[Team] `json:"winner"`
	LastEvent   int         `json:"last_event"`
	Warnings    []Warning   `json:"warnings"`

	// What follows is for pictures alone.

	// LastMinute holds in play while less than a minute is left of the period.
	LastMinute bool     `json:"-"`
	Next       NextView `json:"-"`
	ByPeriod   ByPeriod `json:"-"`
	// Open are the occasions for a graphic to open by itself.
	Open Occasions `json:"-"`
	// Past is what a picture showed lately, the last being what it shows now, which may be late by what layers say; none,
	// where nothing has happened for Memory: then it shows the view.
	Past []Glance `json:"-"`
}

// ClockView is the game clock at the view's instant.
type ClockView struct {
	Text        clock.Text `json:"text"`
	RemainingMS int64      `json:"remaining_ms"`
	Running     bool       `json:"running"`
}

// TimerView is a clock beside the game clock: interval or shot clock.
type TimerView struct {
	Text        clock.Text `json:"text"`
	RemainingMS int64      `json:"remaining_ms"`
	Running     bool       `json:"running"`
}

// PeriodView names the period. Number goes on counting through overtimes; Label is what is shown.
type PeriodView struct {
	Number int    `json:"number"`
	Label  string `json:"label"`
	Phase  Phase  `json:"phase"`
}

// TeamView is one team's side of the board.
type TeamView struct {
	Name   string `json:"name"`
	Short  string `json:"short"`
	Colour Colour `json:"color"`
	Score  int    `json:"score"`
	// Fouls is the team's count in the span that the rule set names; FoulsShown stops where its display does.
	Fouls      int `json:"fouls"`
	FoulsShown int `json:"fouls_shown"`
	// FoulsLimit is the count from which FoulsShown changes its look: the first that brings throws.
	FoulsLimit int `json:"fouls_limit"`
	// Bonus is the lamp beside this team: what this team shoots.
	Bonus     Throws `json:"bonus"`
	BonusHeld bool   `json:"bonus_held"`
	// NextFoul is what a common foul by this team would now give the others.
	NextFoul Throws       `json:"next_foul"`
	Timeouts TimeoutsLeft `json:"timeouts"`
	Coach    CoachView    `json:"coach"`
	Players  []PlayerView `json:"players"`
}

// CoachView counts a head coach's own and indirect technicals.
type CoachView struct {
	Technicals int  `json:"technicals"`
	Indirect   int  `json:"indirect"`
	Out        bool `json:"out"`
}

// PlayerView is one player; Number is text because 0 and 00 are two players.
type PlayerView struct {
	Number     string `json:"number"`
	Name       string `json:"name"`
	Points     int    `json:"points"`
	Fouls      int    `json:"fouls"`
	Technicals int    `json:"technicals"`
	Out        bool   `json:"out"`
	OnFloor    bool   `json:"on_floor"`
}

// TimeoutView is the timeout in progress. Remaining and Text are none where it has no length.
type TimeoutView struct {
	Team        Caller            `json:"team"`
	Kind        string            `json:"kind"`
	RemainingMS Maybe[int64]      `json:"remaining_ms"`
	Text        Maybe[clock.Text] `json:"text"`
}

// Award is what the last foul gave, and to whom.
type Award struct {
	To     Team   `json:"to"`
	Throws Throws `json:"throws"`
}

// Lower is the lower third: a player's number and name, or a free line (Line alone).
type Lower struct {
	Team   Side   `json:"team"`
	Number string `json:"number"`
	Name   string `json:"name"`
	Line   string `json:"line"`
	Points int    `json:"-"` // the player's
	Fouls  int    `json:"-"`
}

// Warning tells the operator something true and worth knowing; it refuses nothing.
type Warning struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// ByPeriod is the table of points by period: the periods of regulation, and the overtimes so far.
type ByPeriod struct {
	Labels [maxPeriods]string // 1, 2, … OT, 2OT
	Count  int                // of Labels
	Begun  int                // of them
	// Points are home's and away's, made in each; what was put right or taken over was made in none.
	Points [2][maxPeriods]int
}

// NextView is the period to come.
type NextView struct {
	Label string // empty where none can or need come
	// FoulsClear tells whether the team fouls begin anew with it.
	FoulsClear bool
}

// KindLeft is the number of timeouts of one kind that are left.
type KindLeft struct {
	Kind string
	Left int
}

// TimeoutsLeft lists the kinds in the rule set's order; JSON writes it as an object.
type TimeoutsLeft struct {
	Kinds [maxTimeoutKinds]KindLeft
	Count int
}

// maxTimeoutKinds bounds the kinds of charged timeout a rule set may have: full and short today, one spare.
const maxTimeoutKinds = 3

// Maybe is a value or none; none is JSON null.
type Maybe[T any] struct {
	Value T
	OK    bool
}

// Some returns a Maybe that holds v.
func Some[T any](v T) Maybe[T] { return Maybe[T]{v, true} }

// MarshalJSON writes the value, or null.
func (m Maybe[T]) MarshalJSON() ([]byte, error) {
	if !m.OK {
		return []byte("null"), nil
	}
	return json.Marshal(m.Value)
}

// UnmarshalJSON reads a value; null is none.
func (m *Maybe[T]) UnmarshalJSON(b []byte) error {
	*m = Maybe[T]{}
	if string(b) == "null" {
		return nil
	}
	m.OK = true
	return json.Unmarshal(b, &m.Value)
}

// Seconds is an instant that JSON writes as decimal seconds, exact to the nanosecond.
type Seconds clock.Instant

// MarshalJSON writes the seconds as a decimal number: 12.4.
func (s Seconds) MarshalJSON() ([]byte, error) {
	return []byte(clock.FormatSeconds(time.Duration(s))), nil
}

// MarshalJSON writes the kinds that the rule set has as an object: {"full":2,"short":2}.
func (t TimeoutsLeft) MarshalJSON() ([]byte, error) {
	b := []byte{'{'}
	for i, k := range t.Kinds[:t.Count] {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendQuote(b, k.Kind) // a plain word
		b = strconv.AppendInt(append(b, ':'), int64(k.Left), 10)
	}
	return append(b, '}'), nil
}

// Colour is a team's colour, sRGB. The zero value is no colour; Black is set for #000000 alone, to tell it from none.
type Colour struct {
	R, G, B uint8
	Black   bool
}

// MarshalText writes #rrggbb, or nothing for no colour.
func (c Colour) MarshalText() ([]byte, error) {
	if c == (Colour{}) {
		return nil, nil
	}
	const hex = "0123456789abcdef"
	b := []byte{'#'}
	for _, v := range [3]uint8{c.R, c.G, c.B} {
		b = append(b, hex[v>>4], hex[v&15])
	}
	return b, nil
}

// UnmarshalText reads #rrggbb; nothing is no colour.
func (c *Colour) UnmarshalText(text []byte) error {
	*c = Colour{}
	if len(text) == 0 {
		return nil
	}
	n, err := strconv.ParseUint(strings.TrimPrefix(string(text), "#"), 16, 32)
	if err != nil || len(text) != 7 || text[0] != '#' {
		return Refuse(BadValue, clip(string(text)), "a colour as #b3262e", fmt.Sprintf("%q is no colour; expected one as #b3262e", clip(string(text))))
	}
	*c = Colour{R: uint8(n >> 16), G: uint8(n >> 8), B: uint8(n), Black: n == 0}
	return nil
}

func milliseconds(d time.Duration) int64 { return int64(d / time.Millisecond) }
