package engine

import (
	"math"
	"slices"
	"sort"
	"time"

	"rafter/engine/clock"
)

// Memory is how long a view remembers that something changed; what changed earlier is as if it had always been so.
const Memory = 3 * time.Second

// GlancesKept bounds the glances kept up to the last event: in a storm of keys the oldest are forgotten.
const GlancesKept = 16

// past is the last glances, oldest first, up to the last event.
type past struct {
	known       bool
	count       int
	list        [GlancesKept]Glance // as they were shown
	now, before board               // as things are, and as they were just before
	touched     clock.Instant       // the instant of the last event, whatever has become of it
}

// begin forgets all but the state that the event of that instant left.
func (p *past) begin(s *State, touched clock.Instant) {
	g := s.glance(touched, touched)
	p.known, p.count, p.touched = true, 0, touched
	p.now = newBoard(&g)
	p.before = p.now
	p.show(touched)
}

// touch lets time pass to an event. In a corrected account one that changes nothing, being taken back or a correction,
// still ends the lit frame of a period's end.
func (p *past) touch(s *State, at clock.Instant) {
	p.advance(s, at-1)
	if p.touched = at; p.now.Ended {
		p.turn(s, at)
	}
	p.read(s, at)
}

// event takes the state that an event has left; touch comes before.
func (p *past) event(s *State, at clock.Instant) {
	now := s.glance(at, at)
	p.put(&now)
}

// advance notes what comes about by itself up to an instant, and what is shown then that had to wait.
func (p *past) advance(s *State, to clock.Instant) {
	turns, k := s.turns(), 0
	for {
		for k < len(turns) && turns[k] <= p.now.At {
			k++
		}
		due := p.now.due()
		switch {
		case due <= to && (k == len(turns) || due <= turns[k]):
			p.read(s, due)
			p.now.release(due)
			p.show(due)
		case k < len(turns) && turns[k] <= to:
			p.turn(s, turns[k])
			k++
		default:
			return
		}
	}
}

// turn notes what has come about by itself at an instant, if anything has.
func (p *past) turn(s *State, at clock.Instant) {
	if now := s.glance(at, p.touched); differ(&p.now.Glance, &now) {
		p.read(s, at)
		p.put(&now)
	}
}

// put goes over to a glance. It takes the place of one of the same instant, which nobody has seen.
func (p *past) put(g *Glance) {
	if p.now.At == g.At {
		p.now = p.before
	} else {
		p.before = p.now
	}
	p.now.turn(g)
	p.show(g.At)
}

// show appends what is shown of the board from an instant on.
func (p *past) show(at clock.Instant) {
	if p.count > 0 && p.last().At == at {
		p.count--
	}
	g := p.now.Glance
	if p.count > 0 {
		g = p.now.shown(p.last())
	}
	if g.At, g.Cut = at, p.now.cuts(at); p.count == GlancesKept {
		copy(p.list[:], p.list[1:])
		p.count--
	}
	p.list[p.count] = g
	p.count++
}

// read puts the readings of an instant into the last glance.
func (p *past) read(s *State, at clock.Instant) {
	s.read(&p.now.Glance, at)
	last := p.last()
	g := p.now.shown(last)
	last.Clock, last.Timeout = g.Clock, g.Timeout
}

func (p *past) last() *Glance { return &p.list[p.count-1] }

// since appends the glances up to an instant, the last being the present one: none, where for so long nothing happened
// that a view no longer remembers it. s is the state after the last event.
func (p *past) since(list []Glance, s *State, at clock.Instant) []Glance {
	last := p.now.At
	for _, t := range s.turns() {
		if t <= at {
			last = max(last, t)
		}
	}
	if at.Sub(last) >= Memory {
		return list
	}
	q := *p
	q.advance(s, at)
	q.read(s, max(at, p.touched))
	return append(list, q.list[:q.count]...)
}

// differ tells whether two glances show something else, their readings aside.
func differ(a, b *Glance) bool {
	same := *a
	same.At, same.Clock, same.First, same.Timeout = b.At, b.Clock, b.First, b.Timeout
	return same != *b
}

// remember returns the glances up to the last event. A game that did not keep them from event to event, as one that a log
// was read into, plays the last events once more.
func (g *Game) remember() *past {
	if g.past.known {
		return &g.past
	}
	// The first is put in as it stands, so one instant more than is kept; and nothing may have waited then.
	from, instants, after := len(g.events), 0, clock.Instant(math.MaxInt64)
	for ; from > 0; from-- {
		at := g.events[from-1].At
		if instants > GlancesKept && after-at >= 2*calmAfter {
			break
		}
		if at != after {
			instants, after = instants+1, at
		}
	}
	again := g.first(from)
	again.past.begin(&again.state, again.last())
	for _, e := range g.events[from:] {
		_ = again.replay(e, true) // it has been played before and cannot fail
	}
	g.past = again.past
	return &g.past
}

// A picture that changes as fast as keys may come flashes, and more than three flashes a second, each a change and one
// back, may harm. So what it shows is calm: a few changes a second are shown at once, and one more waits until the first of
// them is a second old. Source: WCAG 2.2, SC 2.3.1.

// layer is what of a glance has its changes counted together.
type layer int

// The layers: what opens and closes; what counts; and the clock's reading where it is set.
const (
	boardLayer layer = iota
	countsLayer
	clockLayer
	layers
)

