//go:build !race

package follow

const raced = false
