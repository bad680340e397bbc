package content

import "rafter/engine/clock"

// Instant is a time of the game's own, in nanoseconds.
type Instant = clock.Instant

// Past is how things were before they last changed, as far as a motion can still show it: what changed longer
// ago than the engine remembers is zero. It is a function of the events alone, never of what was drawn.
type Past struct {
	Show     Was[string] // the graphic on air; empty for the first
	Phase    Was[Phase]
	Label    Was[string]
	Running  Was[bool]
	Ended    Was[bool]
	LastMin  Was[bool]
	Shot     Was[bool] // whether there was one
	Arrow    Was[Side]
	Timeout  Was[Timeout]
	Lower    Was[Lower]
	Message  Was[string]
	Winner   Was[Side]
	Score    [2]Was[int]
	Fouls    [2]Was[int]
	Bonus    [2]Was[Throws]
	Timeouts [2]Was[Timeouts]
}

// Was is a value that is no longer, and when it changed last; Changed is false where it did not lately.
type Was[T comparable] struct {
	Value   T
	At      Instant // of the change from Value to what is now
	Before  Instant // of the change to Value, 0 where that is not known: how calm it has been
	Changed bool
}

// Air is when the graphic that is drawn came on air and, while it goes, when it went off. In the zero value it has
// been there for long and stays.
type Air struct {
	Opened, Closed   Instant
	Opening, Closing bool // whether the instant is known
}
