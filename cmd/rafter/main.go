// Command rafter is the headless program: scripts, logs, pictures, rules, themes and settings from the command
// line. It opens no window and must never reach the library that does.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
)

func main() {
	os.Exit(cobracli.Run(command(), os.Args[1:], cobracli.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}))
}

func command() *cobra.Command {
	root := &cobra.Command{
		Use:   "rafter",
		Short: "One account of a basketball game, drawn once: from the scorers' table to the same pixels everywhere.",
		Long: "The officials on the floor and the official book stand above anything shown here; local rules stand above our\n" +
			"tables. With a window: rafter-window.",
		Example: "  rafter demo --seconds 20 --picture demo.png\n  rafter run game.game --at 12.4",
	}
	return cobracli.Group(root, nil, runCommand(), stillCommand(), rawCommand(), logCommand(), rulesCommand(), themeCommand(),
		setupCommand(), hostCommand(), feedCommand(), tokenCommand(), demoCommand(), cardCommand(), versionCommand())
}

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "print the version", Args: cobracli.Args(0, 0, ""),
		RunE: func(c *cobra.Command, _ []string) error {
			return say(c, "rafter %s\n", cli.Version())
		},
	}
}

// say writes data to standard output.
func say(c *cobra.Command, format string, args ...any) error {
	_, err := fmt.Fprintf(c.OutOrStdout(), format, args...)
	return err
}

// tell writes for people, to standard error. That nobody reads it is no failure.
func tell(c *cobra.Command, format string, args ...any) {
	_, _ = fmt.Fprintf(c.ErrOrStderr(), c.Root().Name()+": "+format+"\n", args...)
}

// printJSON writes one JSON value and a newline.
func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// writeNew writes a file that is not there yet; one that is stays as it is (fs.ErrExist).
func writeNew(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err := errors.Join(err, f.Close()); err != nil {
		return cli.Fail("half of it may be there: take it away and begin again", err)
	}
	return nil
}
