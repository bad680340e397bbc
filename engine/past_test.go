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
	"rafter/engine/script"
)

const second = clock.Instant(time.Second)

// bare is a glance without its readings, which follow the clocks.
func bare(g engine.Glance) engine.Glance {
	g.At, g.Clock, g.First, g.Timeout = 0, clock.Text{}, clock.Text{}, engine.Maybe[engine.TimeoutView]{}
	return g
}

// shown is what a view says of what a glance holds.
func shown(v *engine.View) engine.Glance {
	g := engine.Glance{
		Show: v.Show, Open: v.Open, Phase: v.Period.Phase, Label: v.Period.Label, Next: v.Next, Timed: v.Interval.OK, Running: v.Clock.Running,
		Ended: v.PeriodEnded, LastMin: v.LastMinute, Shot: v.ShotClock.OK, Arrow: v.Arrow, Lower: v.Lower, Message: v.Message.Value,
		Clock: v.Clock.Text, Timeout: v.Timeout,
	}
	if g.Timed {
		g.Running, g.Clock = v.Interval.Value.Running, v.Interval.Value.Text
	}
	if g.Phase == engine.Over {
		g.Winner = v.Winner.Value
	}
	for i, t := range []*engine.TeamView{&v.Home, &v.Away} {
		g.Teams[i] = engine.Counts{Score: t.Score, Fouls: t.FoulsShown, Bonus: t.Bonus, Colour: t.Colour}
		for _, k := range t.Timeouts.Kinds[:t.Timeouts.Count] {
			kind, _ := rules.TimeoutNamed(k.Kind)
			g.Teams[i].Timeouts[kind] = k.Left
		}
	}
	return g
}

// keys plays random keys, at most so far apart, with more of what lets clocks run out, and looks at the game at an instant
// after each.
func keys(t *rapid.T, apart, look int, each func(g *engine.Game, now clock.Instant)) {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 9))
	g, err := engine.NewGame(engine.Setup{Rules: set(t)})
	if err != nil {
		t.Fatal(err)
	}
	at := clock.Instant(0)
	for range 60 {
		at += clock.Instant(r.IntN(apart)) * clock.Instant(time.Millisecond)
		c := enginetest.Random(r)
		switch r.IntN(6) {
		case 0:
			c = engine.Command{Do: engine.ClockSet, Time: engine.Some(time.Duration(r.IntN(140)) * time.Second)}
		case 1, 2:
			c = engine.Command{Do: engine.ClockStart}
		}
		_, _, _ = g.Do("one", c, at, engine.None)
		each(g, at+clock.Instant(r.IntN(look))*clock.Instant(time.Millisecond))
	}
}

// TestThePastIsWhatWasShown lays the glances of random games beside the last ones of the game as it stood at their
// instants: at each glance's own, half-way to the next and just before it.
func TestThePastIsWhatWasShown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		keys(t, rapid.SampledFrom([]int{300, 12_000}).Draw(t, "apart"), 3000, func(g *engine.Game, now clock.Instant) {
			v := g.View(now)
			for i, glance := range v.Past[max(len(v.Past)-4, 0):] {
				i += max(len(v.Past)-4, 0)
				end := now
				if i+1 < len(v.Past) {
					end = v.Past[i+1].At - 1
				}
				for _, at := range []clock.Instant{glance.At, (glance.At + end) / 2, end} {
					was := g.Until(at).View(at).Past
					if len(was) == 0 {
						continue // forgotten, and with it nothing waits
					}
					if got, want := bare(glance), bare(was[len(was)-1]); got != want {
						t.Fatalf("glance %d of %d, at %d, seen from %d\n%+v\nand there was\n%+v\n%s", i, len(v.Past), at, now, got, want, told(g))
					}
				}
			}
		})
	})
}

