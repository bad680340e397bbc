// Package ledger reads a game as a scorer's book does: what each event has come to, where the sums of it differ, and
// where it differs from a list typed from the official book. It must not change a game: the book is right, and a
// person puts the display right.
//
//	l, err := ledger.Read(game, at)
//	for _, d := range l.Sums() { fmt.Println(d) }
package ledger

import (
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Fate is what corrections have made of an event.
type Fate uint8

// An event stands as it was keyed, stands no longer, or stands for what an amend put in its place.
const (
	Live Fate = iota
	TakenBack
	Amended
)

var fateNames = [...]string{"live", "taken back", "amended"}

// String returns live, taken back or amended.
func (f Fate) String() string { return fateNames[f] }

// Entry is one event and what it has come to. Pairs are home, away.
type Entry struct {
	Event engine.Event
	Fate  Fate
	// Command is what the event stands for now: as keyed, or what an amend made of it. It does nothing where the event is
	// taken back or is itself a correction of another.
	Command engine.Command
	// Clock, Label and Phase are what the board read when the event was true, Period the period in play then.
	Clock  string
	Label  string
	Phase  engine.Phase
	Period int
	// FoulPeriod is the period that a foul keyed so belongs to.
	FoulPeriod int
	Score      [2]int // after it
	Points     [2]int // by how much it changed the score
	Fouls      [2]int // by how much it changed the team's fouls
	Named      [2]int // how much of that, set weights included, lies on a player
	Bench      [2]int // how much of that lies on the coach or the bench, and on no player
	Charged    [2]engine.TimeoutsLeft
	Moved      bool // it changed the period or its phase
	Arrow      engine.Side
}

// periods bounds the counts by period; the engine's are fewer.
const periods = 32

// Player is what a number has come to, whether still on the roster or not.
type Player struct {
	Number, Name  string
	Points, Fouls int
	Starter       bool // named on the floor before the game began
}

// team is what a team's events come to.
type team struct {
	fouls, named, bench [periods]int // by period
	ahead               int          // fouls keyed before their period began
	players             []Player
	namesScorers        bool
	namesFoulers        bool
}

// Ledger is a game, read.
type Ledger struct {
	Entries []Entry
	End     engine.View // at the instant that it was read for
	Rules   rules.Set   // as they stood at the end
	teams   [2]team
}

// mark says which period fouls belong to from an instant on.
type mark struct {
	from clock.Instant
	foul int
}

// reader plays the live events of a game once more, one by one.
type reader struct {
	l     *Ledger
	game  *engine.Game
	view  engine.View // before the event, then after it
	rules rules.Set
	marks []mark
	brief bool // what events changed is not wanted
}

// Read plays a game's live events once more, and reads its end at an instant, which must not be before the last
// event. The game is not changed. An error means that the game's own events do not go together.
func Read(g *engine.Game, at clock.Instant) (*Ledger, error) {
	opening := g.Opening()
	game, err := engine.NewGame(opening)
	if err != nil {
		return nil, err
	}
	l := &Ledger{}
	for i, setup := range [2]engine.TeamSetup{opening.Home, opening.Away} {
		for _, p := range setup.Roster {
			l.teams[i].player(p.Number).Name = p.Name
		}
	}
	r := &reader{l: l, game: game, rules: opening.Rules}
	if err := r.run(g, 0, len(g.Events())); err != nil {
		return nil, err
	}
	g.ViewInto(&l.End, at)
	l.Rules = r.rules
	return l, nil
}

// Tail returns the entries of at most n events, the last of which is the one before event number before; 0 for the last of
// all. What they changed is left out: Points, Fouls and the like.
func Tail(g *engine.Game, before, n int) ([]Entry, error) {
	game, err := engine.NewGame(g.Opening())
	if err != nil {
		return nil, err
	}
	end := len(g.Events())
	if before > 0 {
		end = min(end, before-1)
	}
	r := &reader{l: &Ledger{}, game: game, brief: true}
	err = r.run(g, max(end-n, 0), end)
	return r.l.Entries, err
}

// run reads the events with indices from to end; those before them are only played.
func (r *reader) run(g *engine.Game, from, end int) error {
	events := g.Events()
	fates, with := fatesOf(events)
	var truth *engine.Account
	for i, e := range events[:end] {
		entry := Entry{Event: e, Fate: fates[i]}
		switch {
		case fates[i] == TakenBack || isRevision(e.Command.Do):
		case fates[i] == Amended:
			entry.Command = events[with[i]-1].Command
			entry.Command.Do, entry.Command.Amended, entry.Command.Event = entry.Command.Amended, engine.NoVerb, 0
		default:
			entry.Command = e.Command
		}
		if i < from {
			if err := r.do(&entry); err != nil {
				return err
			}
			continue
		}
		if err := r.play(&entry); err != nil {
			return err
		}
		if e.Was.OK { // the reading of then, not of when it was keyed
			if truth == nil {
				truth = g.Corrected()
			}
			v := truth.View(e.Was.Value)
			entry.Clock, entry.Label, entry.Phase, entry.Period = v.Clock.Text.String(), v.Period.Label, v.Period.Phase, v.Period.Number
		}
		r.l.Entries = append(r.l.Entries, entry)
	}
	return nil
}

func isRevision(v engine.Verb) bool {
	return v == engine.Undo || v == engine.Redo || v == engine.Void || v == engine.Amend
}

// fatesOf finds what each event has come to, from the last back: only a live correction counts, and the latest amend
// of an event wins. with holds the number of that amend.
func fatesOf(events []engine.Event) (fates []Fate, with []int) {
	fates, with = make([]Fate, len(events)), make([]int, len(events))
	for i := len(events) - 1; i >= 0; i-- {
		c := &events[i].Command
		if fates[i] == TakenBack || !isRevision(c.Do) {
			continue
		}
		switch target := c.Event - 1; {
		case c.Do != engine.Amend:
			fates[target] = TakenBack
		case fates[target] == Live:
			fates[target], with[target] = Amended, i+1
		}
	}
	return fates, with
}

// play does what the event stands for and notes what that changed.
func (r *reader) play(e *Entry) error {
	at := e.Event.At
	r.game.ViewInto(&r.view, at)
	before := r.view
	before.Home.Players, before.Away.Players, before.Warnings = nil, nil, nil
	e.FoulPeriod = r.foulPeriod(e)
	if e.Command.Do != engine.NoVerb {
		if err := r.do(e); err != nil {
			return err
		}
		r.game.ViewInto(&r.view, at)
		if e.Command.Do == engine.Set {
			r.rules = r.game.Setup().Rules
		}
	}
	v := &r.view
	e.Clock, e.Label, e.Phase, e.Period = v.Clock.Text.String(), v.Period.Label, v.Period.Phase, v.Period.Number
	e.Score, e.Arrow = [2]int{v.Home.Score, v.Away.Score}, v.Arrow
	if r.brief {
		return nil
	}
	e.Points = [2]int{v.Home.Score - before.Home.Score, v.Away.Score - before.Away.Score}
	e.Moved = v.Period.Number != before.Period.Number || v.Period.Phase != before.Period.Phase
	if e.Moved {
		r.marks = append(r.marks, mark{e.Event.True(), foulPeriod(v.Period.Number, v.Period.Phase)})
		if v.Period.Phase == engine.Play {
			r.l.teams[0].ahead, r.l.teams[1].ahead = 0, 0
		}
	}
	switch e.Command.Do {
	case engine.Timeout, engine.TimeoutBoth:
		e.Charged = [2]engine.TimeoutsLeft{charged(before.Home.Timeouts, v.Home.Timeouts), charged(before.Away.Timeouts, v.Away.Timeouts)}
	default:
		r.count(e, &before)
	}
	return nil
}

// do plays what the event stands for.
func (r *reader) do(e *Entry) error {
	if e.Command.Do == engine.NoVerb {
		return nil
	}
	next := e.Event
	next.Number, next.Command = len(r.game.Events())+1, e.Command
	return r.game.Replay(next)
}

// foulPeriod returns the period that a foul keyed in that phase belongs to: before a period, that period.
func foulPeriod(period int, phase engine.Phase) int {
	if phase == engine.Interval || phase == engine.Halftime {
		return period + 1
	}
	return period
}

func (r *reader) foulPeriod(e *Entry) int {
	if !e.Event.Was.OK {
		return foulPeriod(r.view.Period.Number, r.view.Period.Phase)
	}
	period, latest := 1, clock.Instant(0)
	for _, m := range r.marks {
		if m.from <= e.Event.Was.Value && m.from >= latest {
			period, latest = m.foul, m.from
		}
	}
	return period
}

// charged returns what a call took of each kind.
func charged(before, after engine.TimeoutsLeft) engine.TimeoutsLeft {
	for i := range before.Kinds[:before.Count] {
		before.Kinds[i].Left -= after.Kinds[i].Left
	}
	return before
}
