// Package displaytest ends a test program that needs a display where there is none, saying so, before the window
// library is loaded and would end it with a stack trace. Only tests import it, and only for that effect.
//
// It works because packages are initialised in the order of their import paths as soon as all that they import
// is (Go specification, "Program initialization"): this one and all below it come before package net, which the
// window library imports.
package displaytest

import (
	"fmt"
	"os"

	"rafter/overlay/output/display"
)

// Present is true: where there is no display, the program has ended, with success.
var Present = skip()

func skip() bool {
	if err := display.Check(); err != nil {
		fmt.Fprintln(os.Stderr, "skipped, as these tests need a display (go run ./cmd/dev test brings one):", err)
		os.Exit(0)
	}
	return true
}
