package theme

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"rafter/overlay/toml"
)

// With a wrong start all else would be missing too, which is no news.
func TestAWrongStartIsTheOnlyMistake(t *testing.T) {
	for _, from := range []string{"mapel", "../maple", ""} {
		_, err := Parse(folder(t, "format = 1\nname = \"x\"\nfrom = \""+from+"\"\n"), starts(t))
		var all toml.Errors
		if !errors.As(err, &all) || len(all) != 1 || all[0].Row != 3 || all[0].Col != 8 {
			t.Errorf("from %q: %v", from, err)
		}
	}
}

// A part of the theme that one starts from may be taken away, also one that stands in tall pictures alone.
func TestTakingPartsAway(t *testing.T) {
	if _, err := Parse(folder(t, own+"[bug.board]\noff = true\n[bug.tall.board]\noff = true\n"), starts(t)); err != nil {
		t.Error(err)
	}
	if _, err := Parse(folder(t, own+"[bug.mine]\noff = true\nwords = \"X\"\n"), starts(t)); err != nil {
		t.Errorf("of one's own: %v", err)
	}
}

func TestAllMistakesAtOnce(t *testing.T) {
	bad := strings.NewReplacer("plate =", "plated =", `"#151d1a"`, `"black"`, "gap = 6", "gapp = 6", "in = \"floor\"", "in = \"flor\"").Replace(gym(t))
	_, err := Parse(folder(t, bad), starts(t))
	var all toml.Errors
	// plate is missing, and "plated" is no mistake but a colour of the theme's own; in = "flor" is twice
	if !errors.As(err, &all) {
		t.Fatalf("got %v", err)
	}
	var says []string
	for i, e := range all {
		if i > 0 && e.Row < all[i-1].Row {
			t.Errorf("row %d after row %d", e.Row, all[i-1].Row)
		}
		says = append(says, fmt.Sprintf("%d:%d", e.Row, e.Col))
	}
	if got := strings.Join(says, " "); got != "12:2 16:7 39:6 50:1 99:6" {
		t.Errorf("mistakes at %s:\n%v", got, err)
	}
}

// What is wrong only together with the theme that it starts from is reported in the author's own file.
func TestMistakesOfWhatIsAdded(t *testing.T) {
	for _, c := range []struct{ name, add, says string }{
		{"circle", "[bug.board]\nin = ▸\"name\"\n", "parts board, name, half and board are each in the other"},
		{"twin", "[bug.board]\ntwin = ▸\"below\"\n", "drawn for each team already"},
		{"team", "[bug.half]\ntwin = ▸\"none\"\n", "which is a team's, but no team"},
		{"part", "[bug.clock]\nin = ▸\"foor\"\n", `did you mean "floor"?`},
		{"missing_file", "[bug.floor]\npicture = ▸\"none.png\"\n", `there is no file "none.png"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			before, after, _ := strings.Cut(own+c.add, "▸")
			_, err := Parse(folder(t, before+after), starts(t))
			var all toml.Errors
			if !errors.As(err, &all) {
				t.Fatalf("got %v", err)
			}
			row, col := strings.Count(before, "\n")+1, len(before)-strings.LastIndexByte(before, '\n')
			if e := all[0]; e.File != File || e.Row != row || e.Col != col || !strings.Contains(e.Message, c.says) {
				t.Errorf("want %q at %d:%d, got\n%v", c.says, row, col, err)
			}
		})
	}
}

func TestMissingFontSaysWhere(t *testing.T) {
	before, after, _ := strings.Cut(strings.Replace(gym(t), `text = "barlow-600"`, `text = ▸"barlow-60"`, 1), "▸")
	th := parsed(t, before+after)
	names := []string{"barlow-600", "barlow-condensed-600"}
	var all toml.Errors
	if err := th.CheckFonts(names); !errors.As(err, &all) || len(all) != 1 {
		t.Fatalf("got %v, want one mistake", err)
	}
	e := all[0]
	if want := strings.Count(before, "\n") + 1; e.Row != want || e.Col != 8 {
		t.Errorf("at %d:%d, want %d:8", e.Row, e.Col, want)
	}
	if want := `text: there is no font "barlow-60": did you mean "barlow-600"?`; e.Message != want {
		t.Errorf("says %q, want %q", e.Message, want)
	}
	if err := th.CheckFonts(append(names, "barlow-60")); err != nil {
		t.Errorf("every font is there: %v", err)
	}
}
