package theme

import (
	"errors"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"rafter/overlay/paint"
	"rafter/overlay/toml"
	"rafter/themes"
)

func maple(t testing.TB) string {
	t.Helper()
	data, err := fs.ReadFile(themes.FS, "maple/theme.toml")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func TestParseReadsEveryValue(t *testing.T) {
	th, err := parse([]byte(maple(t)))
	if err != nil {
		t.Fatal(err)
	}
	if th.Name != "maple" {
		t.Errorf("got %q", th.Name)
	}
	if got, want := th.Colour(Plate), (paint.Colour{R: 0x2a, G: 0x1e, B: 0x17, A: 255}); got != want {
		t.Errorf("plate is %v, want %v", got, want)
	}
	if th.Fonts[Digits].At.Row == 0 || th.Fonts[Digits].At.Col == 0 {
		t.Error("the digits' font has lost its place")
	}
	again, _ := parse([]byte(maple(t)))
	if !cmp.Equal(again, th) {
		t.Error("the same file gave two themes")
	}
}

// In new, ▸ stands before the place at which the mistake must be reported.
func TestBadThemesSayWhere(t *testing.T) {
	for _, c := range []struct{ name, old, new, says string }{
		{"unknown_key", "about =", "▸abuot =", `unknown key "abuot": did you mean "about"?`},
		{"unknown_colour", "plate =", "▸plates =", `unknown key "plates": did you mean "plate"?`},
		{"missing_colour", "[colours]\n# grounds\nplate = \"#2a1e17\"\n", "[▸colours]\n", "plate is missing"},
		{"colour_out_of_range", `"#2a1e17"`, `▸"#2a1e1g"`, "#rrggbb or #rrggbbaa, each pair from 00 to ff"},
		{"colour_too_short", `"#2a1e17"`, `▸"#2a1"`, "is not a colour"},
		{"colour_as_numbers", `plate = "#2a1e17"`, `plate = ▸[42, 30, 300]`, "plate: expected a string in quotes"},
		{"format_to_come", "format = 1", "format = ▸2", "format: 2 is not from 1 to 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			good := maple(t)
			if !strings.Contains(good, c.old) {
				t.Fatalf("maple has no %q", c.old)
			}
			before, after, _ := strings.Cut(strings.Replace(good, c.old, c.new, 1), "▸")
			wantRow, wantCol := strings.Count(before, "\n")+1, len(before)-strings.LastIndexByte(before, '\n')
			_, err := Parse(fstest.MapFS{File: {Data: []byte(before + after)}}, themes.FS)
			var all toml.Errors
			if !errors.As(err, &all) {
				t.Fatalf("got %v, want a mistake with its place", err)
			}
			for _, e := range all {
				if strings.Contains(e.Message, c.says) {
					if e.Row != wantRow || e.Col != wantCol {
						t.Errorf("%q is at %d:%d, want %d:%d", e.Message, e.Row, e.Col, wantRow, wantCol)
					}
					return
				}
			}
			t.Errorf("nothing says %q:\n%v", c.says, err)
		})
	}
}

func TestAllMistakesAtOnce(t *testing.T) {
	bad := strings.NewReplacer("plate =", "plated =", `"#20150f"`, `"black"`).Replace(maple(t))
	_, err := parse([]byte(bad))
	var all toml.Errors
	if !errors.As(err, &all) || len(all) != 3 { // plate is missing and plated unknown
		t.Fatalf("%d mistakes, want 3:\n%v", len(all), err)
	}
	for i := 1; i < len(all); i++ {
		if all[i].Row < all[i-1].Row {
			t.Errorf("row %d after row %d", all[i].Row, all[i-1].Row)
		}
	}
}

func TestMissingFontSaysWhere(t *testing.T) {
	before, after, _ := strings.Cut(strings.Replace(maple(t), `text = "barlow-600"`, `text = ▸"barlow-60"`, 1), "▸")
	th, err := parse([]byte(before + after))
	if err != nil {
		t.Fatal(err)
	}
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

func TestNoThemeHere(t *testing.T) {
	_, err := Parse(fstest.MapFS{"other.toml": {}}, themes.FS)
	if !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "theme.toml") {
		t.Errorf("got %v, want an error that names theme.toml", err)
	}
	if _, err := Parse(fstest.MapFS{File: {Data: make([]byte, toml.MaxSize+1)}}, themes.FS); err == nil {
		t.Error("a file over the bound was read")
	}
}

// FuzzParse: no input panics, and a theme that is accepted is whole: every number inside its bounds, every colour opaque
// or not as written, the name not lost.
func FuzzParse(f *testing.F) {
	f.Add([]byte(maple(f)))
	f.Fuzz(func(t *testing.T, data []byte) {
		th, err := parse(data)
		if err != nil {
			if th != nil {
				t.Error("a theme and an error")
			}
			if err.Error() == "" {
				t.Error("an error that says nothing")
			}
			return
		}
		if len(th.Palette) < int(NeededColours) {
			t.Errorf("accepted %d colours", len(th.Palette))
		}
	})
}
