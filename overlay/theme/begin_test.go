package theme

import (
	"fmt"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"rafter/themes"
)

// begun is what Begin writes for a theme that starts from gym, which stands where maple does.
func begun(t testing.TB) string {
	t.Helper()
	th := parsed(t, gym(t))
	th.Name = "maple"
	return string(Begin("mine", th, []string{"chalk", "maple"}, []string{"barlow-600", "barlow-condensed-600"}))
}

func TestBeginIsAWorkingTheme(t *testing.T) {
	th := parsed(t, begun(t))
	if th.Name != "mine" {
		t.Errorf("its name is %q", th.Name)
	}
	from := parsed(t, gym(t))
	for i := range from.Graphics {
		for shape := range Shapes {
			got, want := th.Graphics[i].Layouts[shape], from.Graphics[i].Layouts[shape]
			for j := range want.Parts {
				want.Parts[j].At = got.Parts[j].At // another name of the same file
			}
			if d := cmp.Diff(want, got); d != "" {
				t.Errorf("it does not look as what it starts from:\n%s", d)
			}
		}
	}
	for name, th := range shipped(t) {
		text := Begin("mine", th, []string{name}, []string{"barlow-600"})
		if _, err := Parse(fstest.MapFS{File: {Data: text}}, themes.FS); err != nil {
			t.Errorf("from %s: %v", name, err)
		}
	}
}

// Each line that is commented out is right by itself, under the table's line above it.
func TestBeginsExamplesAreRight(t *testing.T) {
	files := folder(t, "")
	table, tried := "", 0
	for i, l := range strings.Split(begun(t), "\n") {
		l, commented := strings.CutPrefix(l, "#")
		if !commented || l == "" || l[0] == ' ' || l[0] == '#' {
			continue
		}
		if strings.HasPrefix(l, "[") {
			table = l
			continue
		}
		text := own + l + "\n"
		if table != "" {
			text = own + "[styles.label]\ncap = 9\n[bug.mine]\n" // a part that examples may stand in
			switch {
			case table == "[bug.mine]" && !strings.HasPrefix(l, "team") && !strings.HasPrefix(l, "twin"):
				text += "team = \"home\"\n" + l + "\n"
			case table == "[bug.mine]":
				text += l + "\n"
			case table == "[styles.label]":
				text = own + table + "\n" + l + "\n"
			default:
				text += "team = \"home\"\n" + table + "\n" + l + "\n"
			}
		}
		files[File] = &fstest.MapFile{Data: []byte(text)}
		if _, err := Parse(files, starts(t)); err != nil {
			t.Errorf("line %d, %q under %q: %v", i+1, l, table, err)
		}
		tried++
	}
	if tried < len(partRows)+len(layoutRows)+len(colourRows) {
		t.Errorf("only %d examples", tried)
	}
}

func TestBeginExplainsEveryKey(t *testing.T) {
	text := begun(t)
	var lines []string
	lines = append(lines, keyLines(headRows)...)
	lines = append(lines, keyLines(fontRows)...)
	lines = append(lines, keyLines(colourRows)...)
	lines = append(lines, keyLines(openRows)...)
	lines = append(lines, keyLines(layoutRows)...)
	lines = append(lines, keyLines(partRows)...)
	for _, l := range lines {
		if !strings.Contains(text, "\n#"+l) && !strings.Contains(text, "\n"+l) {
			t.Errorf("nothing begins with %q", l)
		}
	}
	words := [][]string{conditions[:], fields[:], moves[:], forms[:], patterns[:], flows[:], twins[:], teams[:], marks[:], lists[:],
		aligns[:], fits[:], towards[:], areas[:], anchors, eases[:], Graphics()}
	for _, list := range words {
		for _, word := range list {
			if word != "" && !strings.Contains(text, word) {
				t.Errorf("%q is not named", word)
			}
		}
	}
	for i := range fields {
		if fieldDocs[i] == "" {
			t.Errorf("%q is not explained", fields[i])
		}
	}
	for i := Condition(1); i < Conditions; i++ {
		if conditions[i] == "" || conditionDocs[i] == "" {
			t.Errorf("condition %d, %q, is not explained", i, conditions[i])
		}
	}
	for i, l := range strings.Split(text, "\n") {
		if utf8.RuneCountInString(l) > most {
			t.Errorf("line %d has %d characters", i+1, utf8.RuneCountInString(l))
		}
	}
}

func keyLines[T any](rows []row[T]) (lines []string) {
	for _, r := range rows {
		lines = append(lines, r.key+" = ")
	}
	return lines
}

// What the tables say holds where a key is left out is what holds.
func TestFallbacksAreRight(t *testing.T) {
	if _, err := defaults(newTheme(), partRows); err != nil {
		t.Error(err)
	}
	if _, err := defaults(newTheme(), layoutRows); err != nil {
		t.Error(err)
	}
	m, err := defaults(newTheme(), motionRows)
	if want := (Motion{MS: 240, Ease: EaseOut}); err != nil || m != want {
		t.Errorf("a motion is %+v, %v", m, err)
	}
}

// TestTablesAgree: no key stands twice, and none has another meaning in a graphic than in a part's name.
func TestTablesAgree(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range partRows {
		if seen[r.key] || r.doc == "" || r.example == "" {
			t.Errorf("%s: twice, or without a word", r.key)
		}
		seen[r.key] = true
	}
	for _, name := range contents {
		if !seen[name] {
			t.Errorf("there is no key %q", name)
		}
	}
	// Every shape but wide is a table of a graphic, so none may be one of its keys.
	for _, shape := range shapes[Square:] {
		if isRow(layoutRows, shape) {
			t.Errorf("%s is two things", shape)
		}
	}
	if _, err := fs.Stat(themes.FS, "maple"); err != nil {
		t.Error(fmt.Errorf("what examples start from: %w", err))
	}
}
