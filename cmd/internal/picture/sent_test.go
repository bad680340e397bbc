package picture

import (
	"errors"
	"flag"
	"fmt"
	"image"
	"math/rand/v2"
	"runtime/debug"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/rules"
	"rafter/overlay/graphic"
)

// dev soak and dev fuzz give these; in a test of all it is only a look.
var (
	executions = flag.Int("executions", 20_000, "of TestWhateverIsSentAGameIsDrawn: commands decoded from texts and decided")
	limit      = flag.Duration("limit", time.Hour, "of the same: the longest that it may take")
	firstSeed  = flag.Uint64("seed", 1, "of the same: the first game's; each has the next")
)

// texts is how many are sent to one game; in one place of so many its state is drawn.
const texts = 1000

// TestWhateverIsSentAGameIsDrawn sends games texts that are commands or nearly so: nothing panics, what is refused leaves the
// game as it was, and any state it comes to has a picture that stays inside its graphic's box.
func TestWhateverIsSentAGameIsDrawn(t *testing.T) {
	began := time.Now()
	said := began
	easel := newEasel(t)
	var done tally
	games := 0
	for ; done.decided < *executions && time.Since(began) < *limit; games++ {
		s := sitting{t: t, easel: easel, seed: *firstSeed + uint64(games), tally: &done}
		s.play()
		if gone := time.Since(began); time.Since(said) > 10*time.Second {
			said = time.Now()
			left := min(gone*time.Duration(*executions-done.decided)/time.Duration(done.decided), *limit-gone)
			fmt.Printf("%d of %d executions, %v left\n", done.decided, *executions, max(left, 0).Round(time.Second))
		}
	}
	fmt.Printf("%d of %d executions in %v: %d texts decoded, %d commands decided, %d applied, in %d games from seed %d; %d states drawn as %d pictures\n",
		done.decided, *executions, time.Since(began).Round(time.Second), done.texts, done.decided, done.applied, games, *firstSeed, done.states, done.pictures)
	if done.decided < done.texts/2 || done.applied < done.texts/8 || done.states < games/2 {
		t.Errorf("too little of that is worth anything: %+v in %d games", done, games)
	}
}

type tally struct{ texts, decided, applied, states, pictures int }

// sitting is one game and what is sent to it, the same for the same seed.
type sitting struct {
	t     *testing.T
	easel *easel
	seed  uint64
	*tally

	r    *rand.Rand
	game *engine.Game
	set  rules.Set
	at   clock.Instant
	over bool // as last looked
	text []byte
}

func (s *sitting) play() {
	s.r = rand.New(rand.NewPCG(s.seed, 11))
	defer func() {
		if p := recover(); p != nil {
			s.t.Fatalf("-seed %d: %q at %d: panic: %v\n%s", s.seed, s.text, s.at, p, debug.Stack())
		}
	}()
	names := rules.Names()
	s.set, _ = rules.ByName(names[s.r.IntN(len(names))])
	var err error
	if s.game, err = engine.NewGame(engine.Setup{Rules: s.set}); err != nil {
		s.t.Fatal(err)
	}
	for i := range texts {
		s.send(i)
		if s.r.IntN(texts) == 0 {
			s.draw()
		}
	}
}

// send decodes text i and has its command decided and applied. Now and then it looks closer, which takes longer than all else.
func (s *sitting) send(i int) {
	s.texts++
	switch odds := s.r.IntN(300); {
	case odds == 0:
		s.at += clock.Instant(s.r.IntN(48)) * clock.Instant(time.Hour)
	case odds < 200:
		s.at += clock.Instant(s.r.IntN(20_000)) * clock.Instant(time.Millisecond)
	}
	s.text = enginetest.Text(s.r, len(s.game.Events()))
	var c engine.Command
	if err := c.UnmarshalJSON(s.text); err != nil {
		var refusal *engine.Error
		if !errors.As(err, &refusal) || refusal.Code == "" || c != (engine.Command{}) {
			s.t.Fatalf("-seed %d: %q is refused by %#v and leaves %+v", s.seed, s.text, err, c)
		}
		return
	}
	switch {
	case c.Do == engine.GameNew && s.r.IntN(10) > 0:
		return // or no game would come far
	case s.over && s.r.IntN(3) > 0:
		c = engine.Command{Do: engine.Undo}
	}
	was := engine.None
	if s.r.IntN(8) == 0 {
		was = engine.Some(s.at - clock.Instant(s.r.IntN(40))*clock.Instant(time.Second))
	}
	look := i%16 == 0
	var before engine.State
	if look {
		before = s.game.State()
		s.over = s.game.View(s.at).Period.Phase == engine.Over
	}
	events := len(s.game.Events())
	_, changed, err := s.game.Do([]string{"table", "phone"}[s.r.IntN(2)], c, s.at, was)
	s.decided++
	if changed {
		s.applied++
	}
	if err != nil && (changed || len(s.game.Events()) != events || look && s.game.State() != before) {
		s.t.Fatalf("-seed %d: %q at %d is refused and changes the game: %v", s.seed, s.text, s.at, err)
	}
	if look && s.game.Setup().Rules == s.set { // what must hold is written for the published values
		if wrong := enginetest.Invariants(s.game, s.at); wrong != nil {
			s.t.Fatalf("-seed %d: after %q at %d: %v", s.seed, s.text, s.at, wrong)
		}
	}
}

// draw shows the game now, a moment later, and as the corrected account has it.
func (s *sitting) draw() {
	v := &s.easel.view
	for i := range 3 {
		at := s.at + clock.Instant(s.r.IntN(90_000))*clock.Instant(time.Millisecond)
		switch i {
		case 0:
			s.game.ViewInto(v, s.at)
		case 1:
			s.game.ViewInto(v, at)
		case 2:
			s.game.Corrected().ViewInto(v, at)
		}
		s.states++
		s.pictures += s.easel.draw(s)
	}
}

// easel holds a picture of each graphic that goes on air, in each theme.
type easel struct {
	view     engine.View
	pictures []*Picture
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

// draw shows the view in a third of the pictures and returns how many.
func (e *easel) draw(s *sitting) (drawn int) {
	for i := s.r.IntN(3); i < len(e.pictures); i += 3 {
		p := e.pictures[i]
		f, damage := p.Show(&e.view)
		for _, r := range damage.Rects() {
			if !r.In(f.Bounds()) {
				s.t.Fatalf("-seed %d: after %q the damage %v is outside %v", s.seed, s.text, r, f.Bounds())
			}
		}
		if ink := f.Ink(); !ink.In(p.Box()) {
			s.t.Fatalf("-seed %d: after %q there is ink in %v, outside %s's box %v", s.seed, s.text, ink, p.name, p.Box())
		}
		drawn++
	}
	return drawn
}