// TestWhatHasStoodIsShown: a second after the last change that was seen, what is shown is what is.
func TestWhatHasStoodIsShown(t *testing.T) {
	looked, turns := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		keys(t, 4_000, 40_000, func(g *engine.Game, now clock.Instant) {
			v := g.View(now)
			if len(v.Past) == 0 || now-v.Past[len(v.Past)-1].At < second {
				return
			}
			last, want := v.Past[len(v.Past)-1], shown(&v)
			if events := g.Events(); len(events) > 0 && last.At > events[len(events)-1].At+second {
				turns++
			}
			last.Cut = false
			if looked++; bare(last) != bare(want) || last.Clock != want.Clock || last.Timeout != want.Timeout {
				t.Fatalf("at %d there is shown\n%+v\nand there is\n%+v\n%s", now, last, want, told(g))
			}
		})
	})
	if (looked < 100 || turns < 20) && !testing.Short() {
		t.Errorf("looked %d times, %d of them at what came about by itself", looked, turns)
	}
}

// opens tells whether two bare glances differ in what opens and closes.
func opens(a, b engine.Glance) bool {
	a.Teams, a.Arrow, a.Running, a.Ended, a.LastMin, a.Shot, a.Cut = b.Teams, b.Arrow, b.Running, b.Ended, b.LastMin, b.Shot, b.Cut
	return a != b
}

// within counts the instants of a list, in their order, that are less than a second before an instant.
func within(list []clock.Instant, at clock.Instant) (n int) {
	for _, t := range list {
		if at-t < second {
			n++
		}
	}
	return n
}

// TestNoSecondShowsMore: however fast keys come, in no second the board is seen to change more than three times, the first
// of them alone by a motion, and anything but the clock's reading more than nine times: with the board, and six times without.
func TestNoSecondShowsMore(t *testing.T) {
	threes, nines := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		keys(t, 150, 1, func(g *engine.Game, now clock.Instant) {
			v := g.View(now)
			var boards, all []clock.Instant
			for i := 1; i < len(v.Past); i++ {
				a, b := bare(v.Past[i-1]), bare(v.Past[i])
				at := v.Past[i].At
				if opens(a, b) {
					boards = append(boards, at)
					n := within(boards, at)
					if n > 3 || n > 1 && !b.Cut {
						t.Fatalf("at %d the board's change %d in a second, cut %t\n%s", at, n, b.Cut, told(g))
					}
					threes += n / 3
				}
				if b.Cut = a.Cut; a != b {
					all = append(all, at)
					n := within(all, at)
					if n > 9 {
						t.Fatalf("at %d the change %d in a second\n%s", at, n, told(g))
					}
					nines += n / 9
				}
			}
		})
	})
	if threes < 100 || nines < 3 {
		t.Errorf("%d times three changes of the board in a second, %d times nine in all", threes, nines)
	}
}

// TestNothingWaitsThatNeedNot: with three changes of the board, six of what counts and six of the clock's reading in any
// second, whatever their instants, what is shown is what is: at once, half-way to the next and just before it.
func TestNothingWaitsThatNeedNot(t *testing.T) {
	kinds := [...]struct {
		most int // in a second
		keys []string
	}{
		{3, []string{"show wall", "show bug", "show lineup", "message \"Raffle\"", "message off", "lower home 12", "lower off", "timeout official",
			"timeout home full", "timeout end", "period next", "game over"}},
		{6, []string{"score home 2", "score away 3", "score home = 0", "foul home", "fouls away = 7", "bonus home two", "bonus home none", "arrow home",
			"arrow flip", "timeouts home full = 1", "team home color #123456"}},
		{6, []string{"clock set 2:10", "clock set 5:55", "clock set 7:00"}},
	}
	back := [...]string{"undo", "redo"} // of whatever kind it was
	close := 0
	rapid.Check(t, func(t *rapid.T) {
		g, err := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
		if err != nil {
			t.Fatal(err)
		}
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		apart := rapid.SampledFrom([]int{2, 100, 300}).Draw(t, "apart")
		var done [len(kinds)][]clock.Instant
		at := clock.Instant(0)
		for range 80 {
			next := at + clock.Instant(r.IntN(apart))*clock.Instant(time.Millisecond)
			k := r.IntN(len(kinds) + 1)
			key, of := back[r.IntN(len(back))], []int{0, 1, 2}
			if k < len(kinds) {
				key, of = kinds[k].keys[r.IntN(len(kinds[k].keys))], []int{k}
			}
			for _, k := range of {
				if n := len(done[k]) - kinds[k].most; n >= 0 {
					next = max(next, done[k][n]+second)
				}
			}
			for _, seen := range []clock.Instant{at, (at + next) / 2, max(next-1, at)} {
				v := g.View(seen)
				if len(v.Past) == 0 {
					continue // for three seconds nothing has changed
				}
				want, last := shown(&v), v.Past[len(v.Past)-1]
				last.Cut = false
				if bare(last) != bare(want) || last.Clock != want.Clock || last.Timeout != want.Timeout {
					t.Fatalf("at %d there is shown\n%+v\nand there is\n%+v\n%s", seen, last, want, told(g))
				}
			}
			at = next
			for _, k := range of {
				if n := len(done[k]); n > 1 && at-done[k][n-2] < second {
					close++
				}
				done[k] = append(done[k], at)
			}
			c, err := script.ParseCommand(key)
			if err != nil {
				t.Fatal(err)
			}
			_, _, _ = g.Do("one", c, at, engine.None) // one that is refused changes nothing
		}
	})
	if close < 1000 {
		t.Errorf("%d were the third within a second", close)
	}
}

