package engine

import (
	"fmt"
	"slices"

	"rafter/engine/clock"
)

// Decide tells whether a live event's command can be done in that state. It writes nothing.
func Decide(s *State, e *Event) *Error {
	next := *s
	c := e.Command
	return next.step(&c, moment{e.At, e.True()})
}

// Apply puts an event that Decide let pass into the state; it allocates nothing. An event that cannot be done
// leaves the state as it was.
func Apply(s *State, e *Event) { _ = s.step(&e.Command, moment{e.At, e.True()}) }

// step decides a command and puts it into the state. After an error the counts and phases are as they were; only
// what has come about by itself may be written down.
func (s *State) step(c *Command, m moment) *Error {
	v := &verbs[c.Do]
	s.settle(m.at)
	if v.decide == nil {
		return Refuse(UnknownCommand, v.name, "a command of the game", "that is no command of the game itself")
	}
	if s.phase == Over && !v.always {
		return Refuse(GameIsOver, v.name, "undo, redo, void, amend or game new", "the game is over: next comes game new; take the end back with undo, or put a mistake right with void or amend")
	}
	if err := v.decide(s, c, m); err != nil {
		return err
	}
	v.apply(s, c, m)
	return nil
}

// keepEvery is how far apart the states are kept from which a correction folds again: an undo of the last event
// then folds at most that many, and 2,000 events keep 32 states.
const keepEvery = 64

// Game is a game under way: its events, and the state that the live ones come to. It is not safe for concurrent
// use; a Clone may be read elsewhere.
type Game struct {
	opening Setup
	began   clock.Instant
	base    State // before the first event
	events  []Event
	fates   []fate // one an event, written in place
	state   State
	kept    []*State // kept[k] is after k times keepEvery events; each written once, and the same one while nothing changes
	scratch State    // where a command is tried
	given   Event    // the event being replayed
	warned  warned
	past    past
}

// fate says what corrections have made of an event. What a correction is and what it is about stands beside it,
// since each correction looks through all the fates: 16 bytes an event, not the 300 of an Event.
type fate struct {
	do     Verb
	target int32 // of a correction: the index of the event that it is about
	struck int32 // the live undos, redos and voids that take it back; 0: it is live
	with   int32 // the number of the live amend that replaces its command, the latest; 0: none
}

// NewGame begins a game at instant 0. A setup that no script could make is refused.
func NewGame(setup Setup) (*Game, error) { return newGame(setup, 0) }

func newGame(setup Setup, at clock.Instant) (*Game, error) {
	if err := setup.Rules.Check(); err != nil {
		return nil, RefuseRule(err)
	}
	g := &Game{began: at}
	s := &g.base
	s.rules = setup.Rules
	s.teams[0].name, s.teams[0].colour = DefaultHome, defaultColours[0]
	s.teams[1].name, s.teams[1].colour = DefaultAway, defaultColours[1]
	s.begin()
	for _, c := range setup.commands() {
		if err := g.Prepare(c); err != nil {
			return nil, err
		}
	}
	g.prepared()
	return g, nil
}

// Prepare changes the setup before the first event: team, roster and set, as a script's directives do.
func (g *Game) Prepare(c Command) error {
	if c.Do != SetTeam && c.Do != Roster && c.Do != RosterOff && c.Do != Set {
		return Refuse(NotNow, c.Do.String(), "team, roster or set", "only team, roster and set may stand before the game")
	}
	if len(g.events) > 0 {
		return Refuse(OutOfOrder, c.Do.String(), "an event", "the game has begun; give the command a time")
	}
	if err := check(&c); err != nil {
		return err
	}
	if err := g.base.step(&c, moment{g.began, g.began}); err != nil {
		return err
	}
	g.prepared()
	return nil
}

func (g *Game) prepared() {
	g.state, g.opening = g.base, g.base.setup()
	first := g.base
	g.kept = []*State{&first}
	g.warned, g.past.known = warned{}, false
}

