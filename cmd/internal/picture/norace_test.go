//go:build !race

package picture

// underRace tells that the race detector runs, which takes time by itself.
const underRace = false
