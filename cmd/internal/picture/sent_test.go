package picture

import (
	"flag"
	"fmt"
	"image"
	"runtime/debug"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/enginetest"
	"rafter/engine/enginetest/race"
	"rafter/overlay/graphic"
)

// dev soak and dev fuzz give these; in a test of all it is only a look.
var (
	executions = flag.Int("executions", look, "of TestWhateverIsSentAGameIsDrawn: commands decoded from texts and decided")
	limit      = flag.Duration("limit", time.Hour, "of the same: the longest that it may take")
	firstSeed  = flag.Uint64("seed", 1, "of the same: the first game's; each has the next")
)

// look is how many commands are enough for one; under the race detector each takes ten times as long.
var look = map[bool]int{false: 20_000, true: 2_000}[race.Enabled]

// tally is what has been done so far.
type tally struct{ games, texts, decided, applied, states, pictures int }

// TestWhateverIsSentAGameIsDrawn sends games texts that are commands or nearly so: nothing panics, what is refused leaves the
// game as it was, and any state it comes to has a picture that stays inside its graphic's box.
func TestWhateverIsSentAGameIsDrawn(t *testing.T) {
	began := time.Now()
	said := began
	e := newEasel(t)
	var done tally
	for done.decided < *executions && time.Since(began) < *limit {
		seed := *firstSeed + uint64(done.games)
		if err := e.play(seed, &done); err != nil {
			t.Fatalf("-seed %d: %v", seed, err)
		}
		if gone := time.Since(began); time.Since(said) > 10*time.Second {
			said = time.Now()
			left := min(gone*time.Duration(*executions-done.decided)/time.Duration(done.decided), *limit-gone)
			fmt.Printf("%d of %d executions, %v left\n", done.decided, *executions, max(left, 0).Round(time.Second))
		}
	}
	fmt.Printf("%d of %d executions in %v: %d texts decoded, %d commands decided, %d applied, in %d games from seed %d; %d states drawn as %d pictures\n",
		done.decided, *executions, time.Since(began).Round(time.Second), done.texts, done.decided, done.applied, done.games, *firstSeed, done.states, done.pictures)
	if done.decided < done.texts/2 || done.applied < done.texts/8 || done.states < done.games/2 {
		t.Errorf("too little of that is worth anything: %+v", done)
	}
}

// easel holds a picture of each graphic that goes on air, in each theme.
type easel struct {
	pictures []*Picture
	drawn    int
}

func newEasel(t *testing.T) *easel {
	t.Helper()
	e := &easel{}
	for _, theme := range Themes() {
		l, err := Load(theme)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range append(graphic.Names(true), OnAir) {
			for _, size := range []image.Point{small, image.Pt(854, 480)} {
				p, err := l.New(Options{Graphic: name, Size: size})
				if err != nil {
					t.Fatal(err)
				}
				e.pictures = append(e.pictures, p)
			}
		}
	}
	return e
}

// play sends one game a thousand texts and draws it, at an arbitrary place among them and at the end.
func (e *easel) play(seed uint64, done *tally) (err error) {
	s := enginetest.Sit(seed)
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%v: panic: %v\n%s", s, p, debug.Stack())
		}
	}()
	const texts = 1000
	draw := func(v *engine.View) error {
		done.states++
		return e.draw(v, done)
	}
	for i := range texts {
		err := s.Send()
		if err == nil && (i == int(seed*617%texts) || i == texts-1) {
			err = s.Show(draw)
		}
		if err != nil {
			return err
		}
	}
	done.games, done.texts, done.decided, done.applied = done.games+1, done.texts+s.Texts, done.decided+s.Decided, done.applied+s.Applied
	return nil
}

// draw shows the view in a third of the pictures, the next third each time.
func (e *easel) draw(v *engine.View, done *tally) error {
	e.drawn++
	for i := e.drawn % 3; i < len(e.pictures); i += 3 {
		p := e.pictures[i]
		f, damage := p.Show(v)
		done.pictures++
		for _, r := range damage.Rects() {
			if !r.In(f.Bounds()) {
				return fmt.Errorf("%s: the damage %v is outside %v", p.renderer.Graphic(), r, f.Bounds())
			}
		}
		if ink := f.Ink(); !ink.In(p.Box()) {
			return fmt.Errorf("%s: there is ink in %v, outside its box %v", p.renderer.Graphic(), ink, p.Box())
		}
	}
	return nil
}
