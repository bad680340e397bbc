package rules

import (
	"os"
	"strings"
	"testing"
)

// TestEveryValueIsAsTheBooksHaveIt compares every set, value by value, with testdata/books.txt, which names the book of
// each. A value that is not there yet is entered there from the book, not from the table.
func TestEveryValueIsAsTheBooksHaveIt(t *testing.T) {
	text, err := os.ReadFile("testdata/books.txt")
	if err != nil {
		t.Fatal(err)
	}
	columns := []string{"nfhs", "ncaa_men", "ncaa_women", "fiba", "fiba_3x3"}
	like := map[string]string{"nfhs_halves": "nfhs", "youth": "nfhs", "fiba_2026": "fiba"}
	want := map[[2]string]string{} // set, name → value
	for line := range strings.Lines(string(text)) {
		if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
			continue
		}
		parts := strings.SplitN(line, "; ", 3)
		if len(parts) != 3 {
			t.Fatalf("%q: a line is name; values; source", line)
		}
		name, values := parts[0], strings.Fields(parts[1])
		switch {
		case len(values) == len(columns):
			for i, set := range columns {
				want[[2]string{set, name}] = values[i]
			}
		case len(values) == 2 && like[values[0]] != "":
			want[[2]string{values[0], name}] = values[1]
		default:
			t.Fatalf("%q: a line has %d values, or a set and its value", line, len(columns))
		}
	}
	for _, set := range Names() {
		s, _ := ByName(set)
		for i := range Fields {
			name := Fields[i].Name
			value, ok := want[[2]string{set, name}]
			if !ok {
				value, ok = want[[2]string{like[set], name}]
			}
			if got, _ := s.Get(name); !ok || got != value {
				t.Errorf("%s: %s is %q, the books have %q", set, name, got, value)
			}
		}
	}
}
