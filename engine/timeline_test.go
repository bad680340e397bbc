package engine_test

import (
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/rules"
)

// TestTheTimelineIsWhatWasShown plays random games, one after the other on one timeline, and lays each late view
// beside that of the game cut off at its instant.
func TestTheTimelineIsWhatWasShown(t *testing.T) {
	looked := 0
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		var line engine.Timeline
		var late engine.View
		type part struct {
			game       *engine.Game
			from, till clock.Instant // on the timeline
		}
		var games []part
		now := clock.Instant(0)
		for range 1 + r.IntN(3) {
			g, err := engine.NewGame(engine.Setup{Rules: set(t)})
			if err != nil {
				t.Fatal(err)
			}
			shift := now
			line.Add(g, shift)
			for range 1 + r.IntN(60) {
				now += clock.Instant(r.IntN(3_000)*r.IntN(2)) * clock.Instant(time.Millisecond)
				if _, changed, _ := g.Do("keys", enginetest.Random(r), now-shift, engine.None); changed && len(g.Events()) > 0 {
					line.Add(g, shift)
				}
			}
			games = append(games, part{g, shift, now})
			now += clock.Instant(time.Second)
		}
		for range 40 {
			at := now - clock.Instant(r.Int64N(int64(engine.TimelineKeeps)))
			i := len(games) - 1
			for i > 0 && games[i].from > at {
				i--
			}
			p := games[i]
			if at < p.from {
				continue
			}
			want := p.game.Until(at - p.from).View(at - p.from)
			line.ViewInto(&late, at)
			looked++
			if !sameView(&late, &want) {
				t.Fatalf("at %v: shown\n%+v\nwant\n%+v\n%s", at.Sub(0), late, want, told(p.game))
			}
		}
	})
	if looked < 500 {
		t.Errorf("only %d views were compared", looked)
	}
}

// sameView compares views; a list without anything in it is no list.
func sameView(a, b *engine.View) bool {
	x, y := *a, *b
	for _, v := range []*engine.View{&x, &y} {
		if len(v.Warnings) == 0 {
			v.Warnings = nil
		}
		if len(v.Past) == 0 {
			v.Past = nil
		}
	}
	return reflect.DeepEqual(x, y)
}

func TestTheTimelineForgetsWhatIsTooOld(t *testing.T) {
	var line engine.Timeline
	v := engine.View{LastEvent: 7}
	line.ViewInto(&v, 0)
	if v.LastEvent != 7 {
		t.Error("an empty timeline wrote a view")
	}
	g, _ := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
	line.Add(g, 0)
	at := clock.Instant(0)
	for n := range 3000 { // a hundred a second, more than it holds
		at += clock.Instant(10 * time.Millisecond)
		if _, _, err := g.Do("keys", engine.Command{Do: engine.ScoreSet, Team: engine.Home, Count: n%900 + 1}, at, engine.None); err != nil {
			t.Fatal(err)
		}
		line.Add(g, 0)
	}
	line.ViewInto(&v, 0)
	if oldest := v.LastEvent; oldest != 3000-2048+1 {
		t.Errorf("the oldest view is of event %d", oldest)
	}
	for range 3 { // three in a minute: the storm is forgotten
		at += clock.Instant(20 * time.Second)
		_, _, _ = g.Do("keys", engine.Command{Do: engine.ArrowFlip}, at, engine.None)
		_, _, _ = g.Do("keys", engine.Command{Do: engine.ScoreSet, Team: engine.Away, Count: int(at/1e9) % 900}, at, engine.None)
		line.Add(g, 0)
	}
	line.ViewInto(&v, at.Add(-engine.TimelineKeeps))
	if want := g.Until(at.Add(-engine.TimelineKeeps)).View(at.Add(-engine.TimelineKeeps)); !sameView(&v, &want) {
		t.Error("at the edge the view is another")
	}
	line.ViewInto(&v, 0)
	if v.LastEvent < 3000 {
		t.Errorf("event %d is still remembered a minute later", v.LastEvent)
	}
}