// atOnce is how many changes of a layer are shown at once in any second: six of what is there at once. The board's first
// may be a motion, which is up to four changes; the others are cuts (see Glance.Cut).
var atOnce = [layers]int{boardLayer: 3, countsLayer: mostAtOnce, clockLayer: mostAtOnce}

const mostAtOnce = 6

const second clock.Instant = 1_000_000_000

// calmAfter is how long after a last change everything has been shown, and is a second old.
const calmAfter = 2 * second

// lately is how a layer has changed of late.
type lately struct {
	shown [mostAtOnce]clock.Instant // when, the latest first
	waits bool                      // a change that is not shown yet
}

// board is a glance as things are, and which layers of it are not shown yet.
type board struct {
	Glance
	layers [layers]lately
}

// newBoard returns a board that has stood for long.
func newBoard(g *Glance) board {
	b := board{Glance: *g}
	for l := range b.layers {
		for i := range b.layers[l].shown {
			b.layers[l].shown[i] = g.At - second
		}
	}
	return b
}

// turn goes over to a later glance. What changes with the board is a part of the board's change.
func (b *board) turn(to *Glance) {
	for l := range layers {
		switch {
		case b.layers[l].waits || !l.changes(&b.Glance, to) || b.layers[boardLayer].shown[0] == to.At:
		case to.At < b.free(l):
			b.layers[l].waits = true
		default:
			b.change(l, to.At)
		}
	}
	b.Glance = *to
}

// free returns from when a layer may change.
func (b *board) free(l layer) clock.Instant { return b.layers[l].shown[atOnce[l]-1] + second }

// change shows a layer as it is, and with the board all.
func (b *board) change(l layer, at clock.Instant) {
	own := &b.layers[l]
	copy(own.shown[1:], own.shown[:])
	own.shown[0], own.waits = at, false
	for i := range b.layers {
		b.layers[i].waits = b.layers[i].waits && l != boardLayer
	}
}

// due returns the first instant at which what waits is shown.
func (b *board) due() clock.Instant {
	first := clock.Instant(math.MaxInt64)
	for l := range layers {
		if b.layers[l].waits {
			first = min(first, b.free(l))
		}
	}
	return first
}

// release has what is due at an instant shown.
func (b *board) release(at clock.Instant) {
	for l := range layers {
		if b.layers[l].waits && b.free(l) <= at {
			b.change(l, at)
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

// cuts tells whether the board has changed at an instant, less than a second after it last did.
func (b *board) cuts(at clock.Instant) bool {
	last := &b.layers[boardLayer].shown
	return last[0] == at && at-last[1] < second
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
			now.Clock = was.Clock
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

// TimelineKeeps is how far back a Timeline reaches: the longest delay of an output, and some seconds to spare.
const TimelineKeeps = 35 * time.Second

// maxSeen bounds what a Timeline holds, some 12 KB each: 58 events a second for all the time it keeps. In a storm of more
// the earliest are forgotten.
const maxSeen = 2048

// Timeline is what was shown lately, so that a picture can be late by some seconds and still be exact: at each instant it
// knows the game as it stood then, what was put right later not yet being so. One timeline goes on over games that follow
// one another. Its instants are those of any clock that never goes back; a game's own are behind by a shift. The zero
// value is empty. It is not safe for concurrent use.
type Timeline struct {
	list []*seen // in the order of from; the first holds for all that was before
}

// seen is a game as it stood from one instant of the timeline until the next.
type seen struct {
	from, shift clock.Instant
	state       State
	past        past
	warnings    []Warning
	touched     clock.Instant
	number      int
}

// Add notes the game as it stands after its last event, or as it began. shift is what the game's instants are behind the
// timeline's; it must not be less than that of the Add before.
func (t *Timeline) Add(g *Game, shift clock.Instant) {
	from := g.last() + shift
	s := t.place(from)
	s.from, s.shift, s.touched, s.number = from, shift, g.last(), len(g.events)
	s.state, s.past = g.state, *g.remember()
	s.warnings = append(s.warnings[:0], g.warnings()...)
}

// place returns what is to be filled in for an instant, at the end of the list.
func (t *Timeline) place(from clock.Instant) *seen {
	if n := len(t.list); n > 0 && t.list[n-1].from >= from {
		return t.list[n-1] // of the same instant: nobody has seen it
	}
	old := 0
	for old+1 < len(t.list) && t.list[old+1].from <= from.Add(-TimelineKeeps) {
		old++
	}
	if len(t.list)-old == maxSeen {
		old++
	}
	s := &seen{}
	if old > 0 {
		s = t.list[0] // forgotten; it serves again
		t.list = slices.Delete(t.list, 0, old)
	}
	t.list = append(t.list, s)
	return s
}

// Append puts what another timeline holds behind what this one does, as when a game begins that has been played elsewhere.
// What the other has before this one's last Add is left out; it must not be used any more.
func (t *Timeline) Append(later *Timeline) {
	for _, s := range later.list {
		*t.place(s.from) = *s
	}
}

// ViewInto writes what was shown at an instant of the timeline into v, whose lists it reuses; with that it allocates
// nothing. The view's own instant is the game's. Before all that is remembered it is the earliest that is. Nothing is
// written while the timeline is empty.
func (t *Timeline) ViewInto(v *View, at clock.Instant) {
	if len(t.list) == 0 {
		return
	}
	i := max(sort.Search(len(t.list), func(i int) bool { return t.list[i].from > at })-1, 0)
	s := t.list[i]
	s.state.viewInto(v, s.warnings, &s.past, max(at, s.from)-s.shift, s.touched, s.number)
}