// Do decides a command that a desk gives at an instant, and was the instant at which it was true where that was
// earlier. An instant before the last event's is read as the last event's. The error is an *Error and nothing has
// changed; without an effect changed is false and there is no event, unless it is told later than it was true.
// GameNew clears the game and keeps its setup: it is no event, changed is true, and numbers begin at 1 again.
func (g *Game) Do(desk string, c Command, at clock.Instant, was Maybe[clock.Instant]) (ev Event, changed bool, err error) {
	at = max(at, g.last())
	if e := g.admit(desk, &c, at, was); e != nil {
		return Event{}, false, e
	}
	ev = Event{Number: len(g.events) + 1, At: at, Was: was, Desk: desk, Command: c}
	switch {
	case c.Do == GameNew:
		next, err := newGame(g.state.setup(), at)
		if err != nil {
			return Event{}, false, err
		}
		*g = *next
		return Event{}, true, nil
	case isRevision(c.Do):
		changed, e := g.revise(&ev, false)
		if e != nil {
			return Event{}, false, e
		}
		return ev, changed, nil
	}
	next := &g.scratch
	*next = g.state
	next.settle(at)
	settled := *next
	if e := next.step(&ev.Command, moment{at, ev.True()}); e != nil {
		return Event{}, false, e
	}
	if *next == settled && ev.True() == at { // told later, it may yet change what was true
		return Event{}, false, nil
	}
	g.pass(at)
	g.state = *next
	g.add(ev)
	return ev, true, nil
}

// admit refuses what is wrong with a command whatever the state.
func (g *Game) admit(desk string, c *Command, at clock.Instant, was Maybe[clock.Instant]) *Error {
	if err := check(c); err != nil {
		return err
	}
	if !isText(desk, 0, 40) {
		return Refuse(BadValue, clip(desk), "a desk's name of at most 40 characters", "the desk's name is too long or has control characters")
	}
	if !was.OK {
		return nil
	}
	text := clock.FormatSeconds(was.Value.Sub(0))
	switch {
	case isRevision(c.Do) || c.Do == GameNew:
		return Refuse(BadWas, text, "no was", fmt.Sprintf("%s acts when it is keyed and takes no was", c.Do))
	case was.Value > at || was.Value < g.began:
		return Refuse(BadWas, text, fmt.Sprintf("%s to %s", clock.FormatSeconds(g.began.Sub(0)), clock.FormatSeconds(at.Sub(0))), "was must not be later than its own time, nor before the game")
	}
	return nil
}

// Replay adds an event as a log has it: by the same path as Do, its number, times and desk as they were.
func (g *Game) Replay(ev Event) error { return g.replay(ev, false) }

// Follow is Replay for a game that was published without its players' names: an amend that put right no more than a
// name is an event there too, though it changes nothing, so that numbers stay as they are.
func (g *Game) Follow(ev Event) error { return g.replay(ev, true) }

func (g *Game) replay(ev Event, idle bool) error {
	if ev.Number != len(g.events)+1 || ev.At < g.last() {
		return Refuse(OutOfOrder, fmt.Sprint(ev.Number), fmt.Sprint(len(g.events)+1), fmt.Sprintf("event %d does not follow event %d", ev.Number, len(g.events)))
	}
	if ev.Command.Do == GameNew {
		return Refuse(UnknownCommand, "game_new", "an event", "game new begins a log of its own and is in none")
	}
	g.given = ev
	c := &g.given.Command
	if e := g.admit(ev.Desk, c, ev.At, ev.Was); e != nil {
		return e
	}
	if isRevision(c.Do) {
		changed, e := g.revise(&g.given, idle)
		if e == nil && !changed {
			e = Refuse(OutOfOrder, ev.Command.Do.String(), "an event with an effect", fmt.Sprintf("event %d takes nothing back and puts nothing right", ev.Number))
		}
		if e != nil {
			return e
		}
		return nil
	}
	g.pass(ev.At)
	if e := g.state.step(c, moment{ev.At, ev.True()}); e != nil {
		_ = g.refold(len(g.events)) // the state as it was; this has been folded before and cannot fail
		return e
	}
	g.add(ev)
	return nil
}

func (g *Game) add(ev Event) {
	g.events, g.fates = append(g.events, ev), append(g.fates, fate{do: ev.Command.Do})
	if len(g.events)%keepEvery == 0 {
		now := g.state
		g.kept = append(g.kept, &now)
	}
	g.warned.known = false
	g.note(ev.At)
}

// pass lets time pass to an event that changes the state next; note takes the state that it has left. While nobody asks
// for the past it is not kept.
func (g *Game) pass(at clock.Instant) {
	if g.past.known {
		g.past.touch(&g.state, at)
	}
}

func (g *Game) note(at clock.Instant) {
	if g.past.known {
		g.past.event(&g.state, at)
	}
}

