// Package cobracli puts the flags, help, hints and errors of package cli on a tree of commands. It does no work of its
// own. A program that must not load package net, as the command library does, reads its command line without it.
package cobracli

import (
	"errors"
	"fmt"
	"io"
	"os/signal"
	"runtime"
	"syscall"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/overlay/toml"
)

// Streams are the program's three.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
}

// Run executes the command line and returns the exit code. Errors are printed here and nowhere else; a closed pipe is
// success.
func Run(root *cobra.Command, args []string, s Streams) int {
	signal.Ignore(syscall.SIGPIPE) // a reader that left is an error of Write, not the program's death
	out := &pipe{w: s.Out}
	root.SilenceErrors, root.SilenceUsage = true, true
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetIn(s.In)
	root.SetOut(out)
	root.SetErr(s.Err)
	root.SetArgs(append([]string{}, args...)) // never nil: cobra would read the process's own
	root.SetFlagErrorFunc(flagError)
	root.SetHelpCommand(&cobra.Command{Hidden: true, Use: "no-help-command"})
	root.SetHelpFunc(func(c *cobra.Command, _ []string) { _, _ = io.WriteString(c.OutOrStdout(), Help(c)) })
	err := root.Execute()
	if out.closed || err == nil {
		return cli.Done
	}
	return cli.Report(root.Name(), err, s.Err)
}

// Group makes c a command of commands: without a word it does what run does, or tells which commands there are,
// and a word that is none of them is wrong usage.
func Group(c *cobra.Command, run func(*cobra.Command) error, commands ...*cobra.Command) *cobra.Command {
	c.AddCommand(commands...)
	c.Args = cobra.ArbitraryArgs
	c.RunE = func(c *cobra.Command, args []string) error {
		switch {
		case len(args) > 0:
			hint := "see: " + c.CommandPath() + " --help"
			var names []string
			for _, sub := range c.Commands() {
				names = append(names, sub.Name())
			}
			if near, ok := toml.Nearest(args[0], names); ok {
				hint = fmt.Sprintf("did you mean: %s %s", c.CommandPath(), near)
			}
			return cli.Wrong(hint, "%s has no command %q", c.CommandPath(), args[0])
		case run != nil:
			return run(c)
		}
		_, _ = io.WriteString(c.ErrOrStderr(), Help(c)) // nobody asked for it, so it is no data
		return &cli.Error{Code: cli.Usage, Err: errors.New("")}
	}
	return c
}

// Args checks the number of words after the flags, from least to most; names are what they stand for.
func Args(least, most int, names string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) < least:
			return cli.Wrong("usage: "+c.UseLine(), "%s: %s is missing", c.CommandPath(), names)
		case len(args) > most:
			return cli.Wrong("usage: "+c.UseLine(), "%s: %q is one word too many", c.CommandPath(), args[most])
		}
		return nil
	}
}

// pipe notes that the reader of standard output has gone.
type pipe struct {
	w      io.Writer
	closed bool
}

func (p *pipe) Write(b []byte) (int, error) {
	n, err := p.w.Write(b)
	const noData = syscall.Errno(232) // Windows: ERROR_NO_DATA, the reader's end of a pipe is closed
	if errors.Is(err, syscall.EPIPE) || errors.Is(err, io.ErrClosedPipe) || runtime.GOOS == "windows" && errors.Is(err, noData) {
		p.closed = true
	}
	return n, err
}
