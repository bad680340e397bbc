package engine

import (
	"slices"
	"sort"
	"time"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Glance is what the board showed from one instant until the next at which something happened: a key, or what comes
// about by itself, as the clock's zero. Glances in a row say what changed when, so that a picture can move from the one
// to the other. They follow from the live events alone: what was taken back never was.
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
}

// Counts are a team's in a Glance.
type Counts struct {
	Score, Fouls int // Fouls as they show
	Bonus        Throws
	Timeouts     [rules.TimeoutKinds]int
}

// Occasions are what a graphic may open by itself for. One holds while it lasts and the operator has shown no graphic
// since it began.
type Occasions struct{ Timeout, Interval, Over bool }

// Memory is how long a view remembers that something changed; what changed earlier is as if it had always been so.
const Memory = 3 * time.Second

// lastMinute is what is left of a period when its last minute begins: common practice, no source.
const lastMinute = time.Minute

// pastKept bounds the glances kept: in a storm of keys the oldest are forgotten.
const pastKept = 16

// past is the last glances, oldest first, up to the last event.
type past struct {
	known   bool
	count   int
	list    [pastKept]Glance
	touched clock.Instant // the instant of the last event, whatever has become of it
}

// begin forgets all but the state that the event of that instant left.
func (p *past) begin(s *State, touched clock.Instant) {
	p.known, p.count, p.touched = true, 1, touched
	p.list[0] = s.glance(touched, touched)
}

// touch lets time pass to an event. One that changes nothing, being taken back or a correction, still ends the lit frame
// of a period's end.
func (p *past) touch(s *State, at clock.Instant) {
	for _, t := range s.turns() {
		if p.last().At < t && t < at {
			p.turn(s, t)
		}
	}
	if p.touched = at; p.last().Ended {
		p.turn(s, at)
	}
	s.read(p.last(), at)
}

// event takes the state that a live event has left; touch comes before.
func (p *past) event(s *State, at clock.Instant) {
	now := s.glance(at, at)
	p.put(&now)
}

// turn notes what has come about by itself at an instant, if anything has.
func (p *past) turn(s *State, at clock.Instant) {
	now := s.glance(at, p.touched)
	if last := p.last(); differ(last, &now) {
		s.read(last, at)
		p.put(&now)
	}
}

// put appends a glance. It takes the place of one of the same instant, which nobody has seen.
func (p *past) put(g *Glance) {
	switch {
	case p.last().At == g.At:
		p.count--
	case p.count == pastKept:
		copy(p.list[:], p.list[1:])
		p.count--
	}
	p.list[p.count] = *g
	p.count++
}

func (p *past) last() *Glance { return &p.list[p.count-1] }

// since appends the glances up to an instant, the last being the present one: none, where for so long nothing happened
// that a view no longer remembers it. s is the state after the last event.
func (p *past) since(list []Glance, s *State, at clock.Instant) []Glance {
	last, turns := p.last().At, s.turns()
	for _, t := range turns {
		if t <= at {
			last = max(last, t)
		}
	}
	if at.Sub(last) >= Memory {
		return list
	}
	list = append(list, p.list[:p.count]...)
	for _, t := range turns {
		if before := &list[len(list)-1]; before.At < t && t <= at {
			if now := s.glance(t, p.touched); differ(before, &now) {
				s.read(before, t)
				list = append(list, now)
			}
		}
	}
	s.read(&list[len(list)-1], max(at, p.touched))
	return list
}

// differ tells whether two glances show something else, their readings aside.
func differ(a, b *Glance) bool {
	same := *a
	same.At, same.Clock, same.Timeout = b.At, b.Clock, b.Timeout
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
		c := Counts{Score: t.score, Fouls: s.foulsOnBoard(t), Bonus: s.lamp(Team(i + 1))}
		for k, n := range s.shownLeft(t, at) {
			c.Timeouts[k] = max(n, 0)
		}
		g.Teams[i] = c
	}
	s.read(&g, at)
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

// remember returns the glances up to the last event, folded again where something has changed since.
func (g *Game) remember() *past {
	if g.past.known {
		return &g.past
	}
	var c Command
	// The first is put in as it stands, so one instant more than is kept.
	from, instants, before := len(g.events), 0, clock.Instant(-1)
	for from > 0 && instants <= pastKept {
		from--
		if e := &g.events[from]; e.At != before && command(g.events, g.fates, from, &c) {
			instants, before = instants+1, e.At
		}
	}
	s, touched := &g.scratch, g.began
	i := g.keptBefore(from, s)
	for ; i < from; i++ {
		if e := &g.events[i]; command(g.events, g.fates, i, &c) {
			_ = s.step(&c, moment{e.At, e.True()}) // it has been folded before
		}
	}
	if from > 0 {
		touched = g.events[from-1].At
	}
	g.past.begin(s, touched)
	for ; i < len(g.events); i++ {
		e := &g.events[i]
		g.past.touch(s, e.At)
		if command(g.events, g.fates, i, &c) {
			_ = s.step(&c, moment{e.At, e.True()})
			g.past.event(s, e.At)
		}
	}
	return &g.past
}

// keptBefore puts the last state kept before event index from into s, and returns how many events are folded in it.
func (g *Game) keptBefore(from int, s *State) int {
	k := from / keepEvery
	*s = *g.kept[k]
	return k * keepEvery
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
