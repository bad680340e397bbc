package picture

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rafter/assets"
	"rafter/overlay/paint"
	"rafter/overlay/text"
)

func shipped(t *testing.T, name string) []byte {
	t.Helper()
	data, err := fs.ReadFile(assets.FS, "fonts/"+name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func write(t *testing.T, dir, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// The folder has every kind of thing that may lie there.
func TestFontsOfTheUserComeAfterTheShippedOnes(t *testing.T) {
	dir := t.TempDir()
	ttf := shipped(t, "AtkinsonHyperlegibleNext_600SemiBold.ttf")
	write(t, dir, "b.ttf", ttf)
	write(t, dir, "A.OTF", ttf)
	write(t, dir, "c.ttf", ttf[:1000])
	write(t, dir, "d.ttf", nil)
	write(t, dir, "e.woff2", []byte("wOF2 and more of it"))
	write(t, dir, "notes", []byte("Where these fonts come from."))
	write(t, dir, "OFL.txt", []byte("SIL OPEN FONT LICENSE"))
	write(t, dir, ".listing", []byte("hidden"))
	if err := os.Mkdir(filepath.Join(dir, "more"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("nowhere", filepath.Join(dir, "lost.ttf")); err != nil {
		t.Log(err) // not every system lets one
	}
	f, bad := Fonts(dir)
	ships, err := text.Load(assets.FS)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := f.Names(), append(ships.Names(), filepath.Join(dir, "A.OTF"), filepath.Join(dir, "b.ttf")); !slices.Equal(got, want) {
		t.Errorf("fonts %q, want %q", got, want)
	}
	reported := fmt.Sprint(bad)
	for _, want := range []string{"c.ttf is left out: the font is damaged", "d.ttf is left out: not a", "e.woff2 is left out: a font packed", "notes is left out: not a"} {
		if !strings.Contains(reported, want) {
			t.Errorf("errors %q, want one with %q", reported, want)
		}
	}
	for _, no := range []string{"OFL.txt", ".listing", "more", "A.OTF", "b.ttf"} {
		if strings.Contains(reported, no) {
			t.Errorf("errors %q name %s", reported, no)
		}
	}
}

func TestAFolderThatIsNotThereHasNoFonts(t *testing.T) {
	f, bad := Fonts(filepath.Join(t.TempDir(), "none"))
	if f == nil || len(bad) != 0 {
		t.Errorf("fonts %v, errors %q", f != nil, bad)
	}
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if f, bad := Fonts(file); f == nil || len(bad) != 1 {
		t.Errorf("of a file: fonts %v, errors %q", f != nil, bad)
	}
}

func TestAFolderIsBoundedInCountAndSize(t *testing.T) {
	dir := t.TempDir()
	ttf := shipped(t, "AtkinsonHyperlegibleNext_600SemiBold.ttf")
	for i := range maxFonts + 2 {
		write(t, dir, fmt.Sprintf("f%02d.ttf", i), ttf)
	}
	f, bad := Fonts(dir)
	names := f.Names()
	if last := names[len(names)-1]; last != filepath.Join(dir, "f31.ttf") || len(bad) != 1 || !strings.Contains(bad[0].Error(), "f32.ttf and those after it are left out") {
		t.Errorf("the last is %s, errors %q", last, bad)
	}
	large := t.TempDir()
	write(t, large, "a.ttf", ttf)
	if err := os.Truncate(filepath.Join(large, "a.ttf"), maxFontBytes+1); err != nil {
		t.Fatal(err)
	}
	if _, bad := Fonts(large); len(bad) != 1 || !strings.Contains(bad[0].Error(), "take a smaller one") {
		t.Errorf("errors %q", bad)
	}
}

func TestAMissingGlyphIsNamed(t *testing.T) {
	for _, c := range []struct {
		r    rune
		want string // names are those of UnicodeData 15.0.0
	}{
		{'\U0001f3c0', "U+1F3C0 BASKETBALL AND HOOP: no font here has it; put one that has into FOLDER"},
		{'\u0416', "U+0416 CYRILLIC CAPITAL LETTER ZHE: "},
		{'\u6f22', "U+6F22 CJK Ideograph: "},
		{'\u0378', "U+0378 (a character without a name): "},
	} {
		if got := MissingGlyph(c.r, "FOLDER"); !strings.HasPrefix(got, c.want) {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// A theme brings a font of its own; the same name in the user's folder does not get in its way.
func TestAThemeMayBringFonts(t *testing.T) {
	own, dir := t.TempDir(), t.TempDir()
	write(t, own, "x.ttf", shipped(t, "RobotoCondensed_600SemiBold.ttf"))
	write(t, dir, "theme.toml", []byte("format = 1\nname = \"mine\"\nabout = \"With a font of its own.\"\nfrom = \"maple\"\n[fonts]\ntext = \"x.ttf\"\ncondensed = \"x.ttf\"\n"))
	write(t, dir, "x.ttf", shipped(t, "AsapCondensed_600SemiBold.ttf"))
	fonts, bad := Fonts(own)
	if len(bad) > 0 {
		t.Fatal(bad)
	}
	before := len(fonts.Names())
	looks, err := LoadWith(dir, fonts)
	if err != nil {
		t.Fatal(err)
	}
	if names := looks.fonts.Names(); len(names) != before+1 || names[before] != "x.ttf" || len(fonts.Names()) != before {
		t.Errorf("fonts %q of %q", names, fonts.Names())
	}
	write(t, dir, "x.ttf", []byte("no font"))
	if _, err := LoadWith(dir, fonts); err == nil || !strings.Contains(err.Error(), "theme.toml:6:8: text: x.ttf: not a TrueType or OpenType font") {
		t.Errorf("error %v", err)
	}
}

// Invented name. Two sets from one folder set it alike.
func TestTheSameFilesGiveTheSameText(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "x.ttf", shipped(t, "RobotoCondensed_600SemiBold.ttf"))
	var lists [2]paint.List
	for i := range lists {
		f, _ := Fonts(dir)
		id, _ := f.Face(filepath.Join(dir, "x.ttf"))
		f.Line(text.Style{Face: id, Condensed: id, Size: paint.Px(30)}, "Owl \u0416 7").Draw(&lists[i], paint.Point{}, paint.Colour{A: 255})
	}
	if len(lists[0].Ops) == 0 || !slices.Equal(lists[0].Ops, lists[1].Ops) {
		t.Errorf("%d operations, then %d", len(lists[0].Ops), len(lists[1].Ops))
	}
}