func TestWhatIsTakenBackWasSeen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, at := game(t)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "more"), 3))
		if kept := rapid.Bool().Draw(t, "kept"); kept { // from event to event, not found anew
			g.View(at)
		}
		if _, changed, err := g.Do("one", enginetest.Random(r), at, engine.None); err != nil || !changed {
			return
		}
		before := g.View(at + second - 1)
		if _, _, err := g.Do("one", engine.Command{Do: engine.Undo}, at+second, engine.None); err != nil {
			t.Fatal(err)
		}
		after := g.View(at + second)
		if got, want := after.Past[len(after.Past)-2], before.Past[len(before.Past)-1]; bare(got) != bare(want) {
			t.Fatalf("before the last, there is\n%+v\nand there was\n%+v\n%s", got, want, told(g))
		}
		if again := g.Until(at + second).View(at + second).Past; !reflect.DeepEqual(again, after.Past) {
			t.Fatalf("found anew\n%+v\nkept\n%+v\n%s", again, after.Past, told(g))
		}
	})
}

func TestTheCorrectedPastIsTheShownOneWhereNothingWasCorrected(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, at := game(t)
		for _, e := range g.Events() {
			if e.Was.OK || correction(e.Command.Do) {
				return
			}
		}
		for _, at := range []clock.Instant{at, at + second, at + 40*second} {
			if got, want := g.Corrected().View(at).Past, g.View(at).Past; !reflect.DeepEqual(got, want) {
				t.Fatalf("corrected\n%+v\nshown\n%+v\n%s", got, want, told(g))
			}
		}
	})
}

// correction tells what the shown account has seen come and go, and the corrected one never had.
func correction(do engine.Verb) bool {
	return do == engine.Undo || do == engine.Redo || do == engine.Void || do == engine.Amend
}

func TestThePastOf(t *testing.T) {
	by := func(lines ...string) *engine.Game {
		g, err := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
		if err != nil {
			t.Fatal(err)
		}
		for i, l := range lines {
			c, err := script.ParseCommand(l)
			if err == nil {
				_, _, err = g.Do("one", c, clock.Instant(i+1)*second, engine.None)
			}
			if err != nil {
				t.Fatal(l, err)
			}
		}
		return g
	}
	for _, c := range []struct {
		name string
		game *engine.Game
		at   clock.Instant
		want []clock.Instant // of the glances
	}{
		{"a_new_game", by(), 0, []clock.Instant{0}},
		{"a_key", by("score home 2"), 2 * second, []clock.Instant{0, second}},
		{"nearly_forgotten", by("score home 2"), 4*second - 1, []clock.Instant{0, second}},
		{"forgotten", by("score home 2"), 4 * second, nil},
		{"the_clocks_zero", by("clock set 0:02.5", "clock start"), 5 * second, []clock.Instant{0, second, 2 * second, 4*second + second/2}},
		{"the_last_minute", by("clock set 1:01", "clock start"), 4 * second, []clock.Instant{0, second, 2 * second, 3*second + 1}},
		{"not_yet_the_last_minute", by("clock set 1:01", "clock start"), 3 * second, []clock.Instant{0, second, 2 * second}},
		{"a_key_after_zero_ends_the_lit_frame", by("clock set 0:00.5", "clock start", "horn"), 3 * second, []clock.Instant{0, second, 2 * second, 2*second + second/2, 3 * second}},
		{"as_does_one_that_is_taken_back", by("clock set 0:00.5", "clock start", "horn", "undo"), 4 * second, []clock.Instant{0, second, 2 * second, 2*second + second/2, 3 * second, 4 * second}},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := c.game.View(c.at)
			var got []clock.Instant
			for _, g := range v.Past {
				got = append(got, g.At)
			}
			if !reflect.DeepEqual(got, c.want) {
				t.Errorf("glances at %v, want %v", got, c.want)
			}
		})
	}
}