func TestALateViewAllocatesNothing(t *testing.T) {
	g, at := enginetest.PlayBy(enginetest.NFHS(), 5, 200)
	var line engine.Timeline
	whole, _ := engine.NewGame(g.Opening())
	for _, ev := range g.Events() {
		if err := whole.Replay(ev); err != nil {
			t.Fatal(err)
		}
		line.Add(whole, 0)
	}
	var v engine.View
	back := clock.Instant(0)
	look := func() {
		line.ViewInto(&v, at-back)
		back = (back + 777_777_777) % clock.Instant(30*time.Second)
	}
	for range 100 {
		look()
	}
	if n := testing.AllocsPerRun(200, look); n != 0 {
		t.Errorf("%v allocations a view", n)
	}
}

// TestFollowTakesAnAmendOfANameAlone: the published game has no names, so that such an amend changes nothing in it.
func TestFollowTakesAnAmendOfANameAlone(t *testing.T) {
	set, _ := rules.ByName("nfhs")
	g, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		t.Fatal(err)
	}
	line := func(name string) engine.Command {
		return engine.Command{Do: engine.Roster, Team: engine.Home, By: "12", Text: name}
	}
	amend := line("")
	amend.Do, amend.Amended, amend.Event = engine.Amend, engine.Roster, 1
	events := []engine.Event{{Number: 1, At: 1, Command: line("")}, {Number: 2, At: 2, Command: amend}, {Number: 3, At: 3, Command: engine.Command{Do: engine.Void, Event: 2}}}
	if err := g.Replay(events[0]); err != nil {
		t.Fatal(err)
	}
	before := g.State()
	if err := g.Replay(events[1]); err == nil {
		t.Error("a log may hold an amend that changes nothing")
	}
	for _, ev := range events[1:] {
		if err := g.Follow(ev); err != nil {
			t.Fatalf("event %d: %v", ev.Number, err)
		}
	}
	if g.State() != before || len(g.Events()) != 3 {
		t.Errorf("%d events, and the state is another", len(g.Events()))
	}
	if err := g.Follow(events[1]); err == nil {
		t.Error("an event was followed twice")
	}
}

func BenchmarkTimelineAdd(b *testing.B) {
	g, _ := enginetest.PlayBy(enginetest.NFHS(), 5, 200)
	var line engine.Timeline
	for b.Loop() {
		line.Add(g, 0)
	}
}

// A timeline that was kept elsewhere goes on where another ends: from there on it shows what that one does.
func TestATimelineGoesOnWithAnother(t *testing.T) {
	set, _ := rules.ByName("nfhs")
	const began = clock.Instant(100 * time.Second) // of the second game, on the timeline
	play := func(shift clock.Instant, add func(g *engine.Game), points ...int) {
		g, err := engine.NewGame(engine.Setup{Rules: set})
		if err != nil {
			t.Fatal(err)
		}
		add(g)
		for i, n := range points {
			if _, _, err := g.Do("keys", engine.Command{Do: engine.Score, Team: engine.Home, Points: n}, clock.Instant(i+1)*5e9, engine.None); err != nil {
				t.Fatal(err)
			}
			add(g)
		}
	}
	var want, got, other engine.Timeline
	play(0, func(g *engine.Game) { want.Add(g, 0); got.Add(g, 0) }, 1, 2, 3)
	play(began, func(g *engine.Game) { want.Add(g, began); other.Add(g, began) }, 2, 2, 1, 3)
	got.Append(&other)
	scores := 0
	for at := clock.Instant(0); at < began+30e9; at += 1e9 {
		var a, b engine.View
		want.ViewInto(&a, at)
		got.ViewInto(&b, at)
		if !sameView(&a, &b) {
			t.Fatalf("at %v it shows %+v, want %+v", at, b, a)
		}
		if at > began {
			scores = max(scores, b.Home.Score)
		}
	}
	if scores != 8 {
		t.Errorf("the second game comes to %d", scores)
	}
}
