package engine

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"rafter/engine/clock"
	"rafter/engine/rules"
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

// Glance is what is shown from one instant until the next at which something happened: a key, or what comes about by
// itself, as the clock's zero. Glances in a row say what changed when, so that a picture can move from the one to the
// other. They are what was seen: what was taken back later is among them, and so is its going; and what came too fast for
// the eye is not (see layer).
type Glance struct {
	At      clock.Instant // from when
	Cut     bool          // it opens or closes something within a second after the last that did: no motion
	Show    string
	Open    Occasions
	Phase   Phase
	Label   string // the period's
	Next    NextView
	Timed   bool // the clock shown is the interval's or the warm-up's
	Running bool // that clock
	Ended   bool // as View.PeriodEnded
	LastMin bool // as View.LastMinute
	Shot    bool // there is a shot clock
	Arrow   Side
	Lower   Maybe[Lower]
	Message string
	Winner  Team // once the game is over
	Teams   [2]Counts
	// Clock and Timeout are read where the glance ends: the last that was seen of them.
	Clock   clock.Text
	Timeout Maybe[TimeoutView]
	// First is the clock's reading as the glance began: not the last of the glance before where the clock was set.
	First clock.Text
}

// Counts are a team's in a Glance.
type Counts struct {
	Score, Fouls int // Fouls as they show
	Bonus        Throws
	Timeouts     [rules.TimeoutKinds]int
	Colour       Colour
}

// Occasions are what a graphic may open by itself for. One holds while it lasts and the operator has shown no graphic
// since it began.
type Occasions struct{ Timeout, Interval, Over bool }

// lastMinute is what is left of a period when its last minute begins: common practice, no source.
const lastMinute = time.Minute

// glance returns what is shown at an instant; touched is that of the last event.
func (s *State) glance(at, touched clock.Instant) Glance {
	g := Glance{
		At: at, Show: s.show, Open: s.occasions(), Phase: s.phase, Label: label(&s.rules, s.period), Next: s.nextView(at),
		Timed: s.timed(), Running: s.running(at), Ended: s.ended(at, touched), LastMin: s.inLastMinute(at), Shot: s.shotView(at).OK,
		Arrow: s.arrow, Lower: s.lowerView(), Message: s.message,
	}
	if g.Timed {
		g.Running = s.interval.Running(at)
	}
	if s.phase == Over {
		_, g.Winner = s.decided(at)
	}
	for i := range g.Teams {
		t := &s.teams[i]
		c := Counts{Score: t.score, Fouls: s.foulsOnBoard(t), Bonus: s.lamp(Team(i + 1)), Colour: t.colour}
		for k, n := range s.shownLeft(t, at) {
			c.Timeouts[k] = max(n, 0)
		}
		g.Teams[i] = c
	}
	s.read(&g, at)
	g.First = g.Clock
	return g
}

// read puts the readings of an instant into a glance.
func (s *State) read(g *Glance, at clock.Instant) {
	g.Timeout = s.timeoutView(at)
	if g.Timed {
		g.Clock = s.plain(s.interval.Remaining(at))
	} else {
		g.Clock = s.rules.Clock.Text(s.clock.Remaining(at))
	}
}

// turns returns the instants, in their order, at which the state may begin to show something else by itself; 0 for none.
// Half of them are a nanosecond after a reading, since what holds below it does not hold at it.
func (s *State) turns() (list [7]clock.Instant) {
	n := 0
	add := func(c clock.Clock, left time.Duration, after clock.Instant) {
		t, started := c.Zero()
		if !started {
			return
		}
		t = t.Add(-left) + after
		i := n
		for ; i > 0 && list[i-1] > t; i-- {
			list[i] = list[i-1]
		}
		list[i] = t
		n++
	}
	add(s.interval, 0, 0)
	add(s.clock, 0, 0)
	add(s.clock, lastMinute, 1)
	if s.shotShown && !s.shot.Started() {
		add(s.clock, s.shot.Remaining(0), 1)
	}
	if s.rules.LateTimeouts > 0 && !s.late { // whichever way the reading is cut
		add(s.clock, s.rules.LateFrom, 0)
		add(s.clock, s.rules.LateFrom+time.Second/10, 1)
		add(s.clock, s.rules.LateFrom+time.Second, 1)
	}
	return list
}

// timed tells whether the clock shown is the interval's, or the warm-up's.
func (s *State) timed() bool { return s.between() || s.phase == Before && s.rules.Warmup > 0 }

// ended tells whether the lit frame of a period's end is there: from the clock's zero until the next event.
func (s *State) ended(at, touched clock.Instant) bool {
	zero, started := s.clock.Zero()
	return started && zero <= at && touched < zero
}

func (s *State) inLastMinute(at clock.Instant) bool {
	return s.phase == Play && s.rules.Length(s.period) > 0 && s.clock.Remaining(at) < lastMinute
}

func (s *State) occasions() Occasions {
	return Occasions{
		Timeout:  s.timeout.caller != NoCaller && !s.timeout.chosen,
		Interval: s.between() && !s.chosen,
		Over:     s.phase == Over && !s.chosen,
	}
}
