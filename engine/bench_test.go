package engine

import (
	"encoding/json"
	"testing"
	"time"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// night makes a game of n events as a table keys them: start, stop, score, foul, timeout, substitution, next period.
func night(tb testing.TB, n int) *Game {
	tb.Helper()
	set, ok := rules.ByName("nfhs")
	if !ok {
		tb.Fatal("no nfhs")
	}
	g, err := NewGame(Setup{Rules: set})
	if err != nil {
		tb.Fatal(err)
	}
	numbers := []string{"1", "2", "3", "4", "5", "10", "11", "12", "13", "14", "20", "21"}
	at := clock.Instant(0)
	for i := 0; len(g.events) < n; i++ {
		at = at.Add(3 * time.Second)
		team, by := Team(i%2+1), numbers[i%len(numbers)]
		c := [...]Command{
			{Do: ClockStart}, {Do: Score, Team: team, Points: 2, By: by}, {Do: ClockStop},
			{Do: Score, Team: team.Other(), Points: -2 + i%3, By: ""}, {Do: Foul, Team: team, By: by, Kind: "offensive"},
			{Do: Arrow, Team: team}, {Do: ScoreSet, Team: team, Count: i % 60}, {Do: FoulsSet, Team: team, By: by, Count: i % 4},
			{Do: TimeoutOfficial}, {Do: ClockSet, Time: Some(time.Duration(1+i%400) * time.Second)},
			{Do: Floor, Team: team, Numbers: "1 2 3 4 5"}, {Do: FoulsSet, Team: team, Count: i % 8},
		}[i%12]
		if _, _, err := g.Do("bench", c, at, None); err != nil && c.Do != Score && c.Do != Foul {
			tb.Fatal(i, c.Do, err)
		}
	}
	return g
}

// BenchmarkFold plays a game's events from the first: budget 1,000 ns an event, a million events a second.
func BenchmarkFold(b *testing.B) {
	g := night(b, 2000)
	c := g.Clone()
	b.ReportAllocs()
	for b.Loop() {
		if broken := c.refold(0); broken != nil {
			b.Fatal(broken)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/2000, "ns/event")
}

// BenchmarkJSONCommands reads the commands of the same game with encoding/json into plain values, and plays nothing.
func BenchmarkJSONCommands(b *testing.B) {
	lines := written(b, night(b, 2000))
	b.ReportAllocs()
	for b.Loop() {
		for _, line := range lines {
			var c map[string]any
			if err := json.Unmarshal(line, &c); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/2000, "ns/event")
}

func written(b *testing.B, g *Game) (lines [][]byte) {
	b.Helper()
	for _, e := range g.Events() {
		line, err := e.Command.MarshalJSON()
		if err != nil {
			b.Fatal(err)
		}
		lines = append(lines, line)
	}
	return lines
}

// BenchmarkApply: budget 0 allocations.
func BenchmarkApply(b *testing.B) {
	g := night(b, 2000)
	s := g.base
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		if i == len(g.events) {
			i, s = 0, g.base
		}
		Apply(&s, &g.events[i])
		i++
	}
}

func BenchmarkDo(b *testing.B) {
	g := night(b, 100)
	at := g.last()
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		at++
		if _, _, err := g.Do("bench", Command{Do: ScoreSet, Team: Home, Count: i % 2}, at, None); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkUndoAndRedo(b *testing.B) {
	g := night(b, 2000)
	base := g.Clone()
	b.ReportAllocs()
	for b.Loop() {
		if len(g.events) > 2100 {
			g = base.Clone()
		}
		for _, do := range []Verb{Undo, Redo} {
			if _, _, err := g.Do("bench", Command{Do: do}, g.last(), None); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// BenchmarkUndoDeep takes the third event of 2,000 back and brings it back again, an event each: budget 1 ms.
func BenchmarkUndoDeep(b *testing.B) {
	g := night(b, 2000)
	base := g.Clone()
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if i%100 == 0 {
			g = base.Clone()
		}
		c := [...]Command{{Do: Undo, Event: 3}, {Do: Redo}}[i%2]
		if _, changed, err := g.Do("bench", c, g.last(), None); err != nil || !changed {
			b.Fatal(i, changed, err)
		}
	}
}

func BenchmarkView(b *testing.B) {
	g := night(b, 2000)
	var v View
	at := g.last()
	b.ReportAllocs()
	for b.Loop() {
		at++
		g.ViewInto(&v, at)
	}
}

// BenchmarkResume reads 2,000 events back from JSON and replays them: what opening a night's log costs beside the
// reading of its lines.
func BenchmarkResume(b *testing.B) {
	g := night(b, 2000)
	lines := written(b, g)
	b.ReportAllocs()
	for b.Loop() {
		again, err := NewGame(g.Opening())
		if err != nil {
			b.Fatal(err)
		}
		for i, e := range g.Events() {
			e.Command = Command{}
			if err := e.Command.UnmarshalJSON(lines[i]); err != nil {
				b.Fatal(err)
			}
			if err := again.Replay(e); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// BenchmarkDoAndView is a key and the picture after it: the glances are folded again.
func BenchmarkDoAndView(b *testing.B) {
	g := night(b, 2000)
	at := g.last()
	var v View
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		at++
		if _, _, err := g.Do("bench", Command{Do: ScoreSet, Team: Home, Count: i % 2}, at, None); err != nil {
			b.Fatal(err)
		}
		g.ViewInto(&v, at)
	}
}
