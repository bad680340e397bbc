package content

import (
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
	"rafter/engine/script"
)

const second = Instant(time.Second)

// played begins the first period, keys a line each second from the first on, and returns what is said at an instant.
func played(t *testing.T, at Instant, lines ...string) *Content {
	t.Helper()
	set, _ := rules.ByName("nfhs")
	g, err := engine.NewGame(engine.Setup{Rules: set, Home: engine.TeamSetup{Name: "Hollow Creek", Short: "HOLLOW"}}) // invented
	if err != nil {
		t.Fatal(err)
	}
	for i, l := range append([]string{"period set 1"}, lines...) {
		c, err := script.ParseCommand(l)
		if err == nil {
			_, _, err = g.Do("test", c, Instant(i)*second, engine.None)
		}
		if err != nil {
			t.Fatal(l, err)
		}
	}
	c := &Content{}
	v := g.View(at)
	c.From(&v)
	return c
}

func TestPast(t *testing.T) {
	for _, c := range []struct {
		name  string
		at    Instant
		lines []string
		says  func(p *Past) bool
	}{
		{"nothing_yet", 1, nil, func(p *Past) bool { return *p == Past{} }},
		{"a_score", second, []string{"score home 2"}, func(p *Past) bool {
			return p.Score == [2]Was[int]{{Value: 0, At: second, Changed: true}, {}} && p.Fouls[0] == Was[int]{}
		}},
		{"and_how_calm_it_was", 2 * second, []string{"score home 2", "score home 3"}, func(p *Past) bool {
			return p.Score[0] == Was[int]{Value: 2, At: 2 * second, Before: second, Changed: true}
		}},
		{"something_else_since", 3 * second, []string{"score home 2", "score home 3", "foul away"}, func(p *Past) bool {
			return p.Score[0].At == 2*second && p.Score[0].Before == second && p.Fouls[1].At == 3*second && p.Fouls[1].Before == 0
		}},
		{"nearly_forgotten", 4*second - 1, []string{"score home 2"}, func(p *Past) bool { return p.Score[0].Changed }},
		{"forgotten", 4 * second, []string{"score home 2"}, func(p *Past) bool { return *p == Past{} }},
		{"forgotten_while_another_is_not", 4 * second, []string{"score home 2", "score away 2"}, func(p *Past) bool {
			return !p.Score[0].Changed && p.Score[1].At == 2*second
		}},
		{"taken_back", 2 * second, []string{"score home 2", "undo"}, func(p *Past) bool {
			return p.Score[0] == Was[int]{Value: 2, At: 2 * second, Before: second, Changed: true}
		}},
		{"two_keys_of_one_reading", 3 * second, []string{"timeout official", "timeout home full", "timeout end"}, func(p *Past) bool {
			return p.Timeout.Value == Timeout{On: true, By: "HOLLOW", Team: Home, Kind: "FULL", Text: clock.MakeText("0:59")} && p.Timeout.Before == 2*second
		}},
		{"a_timeout_is_one_while_it_counts", 3 * second, []string{"timeout home full", "score home 1", "score home 1"}, func(p *Past) bool {
			return p.Timeout == Was[Timeout]{At: second, Changed: true}
		}},
		{"the_lower_thirds_player", 3 * second, []string{"lower home 12", "score home 2 by 12", "lower off"}, func(p *Past) bool {
			return p.Lower.Value == Lower{Team: Home, Number: "12", Points: 2} && p.Lower.At == 3*second && p.Lower.Before == second
		}},
		{"a_message", second, []string{"message \"Raffle\""}, func(p *Past) bool {
			return p.Message == Was[string]{At: second, Changed: true} && !p.Lower.Changed
		}},
		{"the_interval", 3 * second, []string{"period next", "interval start", "clock start"}, func(p *Past) bool {
			return p.Label.Value == "INT" && p.Phase.Value == Interval && p.Next.Value == "2nd" && p.Clock.Value == clock.MakeText("0:59") &&
				p.Phase.Before == second && p.Running == Was[bool]{At: 2 * second, Changed: true}
		}},
		{"the_clocks_zero", 4*second - 1, []string{"clock set 0:01.5", "clock start"}, func(p *Past) bool {
			zero := 3*second + second/2
			return p.Ended == Was[bool]{At: zero, Changed: true} && p.Running == Was[bool]{Value: true, At: zero, Before: 2 * second, Changed: true} &&
				p.LastMin == Was[bool]{At: second, Changed: true}
		}},
		{"the_last_minute", 4 * second, []string{"clock set 1:01", "clock start"}, func(p *Past) bool {
			return p.LastMin == Was[bool]{At: 3*second + 1, Changed: true}
		}},
		{"the_arrow", 2 * second, []string{"control home", "arrow flip"}, func(p *Past) bool {
			return p.Arrow == Was[Side]{Value: Away, At: 2 * second, Before: second, Changed: true}
		}},
		{"a_lamp_and_a_timeout", 6 * second, []string{"foul home", "foul home", "foul home", "foul home", "foul home", "timeout away short"}, func(p *Past) bool {
			return p.Bonus[1] == Was[Throws]{At: 5 * second, Changed: true} && p.Timeouts[1].Value.Short == 2 && p.Timeouts[1].At == 6*second
		}},
		{"the_winner", 2 * second, []string{"score home 2", "game over"}, func(p *Past) bool {
			return p.Winner == Was[Side]{At: 2 * second, Changed: true} && p.Label.Value == "1st"
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := played(t, c.at, c.lines...); !c.says(&got.Past) {
				t.Errorf("%+v", got.Past)
			}
		})
	}
}

