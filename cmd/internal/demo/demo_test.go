package demo_test

import (
	"strings"
	"testing"
	"time"

	"rafter/cmd/internal/demo"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/script"
)

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
	for _, state := range []string{
		"before", "play", "interval", "halftime", "over", "overtime", "clock running", "clock standing", "tenths", "horn by hand or time",
		"period ended", "home leads", "away leads", "level", "home bonus", "away bonus", "bonus held", "award", "arrow home", "arrow away", "arrow off",
		"shot clock", "no shot clock", "timeout home full", "timeout away short", "timeout media", "timeout both", "interval clock", "lower player", "message",
		"player out", "coach technical", "final", "winner", "warning", "show wall", "show bug", "on floor",
	} {
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
