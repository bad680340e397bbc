//go:build !race

package overlay

// underRace tells that the race detector runs, which allocates and takes time by itself.
const underRace = false
