// Package content is what a graphic may say: an engine view turned into words, readings and counts that
// compare with ==. It decides nothing about looks, and it is the only room of overlay that knows the engine.
package content

import "rafter/engine/clock"

// Text is a written clock reading; the zero value is no reading.
type Text = clock.Text

// Reading returns a text of at most 15 bytes as a reading, for pictures made without a game.
func Reading(s string) Text { return clock.MakeText(s) }

// MaxPlayers bounds the players shown a team: a roster of fifteen, the most that a score sheet has lines for.
// MaxPeriods bounds the periods of a game, overtimes among them.
const (
	MaxPlayers = 15
	MaxPeriods = 20
)

// Content is all that a graphic may say at one instant. Two contents that are equal make the same picture.
type Content struct {
	// Clock is the game clock, or the interval's while there is one.
	Clock   Text
	Running bool
	// Label is the period as it is shown ("1st", "OT"), or what stands in its place: "HALF", "INT", "FINAL".
	Label string
	Phase Phase
	// Next is the period that comes after this one, or after this interval; empty where none can or need come.
	Next string
	// FoulsClear holds while the team fouls begin anew with Next.
	FoulsClear bool
	Periods    Periods
	// Shot is the shot clock, empty where there is none.
	Shot  Text
	Teams [2]Team // home, away
	// Arrow is the possession arrow.
	Arrow   Side
	Timeout Timeout
	Lower   Lower
	Message string
	// PlayerLimit is the count of fouls that brings a player out; 0 where the set has none.
	PlayerLimit int
	// Ended holds from the clock's zero until the next command: the wall's lit frame.
	Ended bool
	// LastMinute holds in play while less than a minute is left of the period: common practice, no source.
	LastMinute bool
	// Winner is set once the game is over and somebody has won it.
	Winner Side
	Past   Past
	Air    Air
	Desk   Desk
}

// Periods heads the table of scores by period: those of regulation, and the overtimes so far.
type Periods struct {
	Labels [MaxPeriods]string
	Count  int // of Labels
	Begun  int // of them; what is to come has no score yet
}

// Side is a team or none.
type Side uint8

// The sides; Home and Away index Teams after Index.
const (
	None Side = iota
	Home
	Away
)

// Index returns the side's place in Teams; 0 for None.
func (s Side) Index() int {
	if s == Away {
		return 1
	}
	return 0
}

// Phase says what kind of time it is.
type Phase uint8

// The phases, in a game's order.
const (
	Before Phase = iota
	Play
	Interval
	Halftime
	Over
)

// Throws is what a team shoots.
type Throws uint8

// The throws that a lamp can stand for.
const (
	NoThrows Throws = iota
	OneAndOne
	Two
	TwoAndBall
)

// Colour is a team's colour, sRGB.
type Colour struct{ R, G, B uint8 }

// Team is one side of the board.
type Team struct {
	Name, Short string // Short is never empty unless Name is
	Colour      Colour
	Score       int
	// Fouls is the count that shows; from Limit on it changes its look. Limit 0: the set has none.
	Fouls, Limit int
	// Bonus is what this team shoots: the lamp beside it.
	Bonus    Throws
	Timeouts Timeouts
	// ByPeriod are the points made in each period. What was put right or joined under way was made in none: it is
	// Elsewhere, which with all periods comes to Score; below zero where too much was keyed.
	ByPeriod  [MaxPeriods]int
	Elsewhere int
	// Players has those on the floor whatever the roster's length, in the order of their numbers.
	Players [MaxPlayers]Player
	Count   int // of Players
	Floor   int // of Players who are on the floor
}

// Timeouts left, by kind. Kinds that a set lacks stay 0.
type Timeouts struct{ Full, Short int }

// Player is one line of a list. A Number is text, because 0 and 00 are two players; a Name may be empty, since some
// schools show minors by number only.
type Player struct {
	Number  string
	Name    string
	Points  int
	Fouls   int
	Out     bool
	OnFloor bool
}

// Timeout is the one in progress.
type Timeout struct {
	On bool
	// By names who called it: a team's short name, "OFFICIAL", "MEDIA" or both teams' names.
	By   string
	Team Side // whose it is; None for the officials', the media's and one of both teams
	// Kind is "FULL" or "SHORT" where a team has timeouts of both kinds; else empty.
	Kind string
	Text Text // time left; empty where the timeout has no length
}

// Lower is the player in the lower third; what is shown there without one is the Message.
type Lower struct {
	Team          Side
	Number, Name  string
	Points, Fouls int
}

// Empty tells whether there is no player.
func (l Lower) Empty() bool { return l.Name == "" && l.Number == "" }

// Word is what a lit lamp says; empty for one that is out.
func (t Throws) Word() string { return [...]string{"", "1+1", "BONUS", "2+BALL"}[t] }
