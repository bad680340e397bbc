package enginetest

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Sitting is one game under one of the rule sets, and texts that are sent to it: the same for the same seed.
type Sitting struct {
	// How many texts were sent, commands of them decided, and of those applied.
	Texts, Decided, Applied int

	r    *rand.Rand
	game *engine.Game
	set  rules.Set
	at   clock.Instant
	over bool // as last looked
	text []byte
	view engine.View
}

// Sit begins a sitting.
func Sit(seed uint64) *Sitting {
	s := &Sitting{r: rand.New(rand.NewPCG(seed, 11))}
	names := rules.Names()
	s.set, _ = rules.ByName(names[s.r.IntN(len(names))])
	var err error
	if s.game, err = engine.NewGame(engine.Setup{Rules: s.set}); err != nil {
		panic(fmt.Sprintf("enginetest: no game: %v", err))
	}
	return s
}

// String says where the sitting stands.
func (s *Sitting) String() string {
	return fmt.Sprintf("text %d, %q at %d under %s", s.Texts, s.text, s.at, s.set.Name)
}

// Send decodes the next text and has its command decided and applied. The error says what must not be: a refusal that
// says nothing or changes something, or a game of which Invariants does not hold. Now and then it looks closer, which
// takes longer than all else.
func (s *Sitting) Send() error {
	s.Texts++
	switch odds := s.r.IntN(300); {
	case odds == 0:
		s.at += clock.Instant(s.r.IntN(48)) * clock.Instant(time.Hour)
	case odds < 200:
		s.at += clock.Instant(s.r.IntN(20_000)) * clock.Instant(time.Millisecond)
	}
	s.text = Text(s.r, len(s.game.Events()))
	var c engine.Command
	if err := c.UnmarshalJSON(s.text); err != nil {
		var refusal *engine.Error
		if !errors.As(err, &refusal) || refusal.Code == "" || c != (engine.Command{}) {
			return fmt.Errorf("%v: refused by %#v, leaves %+v", s, err, c)
		}
		return nil
	}
	switch {
	case c.Do == engine.GameNew && s.r.IntN(10) > 0:
		return nil // or no game would come far
	case s.over && s.r.IntN(3) > 0:
		c = engine.Command{Do: engine.Undo}
	}
	was := engine.None
	if s.r.IntN(8) == 0 {
		was = engine.Some(s.at - clock.Instant(s.r.IntN(40))*clock.Instant(time.Second))
	}
	look := s.Texts%16 == 0
	var before engine.State
	if look {
		before = s.game.State()
		s.over = s.game.View(s.at).Period.Phase == engine.Over
	}
	events := len(s.game.Events())
	s.Decided++
	_, changed, err := s.game.Do([]string{"table", "phone"}[s.r.IntN(2)], c, s.at, was)
	if changed {
		s.Applied++
	}
	if err != nil && (changed || len(s.game.Events()) != events || look && s.game.State() != before) {
		return fmt.Errorf("%v: refused, and changes the game: %w", s, err)
	}
	if look && s.game.Setup().Rules == s.set { // what must hold is written for the published values
		if wrong := Invariants(s.game, s.at); wrong != nil {
			return fmt.Errorf("%v: %v", s, wrong)
		}
	}
	return nil
}

// Show gives the game to draw as it stands, as it will stand a little later, and as the corrected account has it then.
// It stops at the first error.
func (s *Sitting) Show(draw func(*engine.View) error) error {
	later := s.at + clock.Instant(s.r.IntN(90_000))*clock.Instant(time.Millisecond)
	for _, fill := range []func(){
		func() { s.game.ViewInto(&s.view, s.at) },
		func() { s.game.ViewInto(&s.view, later) },
		func() { s.game.Corrected().ViewInto(&s.view, later) },
	} {
		fill()
		if err := draw(&s.view); err != nil {
			return fmt.Errorf("%v: %w", s, err)
		}
	}
	return nil
}
