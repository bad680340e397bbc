package engine

import (
	"math"

	"rafter/engine/clock"
)

// A picture that changes as fast as keys may come flashes, and more than three flashes a second may harm. So what it
// shows is calm: what has changed stays for a while, and what comes sooner waits until then. The first of many keys is
// seen at once and the last in the end, whatever their rate. Source: WCAG 2.2, SC 2.3.1.

// layer is what of a glance waits together.
type layer int

// The layers: the clock's reading where it is set, and what counts, which change at once: half a flash; and what opens and
// closes, where a motion may be as much as two flashes.
const (
	clockLayer layer = iota
	countsLayer
	boardLayer
	layers
)

// stands is how long a layer stays as it is after a change.
var stands = [layers]clock.Instant{clockLayer: second / 6, countsLayer: second / 6, boardLayer: second}

const second clock.Instant = 1_000_000_000

// calmAfter is how long after a last change everything has been shown, and has stood.
const calmAfter = 2 * second

// board is a glance as things are, and which layers of it are not shown yet.
type board struct {
	Glance
	layers [layers]struct {
		stays clock.Instant // until when what is shown of it stays
		waits bool          // something else until then
	}
}

// newBoard returns a board that has stood for long.
func newBoard(g *Glance) board {
	b := board{Glance: *g}
	for l := range b.layers {
		b.layers[l].stays = g.At
	}
	return b
}

// turn goes over to a later glance.
func (b *board) turn(to *Glance) {
	for l := range layers {
		if own := &b.layers[l]; !own.waits && l.changes(&b.Glance, to) {
			if own.waits = to.At < own.stays; !own.waits {
				own.stays = to.At + stands[l]
			}
		}
	}
	b.Glance = *to
}

// due returns the first instant at which what waits is shown.
func (b *board) due() clock.Instant {
	first := clock.Instant(math.MaxInt64)
	for l := range b.layers {
		if own := &b.layers[l]; own.waits {
			first = min(first, own.stays)
		}
	}
	return first
}

// release has what is due at an instant shown.
func (b *board) release(at clock.Instant) {
	for l := range layers {
		if own := &b.layers[l]; own.waits && own.stays <= at {
			own.stays, own.waits = at+stands[l], false
		}
	}
}

// shown returns what is shown of the board after what was shown.
func (b *board) shown(was *Glance) Glance {
	g := b.Glance
	for l := range layers {
		if b.layers[l].waits {
			l.keep(&g, was)
		}
	}
	return g
}

func (l layer) changes(was, now *Glance) bool {
	switch l {
	case clockLayer:
		return was.Timed == now.Timed && was.Clock != now.First
	case countsLayer:
		return was.Teams != now.Teams || was.Arrow != now.Arrow || was.Running != now.Running || was.Ended != now.Ended ||
			was.LastMin != now.LastMin || was.Shot != now.Shot
	}
	return was.Show != now.Show || was.Open != now.Open || was.Phase != now.Phase || was.Label != now.Label ||
		was.Next != now.Next || was.Timed != now.Timed || was.Message != now.Message || was.Winner != now.Winner ||
		otherTimeout(was, now) || otherLower(was, now)
}

// keep has a glance show what was does.
func (l layer) keep(now, was *Glance) {
	switch l {
	case clockLayer:
		if was.Timed == now.Timed {
			now.Clock = was.Clock
		}
	case countsLayer:
		now.Teams, now.Arrow, now.Running = was.Teams, was.Arrow, was.Running
		now.Ended, now.LastMin, now.Shot = was.Ended, was.LastMin, was.Shot
	case boardLayer:
		if was.Timed != now.Timed {
			now.Clock, now.Running = was.Clock, was.Running
		}
		now.Show, now.Open, now.Phase, now.Label = was.Show, was.Open, was.Phase, was.Label
		now.Next, now.Timed, now.Message, now.Winner = was.Next, was.Timed, was.Message, was.Winner
		if otherTimeout(was, now) {
			now.Timeout = was.Timeout
		}
		if otherLower(was, now) {
			now.Lower = was.Lower
		}
	}
}

// otherTimeout tells whether it is another timeout, whatever is left of it; otherLower whether it is another player or
// line, whatever the counts.
func otherTimeout(was, now *Glance) bool {
	a, b := &was.Timeout, &now.Timeout
	return a.OK != b.OK || a.Value.Team != b.Value.Team || a.Value.Kind != b.Value.Kind
}

func otherLower(was, now *Glance) bool {
	a, b := &was.Lower, &now.Lower
	return a.OK != b.OK || a.Value.Team != b.Value.Team || a.Value.Number != b.Value.Number || a.Value.Name != b.Value.Name ||
		a.Value.Line != b.Value.Line
}
