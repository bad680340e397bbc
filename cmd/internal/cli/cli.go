// Package cli is what the programs share on the command line: one table of flags, how their values, errors and
// hints read, and the exit codes. It parses no command line, does no work of its own and knows nothing of games.
//
// Rules of speaking: data on standard output, everything for people on standard error; a message begins with
// the program's name, in lower case, without a full stop.
package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
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

// Report writes the error with its hint as every message of the program reads, and returns the exit code.
func Report(program string, err error, w io.Writer) int {
	if err == nil {
		return Done
	}
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

// Ends are the signals that ask a program to end in order: an interrupt, a request, and that its terminal was closed, unless
// whoever started it has that ignored, as nohup does.
func Ends() []os.Signal {
	list := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		list = append(list, syscall.SIGHUP)
	}
	return list
}

// Lean has memory collected when a quarter more is in use than is needed, not as much again: most of it is pictures, in which
// a collector has nothing to look for.
func Lean() { debug.SetGCPercent(25) }

// Version is that of the program, as the go command built it in.
func Version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "(unknown)"
}
