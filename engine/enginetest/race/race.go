//go:build race

// Package race tells tests whether the race detector runs: it makes loops over pixels some ten times slower, allocates by
// itself, and leaves a browser beside it to starve. It must not be asked outside tests.
package race

// Enabled tells whether the race detector runs.
const Enabled = true
