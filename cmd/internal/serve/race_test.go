//go:build race

package serve

// raced is set under the race detector, beside which a browser starves: the plain run looks at the pages.
const raced = true
