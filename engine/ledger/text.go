package ledger

import (
	"strings"
	"unicode/utf8"
)

// Text sets the sheet as plain text, its columns as wide as what they hold, counted in characters.
func (s *Sheet) Text() string {
	var b strings.Builder
	b.WriteString(s.Title + "\n")
	for _, n := range s.Notes {
		b.WriteString(n + "\n")
	}
	for _, t := range []*Table{&s.Teams[0], &s.Teams[1], &s.Running} {
		b.WriteString("\n")
		t.text(&b)
	}
	return b.String()
}

func (t *Table) text(b *strings.Builder) {
	b.WriteString(t.Title + "\n")
	heads := make([]string, len(t.Columns))
	wide := make([]int, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = c.Head
		wide[i] = utf8.RuneCountInString(c.Head)
		for _, row := range t.Rows {
			wide[i] = max(wide[i], utf8.RuneCountInString(row[i]))
		}
	}
	t.row(b, heads, wide)
	for _, row := range t.Rows {
		t.row(b, row, wide)
	}
	for _, n := range t.Notes {
		b.WriteString("  " + n + "\n")
	}
}

func (t *Table) row(b *strings.Builder, cells []string, wide []int) {
	line := ""
	for i, cell := range cells {
		space := strings.Repeat(" ", wide[i]-utf8.RuneCountInString(cell))
		if t.Columns[i].Right {
			cell = space + cell
		} else {
			cell += space
		}
		line += "  " + cell
	}
	b.WriteString(strings.TrimRight(line, " ") + "\n")
}
