// Package output is what every way out of the program has in common: it takes frames and copies them.
package output

import "rafter/overlay/frame"

// Sink takes frames. It copies what it needs before Show returns: the caller draws into the same frame next.
type Sink interface {
	// Show puts f out; damage covers all that differs from the frame shown before (everything, the first time).
	Show(f *frame.Frame, damage frame.Damage) error
	// Close finishes the output; what was shown is then complete.
	Close() error
}
