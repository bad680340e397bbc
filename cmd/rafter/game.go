package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/public"
	"rafter/engine/script"
)

// account is a game to look at in any instant, as it was shown or as it was true. Instants that rise are cheap.
type account struct {
	games     []*engine.Game    // those that a `game new` ended, then the last
	corrected []*engine.Account // one a game; nil for what was shown
	end       clock.Instant     // of the last line or record
	names     public.Names      // how much of the players' is shown

	now        *engine.Game // as shown in the instants from, before next
	from, next clock.Instant
}

func newAccount(games []*engine.Game, end clock.Instant, as string) *account {
	a := &account{games: games, end: end, names: public.FullNames}
	if as == asCorrected {
		for _, g := range games {
			a.corrected = append(a.corrected, g.Corrected())
		}
	}
	return a
}

// never is after every instant.
const never = clock.Instant(1<<63 - 1)

// ViewInto writes the view at an instant into v.
func (a *account) ViewInto(v *engine.View, at clock.Instant) {
	a.wholeViewInto(v, at)
	a.names.View(v)
}

func (a *account) wholeViewInto(v *engine.View, at clock.Instant) {
	i := len(a.games) - 1
	for i > 0 && a.games[i].Began() > at {
		i--
	}
	if a.corrected != nil {
		a.corrected[i].ViewInto(v, at)
		return
	}
	if a.now == nil || at < a.from || at >= a.next {
		a.show(i, at)
	}
	a.now.ViewInto(v, at)
}

// show takes game i to an instant, and notes how long it stays as it is then.
func (a *account) show(i int, at clock.Instant) {
	a.now, a.from, a.next = a.games[i].Until(at), at, never
	events := a.games[i].Events()
	after, _ := slices.BinarySearchFunc(events, at, func(e engine.Event, at clock.Instant) int {
		if e.At <= at {
			return -1
		}
		return 1
	})
	if after < len(events) {
		a.next = events[after].At
	}
	if i+1 < len(a.games) {
		a.next = min(a.next, a.games[i+1].Began())
	}
}

// The values of --as.
const asShown, asCorrected = "shown", "corrected"

func asFlag(c *cobra.Command) *string {
	return cobracli.Checked(c, "as", asShown, func(s string) error {
		if s != asShown && s != asCorrected {
			return fmt.Errorf("%q is neither shown nor corrected", s)
		}
		return nil
	})
}

// which is the game that the flags name.
type which struct {
	script, log, rules, as *string
	names                  *public.Names
}

func gameFlags(c *cobra.Command) which {
	return which{cobracli.Text(c, "script", ""), cobracli.Text(c, "log", ""), cobracli.Text(c, "rules", ""), asFlag(c), namesFlag(c)}
}

// namesFlag leaves the names in unless told: what this makes stays here until somebody hands it on.
func namesFlag(c *cobra.Command) *public.Names {
	names := public.FullNames
	cobracli.Checked(c, "names", names.String(), func(s string) (err error) {
		names, err = public.Parse(s)
		return err
	})
	return &names
}

// open reads the game as far as an instant; where that was not given, to its end.
func (w which) open(c *cobra.Command, until *when) (*account, error) {
	a, err := w.read(c, until)
	if err == nil {
		a.names = *w.names
	}
	return a, err
}

func (w which) read(c *cobra.Command, until *when) (*account, error) {
	switch {
	case (*w.script == "") == (*w.log == ""):
		return nil, cli.Wrong("name one of them: --script FILE or --log FILE", "%s needs one game", c.CommandPath())
	case *w.log != "" && *w.rules != "":
		return nil, cli.Wrong("leave --rules out", "--rules does not go with --log: a log holds its own rule set")
	case *w.log != "":
		log, err := readLog(c, *w.log)
		if err != nil {
			return nil, err
		}
		game, err := play(*w.log, log)
		if err != nil {
			return nil, err
		}
		return newAccount([]*engine.Game{game}, log.At(), *w.as), nil
	}
	s, _, err := readScript(c, *w.script, script.Watch{})
	if err != nil {
		return nil, scriptError(*w.script, err)
	}
	run, err := s.Begin(finder(*w.script, *w.rules), *w.rules)
	if err == nil {
		to := until.or(s.Last())
		if *w.as == asCorrected {
			to = s.Last() // what was true may have been keyed later
		}
		err = run.Until(to, script.Watch{})
	}
	if err != nil {
		return nil, scriptError(*w.script, err)
	}
	return newAccount(run.Games(), s.Last(), *w.as), nil
}

// readScript reads and checks a whole script with its graphics, and returns its bytes too; - is standard input.
func readScript(c *cobra.Command, path string, w script.Watch) (*script.Script, []byte, error) {
	in := c.InOrStdin()
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, nil, err
		}
		defer func() { _ = f.Close() }() // only read
		in = f
	}
	w.Check = picture.Check
	var text bytes.Buffer
	s, err := w.Parse(io.TeeReader(in, &text))
	return s, text.Bytes(), err
}

// scriptError puts the file's name and a hint to an error of a script.
func scriptError(path string, err error) error {
	var refused *script.Error
	if !errors.As(err, &refused) {
		return cli.Fail("name a script that can be read; - is standard input", err)
	}
	hint := ""
	if expected := refused.Refusal.Expected; expected != "" && !strings.Contains(refused.Refusal.Message, expected) {
		hint = "expected " + expected
	}
	return cli.Fail(hint, fmt.Errorf("%s: %w", path, err))
}

func parseTime(s string) (clock.Instant, error) {
	at, refused := script.ParseTime(s)
	if refused != nil {
		return 0, refused
	}
	return at, nil
}

func join(names []string) string { return strings.Join(names, ", ") }
