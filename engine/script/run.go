package script

import (
	"errors"
	"fmt"
	"strings"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// desk is whose commands a script's are.
const desk = "script"

// Run is a script being played, without waiting, in its own time.
type Run struct {
	script *Script
	game   *engine.Game
	past   []*engine.Game // games that a `game new` ended
	next   int            // line
}

// Published finds a rule set by its name; it is the finder where there are no house rules.
func Published(name string) (rules.Set, error) {
	set, ok := rules.ByName(name)
	if !ok {
		names := strings.Join(rules.Names(), ", ")
		return set, engine.Refuse(engine.UnknownRules, name, names, fmt.Sprintf("no rule set is named %q; there are %s", short(name), names))
	}
	return set, nil
}

// Standard is the rule set of a script that names none.
const Standard = "nfhs"

// Begin makes the game that the directives describe. find turns the name after `rules` into a set; over, where it
// is not empty, is named instead of the script's own (the --rules flag). The error is an *Error.
func (s *Script) Begin(find func(name string) (rules.Set, error), over string) (*Run, error) {
	return Watch{}.Begin(s, find, over)
}

// Begin makes the game of s; with Refused a directive that is refused is told of and left out. Without a rule set
// there is no game.
func (w Watch) Begin(s *Script, find func(name string) (rules.Set, error), over string) (*Run, error) {
	name, line := Standard, 0
	if s.Rules != "" {
		name, line = s.Rules, s.rulesLine
	}
	if over != "" {
		name, line = over, 0
	}
	set, err := find(name)
	if err != nil {
		return nil, at(line, err)
	}
	refused := s.putRules(&set)
	game, err := engine.NewGame(engine.Setup{Rules: set})
	if err != nil {
		return nil, at(line, err)
	}
	for i := range s.Directives {
		err := refused[i]
		if c := s.Directives[i].Command; c.Do != engine.Set {
			err = game.Prepare(c)
		}
		if err != nil {
			if err := w.refuse(at(s.Directives[i].Number, err)); err != nil {
				return nil, err
			}
		}
	}
	return &Run{script: s, game: game}, nil
}

// putRules puts the values of the set directives into the rule set, and returns a refusal for each directive or nil:
// they are one declaration, in whatever order they stand.
func (s *Script) putRules(set *rules.Set) []error {
	refused := make([]error, len(s.Directives))
	var pairs []rules.Pair
	var lines []int
	for i := range s.Directives {
		if c := &s.Directives[i].Command; c.Do == engine.Set {
			pairs, lines = append(pairs, rules.Pair{Key: c.Key, Value: c.Text}), append(lines, i)
		}
	}
	for i, err := range set.PutAll(pairs) {
		if err != nil {
			refused[lines[i]] = engine.RefuseRule(err)
		}
	}
	return refused
}

// at puts a line to an error; one that the engine did not make becomes a bad value.
func at(line int, err error) *Error {
	var refusal *engine.Error
	if !errors.As(err, &refusal) {
		refusal = engine.Refuse(engine.BadValue, "", "", err.Error())
	}
	return &Error{line, refusal}
}

// Watch is told what happens while a script is read and runs; all of it may be nil.
type Watch struct {
	// Check refuses a line of what only the caller can judge, such as a graphic that there is not.
	Check func(engine.Command) *engine.Error
	// Each is told of every line that was done or changed nothing; an error of its own ends the run.
	Each func(Line) error
	// Refused is told of a line that was refused, and the run goes on. Without it a refusal ends the run.
	Refused func(*Error)
}

// refuse tells of a refusal, or returns it where that ends the run.
func (w Watch) refuse(e *Error) error {
	if w.Refused == nil {
		return e
	}
	w.Refused(e)
	return nil
}

// Until does the lines up to and at an instant. The error is an *Error for a refused line, or what Each returned.
func (r *Run) Until(instant clock.Instant, w Watch) error {
	for r.next < len(r.script.Lines) && r.script.Lines[r.next].At <= instant {
		l := r.script.Lines[r.next]
		r.next++
		if err := r.do(l); err != nil {
			if err := w.refuse(at(l.Number, err)); err != nil {
				return err
			}
			continue
		}
		if w.Each != nil {
			if err := w.Each(l); err != nil {
				return err
			}
		}
	}
	return nil
}

// maxGames bounds the games of one script; a whole night's tournament has fewer.
const maxGames = 200

func (r *Run) do(l Line) error {
	if l.Command.Do != engine.GameNew {
		_, _, err := r.game.Do(desk, l.Command, l.At, l.Was)
		return err
	}
	if len(r.past)+1 == maxGames {
		return engine.Refuse(engine.AboveLimit, "game new", fmt.Sprintf("at most %d games", maxGames), fmt.Sprintf("a script has at most %d games", maxGames))
	}
	ended := r.game.Clone()
	_, _, err := r.game.Do(desk, l.Command, l.At, l.Was)
	if err == nil {
		r.past = append(r.past, ended)
	}
	return err
}

// Last returns the time of the script's last line; 0 where it has none.
func (s *Script) Last() clock.Instant {
	if len(s.Lines) == 0 {
		return 0
	}
	return s.Lines[len(s.Lines)-1].At
}

// Game returns the game as far as it has been played.
func (r *Run) Game() *engine.Game { return r.game }

// Games returns every game of the script so far: those that a `game new` ended, and the present one.
func (r *Run) Games() []*engine.Game { return append(r.past[:len(r.past):len(r.past)], r.game) }
