package engine

import (
	"slices"
	"testing"
	"time"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// When something else may be shown though nobody keys anything: the last minute and tenths, what a shot clock that stands has
// left, the set's two minutes for timeouts whichever way a reading is cut, and the end.
func TestWhatTurnsByItself(t *testing.T) {
	set, _ := rules.ByName("fiba")
	const s, ns = clock.Instant(time.Second), clock.Instant(1)
	late := []clock.Instant{479*s + ns, 479*s + 900_000_000*ns + ns, 480 * s, 540*s + ns, 600 * s}
	for _, c := range []struct {
		name string
		keys []Command
		want []clock.Instant // besides what is never: 0
	}{
		{"a clock that stands", []Command{{Do: PeriodSet, Period: 4}}, nil},
		{"without a shot clock", []Command{{Do: PeriodSet, Period: 4}, {Do: ShotOff}, {Do: ClockStart}}, late},
		{"with one that stands", []Command{{Do: PeriodSet, Period: 4}, {Do: ClockStart}, {Do: ShotSet, Time: Some(24 * time.Second)}, {Do: ShotStop}},
			slices.Sorted(slices.Values(append([]clock.Instant{576*s + ns}, late...)))},
		{"with one that runs", []Command{{Do: PeriodSet, Period: 4}, {Do: ClockStart}, {Do: ShotSet, Time: Some(24 * time.Second)}, {Do: ShotStart}}, late},
	} {
		g, err := NewGame(Setup{Rules: set})
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range c.keys {
			if _, _, err := g.Do("keys", k, 0, None); err != nil {
				t.Fatal(err)
			}
		}
		turns := g.state.turns()
		got := slices.DeleteFunc(turns[:], func(at clock.Instant) bool { return at == 0 })
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestWhatIsAnotherLowerOrTimeout(t *testing.T) {
	lower := Lower{Team: HomeSide, Number: "12", Name: "Ada Fern", Points: 3, Fouls: 1}
	for name, c := range map[string]struct {
		change func(*Maybe[Lower])
		other  bool
	}{
		"the same": {func(*Maybe[Lower]) {}, false}, "its counts": {func(l *Maybe[Lower]) { l.Value.Points, l.Value.Fouls = 9, 4 }, false},
		"none": {func(l *Maybe[Lower]) { *l = Maybe[Lower]{Value: l.Value} }, true}, "another team": {func(l *Maybe[Lower]) { l.Value.Team = AwaySide }, true},
		"another number": {func(l *Maybe[Lower]) { l.Value.Number = "4" }, true}, "another name": {func(l *Maybe[Lower]) { l.Value.Name = "Bela Marsh" }, true},
		"a line": {func(l *Maybe[Lower]) { l.Value.Line = "Raffle" }, true},
	} {
		a, b := Glance{Lower: Some(lower)}, Glance{Lower: Some(lower)}
		c.change(&b.Lower)
		if otherLower(&a, &b) != c.other || otherLower(&b, &a) != c.other {
			t.Errorf("of a lower third %s: want %t", name, c.other)
		}
	}
	timeout := TimeoutView{Team: HomeCaller, Kind: "full"}
	for name, c := range map[string]struct {
		change func(*Maybe[TimeoutView])
		other  bool
	}{
		"the same": {func(*Maybe[TimeoutView]) {}, false}, "what is left": {func(v *Maybe[TimeoutView]) { v.Value.RemainingMS = Some[int64](7) }, false},
		"none": {func(v *Maybe[TimeoutView]) { v.OK = false }, true}, "another team": {func(v *Maybe[TimeoutView]) { v.Value.Team = AwayCaller }, true},
		"another kind": {func(v *Maybe[TimeoutView]) { v.Value.Kind = "short" }, true},
	} {
		a, b := Glance{Timeout: Some(timeout)}, Glance{Timeout: Some(timeout)}
		c.change(&b.Timeout)
		if otherTimeout(&a, &b) != c.other || otherTimeout(&b, &a) != c.other {
			t.Errorf("of a timeout %s: want %t", name, c.other)
		}
	}
}

func TestPointsOfTheLastPeriodThereCanBe(t *testing.T) {
	set, _ := rules.ByName("nfhs")
	s := State{rules: set}
	s.teams[1].points[maxPeriods] = 3
	var v ByPeriod
	s.byPeriod(&v)
	if v.Points[1][maxPeriods-1] != 3 || v.Begun != maxPeriods || v.Count != maxPeriods {
		t.Errorf("%+v", v)
	}
}

// At the instant of an event the event is shown, a nanosecond before it is not.
func TestATimelineTurnsWithItsEvents(t *testing.T) {
	set, _ := rules.ByName("nfhs")
	g, err := NewGame(Setup{Rules: set})
	if err != nil {
		t.Fatal(err)
	}
	var line Timeline
	line.Add(g, 0)
	for at := clock.Instant(5e9); at <= 15e9; at += 5e9 {
		if _, _, err := g.Do("keys", Command{Do: Score, Team: Home, Points: 2}, at, None); err != nil {
			t.Fatal(err)
		}
		line.Add(g, 0)
	}
	for at, want := range map[clock.Instant]int{0: 0, 5e9 - 1: 0, 5e9: 2, 10e9 - 1: 2, 10e9: 4, 15e9: 6, 99e9: 6} {
		var v View
		if line.ViewInto(&v, at); v.Home.Score != want {
			t.Errorf("at %d it shows %d, want %d", at, v.Home.Score, want)
		}
	}
}
