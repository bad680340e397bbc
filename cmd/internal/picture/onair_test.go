package picture

import (
	"bytes"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/enginetest"
	"rafter/engine/script"
	"rafter/overlay/content"
)

const (
	second = content.Instant(time.Second)
	ms     = content.Instant(time.Millisecond)
	goes   = 200*ms - 16_666_667 // the theme for tests has 200 ms, and motions are a frame ahead
)

var movingLooks = sync.OnceValues(func() (*Looks, error) { return Load("testdata/moving") })

// moving returns a picture of what is on air in the theme for tests.
func moving(t *testing.T, o Options) *Picture {
	t.Helper()
	looks, err := movingLooks()
	if err != nil {
		t.Fatal(err)
	}
	p, err := looks.New(o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// keyed plays script lines.
func keyed(t *testing.T, lines string) *engine.Game {
	t.Helper()
	s, err := script.Parse(bytes.NewReader([]byte(lines)))
	if err != nil {
		t.Fatal(err)
	}
	run, err := s.Begin(script.Published, "")
	if err == nil {
		err = run.Until(s.Last(), script.Watch{})
	}
	if err != nil {
		t.Fatal(err)
	}
	return run.Game()
}

func TestWhatIsOnAir(t *testing.T) {
	opening := func(at content.Instant) content.Air { return content.Air{Opened: at, Opening: true} }
	closing := func(at content.Instant) content.Air { return content.Air{Closed: at, Closing: true} }
	still := content.Air{}
	for _, c := range []struct {
		name, lines string
		at          content.Instant
		want        string
		air         content.Air
	}{
		{"a_new_game", "", 0, "bug", still},
		{"shown_from_the_start", "0 show wall", 0, "wall", still},
		{"the_old_one_goes_first", "10 show lower", 10*second + goes - 1, "bug", closing(10 * second)},
		{"then_the_new_one_comes", "10 show lower", 10*second + goes, "lower", opening(10*second + goes)},
		{"and_is_there", "10 show lower", 12 * second, "lower", still},
		{"or_for_long", "10 show lower", 99 * second, "lower", still},
		{"a_second_is_there_at_once", "10 show lower\n10.1 show wall", 10*second + 100*ms, "wall", still},
		{"also_while_the_first_comes", "10 show lower\n10.39 show wall", 10*second + 390*ms, "wall", still},
		{"and_a_third", "10 show lower\n10.1 show wall\n10.2 show bug", 10*second + 200*ms, "bug", still},
		{"a_fourth_waits", "10 show lower\n10.1 show wall\n10.2 show final\n10.9 show lineup", 11*second - 1, "final", still}, // no flashing
		{"until_the_first_is_a_second_old", "10 show lower\n10.1 show wall\n10.2 show final\n10.9 show lineup", 11 * second, "lineup", still},
		{"of_many_the_last", "10 show lower\n10.1 show wall\n10.2 show final\n10.3 show lineup\n10.4 show bug", 11 * second, "bug", still},
		{"of_one_instant_the_last", "10 show lower\n10 show wall\n10 show final\n10 show lineup", 10*second + goes, "lineup", opening(10*second + goes)},
		{"which_are_one_change", "10 show lower\n10 show wall\n10.1 show final\n10.2 show lineup", 10*second + 200*ms, "lineup", still},
		{"another_later", "10 show lower\n11 show wall", 11*second + 50*ms, "lower",
			content.Air{Opened: 10*second + goes, Opening: true, Closed: 11 * second, Closing: true}},
		{"shown_twice_is_shown_once", "10 show lower\n10.1 show lower", 10*second + 250*ms, "lower", opening(10*second + goes)},
		{"what_is_taken_back_goes_at_once", "10 show lower\n10.1 undo", 10*second + 100*ms, "bug", still},
		{"a_second_later_it_moves", "10 show lower\n11 undo", 11 * second, "lower",
			content.Air{Opened: 10*second + goes, Opening: true, Closed: 11 * second, Closing: true}},
		{"a_message_while_it_comes_leaves_it", "10 show lower\n10.1 message \"Raffle\"", 10*second + 250*ms, "lower", opening(10*second + goes)},
		{"other_keys_change_nothing", "10 show lower\n10.1 score home 2\n10.15 score home 2", 10*second + 250*ms, "lower", opening(10*second + goes)},
		{"nothing", "10 show blank", 10*second + goes, "blank", opening(10*second + goes)},
		{"nothing_goes_at_once", "1 show blank\n10 show bug", 10 * second, "bug", opening(10 * second)},
		{"what_there_is_not_is_the_first", "10 show nosuch", 20 * second, "bug", still},
		{"nor_what_the_desk_alone_sees", "10 show strip", 20 * second, "bug", still},

		{"a_timeout_opens_its_own", "1 clock start\n10 timeout home full", 10*second + goes, "timeout", opening(10*second + goes)},
		{"and_it_goes_with_the_timeout", "1 clock start\n10 timeout home full\n20 timeout end", 20 * second, "timeout", closing(20 * second)},
		{"and_what_was_shown_comes_back", "1 clock start\n2 show wall\n10 timeout home full\n20 timeout end", 40 * second, "wall", still},
		{"the_operator_shows_another", "1 clock start\n10 timeout home full\n15 show bug", 16 * second, "bug", opening(15*second + goes)},
		{"or_had_before", "1 clock start\n9 show wall\n10 timeout home full", 20 * second, "timeout", still},
		{"an_interval", "1 period next\n10 period next", 20 * second, "interval", still},
		{"in_which_another_was_shown", "1 clock start\n9 period next\n10 show bug\n11 timeout official", 12 * second, "timeout", opening(11*second + goes)},
		{"half_time", "1 period set 2\n2 period next", 20 * second, "interval", still},
		{"the_end", "1 score home 2\n2 game over", 20 * second, "final", still},
		{"the_end_after_which_the_bug_is_shown", "1 score home 2\n2 game over\n9 show bug", 20 * second, "bug", still},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := moving(t, Options{Graphic: OnAir, Size: small})
			v := keyed(t, c.lines).View(c.at)
			if name, air := p.director.At(&v); name != c.want || air != c.air {
				t.Errorf("%s %+v, want %s %+v", name, air, c.want, c.air)
			}
		})
	}
}