// Grow makes room for n more events, so that a long log is played without moving them.
func (g *Game) Grow(n int) { g.events, g.fates = slices.Grow(g.events, n), slices.Grow(g.fates, n) }

// last returns the instant of the last event, or of the game's beginning.
func (g *Game) last() clock.Instant {
	if len(g.events) == 0 {
		return g.began
	}
	return g.events[len(g.events)-1].At
}

// Events lists all events so far, those taken back among them. Nobody may write it.
func (g *Game) Events() []Event { return g.events[:len(g.events):len(g.events)] }

// Opening returns the setup before the first event: the log's first line.
func (g *Game) Opening() Setup { return g.opening }

// Setup returns the setup as it stands, as `game new` keeps it.
func (g *Game) Setup() Setup { return g.state.setup() }

// State returns a copy of the state after the last event.
func (g *Game) State() State { return g.state }

// Began returns the instant at which the game began: 0, or that of `game new`.
func (g *Game) Began() clock.Instant { return g.began }

// Clone returns a game that goes its own way from here. Events are shared, not copied.
func (g *Game) Clone() *Game {
	c := *g
	c.events, c.fates, c.kept = slices.Clip(g.events), slices.Clone(g.fates), slices.Clip(g.kept)
	return &c
}

// Until returns the game as it was shown at an instant: the events keyed up to it.
func (g *Game) Until(at clock.Instant) *Game {
	n, _ := slices.BinarySearchFunc(g.events, at, func(e Event, t clock.Instant) int {
		if e.At <= t {
			return -1
		}
		return 1
	})
	return g.first(n)
}

// first returns the game as it was after its first n events.
func (g *Game) first(n int) *Game {
	c := g.Clone()
	c.events = slices.Clip(g.events[:n])
	c.warned = warned{}
	c.fates = nil
	for i := range c.events {
		c.fates = append(c.fates, fateOf(&c.events[i]))
		act(c.fates, i, 1)
	}
	from := 0
	for from < n && c.fates[from] == g.fates[from] {
		from++
	}
	// Every prefix of a game has been folded before, so this cannot fail.
	_ = c.refold(from)
	return c
}

// fateOf is an event's fate before any correction.
func fateOf(e *Event) fate {
	f := fate{do: e.Command.Do}
	if isRevision(f.do) {
		f.target = int32(e.Command.Event - 1)
	}
	return f
}

// act counts what event i does to its target, where it is a correction that has come to life (by 1) or has been taken
// back (by -1). A target that is itself a correction then ceases or begins to act, and so on: it is always earlier. The
// result is the earliest event whose fate changed in earnest, or len(fates).
func act(fates []fate, i int, by int32) (first int) {
	first = len(fates)
	for {
		f := fates[i]
		t := &fates[f.target]
		switch f.do {
		case Undo, Redo, Void:
			was := t.struck
			t.struck += by
			if (was == 0) == (t.struck == 0) {
				return first
			}
			first, i, by = int(f.target), int(f.target), -by
		case Amend:
			if by > 0 {
				t.with = max(t.with, int32(i+1))
			} else if t.with == int32(i+1) {
				t.with = amendBefore(fates, i)
			}
			return int(f.target)
		default:
			return first
		}
	}
}

// amendBefore returns the number of the latest live amend before i of the same event; 0 for none.
func amendBefore(fates []fate, i int) int32 {
	for k := i - 1; k > int(fates[i].target); k-- {
		if f := &fates[k]; f.do == Amend && f.struck == 0 && f.target == fates[i].target {
			return int32(k + 1)
		}
	}
	return 0
}

// command returns what event i now stands for; false where it stands for nothing.
func command(events []Event, fates []fate, i int, c *Command) bool {
	f := &fates[i]
	if f.struck > 0 || isRevision(f.do) {
		return false
	}
	*c = events[i].Command
	if f.with > 0 {
		*c = events[f.with-1].Command.played()
	}
	return true
}

// refold folds the events from the kept state before event index from. After an error g is half folded.
func (g *Game) refold(from int) *broken {
	k := from / keepEvery
	g.kept = slices.Clip(g.kept[:k+1])
	last := g.kept[k] // nil: the state has changed since
	g.state = *last
	var c Command
	for i := k * keepEvery; i < len(g.events); i++ {
		if command(g.events, g.fates, i, &c) {
			e := &g.events[i]
			if err := g.state.step(&c, moment{e.At, e.True()}); err != nil {
				return &broken{e.Number, err}
			}
			last = nil
		}
		if (i+1)%keepEvery == 0 {
			if last == nil {
				now := g.state
				last = &now
			}
			g.kept = append(g.kept, last)
		}
	}
	g.warned.known, g.past.known = false, false
	return nil
}

