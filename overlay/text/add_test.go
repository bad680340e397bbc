package text

import (
	"encoding/binary"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"rafter/assets"
	"rafter/overlay/paint"
)

func readFont(t testing.TB, name string) []byte {
	t.Helper()
	data, err := fs.ReadFile(assets.FS, "fonts/"+name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// fewFonts returns a set of one face that has Latin letters only.
func fewFonts(t testing.TB) *Fonts {
	t.Helper()
	f := &Fonts{}
	if err := f.Add("latin", readFont(t, "BarlowSemiCondensed_600SemiBold.ttf")); err != nil {
		t.Fatal(err)
	}
	f.fallback = nil
	return f.Clone()
}

func TestAnAddedFontDrawsWhatTheOthersLack(t *testing.T) {
	f := fewFonts(t)
	st := Style{Size: paint.Px(32)}
	const name = "Owl \u05d0\u05d1 \u041a" // invented
	before := f.Clone()
	if r := f.Line(st, name); string(r.Missing) != "\u05d1\u05d0\u041a" || string(f.Missing()) != "\u05d1\u05d0\u041a" {
		t.Fatalf("missing %+q, %+q", string(r.Missing), string(f.Missing()))
	}
	for _, file := range []string{"RobotoCondensed_600SemiBold.ttf", "DejaVuSansCondensed-Bold.ttf"} {
		if err := f.Add(file, readFont(t, file)); err != nil {
			t.Fatal(err)
		}
	}
	r := f.Line(st, name)
	var faces []paint.FaceID
	for _, g := range r.Glyphs {
		faces = append(faces, g.Face)
	}
	// The Hebrew letters are drawn by the second font added, the Cyrillic one by the first that has it.
	if want := []paint.FaceID{0, 0, 0, 2, 2, 1}; len(r.Missing) > 0 || len(f.Missing()) > 0 || !slices.Equal(faces, want) {
		t.Errorf("drawn by %v, want %v; missing %+q", faces, want, string(r.Missing))
	}
	if r := before.Line(st, name); len(r.Missing) != 3 {
		t.Error("a clone made before has the new fonts")
	}
	if again := f.Clone().Line(st, name); !sameRun(r, again) {
		t.Error("a clone made after sets it otherwise")
	}
}

func TestAddSaysWhatIsWrongAndChangesNothing(t *testing.T) {
	f := fewFonts(t)
	ttf := readFont(t, "AtkinsonHyperlegibleNext_600SemiBold.ttf")
	for _, c := range []struct{ name, font, want string }{
		{"", string(ttf), "another name"},
		{"latin", string(ttf), "another name"},
		{"text.ttf", "not a font at all", "not a TrueType or OpenType font"},
		{"empty.ttf", "", "too short"},
		{"half.ttf", string(ttf[:len(ttf)/2]), "is not all there"},
		{"list.ttf", string(ttf[:4]) + "\x00\x01" + string(ttf[:9]), "ends in its list of tables"},
		{"many.ttc", "ttcf" + string(ttf), "collection"},
		{"web.woff2", "wOF2" + string(ttf), "web pages"},
		{"large.ttf", string(make([]byte, maxFontBytes+1)), "smaller"},
		{"units.ttf", string(withUnits(t, ttf, 16)), "16 units an em"},
	} {
		if err := f.Add(c.name, []byte(c.font)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: error %v, want one with %q", c.name, err, c.want)
		}
	}
	if n := f.Names(); len(n) != 1 || len(f.fallback) != 0 {
		t.Errorf("fonts %q, fallback %v", n, f.fallback)
	}
	for len(f.sources) < maxSources {
		f.sources = append(f.sources, f.sources[0])
	}
	if err := f.Add("one.ttf", ttf); err == nil || !strings.Contains(err.Error(), "128 fonts") {
		t.Errorf("one too many: %v", err)
	}
}

// table returns where a table of a font begins (OpenType 1.9, table directory).
func table(t testing.TB, font []byte, tag string) []byte {
	t.Helper()
	for at := 12; at < 12+16*int(binary.BigEndian.Uint16(font[4:])); at += 16 {
		if string(font[at:at+4]) == tag {
			return font[binary.BigEndian.Uint32(font[at+8:]):]
		}
	}
	t.Fatalf("no table %s", tag)
	return nil
}

// withUnits returns the font with another number of units an em (OpenType 1.9, head: offset 18).
func withUnits(t testing.TB, font []byte, units uint16) []byte {
	t.Helper()
	font = slices.Clone(font)
	binary.BigEndian.PutUint16(table(t, font, "head")[18:], units)
	return font
}

// A font of coloured pictures has glyphs without an outline. They would draw nothing, so they count as missing.
func TestAGlyphWithoutAnOutlineIsMissing(t *testing.T) {
	f := fewFonts(t)
	font := slices.Clone(readFont(t, "RobotoCondensed_600SemiBold.ttf"))
	head, loca := table(t, font, "head"), table(t, font, "loca")
	g := glyphOf(t, load(t), faceOf(t, load(t), "roboto-condensed-600"), '\u0416')
	if long := binary.BigEndian.Uint16(head[50:]); long != 0 { // OpenType 1.9, loca: the glyph ends where it begins
		copy(loca[4*g:4*g+4], loca[4*g+4:])
	} else {
		copy(loca[2*g:2*g+2], loca[2*g+2:])
	}
	if err := f.Add("blank.ttf", font); err != nil {
		t.Fatal(err)
	}
	r := f.Line(Style{Size: paint.Px(32)}, "\u0416\u041a")
	if string(r.Missing) != "\u0416" || len(r.Glyphs) != 2 || !r.Glyphs[0].Hollow || r.Glyphs[1].Hollow {
		t.Errorf("missing %+q, glyphs %+v", string(r.Missing), r.Glyphs)
	}
	if spaces := f.Line(Style{Size: paint.Px(32)}, "\u041a \u00a0\u202f\u2003\u041a"); string(spaces.Missing) != "" {
		t.Errorf("of blanks %+q are missing", string(spaces.Missing))
	}
}

func TestMissingIsInOrderOfFirstSightAndBounded(t *testing.T) {
	f := fewFonts(t)
	st := Style{Size: paint.Px(20)}
	f.Line(st, "\u6f22\u5b57")
	f.Fit(st, "\U0001f3c0\u6f22", paint.Px(500))
	if string(f.Missing()) != "\u6f22\u5b57\U0001f3c0" {
		t.Errorf("missing %+q", string(f.Missing()))
	}
	if other := f.Clone(); len(other.Missing()) > 0 {
		t.Error("a clone begins with what the other has missed")
	}
	for r := rune(0x4e00); r < 0x4f00; r++ {
		f.Line(st, string(r))
	}
	if n := len(f.Missing()); n != maxLacking {
		t.Errorf("%d are remembered, want %d", n, maxLacking)
	}
}

// FuzzAdd looks for a damaged font that makes the set panic, or draw outside what it says. The input is where a shipped font
// is written over, with what, and how much of it is left.
func FuzzAdd(f *testing.F) {
	whole := readFont(f, "AtkinsonHyperlegibleNext_600SemiBold.ttf")
	f.Fuzz(func(t *testing.T, at, length uint32, over []byte) {
		data := slices.Clone(whole)
		copy(data[at%uint32(len(data)):], over)
		data = data[:min(length, uint32(len(data)))]
		set := &Fonts{}
		if err := set.Add("x", data); err != nil {
			return
		}
		set = set.Clone()
		for _, s := range []string{"AV. fi 12", "A\u0301\u0323\u00e9", "\u05d0\u0627"} {
			checkFit(t, set, Style{Size: paint.Px(40)}, s, paint.Px(90))
			checkRun(t, set, set.Line(Style{Size: maxSize}, s), s)
		}
		set.Digits(0, paint.Px(40)).Draw(&paint.List{}, paint.Point{}, digitSet, paint.Colour{A: 255})
	})
}