// TestThePictureIsAFunctionOfTheView draws random games in one picture, at instants that jump to and fro, and each once
// more in a picture that has drawn nothing before.
func TestThePictureIsAFunctionOfTheView(t *testing.T) {
	size := small
	for seed := range uint64(4) {
		r := rand.New(rand.NewPCG(seed, 3))
		g, err := engine.NewGame(engine.Setup{Rules: enginetest.NFHS()})
		if err != nil {
			t.Fatal(err)
		}
		at := content.Instant(0)
		for range 120 {
			at += content.Instant(r.IntN(900)) * ms
			c := enginetest.Random(r)
			switch r.IntN(4) {
			case 0:
				c = engine.Command{Do: engine.Show, Text: []string{"bug", "wall", "lower", "blank", "lineup", "final"}[r.IntN(6)]}
			case 1:
				c = engine.Command{Do: []engine.Verb{engine.TimeoutOfficial, engine.TimeoutEnd, engine.PeriodNext, engine.Undo}[r.IntN(4)]}
			}
			_, _, _ = g.Do("one", c, at, engine.None)
		}
		for _, reduced := range []bool{false, true} {
			o := Options{Graphic: OnAir, Size: size, Reduced: reduced}
			used := moving(t, o)
			for range 40 {
				then := content.Instant(r.Int64N(int64(at + second)))
				v := g.Until(then).View(then)
				got, _ := used.Show(&v)
				want, _ := moving(t, o).Show(&v)
				if !bytes.Equal(got.Pix, want.Pix) {
					t.Fatalf("seed %d, reduced %t: at %d the picture depends on what was drawn before", seed, reduced, then)
				}
			}
		}
	}
}

// TestNoSecondKeyIsBehind plays three changes of the board and six of what counts within each second, at any instants: a
// picture in which nothing moves is then the one of the view alone, and so what waits is nothing.
func TestNoSecondKeyIsBehind(t *testing.T) {
	boards := []string{"show wall", "show bug", "show lineup", "message \"Raffle\"", "message off", "timeout official", "timeout end", "period next", "undo"}
	others := []string{"score home 2", "score away 3", "foul home", "fouls away = 7", "bonus home two", "bonus home none", "arrow home", "arrow away"}
	r := rand.New(rand.NewPCG(5, 3))
	g := keyed(t, "")
	used, anew := moving(t, Options{Graphic: OnAir, Size: small, Reduced: true}), moving(t, Options{Graphic: OnAir, Size: small, Reduced: true})
	for from := second; from < 12*second; from += 2 * second {
		var keys []string
		for range 3 {
			keys = append(keys, boards[r.IntN(len(boards))])
		}
		for range 6 {
			keys = append(keys, others[r.IntN(len(others))])
		}
		at := from
		for _, i := range r.Perm(len(keys)) {
			at += content.Instant(r.IntN(110)) * ms // all within a second
			c, err := script.ParseCommand(keys[i])
			if err != nil {
				t.Fatal(err)
			}
			_, _, _ = g.Do("one", c, at, engine.None) // one that is refused changes nothing
			v := g.View(at)
			got, _ := used.Show(&v)
			v.Past = nil
			if want, _ := anew.Show(&v); !bytes.Equal(got.Pix, want.Pix) {
				t.Fatalf("%s at %d is not in the picture", keys[i], at)
			}
		}
	}
}

func TestReducedMotionIsAtOnce(t *testing.T) {
	g := keyed(t, "1 clock start\n2 show wall\n10 show bug\n10 score home 2")
	for _, at := range []content.Instant{10 * second, 10*second + 50*ms} {
		v := g.View(at)
		got, _ := moving(t, Options{Graphic: OnAir, Size: small, Reduced: true}).Show(&v)
		later := g.View(14 * second)
		later.Clock, later.Past, later.At = v.Clock, nil, v.At
		want, _ := moving(t, Options{Graphic: OnAir, Size: small}).Show(&later)
		if !bytes.Equal(got.Pix, want.Pix) {
			t.Errorf("at %d something moves", at)
		}
	}
}

func TestShowingAllocatesNothing(t *testing.T) {
	g := keyed(t, "1 clock start\n8 show wall\n10 show bug\n10.1 score home 2\n10.2 foul away")
	p := moving(t, Options{Graphic: OnAir, Size: small})
	views := []engine.View{g.View(10*second + 100*ms), g.View(10*second + 400*ms), g.View(11*second + 400*ms), g.View(20 * second)}
	show := func() {
		for i := range views {
			p.Show(&views[i])
		}
	}
	show()
	if n := testing.AllocsPerRun(20, show); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
