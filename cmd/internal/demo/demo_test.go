package demo_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"rafter/cmd/internal/demo"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/script"
)

// seed makes a game that goes through every state, and in which something happens at once.
const seed = 13638

var write = flag.Bool("write", false, "make demo.game anew from its seed")

// made writes the tale of a seed as a script.
func made(seed uint64) string {
	book := enginetest.NFHS()
	set := book
	set.ShotClock = true
	tale := enginetest.Tell(set, seed, enginetest.Show)
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# The demo: both teams and all players are invented; any likeness is chance.")
	line("#")
	line("# Made from seed %d by the generator of games in engine/enginetest; `go test ./cmd/internal/demo -write` makes it", seed)
	line("# anew. It plays itself in three to four minutes: the clock runs as in a game, and while it stands the script goes on")
	line("# to the next moment worth seeing.")
	line("")
	line("rules %s", set.Name)
	for _, v := range set.Values() {
		if of, _ := book.Get(v.Name); of != v.Value {
			line("set %s %s", v.Name, v.Value)
		}
	}
	for i, t := range []engine.TeamSetup{tale.Setup.Home, tale.Setup.Away} {
		team := engine.Team(i + 1)
		line("%s", script.Format(engine.Command{Do: engine.SetTeam, Team: team, Text: t.Name, Short: t.Short, Colour: engine.Some(t.Colour)}))
		for _, p := range t.Roster {
			line("%s", script.Format(engine.Command{Do: engine.Roster, Team: team, By: p.Number, Text: p.Name}))
		}
	}
	line("")
	for i, l := range tale.Lines {
		if l.Remark != "" {
			line("# %s", l.Remark)
		}
		line("%s", script.FormatEvent(engine.Event{Number: i + 1, At: l.At, Was: l.Was, Command: l.Command}))
	}
	return b.String()
}

