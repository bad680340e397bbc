package feed

import "rafter/engine"

// What a desk asks beside its orders, and what it is told.

// League asks for another rule set before the game has begun; teams and rosters are kept. It is answered as an order is, and
// a snapshot of the game begun anew follows.
type League struct {
	Number int64  `json:"number"`
	Rules  string `json:"rules"` // a name that Rules lists
}

// Delay asks for an output to be late, to match a camera. It is answered as an order is.
type Delay struct {
	Number int64  `json:"number"`
	Output string `json:"output"` // empty: every one
	MS     int64  `json:"ms"`     // 0 to MaxDelay
}

// MaxDelay is how late an output may be, in milliseconds.
const MaxDelay = 30_000

// AskOutputs asks a host for its outputs.
type AskOutputs struct{}

// Outputs answers AskOutputs.
type Outputs struct {
	Outputs []Output `json:"outputs"`
}

// Output is one, and how late it is.
type Output struct {
	Name string `json:"name"`
	MS   int64  `json:"delay_ms"`
}

// Standing tells a desk how things stand at the host beside the game: what is on air, and what the operator should know. It
// comes at first and whenever it is another.
type Standing struct {
	OnAir   string   `json:"on_air"`  // the graphic
	Opened  bool     `json:"opened"`  // it came by itself, and goes so
	Notices []Notice `json:"notices"` // the gravest first
}

// Notice is something that is wrong, or should be checked.
type Notice struct {
	Code  string `json:"code"`
	About string `json:"about,omitempty"` // a log, a feed or what else is meant: with the code it tells notices apart
	Text  string `json:"text"`
}

// AskLog asks a host for the events of the game, the newest first.
type AskLog struct {
	Before int `json:"before,omitempty"` // the events with a lower number; 0: the newest
}

// Entries answers AskLog.
type Entries struct {
	Entries []Entry `json:"entries"`
	More    bool    `json:"more"` // there are earlier ones
}

// MaxEntries is how many come at once, at most.
const MaxEntries = 50

// MaxRecent is how many of them a viewer's snapshot has, at most.
const MaxRecent = 12

// Entry is an event and what corrections have made of it.
type Entry struct {
	Event  engine.Event    `json:"event"` // as it was keyed
	Text   string          `json:"text"`  // the same in the words of a script
	Live   bool            `json:"live"`
	Now    *engine.Command `json:"now,omitempty"` // what an amend has put in its place
	Period string          `json:"period"`        // the board's label when it was true
	Clock  string          `json:"clock"`         // and the clock's reading
	Score  [2]int          `json:"score"`         // home and away after it
}

// AskRules asks a host for the rules of the game.
type AskRules struct{}

// Rules answers AskRules: what a desk's keys follow from.
type Rules struct {
	Name      string    `json:"name"`
	Fouls     []string  `json:"fouls"`    // the kinds that there are
	Timeouts  []string  `json:"timeouts"` // likewise
	Arrow     bool      `json:"arrow"`
	ShotClock bool      `json:"shot_clock"`
	Periods   int       `json:"periods"` // without overtimes
	PeriodMS  int64     `json:"period_ms"`
	Sets      []RuleSet `json:"sets"` // that can be chosen before the game
}

// RuleSet is one that can be chosen.
type RuleSet struct {
	Name  string `json:"name"`
	About string `json:"about"`
}
