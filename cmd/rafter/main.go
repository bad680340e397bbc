// Command rafter is the headless program: scripts, logs, pictures, rules, themes and settings from the command
// line. It opens no window and must never reach the library that does.
package main

import (
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
		setupCommand(), demoCommand(), cardCommand(), versionCommand())
}

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "print the version", Args: cobracli.Args(0, 0, ""),
		RunE: func(c *cobra.Command, _ []string) error {
			return say(c, "rafter %s\n", cli.Version())
		},
	}
}
