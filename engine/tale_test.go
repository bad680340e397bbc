package engine_test

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/rules"
	"rafter/engine/script"
)

// TestTalesOfEverySet plays whole plausible games by every rule set.
func TestTalesOfEverySet(t *testing.T) {
	overtimes := 0
	for _, name := range rules.Names() {
		for seed := range uint64(2) {
			set, _ := rules.ByName(name)
			tale := enginetest.Tell(set, seed, enginetest.Real)
			checkTale(t, tale, seed)
			if v := tale.Game.View(end(tale)); v.Period.Number > set.Periods {
				overtimes++
			}
		}
	}
	if overtimes == 0 {
		t.Error("no game went into overtime: other seeds will show one")
	}
}

// TestTales draws seeds without end where a soak asks for it: with -rapid.checks=1000 some 180,000 events.
func TestTales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		checkTale(t, enginetest.Tell(set(t), seed, enginetest.Show), seed)
	})
}

func end(tale *enginetest.Tale) clock.Instant { return tale.Lines[len(tale.Lines)-1].At }

// checkTale keys a tale again, line by line, and holds the game to what must be after every event.
func checkTale(t rapid.TB, tale *enginetest.Tale, seed uint64) {
	set := tale.Setup.Rules
	fail := func(at clock.Instant, what string) {
		t.Fatalf("%s, seed %d at %s: %s", set.Name, seed, script.FormatTime(at), what)
	}
	g, err := engine.NewGame(tale.Setup)
	if err != nil {
		t.Fatal(err)
	}
	var before clock.Instant
	for i, l := range tale.Lines {
		if l.At < before {
			fail(l.At, "the tale goes back in time")
		}
		before = l.At
		if _, changed, err := g.Do("table", l.Command, l.At, l.Was); err != nil || !changed {
			fail(l.At, script.Format(l.Command)+": no event")
		}
		v := g.View(l.At)
		if wrong := enginetest.Invariants(g, l.At); wrong != nil {
			fail(l.At, strings.Join(wrong, "\n"))
		}
		if i%40 > 0 && i < len(tale.Lines)-1 {
			continue
		}
		if sum := keyed(g); v.Home.Score != sum[0] || v.Away.Score != sum[1] {
			fail(l.At, "the score is not the sum of the live events")
		}
		if wrong := enginetest.Reckon(set.Name, g.Events()).Differences(&v, l.At); wrong != nil {
			fail(l.At, strings.Join(wrong, "\n"))
		}
	}
	last := end(tale)
	v := g.View(last)
	if again := tale.Game.View(last); !reflect.DeepEqual(again, v) {
		fail(last, "keyed again it is another game")
	}
	if v.Period.Phase != engine.Over || !v.Final || !v.Winner.OK {
		fail(last, "the game is not over")
	}
	if got := flips(g); got != tale.Alternating {
		t.Fatalf("%s, seed %d: the arrow turned %d times, %d throw-ins were by it", set.Name, seed, got, tale.Alternating)
	}
	for _, w := range v.Warnings {
		if w.Code == "timeout_technical" || w.Code == "out_on_floor" && set.Squad != set.Lineup+1 {
			fail(last, w.Text)
		}
	}
	retold(t, tale, &v)
}

// keyed adds up the live events of the score.
func keyed(g *engine.Game) (sum [2]int) {
	for _, e := range live(g) {
		i := int(e.Command.Team) - 1
		switch e.Command.Do {
		case engine.Score:
			sum[i] += e.Command.Points
		case engine.ScoreSet:
			sum[i] = e.Command.Count
		}
	}
	return sum
}

func flips(g *engine.Game) (n int) {
	for _, e := range live(g) {
		if e.Command.Do == engine.ArrowFlip {
			n++
		}
	}
	return n
}

// live lists what the events have come to: corrections done, and what they took back left out.
func live(g *engine.Game) (list []engine.Event) {
	dead := map[int]bool{}
	amended := map[int]engine.Command{}
	events := g.Events()
	for i := len(events) - 1; i >= 0; i-- {
		e := events[i]
		if dead[e.Number] {
			continue
		}
		switch c := e.Command; c.Do {
		case engine.Undo, engine.Redo, engine.Void:
			dead[c.Event] = true
		case engine.Amend:
			if _, later := amended[c.Event]; !later {
				c.Do, c.Amended, c.Event = c.Amended, engine.NoVerb, 0
				amended[e.Command.Event] = c
			}
		}
	}
	for _, e := range events {
		switch e.Command.Do {
		case engine.Undo, engine.Redo, engine.Void, engine.Amend:
			continue
		}
		if c, is := amended[e.Number]; is {
			e.Command = c
		}
		if !dead[e.Number] {
			list = append(list, e)
		}
	}
	return list
}

// retold writes a tale as a script and plays that.
func retold(t rapid.TB, tale *enginetest.Tale, want *engine.View) {
	var b strings.Builder
	for i, l := range tale.Lines {
		b.WriteString(script.FormatEvent(engine.Event{Number: i + 1, At: l.At, Was: l.Was, Command: l.Command}) + "\n")
	}
	s, err := script.Parse(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	g, err := engine.NewGame(tale.Setup)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range s.Lines {
		if _, _, err := g.Do("script", l.Command, l.At, l.Was); err != nil {
			t.Fatalf("line %d: %v", l.Number, err)
		}
	}
	if v := g.View(s.Last()); !reflect.DeepEqual(v, *want) {
		t.Fatalf("%s: written as a script it is another game", tale.Setup.Rules.Name)
	}
}
