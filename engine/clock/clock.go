// Package clock keeps game time: instants, countdown clocks that are anchors and never ticked, and how a
// reading is written. It must not ask what time it is; every instant comes in as an argument.
//
//	c := clock.New(8 * time.Minute).Start(0)
//	c.Remaining(clock.Instant(12 * time.Second)) // 7:48
package clock

import "time"

// Instant is a moment of the game: nanoseconds since the log (or the script) began. Never negative.
type Instant int64

// Add returns the instant d later.
func (t Instant) Add(d time.Duration) Instant { return t + Instant(d) }

// Sub returns the time from u to t; negative if t is the earlier.
func (t Instant) Sub(u Instant) time.Duration { return time.Duration(t - u) }

// Clock counts down. While it runs it is an anchor (the instant of the start and what was left then) and its
// reading is arithmetic, so it cannot drift. The zero value stands at zero.
type Clock struct {
	anchor  Instant
	left    time.Duration // at the anchor
	started bool
}

// New returns a standing clock that shows d; below zero counts as zero.
func New(d time.Duration) Clock { return Clock{left: max(d, 0)} }

// Remaining returns what is left at t, never below zero and never above the value at the anchor: a t before
// the anchor is read as the anchor.
func (c Clock) Remaining(t Instant) time.Duration {
	if !c.started {
		return c.left
	}
	passed := max(t.Sub(c.anchor), 0)
	return max(c.left-passed, 0)
}

// Running tells whether the clock counts at t; one that has reached zero does not.
func (c Clock) Running(t Instant) bool { return c.started && c.Remaining(t) > 0 }

// Started tells whether the clock was set going and not stopped since, whatever is left.
func (c Clock) Started() bool { return c.started }

// Zero returns the instant at which a started clock reaches zero; false if it stands.
func (c Clock) Zero() (Instant, bool) { return c.anchor.Add(c.left), c.started }

// Start returns the clock counting from t; a clock that is already started is returned as it is.
func (c Clock) Start(t Instant) Clock {
	if c.started {
		return c
	}
	return Clock{anchor: t, left: c.left, started: true}
}

// Stop returns the clock standing at its reading at t.
func (c Clock) Stop(t Instant) Clock { return New(c.Remaining(t)) }

// Set returns the clock showing d at t, counting on if it was.
func (c Clock) Set(t Instant, d time.Duration) Clock {
	set := New(d)
	if c.started {
		return set.Start(t)
	}
	return set
}

// Reaches returns the instant at which a started clock reads left; false if it stands, or had no more than that
// when it was started. Zero is always reached.
func (c Clock) Reaches(left time.Duration) (Instant, bool) {
	return c.anchor.Add(c.left - left), c.started && (left < c.left || left == 0)
}
