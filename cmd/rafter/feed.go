package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os/signal"
	"strings"
	"text/tabwriter"
	"time"
	"unicode"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/source"
)

func feedCommand() *cobra.Command {
	c := &cobra.Command{Use: "feed", Short: "mapping files for host --source: what is found where in the JSON of whoever keeps the game", Example: "  rafter feed begin board.toml"}
	return cobracli.Group(c, nil, feedBeginCommand(), feedTryCommand())
}

func feedBeginCommand() *cobra.Command {
	return &cobra.Command{
		Use: "begin FILE", Short: "make a mapping file to begin with, every key explained",
		Example: "  rafter feed begin board.toml",
		Args:    cobracli.Args(1, 1, "FILE"),
		RunE: func(c *cobra.Command, args []string) error {
			if err := writeNew(args[0], source.Begin); errors.Is(err, fs.ErrExist) {
				return cli.Fail("name another, or go on with that one: rafter feed try "+args[0], fmt.Errorf("%s is there already", args[0]))
			} else if err != nil {
				return err
			}
			tell(c, "open it in an editor; then look with: rafter feed try %s", args[0])
			return say(c, "%s\n", args[0])
		},
	}
}

func feedTryCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "try MAP", Short: "what each pointer of a mapping file finds, and how often something comes",
		Long: "Follows the feed for five seconds, or as long as --seconds says, and changes no game. A line a pointer: the field, the\n" +
			"pointer, what it found last, and what that comes to or at which step nothing was found. It fails where one that is\n" +
			"not optional found nothing of use in all that time.",
		Example: "  rafter feed try board.toml --seconds 20",
		Args:    cobracli.Args(1, 1, "MAP"),
	}
	length := 5 * time.Second
	cobracli.Checked(c, "seconds", "", func(s string) (err error) {
		length, err = cli.ParseSeconds(s)
		return err
	})
	asJSON := cobracli.Switch(c, "json")
	c.RunE = func(c *cobra.Command, args []string) error {
		plan, err := source.Load(args[0])
		if err != nil {
			return err
		}
		ctx, stop := signal.NotifyContext(context.Background(), cli.Ends()...)
		defer stop()
		ctx, cancel := context.WithTimeout(ctx, length)
		defer cancel()
		report, err := source.Try(ctx, plan, host.SystemTime(), func(m source.Came) { tellCame(c, m) })
		switch {
		case err != nil:
			return err
		case *asJSON:
			err = printJSON(c.OutOrStdout(), report)
		default:
			err = sayReport(c, &report)
		}
		switch {
		case err != nil || report.Good():
			return err
		case report.Messages == 0:
			return cli.Fail("look whether from names the right place, and whether it can be reached from here", fmt.Errorf("nothing of use came from %s%s", report.From, because(report.Wrong)))
		}
		return cli.Fail("put the pointer right, or name the field in optional", errors.New("not every pointer found something"))
	}
	return c
}

func because(why string) string {
	if why == "" {
		return ""
	}
	return ": " + why
}

func tellCame(c *cobra.Command, m source.Came) {
	if m.Wrong != nil {
		tell(c, "%d ms later: %v", m.After.Milliseconds(), m.Wrong)
		return
	}
	tell(c, "%d ms later: message %d, %d bytes", m.After.Milliseconds(), m.Number, m.Bytes)
}

func sayReport(c *cobra.Command, r *source.Report) error {
	w := tabwriter.NewWriter(c.OutOrStdout(), 0, 8, 2, ' ', 0)
	for _, p := range r.Pointers {
		found := p.Means
		switch {
		case p.Wrong != "" && p.Optional:
			found = "nothing, which is allowed: " + p.Wrong
		case p.Wrong != "":
			found = "nothing: " + p.Wrong
		}
		value := ""
		if p.Value != nil || p.Times > 0 {
			value = fmt.Sprint(p.Value)
			if p.Value == nil {
				value = "null"
			}
			if r := []rune(value); len(r) > 30 {
				value = string(r[:30]) + "…"
			}
		}
		if _, err := fmt.Fprintf(w, "%s\t%q\t%s\t%s\n", p.Field, p.Pointer, strings.Map(printable, value), found); err != nil {
			return err
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	tell(c, "%s: messages %d, a minute %d; longest silence %d ms, the last %d ms old; of no use %d%s", r.From, r.Messages, r.PerMinute, r.LongestMS, r.AgeMS, r.Bad, because(r.Wrong))
	return nil
}

// printable leaves out what would command a terminal.
func printable(r rune) rune {
	if unicode.IsPrint(r) {
		return r
	}
	return -1
}
