package journal

import "fmt"

// Code tells errors apart; use errors.Is with a Code.
type Code string

// The kinds of log that cannot be read, or not to its end.
const (
	Empty    Code = "empty"         // nothing was ever written
	Foreign  Code = "not_a_log"     // another program's file
	Future   Code = "newer_format"  // written by a newer version of this program
	TooLarge Code = "log_too_large" // over MaxFile, MaxLine or MaxEvents
	Damaged  Code = "damaged"       // a line that is not the last is not as it was written, or not in its place
	Unknown  Code = "unknown_line"  // a line as it was written, by its checksum, that says what this version does not know
	Failed   Code = "read_failed"   // the bytes could not be had at all
)

// Error says which line could not be read and why.
type Error struct {
	Code Code
	// Line counts from 1; 0 where the file as a whole is meant.
	Line   int
	Reason string
	cause  error
}

// Error returns one sentence without the file's name, which the caller knows.
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Reason
	}
	return fmt.Sprintf("line %d: %s", e.Line, e.Reason)
}

// Is lets errors.Is find an Error by its Code.
func (e *Error) Is(target error) bool { return e.Code == target }

// Unwrap returns the reader's own error, if there was one.
func (e *Error) Unwrap() error { return e.cause }

// Error makes a Code a target of errors.Is.
func (c Code) Error() string { return string(c) }

func unknown(line int, reason string) error { return &Error{Code: Unknown, Line: line, Reason: reason} }

func damaged(line int, reason string) error { return &Error{Code: Damaged, Line: line, Reason: reason} }