// broken is an event that can no longer be.
type broken struct {
	number int
	err    *Error
}

// revise takes back or puts right: it resolves the target, and folds again from the first event whose fate changes. With
// idle an amend to what the event is already counts as a change.
func (g *Game) revise(ev *Event, idle bool) (changed bool, err *Error) {
	if err := g.target(ev); err != nil {
		return false, err
	}
	c := &ev.Command
	if g.fates[c.Event-1].struck > 0 {
		return false, nil // it is taken back already
	}
	if c.Do == Amend && !idle {
		var now Command
		command(g.events, g.fates, c.Event-1, &now)
		if now == c.played() {
			return false, nil
		}
	}
	old := *g
	g.pass(ev.At)
	g.events = append(g.events, *ev) // beyond the length that old and every clone see
	g.fates = append(g.fates, fateOf(ev))
	last := len(old.fates)
	if b := g.refold(act(g.fates, last, 1)); b != nil {
		act(g.fates, last, -1)
		*g = old
		if c.Do == Amend && b.number == c.Event {
			return false, b.err
		}
		return false, Refuse(WouldBreak, fmt.Sprint(b.number), "a correction that the later events allow",
			fmt.Sprintf("event %d would no longer be possible: %s; take that back first", b.number, b.err.Message))
	}
	g.past.known = old.past.known
	g.note(ev.At)
	return true, nil
}

// target finds or checks the event that a revision is about.
func (g *Game) target(ev *Event) *Error {
	c := &ev.Command
	if c.Event == 0 {
		switch c.Do {
		case Undo:
			c.Event = g.undoable(ev.Desk)
		case Redo:
			c.Event = g.redoable(ev.Desk)
		}
		if c.Event == 0 && c.Do == Redo {
			return Refuse(NothingToRedo, "redo", "an undo with no command after it", "there is nothing to redo")
		}
		if c.Event == 0 {
			return Refuse(NothingToUndo, "undo", "an event of this desk", "there is nothing to undo")
		}
	}
	if c.Event > len(g.events) {
		return Refuse(UnknownEvent, fmt.Sprint(c.Event), fmt.Sprintf("an event's number, at most %d", len(g.events)), fmt.Sprintf("there is no event %d; the game has %d so far", c.Event, len(g.events)))
	}
	of := g.events[c.Event-1].Command.Do
	switch {
	case c.Do == Undo && (of == Undo || of == Redo || of == Void):
		return Refuse(NothingToUndo, fmt.Sprint(c.Event), "an event of the game", fmt.Sprintf("event %d takes something back itself; use redo, or void %d", c.Event, c.Event))
	case c.Do == Redo && of != Undo:
		return Refuse(NothingToRedo, fmt.Sprint(c.Event), "the number of an undo", fmt.Sprintf("event %d is no undo", c.Event))
	case c.Do == Amend && isRevision(of):
		return Refuse(CannotAmend, fmt.Sprint(c.Event), "an event of the game", fmt.Sprintf("event %d takes back or puts right another; void it instead", c.Event))
	case c.Do == Amend && g.fates[c.Event-1].struck > 0:
		return Refuse(CannotAmend, fmt.Sprint(c.Event), "a live event", fmt.Sprintf("event %d has been taken back; bring it back first", c.Event))
	}
	return nil
}

// undoable returns the latest live event of the desk that is not itself undo, redo or void; 0: none.
func (g *Game) undoable(desk string) int {
	for i := len(g.fates) - 1; i >= 0; i-- {
		if f := &g.fates[i]; f.struck == 0 && f.do != Undo && f.do != Redo && f.do != Void && g.events[i].Desk == desk {
			return i + 1
		}
	}
	return 0
}

// redoable returns the desk's latest live undo, unless the desk has given a new command since; 0: none.
func (g *Game) redoable(desk string) int {
	for i := len(g.fates) - 1; i >= 0; i-- {
		switch f := &g.fates[i]; {
		case f.do == Redo, f.do == Undo && f.struck > 0, g.events[i].Desk != desk:
		case f.do == Undo:
			return i + 1
		default:
			return 0
		}
	}
	return 0
}
