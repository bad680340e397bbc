// Package display tells whether a window can be opened, before the window library is loaded. It must not import
// that library: without a display its import alone ends the program with a stack trace.
package display

import "errors"

// ErrNone is that there is no display to open a window on.
var ErrNone = errors.New("no display")
