package engine

import (
	"time"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Throws is what a foul gives.
type Throws = rules.Throws

// The throws, from nothing to two and the ball.
const (
	NoThrows   = rules.NoThrows
	One        = rules.One
	OneAndOne  = rules.OneAndOne
	Two        = rules.Two
	Three      = rules.Three
	TwoAndBall = rules.TwoAndBall
)

// Command is what a desk asks for. It is flat and compares with ==; which fields a verb takes is in the table of
// verbs, all others stay zero. A bare literal is fine: Do checks every field again.
type Command struct {
	Do Verb
	// Amended is, with Do Amend, what event number Event is to have been; the other fields are then that command's.
	Amended Verb
	Event   int // number of an event: void, amend, and undo and redo once they are resolved

	Team   Team
	Points int    // made or taken away, -99 to 99
	Count  int    // a score, fouls or timeouts left, as they are to be
	By     string // a jersey number, or coach
	For    string // sub: the player who leaves the floor
	Kind   string // of foul or timeout; with timeout both, home's
	Other  string // timeout both: away's kind
	Only   Only
	Throws Throws // the lamp held by hand

	Time     Maybe[time.Duration] // a reading, or seconds; nudge takes negative ones
	Period   int                  // from 1; with Overtime the overtime's number
	Overtime bool
	Scores   [2]int        // take: home, away
	Fouls    Maybe[[2]int] // take: home, away
	Arrow    Maybe[Side]   // take

	Numbers string // floor: jersey numbers with a space between
	Key     string // set: the rule value's name
	Text    string // set: its value; a name, a message or a graphic
	Named   bool   // Text is given though it may be empty
	Short   string // team: the short name
	Colour  Maybe[Colour]
}

// Verb is what a command does; its word is the `do` of the JSON form.
type Verb uint8

// The verbs.
const (
	NoVerb Verb = iota
	ClockStart
	ClockStop
	ClockSet
	ClockNudge
	PeriodNext
	PeriodSet
	IntervalStart
	IntervalStop
	Score
	ScoreSet
	Foul
	FoulsSet
	Bonus
	BonusAuto
	Control
	Arrow
	ArrowOff
	ArrowFlip
	Timeout
	TimeoutOfficial
	TimeoutMedia
	TimeoutBoth
	TimeoutEnd
	TimeoutsSet
	ShotStart
	ShotStop
	ShotReset
	ShotResetShort
	ShotSet
	ShotOff
	Floor
	Sub
	Take
	Show
	ShowLower
	LowerOff
	Message
	MessageOff
	Horn
	Undo
	Redo
	Void
	Amend
	Forfeit
	Default
	GameOver
	GameNew
	SetTeam
	Roster
	RosterOff
	Set
	verbCount
)

// Event is one accepted command: a line of the log. At is when it was keyed, which is what the gym shows; Was,
// where it is given, is when it was true. Command is as it was keyed, but undo and redo carry their target.
type Event struct {
	Number  int
	At      clock.Instant
	Was     Maybe[clock.Instant]
	Desk    string
	Command Command
}

// True returns the instant at which the event was true.
func (e *Event) True() clock.Instant {
	if e.Was.OK {
		return e.Was.Value
	}
	return e.At
}
