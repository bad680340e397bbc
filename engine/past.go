package engine

import (
	"math"
	"slices"
	"sort"
	"time"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Glance is what is shown from one instant until the next at which something happened: a key, or what comes about by
// itself, as the clock's zero. Glances in a row say what changed when, so that a picture can move from the one to the
// other. They are what was seen: what was taken back later is among them, and so is its going; and what came too fast for
// the eye is not (see layers).
type Glance struct {
	At      clock.Instant // from when
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

// Memory is how long a view remembers that something changed; what changed earlier is as if it had always been so.
const Memory = 3 * time.Second

// lastMinute is what is left of a period when its last minute begins: common practice, no source.
const lastMinute = time.Minute

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
	if g.At = at; p.count == GlancesKept {
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
