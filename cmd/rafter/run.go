package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/journalfile"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/journal"
	"rafter/engine/script"
)

// runner is one call of `rafter run`.
type runner struct {
	c                          *cobra.Command
	path                       string
	at                         *when
	rules, log, as             *string
	asJSON, keepGoing, eachOne *bool
}

func runCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "run FILE", Short: "play a script without waiting and print the view as JSON",
		Long: "One command a line: TIME [was TIME] COMMAND; - reads standard input. The whole script is checked; lines up to and\n" +
			"at --at run (the last line's time unless told). A refused command ends the run, and nothing is printed but why.",
		Example: "  printf '0 score home 2 by 12\\n' | rafter run -",
		Args:    cobracli.Args(1, 1, "FILE"),
	}
	r := &runner{
		c: c, at: timeFlag(c, "at"), rules: cobracli.Text(c, "rules", ""), log: cobracli.Text(c, "log", ""), as: asFlag(c),
		asJSON: cobracli.Switch(c, "json"), keepGoing: cobracli.Switch(c, "keep-going"), eachOne: cobracli.Switch(c, "each"),
	}
	c.RunE = func(_ *cobra.Command, args []string) error {
		r.path = args[0]
		err := r.run()
		if err != nil && *r.asJSON {
			return errors.Join(printJSON(c.OutOrStdout(), map[string]any{"error": errorObject(err)}), cli.Silent)
		}
		return err
	}
	return c
}

func (r *runner) run() error {
	w := r.watch()
	s, text, err := readScript(r.c, r.path, w)
	if err != nil {
		return scriptError(r.path, err)
	}
	at := r.at.or(s.Last())
	to := at
	if *r.as == asCorrected {
		to = max(at, s.Last()) // what was true may have been keyed later
	}
	var done []clock.Instant // the commands that were not refused
	w.Each = func(l script.Line) error {
		done = append(done, l.At)
		return nil
	}
	run, err := w.Begin(s, finder(r.path, *r.rules), *r.rules)
	if err == nil {
		err = run.Until(to, w)
	}
	if err != nil {
		return scriptError(r.path, err)
	}
	if *r.log != "" {
		if err := saveLogs(*r.log, run.Games(), text); err != nil {
			return err
		}
	}
	game := newAccount(run.Games(), s.Last(), *r.as)
	var v engine.View
	if !*r.eachOne {
		game.ViewInto(&v, at)
		return printJSON(r.c.OutOrStdout(), &v)
	}
	if *r.as == asShown {
		return r.each(s)
	}
	for _, keyed := range done {
		if keyed > at {
			break
		}
		game.ViewInto(&v, keyed)
		if err := printJSON(r.c.OutOrStdout(), &v); err != nil {
			return err
		}
	}
	return nil
}

// each plays the script once more, now that nothing in it is refused, and prints the view after every command.
func (r *runner) each(s *script.Script) error {
	var w script.Watch
	if *r.keepGoing {
		w.Refused = func(*script.Error) {} // told of before
	}
	run, err := w.Begin(s, finder(r.path, *r.rules), *r.rules)
	if err != nil {
		return err
	}
	w.Each = func(l script.Line) error {
		v := run.Game().View(l.At)
		return printJSON(r.c.OutOrStdout(), &v)
	}
	return run.Until(r.at.or(s.Last()), w)
}

// watch reports refusals on standard error where the run is to go on.
func (r *runner) watch() script.Watch {
	if !*r.keepGoing {
		return script.Watch{}
	}
	return script.Watch{Refused: func(refused *script.Error) {
		if *r.asJSON {
			_ = printJSON(r.c.ErrOrStderr(), map[string]any{"error": refused}) // for people too: its loss is no failure
			return
		}
		tell(r.c, "%s: %v", r.path, refused)
	}}
}

// failure is an error that is not about a line of the script.
type failure struct {
	Code     string `json:"code"`
	Line     int    `json:"line"`
	Value    string `json:"value"`
	Expected string `json:"expected"`
	Message  string `json:"message"`
}

func errorObject(err error) any {
	var refused *script.Error
	if errors.As(err, &refused) {
		return refused
	}
	return failure{Code: "failed", Message: err.Error()}
}

// saveLogs writes a log for each game of a script, the second beside the first under a number. A script has no
// time of day: its instant 0 is the epoch. The id is made of the script, so the same run may write its log again.
func saveLogs(path string, games []*engine.Game, text []byte) error {
	sum := sha256.Sum256(text)
	for i, g := range games {
		name := journalfile.Numbered(path, i+1)
		header := journal.Header{
			Format: journal.Format, Program: journal.Program,
			ID:    fmt.Sprintf("script-%s-%d", hex.EncodeToString(sum[:8]), i+1),
			Began: journal.Wall(time.Unix(0, 0).UTC()), Setup: g.Opening(),
		}
		if err := journalfile.Save(journalfile.OS(), name, header, g.Events()); err != nil {
			return cli.Fail("name another file with --log", err)
		}
	}
	return nil
}
