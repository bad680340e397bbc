//go:build race

package golden

// raced is set under the race detector, which makes loops over pixels some ten times slower and has nothing to find in
// them: then each case is drawn at its own size alone.
const raced = true
