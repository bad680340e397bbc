package host

import (
	"cmp"
	"fmt"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/journal"
	"rafter/engine/rules"
)

// Ask is a command as somebody asks for it.
type Ask struct {
	Desk    string
	Command engine.Command
	Was     engine.Maybe[clock.Instant] // when it was true, where that was earlier

	// What a desk on a network says, so that it cannot act on what it does not know.

	Touched engine.Maybe[clock.Instant] // when the hand moved, on this host's clock as the desk knows it
	Seen    engine.Maybe[int64]         // the last thing published that the desk showed then
}

// MaxLate is how long an Ask may have been under way. A desk that has heard nothing for so long tells its operator that
// nothing was done, and that is then true.
const MaxLate = 2 * time.Second

// Ask has a command decided now. changed is false where it had no effect; then there is no event. The error is the
// engine's, or engine.TooLate or engine.Stale, and nothing has changed.
func (h *Host) Ask(a Ask) (ev engine.Event, changed bool, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	c := a.Command
	if h.where != "" {
		return ev, false, h.refuse(c.Do.String())
	}
	// Whole milliseconds, cut down: then the log read back as a script gives the same view.
	at := cut(h.now())
	if err := h.overtakenBy(&a, at); err != nil {
		return ev, false, err
	}
	if c.Do == engine.GameNew {
		if err = h.next(at, h.game.Setup()); err == nil {
			h.keyed(a.Desk)
			h.publish(ev)
		}
		return ev, true, err
	}
	if len(h.game.Events()) >= journal.MaxEvents {
		return ev, false, engine.Refuse(engine.AboveLimit, c.Do.String(), "game new",
			"the log of this game is full (100,000 events): begin another with game new")
	}
	ev, changed, err = h.game.Do(a.Desk, c, at, a.Was)
	if err == nil && changed {
		h.keyed(a.Desk)
		h.append(journal.Record{Event: &ev})
		h.publish(ev)
		h.answered(c)
	}
	return ev, changed, err
}

// subjects are what verbs are about, where that is more than themselves. To stop the clock is about nothing: whatever
// another hand has done, a clock that stands is the safe one.
var subjects = map[engine.Verb]engine.Verb{
	engine.ClockStart: engine.ClockSet, engine.ClockStop: engine.ClockSet, engine.ClockNudge: engine.ClockSet, engine.Take: engine.ClockSet,
	engine.PeriodNext: engine.ClockSet, engine.PeriodSet: engine.ClockSet, engine.IntervalStart: engine.ClockSet, engine.IntervalStop: engine.ClockSet,
	engine.Timeout: engine.ClockSet, engine.TimeoutBoth: engine.ClockSet, engine.TimeoutOfficial: engine.ClockSet, engine.TimeoutMedia: engine.ClockSet,
	engine.TimeoutEnd: engine.ClockSet, engine.GameOver: engine.ClockSet, engine.Forfeit: engine.ClockSet, engine.Default: engine.ClockSet,
	engine.Control: engine.Arrow, engine.ArrowOff: engine.Arrow, engine.ArrowFlip: engine.Arrow,
	engine.ScoreSet: engine.Score, engine.FoulsSet: engine.Foul, engine.BonusAuto: engine.Bonus, engine.Amend: engine.Void,
	engine.LowerOff: engine.ShowLower, engine.MessageOff: engine.Message,
}

// subject returns what two commands have in common when one hand must not give the second without knowing the first.
func subject(c *engine.Command) engine.Command {
	about := cmp.Or(subjects[c.Do], c.Do)
	switch about {
	case engine.ClockSet, engine.Arrow, engine.ShowLower:
		return engine.Command{Do: about}
	case engine.Void: // whatever it is made of
		return engine.Command{Do: about, Event: c.Event}
	}
	return engine.Command{Do: about, Team: c.Team, Event: c.Event}
}

// overtakenBy refuses what comes too late, and what was asked for by who did not know what another hand had just done.
func (h *Host) overtakenBy(a *Ask, at clock.Instant) error {
	word := a.Command.Do.String()
	if late := at.Sub(a.Touched.Value); a.Touched.OK && a.Touched.Value < at.Add(-MaxLate) {
		return engine.Refuse(engine.TooLate, word, "at most "+spoken(MaxLate)+" under way", fmt.Sprintf("this came %s after it was keyed and was not done: look, and key it again", spoken(late)))
	}
	if !a.Seen.OK || a.Command.Do == engine.ClockStop {
		return nil
	}
	w := &h.wire
	if a.Seen.Value > w.seq {
		return engine.Refuse(engine.Stale, word, "what is published now", "this desk shows what has not happened here: load its page anew, look, and key it again")
	}
	if a.Seen.Value < w.seq-keepPublished {
		return engine.Refuse(engine.Stale, word, "what is published now", "too much has happened since what this desk shows: look, and key it again")
	}
	for seq := a.Seen.Value + 1; seq <= w.seq; seq++ {
		ev := &w.ring[seq%keepPublished].Event
		switch {
		case ev.Number == 0:
			return engine.Refuse(engine.Stale, word, "this game", "another game has begun since: look, and key it again")
		case ev.Desk != a.Desk && subject(&ev.Command) == subject(&a.Command):
			return engine.Refuse(engine.Stale, word, "what is published now", fmt.Sprintf("%s has just keyed %s, which was not shown here yet: look, and key it again if it is still wanted", ev.Desk, ev.Command.Do))
		}
	}
	return nil
}

// UseRules begins another game by another rule set with the same teams and rosters, while the present one has not begun.
// The error is the engine's.
func (h *Host) UseRules(set rules.Set) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.where != "" {
		return h.refuse(set.Name)
	}
	at := cut(h.now())
	setup := h.game.Setup()
	if h.game.View(at).Period.Phase != engine.Before {
		return engine.Refuse(engine.NotNow, set.Name, "a game that has not begun", "the game has begun and keeps its rules: begin another with game new, then choose")
	}
	setup.Rules = set
	err := h.next(at, setup)
	if err == nil {
		h.publish(engine.Event{})
	}
	return err
}
