package engine_test

import (
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/rules"
	"rafter/engine/script"
)

// set draws one of the rule sets.
func set(t *rapid.T) rules.Set {
	set, _ := rules.ByName(rapid.SampledFrom(rules.Names()).Draw(t, "rules"))
	return set
}

// game plays random commands and returns the game with its last instant; the seed is rapid's to shrink.
func game(t *rapid.T) (*engine.Game, clock.Instant) {
	return enginetest.PlayBy(set(t), rapid.Uint64().Draw(t, "seed"), rapid.IntRange(1, 60).Draw(t, "events"))
}

// told writes a game's events as the script that replays it.
func told(g *engine.Game) string {
	var b strings.Builder
	for _, e := range g.Events() {
		b.WriteString(e.Desk + " " + script.FormatEvent(e) + "\n")
	}
	return b.String()
}

// TestEngineAgreesWithThePlainModel looks at the game after each of 200 commands, most of which are taken: with
// -rapid.checks=1000, as dev soak asks for, after well over 100,000 events.
func TestEngineAgreesWithThePlainModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { agree(t, set(t), rapid.Uint64().Draw(t, "seed")) })
}

func TestEngineAgreesWithThePlainModelInEverySet(t *testing.T) {
	for _, name := range rules.Names() {
		set, _ := rules.ByName(name)
		for seed := range uint64(6) {
			agree(t, set, seed)
		}
	}
}

func agree(t rapid.TB, set rules.Set, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 7))
	g, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		t.Fatal(err)
	}
	at := clock.Instant(0)
	for range 200 {
		at += clock.Instant(r.IntN(30_000)) * clock.Instant(time.Millisecond)
		_, _, _ = enginetest.Step(r, g, at) // a refusal changes nothing
		later := at + clock.Instant(r.IntN(3_000))*clock.Instant(time.Millisecond)
		v := g.View(later)
		wrong := append(enginetest.Reckon(set.Name, g.Events()).Differences(&v, later), enginetest.Invariants(g, later)...)
		if wrong != nil {
			t.Fatalf("%s, seed %d at %d: %s\n%s", set.Name, seed, later, strings.Join(wrong, "\n"), told(g))
		}
	}
}

// TestKeyedAgainIsTheSameCorrectedGame takes an event back and keys it again for the instant at which it was true.
func TestKeyedAgainIsTheSameCorrectedGame(t *testing.T) {
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		g, err := engine.NewGame(engine.Setup{Rules: set(t)})
		if err != nil {
			t.Fatal(err)
		}
		at := clock.Instant(0)
		for range 40 {
			at += clock.Instant(1+r.IntN(20_000)) * clock.Instant(time.Millisecond) // no two at one instant
			_, _, _ = g.Do("one", enginetest.Random(r), at, engine.None)
		}
		if len(g.Events()) == 0 {
			return
		}
		e := g.Events()[r.IntN(len(g.Events()))]
		before := g.Corrected().View(at)
		if _, changed, err := g.Do("one", engine.Command{Do: engine.Void, Event: e.Number}, at, engine.None); err != nil || !changed {
			return
		}
		if _, changed, err := g.Do("one", e.Command, at, engine.Some(e.At)); err != nil || !changed {
			return
		}
		tried++
		after := g.Corrected().View(at)
		for _, v := range []*engine.View{&before, &after} { // these tell when a key was last pressed, and two more were
			v.LastEvent, v.PeriodEnded, v.Past = 0, false, nil
		}
		if !reflect.DeepEqual(before, after) {
			t.Fatalf("corrected before\n%+v\nand after\n%+v\n%s", before, after, told(g))
		}
	})
	if tried < 20 && !testing.Short() { // of which there are fewer then
		t.Errorf("only %d events were keyed again", tried)
	}
}

func TestRefusalChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, at := game(t)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "more"), 3))
		before, view := g.State(), g.View(at)
		_, changed, err := enginetest.Step(r, g, at)
		if (err != nil || !changed) && (g.State() != before || !reflect.DeepEqual(g.View(at), view)) {
			t.Fatalf("a refused command changed the game: %v\n%s", err, told(g))
		}
	})
}

func TestUndoAfterDoIsIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, at := game(t)
		c := enginetest.Random(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "command"), 3)))
		before := g.State()
		_, changed, err := g.Do("one", c, at, engine.None)
		if err != nil || !changed {
			return
		}
		after := g.State()
		if _, _, err := g.Do("one", engine.Command{Do: engine.Undo}, at, engine.None); err != nil {
			t.Fatal(err)
		}
		if g.State() != before {
			t.Fatalf("undo of %s left something behind\n%s", script.Format(c), told(g))
		}
		if _, _, err := g.Do("one", engine.Command{Do: engine.Redo}, at, engine.None); err != nil {
			t.Fatal(err)
		}
		if g.State() != after {
			t.Fatalf("redo of %s is not what was undone\n%s", script.Format(c), told(g))
		}
	})
}

