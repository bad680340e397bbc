// Package enginetest makes games for tests: seeded commands, what must hold after every event, and a second,
// deliberately plain model that works everything out from the list of events. It is for tests only; nothing that
// is shipped may import it.
package enginetest

import (
	"fmt"
	"math/rand/v2"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Numbers are the jersey numbers of the invented players that the games use; all are legal in every set.
var Numbers = []string{"0", "1", "2", "3", "4", "5", "10", "11", "12", "13", "14", "15"}

// NFHS returns the set that Play's games are played by.
func NFHS() rules.Set {
	set, _ := rules.ByName("nfhs")
	return set
}

// kinds are those that any set has, the common ones more often; a game refuses what its set lacks.
var kinds = []string{"", "", "personal", "shooting", "offensive", "double", "technical", "technical", "technical1", "technical2", "bench", "indirect", "intentional",
	"unsportsmanlike", "unsportsmanlike", "disruptive", "flagrant", "flagrant1", "flagrant2", "disqualifying"}

// Random returns any command, most of them such as a table gives, some that must be refused.
func Random(r *rand.Rand) engine.Command {
	pick := func(words ...string) string { return words[r.IntN(len(words))] }
	team := engine.Team(1 + r.IntN(2))
	by := pick(Numbers...)
	c := engine.Command{Team: team}
	switch r.IntN(30) {
	case 0, 1, 2:
		return engine.Command{Do: engine.ClockStart}
	case 3, 4:
		return engine.Command{Do: engine.ClockStop}
	case 5:
		return engine.Command{Do: engine.ClockSet, Time: engine.Some(time.Duration(r.IntN(500_000)) * time.Millisecond)}
	case 6:
		return engine.Command{Do: engine.ClockNudge, Time: engine.Some(time.Duration(r.IntN(2001)-1000) * time.Millisecond)}
	case 7, 8:
		return engine.Command{Do: engine.PeriodNext}
	case 9:
		return engine.Command{Do: engine.PeriodSet, Period: 1 + r.IntN(4), Overtime: r.IntN(4) == 0}
	case 10:
		return engine.Command{Do: []engine.Verb{engine.IntervalStart, engine.IntervalStop}[r.IntN(2)]}
	case 11, 12, 13:
		c.Do, c.Points = engine.Score, r.IntN(5)-1
		if r.IntN(3) > 0 {
			c.By = by
		}
	case 14:
		c.Do, c.Count = engine.ScoreSet, r.IntN(120)
	case 15, 16, 17, 18:
		c.Do, c.Kind = engine.Foul, pick(kinds...)
		c.By = pick("", by, by, "coach")
		c.Only = engine.Only(max(0, r.IntN(8)-5))
	case 19:
		c.Do, c.Count = engine.FoulsSet, r.IntN(9)
		if r.IntN(2) == 0 {
			c.By = by
		}
	case 20:
		c.Do = []engine.Verb{engine.Control, engine.Arrow}[r.IntN(2)]
	case 21:
		return engine.Command{Do: []engine.Verb{engine.ArrowFlip, engine.ArrowOff, engine.TimeoutOfficial, engine.TimeoutEnd, engine.Horn}[r.IntN(5)]}
	case 22, 23:
		c.Do, c.Kind = engine.Timeout, pick("", "full", "short")
	case 24:
		c.Do, c.Kind, c.Count = engine.TimeoutsSet, pick("full", "short"), r.IntN(4)
	case 25:
		c.Do, c.Numbers = engine.Floor, Numbers[r.IntN(6)]+" "+Numbers[6+r.IntN(6)]
	case 26:
		c.Do, c.By, c.For = engine.Sub, by, pick(Numbers...)
	case 27:
		return engine.Command{Do: engine.Take, Scores: [2]int{r.IntN(60), r.IntN(60)}, Period: r.IntN(5),
			Fouls: engine.Maybe[[2]int]{Value: [2]int{r.IntN(7), r.IntN(7)}, OK: true}}
	case 28:
		c.Do, c.By, c.Text = engine.Roster, by, "Player (invented)"
	default:
		return engine.Command{Do: []engine.Verb{engine.BonusAuto, engine.GameOver, engine.ShotReset, engine.MessageOff}[r.IntN(4)], Team: 0}
	}
	return c
}

// Correction returns an undo, a redo, or a void or amend of one of the n events so far.
func Correction(r *rand.Rand, n int) engine.Command {
	event := 1 + r.IntN(max(n, 1))
	switch r.IntN(5) {
	case 0, 1:
		return engine.Command{Do: engine.Undo}
	case 2:
		return engine.Command{Do: engine.Redo}
	case 3:
		return engine.Command{Do: engine.Void, Event: event}
	}
	c := Random(r)
	c.Do, c.Amended, c.Event = engine.Amend, c.Do, event
	return c
}

// Step gives the game one command of the seed's, a moment after the last one; it may be refused.
func Step(r *rand.Rand, g *engine.Game, at clock.Instant) (engine.Event, bool, error) {
	c, was := Random(r), engine.None
	if g.View(at).Period.Phase == engine.Over && r.IntN(3) > 0 {
		c = engine.Command{Do: engine.Undo} // a game that is over has little left to test
	} else if r.IntN(6) == 0 {
		c = Correction(r, len(g.Events()))
	} else if r.IntN(8) == 0 {
		was = engine.Some(max(0, at-clock.Instant(r.IntN(40))*clock.Instant(time.Second)))
	}
	return g.Do([]string{"table", "phone"}[r.IntN(2)], c, at, was)
}

// Play makes a game of n events by seed. The instant is that of the last event.
func Play(seed uint64, n int) (*engine.Game, clock.Instant) { return PlayBy(NFHS(), seed, n) }

// PlayBy makes a game of n events by seed under a rule set.
func PlayBy(set rules.Set, seed uint64, n int) (*engine.Game, clock.Instant) {
	r := rand.New(rand.NewPCG(seed, 1))
	g, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		panic(fmt.Sprintf("enginetest: no game: %v", err))
	}
	at := clock.Instant(0)
	for len(g.Events()) < n {
		at += clock.Instant(r.IntN(20_000)) * clock.Instant(time.Millisecond)
		_, _, _ = Step(r, g, at) // a refusal changes nothing
	}
	return g, at
}
