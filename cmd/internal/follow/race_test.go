//go:build race

package follow

const raced = true
