package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/journalfile"
	"rafter/engine"
	"rafter/engine/journal"
	"rafter/engine/ledger"
	"rafter/engine/script"
	"rafter/overlay/content"
)

func logCommand() *cobra.Command {
	c := &cobra.Command{Use: "log", Short: "show, check and export a game's log, and lay it beside the official book", Example: "  rafter log show game.log"}
	return cobracli.Group(c, nil, logShowCommand(), logCheckCommand(), logReconcileCommand(), logExportCommand())
}

func logShowCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "show FILE", Short: "one event a line: NUMBER TIME [was TIME] COMMAND",
		Example: "  rafter log show game.log",
		Args:    cobracli.Args(1, 1, "FILE"),
	}
	asJSON := cobracli.Switch(c, "json")
	c.RunE = func(c *cobra.Command, args []string) error {
		log, failure := readLog(c, args[0])
		if log == nil {
			return failure
		}
		events := log.EventList()
		lines := script.FormatEvents(log.Header.Setup, events)
		for i, e := range events {
			var err error
			if *asJSON {
				err = printJSON(c.OutOrStdout(), eventLine(e))
			} else {
				err = say(c, "%d %s\n", e.Number, lines[i])
			}
			if err != nil {
				return err
			}
		}
		return failure // what could be read is shown, and the rest is not kept quiet
	}
	return c
}

func logCheckCommand() *cobra.Command {
	return &cobra.Command{
		Use: "check FILE", Short: "whether a log is whole and its game can be played",
		Example: "  rafter log check game.log",
		Args:    cobracli.Args(1, 1, "FILE"),
		RunE: func(c *cobra.Command, args []string) error {
			log, err := readLog(c, args[0])
			if err == nil {
				_, err = play(args[0], log)
			}
			if err != nil {
				return err
			}
			return say(c, "%s\twhole\t%d events\n", args[0], log.Events)
		},
	}
}

// readLog reads a log and tells of a torn tail. A log that is damaged further on comes with the error.
func readLog(c *cobra.Command, path string) (*journal.Log, error) {
	log, err := journalfile.Read(journalfile.OS(), path)
	var bad *journal.Error
	switch info, _ := os.Stat(path); {
	case info != nil && info.IsDir():
		return nil, cli.Fail("name one of the logs in it", fmt.Errorf("%s is a folder, no log", path))
	case errors.As(err, &bad):
		return log, cli.Fail(logHint(bad), fmt.Errorf("%s: %w", path, err))
	case err != nil:
		return nil, cli.Fail("name a log that can be read; rafter-window says where it keeps a game's", err)
	}
	if log.Torn > 0 {
		tell(c, "%s: the last line was cut off (%d bytes) and is no part of the game", path, log.Torn)
	}
	return log, nil
}

func logHint(e *journal.Error) string {
	switch e.Code {
	case journal.Damaged, journal.TooLarge:
		return "the file is left as it is; what stands before that line can still be shown with: rafter log show"
	case journal.Unknown:
		return "its checksum fits: perhaps a newer rafter wrote it, then read it with that one; what stands before it can be shown with: rafter log show"
	case journal.Empty:
		return "name another log; a game begun with rafter-window --log has its first line at once"
	case journal.Failed:
		return "see whether the file may be read, and its disk; what stands before that line can still be shown with: rafter log show"
	case journal.Future:
		return "read it with a newer rafter; the file is left as it is"
	case journal.Foreign:
		return "name a log that rafter wrote; a script is played with: rafter run"
	}
	return ""
}

// play makes the game of a log.
func play(path string, log *journal.Log) (*engine.Game, error) {
	game, err := log.Game()
	if err != nil {
		hint := ""
		var bad *journal.Error
		if errors.As(err, &bad) {
			hint = logHint(bad)
		}
		return nil, cli.Fail(hint, fmt.Errorf("%s: %w", path, err))
	}
	return game, nil
}

// line is an event for programs.
type line struct {
	Number  int                          `json:"number"`
	At      engine.Seconds               `json:"at"`
	Was     engine.Maybe[engine.Seconds] `json:"was"`
	Desk    string                       `json:"desk"`
	Words   string                       `json:"words"`
	Command engine.Command               `json:"command"`
}

func eventLine(e engine.Event) line {
	l := line{Number: e.Number, At: engine.Seconds(e.At), Desk: e.Desk, Words: script.Format(e.Command), Command: e.Command}
	if e.Was.OK {
		l.Was = engine.Some(engine.Seconds(e.Was.Value))
	}
	return l
}

func logReconcileCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "reconcile FILE", Short: "where a game's counts differ from its players' sums, or from the official book",
		Long: "One difference a line, with the events behind it and what to ask the official scorer; exit 0 none, 1 differences.\n" +
			"The book is right and the display follows; nothing is changed here.\n\n" +
			"--book names a list typed from the book, # begins a comment, what is not listed is not compared:\n" +
			"  home score 45\n  home 12 points 8\n  home 12 fouls 3\n" +
			"  home fouls 4              the team's fouls as they count now\n" +
			"  home timeouts full 2      those left\n  arrow home                or off\n  period 3                  or ot1",
		Example: "  rafter log reconcile game.log --book book.txt",
		Args:    cobracli.Args(1, 1, "FILE"),
	}
	book, asJSON := cobracli.Text(c, "book", ""), cobracli.Switch(c, "json")
	c.RunE = func(c *cobra.Command, args []string) error {
		list, err := typedBook(*book)
		if err != nil {
			return err
		}
		l, err := readLedger(c, args[0])
		if err != nil {
			return err
		}
		differences := append(l.Sums(), l.Compare(list)...)
		for i := range differences {
			if *asJSON {
				err = printJSON(c.OutOrStdout(), &differences[i])
			} else {
				err = say(c, "%s\n", differences[i].String())
			}
			if err != nil {
				return err
			}
		}
		if len(differences) > 0 {
			return cli.Silent
		}
		return nil
	}
	return c
}

// typedBook reads the list of that name; without a name it is empty.
func typedBook(path string) (*ledger.Book, error) {
	if path == "" {
		return &ledger.Book{}, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, cli.Fail("", err)
	}
	defer func() { _ = f.Close() }() // only read
	list, err := ledger.ReadBook(f)
	var bad *ledger.BookError
	switch {
	case errors.As(err, &bad):
		return nil, cli.Fail("how a line is written: rafter log reconcile --help", fmt.Errorf("%s: %w", path, err))
	case err != nil:
		return nil, cli.Fail("", err)
	}
	return list, nil
}

// readLedger reads a log, which must be whole, and what its events came to.
func readLedger(c *cobra.Command, path string) (*ledger.Ledger, error) {
	log, err := readLog(c, path)
	if err != nil {
		return nil, err
	}
	game, err := play(path, log)
	if err != nil {
		return nil, err
	}
	l, err := ledger.Read(game, log.At())
	if err != nil {
		return nil, cli.Fail("", fmt.Errorf("%s: %w", path, err))
	}
	return l, nil
}

func logExportCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "export FILE", Short: "a game as a table for spreadsheets, or as a running score sheet",
		Long: "--csv: one event a row (RFC 4180), the clock as it read when the event was true, the score after it, and whether the event\n" +
			"is live, taken back or amended.\n" +
			"--sheet: names and numbers, goals and throws with a running total, fouls, timeouts and the arrow, to lay beside the official\n" +
			"book, which it does not replace: as text, or with -o as a picture to print.",
		Example: "  rafter log export game.log --csv > game.csv\n  rafter log export game.log --sheet -o sheet.png",
		Args:    cobracli.Args(1, 1, "FILE"),
	}
	asCSV, asSheet, out := cobracli.Switch(c, "csv"), cobracli.Switch(c, "sheet"), cobracli.Text(c, "out", "")
	theme := cobracli.Text(c, "theme", cli.Theme)
	// A4 at 300 dots an inch: 210 × 297 mm (ISO 216).
	size := cobracli.Size(c, "2480x3508")
	c.RunE = func(c *cobra.Command, args []string) error {
		switch usage := "usage: " + c.CommandPath() + " FILE --csv, or --sheet"; {
		case *asCSV == *asSheet:
			return cli.Wrong(usage, "%s needs one of --csv and --sheet", c.CommandPath())
		case *asCSV && *out != "":
			return cli.Wrong(usage, "-o is for the sheet's picture; the table goes to standard output")
		}
		l, err := readLedger(c, args[0])
		switch {
		case err != nil:
			return err
		case *asCSV:
			return writeCSV(c.OutOrStdout(), l)
		case *out == "":
			return say(c, "%s", l.Sheet().Text())
		}
		looks, err := loadTheme(c, *theme)
		if err != nil {
			return err
		}
		return drawPage(c, looks, "sheet", *size, content.Desk{Sheet: l.Sheet()}, *out)
	}
	return c
}

// columns are the table's; they only grow, at the end.
var columns = []string{"number", "time", "was", "clock", "period", "command", "team", "player", "home", "away", "state"}

// writeCSV writes the table of events. No cell can begin with a sign that a spreadsheet would compute: each is made of
// our own words or begins with one.
func writeCSV(w io.Writer, l *ledger.Ledger) error {
	table := csv.NewWriter(w)
	table.UseCRLF = true
	rows := [][]string{columns}
	for i := range l.Entries {
		e := &l.Entries[i]
		was := ""
		if e.Event.Was.OK {
			was = script.FormatTime(e.Event.Was.Value)
		}
		keyed := &e.Event.Command
		of := keyed.Team.String()
		if keyed.Do == engine.TimeoutBoth {
			of = engine.BothCallers.String()
		}
		rows = append(rows, []string{strconv.Itoa(e.Event.Number), script.FormatTime(e.Event.At), was, e.Clock, e.Label, script.Format(*keyed),
			of, keyed.By, strconv.Itoa(e.Score[0]), strconv.Itoa(e.Score[1]), e.Fate.String()})
	}
	return table.WriteAll(rows)
}
