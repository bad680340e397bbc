// Package cli is what the programs share on the command line: one table of flags, how help, errors and hints
// read, and the exit codes. It does no work of its own and knows nothing of games or pictures.
//
// Rules of speaking: data on standard output, everything for people on standard error; a message begins with
// the program's name, in lower case, without a full stop; a closed pipe is success.
package cli

import (
	"errors"
	"fmt"
	"io"
	"os/signal"
	"runtime"
	"syscall"

	"github.com/spf13/cobra"
)

// The exit codes.
const (
	Done   = 0
	Failed = 1
	Usage  = 2 // wrong usage: nothing was tried
)

// Error is a failure with what to do next. Code is the exit code.
type Error struct {
	Code int
	Err  error
	Hint string
}

func (e *Error) Error() string { return e.Err.Error() }

// Unwrap returns the failure itself.
func (e *Error) Unwrap() error { return e.Err }

// Wrong is wrong usage: exit code 2.
func Wrong(hint, format string, args ...any) error {
	return &Error{Usage, fmt.Errorf(format, args...), hint}
}

// Fail is a failure: exit code 1. The hint says what to do next; empty for none.
func Fail(hint string, err error) error { return &Error{Failed, err, hint} }

// Silent is a failure that has been reported already: exit code 1, nothing more is said.
var Silent error = &Error{Code: Failed, Err: errors.New("")}

// Streams are the program's three.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
}

// Run executes the command line and returns the exit code. Errors are printed here and nowhere else.
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
		return Done
	}
	return report(root.Name(), err, s.Err)
}

func report(program string, err error, w io.Writer) int {
	code, hint := Failed, ""
	var e *Error
	if errors.As(err, &e) {
		code, hint = e.Code, e.Hint
	}
	if text := err.Error(); text != "" {
		fmt.Fprintf(w, "%s: error: %s\n", program, text)
	}
	if hint != "" {
		fmt.Fprintf(w, "%s: hint: %s\n", program, hint)
	}
	return code
}

// Group makes c a command of commands: without a word it does what run does, or tells which commands there are,
// and a word that is none of them is wrong usage.
func Group(c *cobra.Command, run func(*cobra.Command) error, commands ...*cobra.Command) *cobra.Command {
	c.AddCommand(commands...)
	c.SuggestionsMinimumDistance = 2
	c.Args = cobra.ArbitraryArgs
	c.RunE = func(c *cobra.Command, args []string) error {
		switch {
		case len(args) > 0:
			hint := "see: " + c.CommandPath() + " --help"
			if near := c.SuggestionsFor(args[0]); len(near) > 0 {
				hint = fmt.Sprintf("did you mean: %s %s", c.CommandPath(), near[0])
			}
			return Wrong(hint, "%s has no command %q", c.CommandPath(), args[0])
		case run != nil:
			return run(c)
		}
		_, _ = io.WriteString(c.ErrOrStderr(), Help(c)) // nobody asked for it, so it is no data
		return &Error{Code: Usage, Err: errors.New("")}
	}
	return c
}

// Args checks the number of words after the flags, from least to most; names are what they stand for.
func Args(least, most int, names string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) < least:
			return Wrong("usage: "+c.UseLine(), "%s: %s is missing", c.CommandPath(), names)
		case len(args) > most:
			return Wrong("usage: "+c.UseLine(), "%s: %q is one word too many", c.CommandPath(), args[most])
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