func TestOccasions(t *testing.T) {
	type open = engine.Occasions
	g, err := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range []struct {
		key  string
		want open
	}{
		{"show wall", open{}},
		{"clock start", open{}},
		{"timeout home full", open{Timeout: true}},
		{"score home 2", open{Timeout: true}},
		{"show wall", open{}},
		{"timeout end", open{}},
		{"timeout away full", open{Timeout: true}}, // another one
		{"timeout end", open{}},
		{"period next", open{Interval: true}},
		{"timeout official", open{Timeout: true, Interval: true}},
		{"show bug", open{}},
		{"timeout end", open{}},
		{"period next", open{}},
		{"period next", open{Interval: true}},
		{"game over", open{Over: true}},
		{"show final", open{}},
	} {
		command, err := script.ParseCommand(c.key)
		if err == nil {
			_, _, err = g.Do("one", command, clock.Instant(i)*second, engine.None)
		}
		if got := g.View(clock.Instant(i) * second).Open; err != nil || got != c.want {
			t.Errorf("%d, %s: %+v, want %+v (%v)", i, c.key, got, c.want, err)
		}
	}
}

func TestShowingAgainIsAnEventOnlyWhereSomethingElseIsOpen(t *testing.T) {
	g, err := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range []struct {
		key     string
		changes bool
	}{
		{"show bug", true}, {"show bug", false}, {"clock start", true}, {"timeout home full", true}, {"show bug", true}, {"show bug", false},
	} {
		command, err := script.ParseCommand(c.key)
		if err != nil {
			t.Fatal(err)
		}
		if _, changed, err := g.Do("one", command, clock.Instant(i)*second, engine.None); err != nil || changed != c.changes {
			t.Errorf("%d, %s: changed %t, %v", i, c.key, changed, err)
		}
	}
}

func TestPointsByPeriod(t *testing.T) {
	g, err := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
	if err != nil {
		t.Fatal(err)
	}
	v := g.View(0)
	if p := v.ByPeriod; p.Count != 4 || p.Begun != 0 || v.Next.Label != "1st" || v.Next.FoulsClear {
		t.Errorf("before the game: %+v, then %+v", p, v.Next)
	}
	for i, c := range []struct {
		key    string
		begun  int
		next   string
		clears bool
	}{
		{"clock start", 1, "2nd", true}, // NFHS 2025-26, r 4-8-1: team fouls count by the quarter
		{"score home 2", 1, "2nd", true},
		{"period next", 1, "2nd", true},
		{"clock start", 2, "3rd", true},
		{"score away 3", 2, "3rd", true},
		{"score away = 4", 2, "3rd", true},
		{"score home 2", 2, "3rd", true},
		{"period set 4", 4, "", false},
		{"period next", 4, "OT", false}, // the same rule: overtime goes on with the fourth quarter's
		{"period next", 5, "2OT", false},
	} {
		command, err := script.ParseCommand(c.key)
		if err == nil {
			_, _, err = g.Do("one", command, clock.Instant(i)*second, engine.None)
		}
		v = g.View(clock.Instant(i) * second)
		want := engine.NextView{Label: c.next, FoulsClear: c.clears}
		if c.begun == 5 { // it is being played, and decides
			want = engine.NextView{}
		}
		if err != nil || v.ByPeriod.Begun != c.begun || v.Next != want {
			t.Errorf("%s: %d begun, next %+v, want %d and %+v (%v)", c.key, v.ByPeriod.Begun, v.Next, c.begun, want, err)
		}
	}
	p := v.ByPeriod
	if p.Count != 5 || p.Labels[0] != "1" || p.Labels[4] != "OT" || p.Points[0][0] != 2 || p.Points[0][1] != 2 || p.Points[1][1] != 3 {
		t.Errorf("%+v", p)
	}
}
