// Package house checks the rules that this tree sets itself: which room may import which, what a room may
// not use, what lies at the top, how long a file may be. It must not know any room by heart: rooms and
// arrows are in arrows.txt, bans in one table, each with its reason.
//
//	problems, err := house.Check(".", house.Arrows)
//	// cmd/rafter/run.go:9: cmd/rafter may not use time.Now: only the host reads the time of day; …
package house

import (
	"cmp"
	_ "embed"
	"fmt"
	"slices"
)

// Arrows is this tree's own table of rooms and what each may import.
//
//go:embed arrows.txt
var Arrows string

// Problem is one broken rule, with what to do instead.
type Problem struct {
	File string // slash-separated, from the module's root
	Line int    // 0: the whole file or folder
	Text string
}

// String writes file:line: text.
func (p Problem) String() string {
	if p.Line == 0 {
		return fmt.Sprintf("%s: %s", p.File, p.Text)
	}
	return fmt.Sprintf("%s:%d: %s", p.File, p.Line, p.Text)
}

// Check reads the module in dir and returns what breaks the rules, sorted by place. The error tells that the
// module or the table could not be read at all.
func Check(dir, arrows string) ([]Problem, error) {
	table, problems := parseArrows(arrows)
	if len(problems) > 0 {
		return problems, nil
	}
	tree, err := load(dir)
	if err != nil {
		return nil, err
	}
	problems = append(problems, checkArrows(tree, table)...)
	problems = append(problems, checkBans(tree)...)
	problems = append(problems, checkTree(tree)...)
	slices.SortFunc(problems, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Text, b.Text))
	})
	return slices.Compact(problems), nil
}
