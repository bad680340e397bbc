package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/journalfile"
	"rafter/engine"
	"rafter/engine/journal"
	"rafter/engine/script"
)

func logCommand() *cobra.Command {
	c := &cobra.Command{Use: "log", Short: "show and check a game's log", Example: "  rafter log show game.log"}
	return cobracli.Group(c, nil, logShowCommand(), logCheckCommand())
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
	switch {
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
	case journal.Damaged:
		return "the file is left as it is; what stands before that line can still be shown with: rafter log show"
	case journal.Future:
		return "read it with a newer rafter"
	case journal.Foreign:
		return "name a log that rafter wrote; a script is played with: rafter run"
	}
	return ""
}

// play makes the game of a log.
func play(path string, log *journal.Log) (*engine.Game, error) {
	game, err := log.Game()
	if err != nil {
		return nil, cli.Fail("", fmt.Errorf("%s: %w", path, err))
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