// TestTheDemoIsMadeFromItsSeed holds the file to its generator, byte for byte.
func TestTheDemoIsMadeFromItsSeed(t *testing.T) {
	want := made(seed)
	if *write {
		if err := os.WriteFile("demo.game", []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		t.Fatal("demo.game is made anew; run the tests again")
	}
	if demo.Game != want {
		t.Errorf("demo.game is not what seed %d makes: go test ./cmd/internal/demo -write, then look at it", seed)
	}
}

func begin(t *testing.T) (*script.Script, *script.Run) {
	t.Helper()
	s, err := script.Parse(strings.NewReader(demo.Game))
	if err != nil {
		t.Fatal(err)
	}
	run, err := s.Begin(script.Published, "")
	if err != nil {
		t.Fatal(err)
	}
	return s, run
}

func TestEveryLineIsTaken(t *testing.T) {
	s, run := begin(t)
	if err := run.Until(s.Last(), script.Watch{}); err != nil {
		t.Fatal(err)
	}
	if last := time.Duration(s.Last()); last < 3*time.Minute || last > 4*time.Minute {
		t.Errorf("the demo takes %v, want three to four minutes", last)
	}
	if !strings.Contains(demo.Game, "invented") {
		t.Error("it does not say that its teams are invented")
	}
}

func TestSomethingHappensAllTheTime(t *testing.T) {
	s, _ := begin(t)
	var before clock.Instant
	for _, l := range s.Lines {
		if gap := l.At.Sub(before); gap > 5*time.Second {
			t.Errorf("line %d: nothing for %v before it", l.Number, gap)
		}
		before = l.At
	}
	if s.Lines[0].At > 0 {
		t.Errorf("it begins at %v", time.Duration(s.Lines[0].At))
	}
}

// TestItBeginsLively: whoever looks at it for 20 seconds has seen a game.
func TestItBeginsLively(t *testing.T) {
	s, _ := begin(t)
	var before clock.Instant
	count := map[engine.Verb]int{}
	for _, l := range s.Lines {
		if l.At > clock.Instant(20*time.Second) {
			break
		}
		if l.At != before {
			count[l.Command.Do]++
		}
		before = l.At
	}
	if count[engine.Score] < 3 || count[engine.Foul] < 1 || count[engine.ClockStop] < 2 || count[engine.Undo]+count[engine.Amend] < 2 {
		t.Errorf("in its first 20 seconds: %v", count)
	}
}

// TestItPutsThingsRight in every way that there is.
func TestItPutsThingsRight(t *testing.T) {
	s, _ := begin(t)
	count := map[engine.Verb]int{}
	late := 0
	for _, l := range s.Lines {
		count[l.Command.Do]++
		if l.Was.OK {
			late++
		}
	}
	for _, do := range []engine.Verb{engine.Undo, engine.Redo, engine.Void, engine.Amend, engine.ScoreSet, engine.ClockNudge, engine.ArrowFlip, engine.Sub, engine.TimeoutOfficial} {
		if count[do] == 0 {
			t.Errorf("the demo has no %s", do)
		}
	}
	if late == 0 {
		t.Error("nothing in it was told late")
	}
}

// states are what the demo shows, each at least once.
var states = []string{
	"before", "play", "interval", "halftime", "over", "overtime", "clock running", "clock standing", "tenths", "horn by hand or time",
	"period ended", "home leads", "away leads", "level", "home bonus", "away bonus", "bonus held", "award", "arrow home", "arrow away", "arrow off",
	"shot clock", "no shot clock", "timeout home full", "timeout away short", "timeout media", "timeout both", "interval clock", "lower player", "message",
	"player out", "coach technical", "final", "winner", "warning", "show wall", "show bug", "on floor",
}

func TestItGoesThroughEveryState(t *testing.T) {
	s, run := begin(t)
	seen := map[string]bool{}
	var v engine.View
	for at := clock.Instant(0); at < s.Last().Add(time.Second); at = at.Add(100 * time.Millisecond) {
		if err := run.Until(at, script.Watch{}); err != nil {
			t.Fatal(err)
		}
		run.Game().ViewInto(&v, at)
		note(seen, &v)
	}
	for _, state := range states {
		if !seen[state] {
			t.Errorf("the demo never shows: %s", state)
		}
	}
}

func note(seen map[string]bool, v *engine.View) {
	mark := func(name string, is bool) { seen[name] = seen[name] || is }
	mark(v.Period.Phase.String(), true)
	mark("overtime", v.Period.Label == "OT")
	mark("clock running", v.Clock.Running)
	mark("clock standing", !v.Clock.Running)
	mark("tenths", strings.Contains(v.Clock.Text.String(), "."))
	mark("horn by hand or time", v.Horn)
	mark("period ended", v.PeriodEnded)
	mark("home leads", v.Home.Score > v.Away.Score)
	mark("away leads", v.Home.Score < v.Away.Score)
	mark("level", v.Home.Score == v.Away.Score && v.Home.Score > 0)
	mark("home bonus", v.Home.Bonus != engine.NoThrows)
	mark("away bonus", v.Away.Bonus != engine.NoThrows)
	mark("bonus held", v.Home.BonusHeld || v.Away.BonusHeld)
	mark("award", v.Award.OK)
	mark("arrow "+v.Arrow.String(), true)
	mark("shot clock", v.ShotClock.OK)
	mark("no shot clock", !v.ShotClock.OK)
	if v.Timeout.OK {
		mark("timeout "+v.Timeout.Value.Team.String(), true)
		mark("timeout "+v.Timeout.Value.Team.String()+" "+v.Timeout.Value.Kind, true)
	}
	mark("interval clock", v.Interval.OK && v.Interval.Value.Running)
	mark("lower player", v.Lower.OK)
	mark("message", v.Message.OK)
	mark("coach technical", v.Home.Coach.Technicals+v.Away.Coach.Technicals+v.Home.Coach.Indirect+v.Away.Coach.Indirect > 0)
	mark("final", v.Final)
	mark("winner", v.Winner.OK)
	mark("warning", len(v.Warnings) > 0)
	mark("show "+v.Show, true)
	for _, p := range append(v.Home.Players[:len(v.Home.Players):len(v.Home.Players)], v.Away.Players...) {
		mark("player out", p.Out)
		mark("on floor", p.OnFloor)
	}
}
