package mutate

import (
	"fmt"
	"strings"
)

// noReason stands beside a survivor that the list does not know.
const noReason = "no reason given"

// reasons is the list of survivors: a paragraph of lines "file function: before → after" under a comment that says why.
// What identifies one is its text, so that a line may move.
type reasons struct {
	lines []string
	why   map[string]string
	used  map[string]bool
}

func parseReasons(text string) (*reasons, error) {
	r := &reasons{why: map[string]string{}, used: map[string]bool{}}
	var why []string
	heading := true // the comment above goes on
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		comment, isComment := strings.CutPrefix(line, "#")
		switch {
		case line == "":
			why, heading = nil, true
		case isComment && !heading:
			return nil, fmt.Errorf("survivors.txt:%d: a reason stands above its survivors; put an empty line before it", i+1)
		case isComment:
			why = append(why, strings.TrimSpace(comment))
		case why == nil || !strings.Contains(line, " → ") || r.why[line] != "":
			return nil, fmt.Errorf("survivors.txt:%d: %q: write each survivor once, as FILE FUNCTION: BEFORE → AFTER, below a # that says why", i+1, line)
		default:
			heading = false
			r.why[line] = strings.Join(why, " ")
			r.lines = append(r.lines, line)
		}
	}
	return r, nil
}

// entry is how the list names a mutant.
func entry(m *Mutant) string { return fmt.Sprintf("%s %s: %s → %s", m.File, m.In, m.Before, m.After) }

// of returns why a mutant survives.
func (r *reasons) of(m *Mutant) string {
	key := entry(m)
	if r.why[key] == "" {
		return noReason
	}
	r.used[key] = true
	return r.why[key]
}

// stale lists the lines that named no survivor.
func (r *reasons) stale() (list []string) {
	for _, line := range r.lines {
		if !r.used[line] {
			list = append(list, line)
		}
	}
	return list
}
