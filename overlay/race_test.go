//go:build race

package overlay

const underRace = true
