//go:build !race

package serve

const raced = false