func TestLogFoldsToTheLiveState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, at := game(t)
		again, err := engine.NewGame(g.Opening())
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range g.Events() {
			b, err := json.Marshal(e.Command)
			if err != nil {
				t.Fatal(err)
			}
			e.Command = engine.Command{}
			if err := json.Unmarshal(b, &e.Command); err != nil {
				t.Fatalf("%s: %v", b, err)
			}
			if err := again.Replay(e); err != nil {
				t.Fatalf("event %d: %v\n%s", e.Number, err, told(g))
			}
		}
		if !reflect.DeepEqual(again.View(at), g.View(at)) {
			t.Fatalf("the log does not fold to the live game\n%s", told(g))
		}
	})
}

func TestUntilIsWhatWasShown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		g, err := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
		if err != nil {
			t.Fatal(err)
		}
		var at, mid clock.Instant
		var shown engine.View
		for i := range 150 {
			at += clock.Instant(1+r.IntN(20_000)) * clock.Instant(time.Millisecond)
			_, _, _ = enginetest.Step(r, g, at)
			if i == 70 {
				mid, shown = at, g.View(at)
			}
		}
		if again := g.Until(mid).View(mid); !reflect.DeepEqual(again, shown) {
			t.Fatalf("at %d the game reads\n%+v\nand was shown as\n%+v", mid, again, shown)
		}
	})
}

func TestCorrectedWithoutWasIsTheShownAccount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		g, err := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
		if err != nil {
			t.Fatal(err)
		}
		at := clock.Instant(0)
		for range 60 {
			at += clock.Instant(r.IntN(20_000)) * clock.Instant(time.Millisecond)
			_, _, _ = g.Do("one", enginetest.Random(r), at, engine.None)
			if r.IntN(6) == 0 {
				_, _, _ = g.Do("one", enginetest.Correction(r, len(g.Events())), at, engine.None)
			}
		}
		got, want := g.Corrected().View(at), g.View(at)
		got.Past, want.Past = nil, nil // what was taken back was seen
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("corrected\n%+v\nshown\n%+v\n%s", got, want, told(g))
		}
	})
}

func TestNextFoulIsWhatTheFoulThenGives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, at := game(t)
		for _, team := range []engine.Team{engine.Home, engine.Away} {
			v := g.View(at)
			next := map[engine.Team]engine.Throws{engine.Home: v.Home.NextFoul, engine.Away: v.Away.NextFoul}[team]
			if _, changed, err := g.Do("one", engine.Command{Do: engine.Foul, Team: team}, at, engine.None); err != nil || !changed {
				return
			}
			if award := g.View(at).Award; !award.OK || award.Value.Throws != next || award.Value.To != team.Other() {
				t.Fatalf("next foul by %v gave %+v, announced was %v\n%s", team, award, next, told(g))
			}
		}
	})
}

func TestCommandsReadBackAsTheyWereWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
		c := enginetest.Random(r)
		if r.IntN(4) == 0 {
			c = enginetest.Correction(r, 9)
		}
		b, err := json.Marshal(c)
		if err != nil {
			return // a field too many or too few: no command
		}
		var read engine.Command
		if err := json.Unmarshal(b, &read); err != nil || read != c {
			t.Fatalf("%s reads back as %+v (%v), was %+v", b, read, err, c)
		}
		text := script.Format(c)
		if read, err := script.ParseCommand(text); err != nil || read != c {
			t.Fatalf("%q reads back as %+v (%v), was %+v", text, read, err, c)
		}
	})
}

func TestViewAllocatesNothing(t *testing.T) {
	g, at := enginetest.Play(11, 300)
	var v engine.View
	g.ViewInto(&v, at)
	if n := testing.AllocsPerRun(100, func() { at++; g.ViewInto(&v, at) }); n != 0 {
		t.Errorf("a view allocates %v times", n)
	}
}

func TestApplyAllocatesNothing(t *testing.T) {
	g, _ := enginetest.Play(11, 300)
	base, err := engine.NewGame(g.Opening())
	if err != nil {
		t.Fatal(err)
	}
	// Corrections are left out, and what ends the game or is refused without them: a refusal makes its error.
	var events []engine.Event
	state, zero := base.State(), base.State()
	for _, e := range g.Events() {
		next := state
		if engine.Decide(&state, &e) != nil {
			continue
		}
		engine.Apply(&next, &e)
		if engine.Decide(&next, &engine.Event{At: e.At, Command: engine.Command{Do: engine.ArrowOff}}) == nil {
			state, events = next, append(events, e)
		}
	}
	if len(events) < 100 {
		t.Fatalf("only %d events to apply", len(events))
	}
	if n := testing.AllocsPerRun(5, func() {
		state = zero
		for i := range events {
			engine.Apply(&state, &events[i])
		}
	}); n != 0 {
		t.Errorf("applying %d events allocates %v times", len(events), n)
	}
}
