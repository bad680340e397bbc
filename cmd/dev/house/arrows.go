package house

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// forTests are rooms that any _test.go file may import besides its room's own list.
var forTests = []string{"themes", "assets", "engine/enginetest", "engine/enginetest/race", "engine/script", "overlay/overlaytest", "overlay/output/outputtest", "overlay/output/displaytest", "cmd/internal/networktest", "cmd/dev/screen"}

// row is one line of the table: a room (or a pattern of rooms) and the patterns that it may import.
type row struct {
	line   int
	room   string
	may    []string
	not    []string
	reason string
	used   map[string]bool // patterns of may that an import of the room matched
	found  bool            // the tree has such a room
}

const tableFile = "cmd/dev/house/arrows.txt"

// parseArrows reads the table; problems are those of its form.
func parseArrows(text string) (table []*row, problems []Problem) {
	var reason []string
	seen := map[string]bool{}
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		comment, isComment := strings.CutPrefix(line, "#")
		if line == "" || isComment {
			if line == "" {
				reason = nil
			} else {
				reason = append(reason, strings.TrimSpace(comment))
			}
			continue
		}
		name, list, ok := strings.Cut(line, ":")
		if !ok || strings.ContainsAny(name, " \t") || seen[name] {
			problems = append(problems, Problem{tableFile, i + 1, fmt.Sprintf("%q is not a row: write each room once, as room: room room", line)})
			continue
		}
		seen[name] = true
		r := &row{line: i + 1, room: name, reason: strings.Join(reason, " "), used: map[string]bool{}}
		for _, word := range strings.Fields(list) {
			if out, ok := strings.CutPrefix(word, "!"); ok {
				r.not = append(r.not, out)
			} else {
				r.may = append(r.may, word)
			}
		}
		table = append(table, r)
	}
	return table, problems
}

// match tells whether a pattern covers a room: itself, room/** with all below, room/* one level below.
func match(pattern, name string) bool {
	if base, ok := strings.CutSuffix(pattern, "/**"); ok {
		return name == base || strings.HasPrefix(name, base+"/")
	}
	if base, ok := strings.CutSuffix(pattern, "/*"); ok {
		rest, below := strings.CutPrefix(name, base+"/")
		return below && !strings.Contains(rest, "/")
	}
	return pattern == name
}

// rowOf finds the room's own row, else the pattern that covers it, else nil.
func rowOf(table []*row, name string) *row {
	var found *row
	for _, r := range table {
		if r.room == name {
			return r
		}
		if match(r.room, name) {
			found = r
		}
	}
	return found
}

// allows finds the pattern that lets r import the room; "" where none does.
func (r *row) allows(name string) string {
	if slices.ContainsFunc(r.not, func(p string) bool { return match(p, name) }) {
		return ""
	}
	for _, p := range r.may {
		if match(p, name) {
			return p
		}
	}
	return ""
}

// checkArrows compares what the rooms import with the table, both ways.
func checkArrows(t *tree, table []*row) (problems []Problem) {
	for _, r := range t.rooms {
		own := rowOf(table, r.name)
		if own == nil {
			problems = append(problems, Problem{r.files[0].name, 0, fmt.Sprintf("room %s is not in %s: enter it with what it may import", r.name, tableFile)})
			continue
		}
		own.found = true
		for _, f := range r.files {
			problems = append(problems, checkImports(t, r, own, f)...)
		}
	}
	for _, r := range table {
		if !r.found {
			problems = append(problems, Problem{tableFile, r.line, fmt.Sprintf("room %s is gone: take its row out", r.room)})
			continue
		}
		for _, p := range r.may {
			if !strings.HasSuffix(p, "/**") && !r.used[p] {
				problems = append(problems, Problem{tableFile, r.line, fmt.Sprintf("%s does not import %s: take the arrow out, the table says what is so", r.room, p)})
			}
		}
	}
	return append(problems, checkCycles(t, table)...)
}

func checkImports(t *tree, r *room, own *row, f *file) (problems []Problem) {
	for _, spec := range f.syntax.Imports {
		to, ours := t.ours(importPath(spec))
		if !ours || to == r.name {
			continue
		}
		if p := own.allows(to); p != "" {
			own.used[p] = true
			continue
		}
		if f.test && slices.Contains(forTests, to) {
			continue
		}
		text := fmt.Sprintf("%s may not import %s", r.name, to)
		if own.reason != "" {
			text += ": " + own.reason
		}
		problems = append(problems, Problem{f.name, t.line(spec.Pos()), text})
	}
	return problems
}

// checkCycles follows every arrow of the table, patterns spelled out over the rooms there are.
func checkCycles(t *tree, table []*row) (problems []Problem) {
	to := map[string][]string{}
	for _, r := range t.rooms {
		own := rowOf(table, r.name)
		for _, target := range t.rooms {
			if own != nil && target.name != r.name && own.allows(target.name) != "" {
				to[r.name] = append(to[r.name], target.name)
			}
		}
	}
	done := map[string]bool{}
	var walk func(name string, way []string)
	walk = func(name string, way []string) {
		if i := slices.Index(way, name); i >= 0 {
			circle := strings.Join(append(slices.Clone(way[i:]), name), " → ")
			problems = append(problems, Problem{tableFile, rowOf(table, name).line, "arrows go in a circle: " + circle})
			return
		}
		if done[name] {
			return
		}
		for _, next := range to[name] {
			walk(next, append(way, name))
		}
		done[name] = true
	}
	for _, name := range slices.Sorted(maps.Keys(to)) {
		walk(name, nil)
	}
	return problems
}