// What changes within a second after the board did, and with the board, has had no time to be calm.
func TestCuts(t *testing.T) {
	set, _ := rules.ByName("nfhs")
	g, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		at   Instant
		line string
		cut  bool // the message
	}{
		{second, "show wall", false},
		{2*second - 1, "message \"Raffle\"", true},
		{3*second - 1, "message \"Cakes\"", false},
		{3*second + second/2, "message off", true},
	} {
		command, err := script.ParseCommand(c.line)
		if err == nil {
			_, _, err = g.Do("test", command, c.at, engine.None)
		}
		if err != nil {
			t.Fatal(c.line, err)
		}
		var says Content
		v := g.View(c.at)
		says.From(&v)
		if p := says.Past.Message; (p.Changed && p.Before == p.At) != c.cut {
			t.Errorf("%s at %d: %+v, want a cut: %t", c.line, c.at, p, c.cut)
		}
	}
}

// A change that nothing follows says the same at every instant until it is forgotten.
func TestThePastStands(t *testing.T) {
	lines := []string{"score home 2", "timeout away full", "timeout end", "foul away", "message \"Raffle\""}
	first := played(t, 5*second, lines...)
	for at := 5 * second; at < 8*second; at += second / 3 {
		c := played(t, at, lines...)
		if at-4*second < 3*second && c.Past.Fouls != first.Past.Fouls || c.Past.Message != first.Past.Message {
			t.Errorf("at %d: %+v, was %+v", at, c.Past, first.Past)
		}
	}
	if c := played(t, 8*second, lines...); c.Past != (Past{}) {
		t.Errorf("after it: %+v", c.Past)
	}
}

func TestThePastAllocatesNothing(t *testing.T) {
	set, _ := rules.ByName("fiba")
	g, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 30 {
		if _, _, err := g.Do("test", engine.Command{Do: engine.Score, Team: engine.Home, Points: 1 + i%2}, second+Instant(i)*second/10, engine.None); err != nil {
			t.Fatal(err)
		}
	}
	var v engine.View
	var c Content
	at := 4 * second
	if n := testing.AllocsPerRun(100, func() { at++; g.ViewInto(&v, at); c.From(&v) }); n != 0 || !c.Past.Score[0].Changed {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkFromWithAPast(b *testing.B) {
	set, _ := rules.ByName("nfhs")
	g, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		b.Fatal(err)
	}
	for i := range 20 {
		if _, _, err := g.Do("test", engine.Command{Do: engine.Score, Team: engine.Home, Points: 1 + i%2}, second+Instant(i)*second/10, engine.None); err != nil {
			b.Fatal(err)
		}
	}
	var v engine.View
	var c Content
	at := 4 * second
	b.ReportAllocs()
	for b.Loop() {
		at++
		g.ViewInto(&v, at)
		c.From(&v)
	}
}
