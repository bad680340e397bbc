package text

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash"
	"slices"
	"strings"
	"testing"

	"github.com/go-text/typesetting/language"
	hinting "golang.org/x/image/font"
	"golang.org/x/image/math/fixed"

	"rafter/overlay/paint"
)

func TestAMissingGlyphIsAHollowBoxAndReported(t *testing.T) {
	f := load(t)
	st := nameStyle(t, f, 32)
	for _, c := range []struct {
		name, in, missing string
		boxes             int
	}{
		{"emoji", "AB\U0001f3c0C", "\U0001f3c0", 1},
		{"one_box_a_grapheme", "\U0001f468\u200d\U0001f469\u200d\U0001f467", "\U0001f468\U0001f469\U0001f467", 1},
		{"each_named_once", "\u6f22\u6f22\u5b57", "\u6f22\u5b57", 3},
		{"flag", "\U0001f1e8\U0001f1e6", "\U0001f1e8\U0001f1e6", 1},
		{"nothing_missing", "\u0141\u00f3d\u017a \u041a\u0438\u0457\u0432 \u0397\u03c1\u03b1 \u0627\u0644\u0635 \u05d0\u05d1 \u1eaen", "", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := f.Line(st, c.in)
			boxes := 0
			var l paint.List
			for _, g := range r.Glyphs {
				if g.Hollow {
					boxes++
				}
			}
			r.Draw(&l, paint.Point{}, paint.Colour{A: 255})
			frames := 0
			for _, o := range l.Ops {
				if o.Shape == paint.Rect && o.Stroke > 0 {
					frames++
				}
			}
			if boxes != c.boxes || frames != c.boxes || string(r.Missing) != c.missing {
				t.Errorf("%d boxes, %d drawn, missing %+q; want %d, %+q", boxes, frames, string(r.Missing), c.boxes, c.missing)
			}
		})
	}
}

func TestTheFirstFontInOrderThatHasALetterDrawsIt(t *testing.T) {
	f := load(t)
	for _, c := range []struct{ in, face string }{
		{"Owl", "barlow-600"},
		{"\u041a\u0438\u0457\u0432", "roboto-condensed-600"},
		{"\u0397\u03c1\u03b1", "roboto-condensed-600"},
		{"\u0627\u0644", "dejavu-condensed-700"},
		{"\u05d0\u05d1", "dejavu-condensed-700"},
		{"\u25b6\u2605", "dejavu-condensed-700"},
	} {
		for _, g := range f.Line(nameStyle(t, f, 32), c.in).Glyphs {
			if g.Face != faceOf(t, f, c.face) {
				t.Errorf("%q is drawn by %s, want %s", c.in, f.face(g.Face).name, c.face)
			}
		}
	}
}

// A font without an anchor for a mark leaves it beside its letter; then another font draws both.
func TestMarksStandOnTheirLetters(t *testing.T) {
	f := load(t)
	st := nameStyle(t, f, 64)
	base := faceOf(t, f, "barlow-600")
	for _, c := range []struct {
		in   string
		face string
	}{
		{"\u01cd", "barlow-600"},           // in no glyph of its own, but with an anchor
		{"\u1e02", "dejavu-condensed-700"}, // no anchor on the B of the first font
		{"m\u0303", "dejavu-condensed-700"},
		{"A", "barlow-600"},
	} {
		r := f.Line(st, c.in)
		if want := faceOf(t, f, c.face); r.Glyphs[0].Face != want {
			t.Errorf("%+q is drawn by %s, want %s", c.in, f.face(r.Glyphs[0].Face).name, c.face)
		}
		if r.Glyphs[0].Face == base && r.Ink.Max.X > r.Width+st.Size/8 {
			t.Errorf("%+q: ink to %d hangs out of %d", c.in, r.Ink.Max.X, r.Width)
		}
	}
}

func TestTrackingPartsGraphemesAndNeverJoinedLetters(t *testing.T) {
	f := load(t)
	st := nameStyle(t, f, 40)
	for _, c := range []struct {
		name, in string
		gaps     paint.Fixed
	}{
		{"letters", "Owl", 2},
		{"one_letter", "O", 0},
		{"marks_stay", "Om\u0303l", 2},
		{"joined_letters", "\u0627\u0644\u0635\u0642\u0648\u0631", 0},
		{"empty", "", 0},
	} {
		shaped := f.shapeText(st.Face, c.in)
		if got := f.place(shaped, st.Size, 100).Width - f.Line(st, c.in).Width; got != 100*c.gaps {
			t.Errorf("%s: wider by %d, want %d", c.name, got, 100*c.gaps)
		}
	}
}

// Reference library: HarfBuzz, as the head of the file says.
func TestTextIsSetAsHarfBuzzSetsIt(t *testing.T) {
	f := load(t)
	checked := 0
	for line := range strings.Lines(string(readTestdata(t, "harfbuzz.txt"))) {
		if line[0] == '#' {
			continue
		}
		field := strings.Split(strings.TrimSpace(line), ";")
		runes := []rune(fromHex(t, field[1]))
		p := piece{face: faceOf(t, f, field[0]), script: firstScript(runes, language.Latin), level: levelsOf(runes)[0], end: len(runes)}
		f.shapePiece(&p, runes)
		var got []string
		for _, g := range p.glyphs {
			at := ""
			if g.dx != 0 || g.dy != 0 {
				at = fmt.Sprintf("@%d,%d", g.dx, g.dy)
			}
			got = append(got, fmt.Sprintf("%d%s+%d", g.glyph, at, g.advance))
		}
		if s := strings.Join(got, "|"); s != field[2] {
			t.Errorf("%s %q: %s, HarfBuzz has %s", field[0], string(runes), s, field[2])
		}
		checked++
	}
	if checked < 200 {
		t.Errorf("%d texts checked", checked)
	}
}

func TestArabicLettersJoin(t *testing.T) {
	f := load(t)
	st := nameStyle(t, f, 40)
	alone, joined := f.Line(st, "\u0628"), f.Line(st, "\u0628\u0628\u0628")
	if len(joined.Glyphs) != 3 {
		t.Fatalf("%d glyphs", len(joined.Glyphs))
	}
	seen := []paint.GlyphID{alone.Glyphs[0].Glyph}
	for _, g := range joined.Glyphs { // final, medial and initial forms (Unicode 15.0, chapter 9.2)
		if slices.Contains(seen, g.Glyph) {
			t.Errorf("form %d is used twice", g.Glyph)
		}
		seen = append(seen, g.Glyph)
	}
}

func TestALineIsSetTheSameAgainAndByAClone(t *testing.T) {
	f := load(t)
	other := f.Clone()
	st := nameStyle(t, f, 48)
	first := f.Line(st, "Hollow Creek")
	for i := range 2 * maxRuns { // more than are kept
		f.Line(st, fmt.Sprint("Jay ", i))
		other.Fit(st, fmt.Sprint("Owl ", i, strings.Repeat(" Jay", 50)), paint.Px(9000))
		if len(f.runs) > maxRuns || other.glyphs > maxGlyphs {
			t.Fatalf("%d runs and %d glyphs are kept", len(f.runs), other.glyphs)
		}
	}
	if !sameRun(first, f.Line(st, "Hollow Creek")) || !sameRun(first, other.Line(st, "Hollow Creek")) {
		t.Error("the line has changed")
	}
}

func TestALongTextEndsInAnEllipsis(t *testing.T) {
	f := load(t)
	r := f.Line(nameStyle(t, f, 32), strings.Repeat("x", 10_000))
	if !r.Cut || len(r.Glyphs) != maxRunes {
		t.Errorf("cut %v, %d glyphs; want %d", r.Cut, len(r.Glyphs), maxRunes)
	}
	if len(f.runs) > 0 {
		t.Error("a text of 10,000 bytes was kept")
	}
}

// Reference library: golang.org/x/image/font/sfnt has the height of an H, from the top of its outline.
func TestCapHeightIsThatOfTheReferenceLibrary(t *testing.T) {
	f := load(t)
	for _, e := range shippedIndex(t).Faces {
		ref := reference(t, e)
		g, err := ref.GlyphIndex(nil, 'H')
		if err != nil {
			t.Fatal(err)
		}
		b, _, err := ref.GlyphBounds(nil, g, fixed.I(int(ref.UnitsPerEm())), hinting.HintingNone)
		got := f.CapHeight(faceOf(t, f, e.Name), paint.Px(int(ref.UnitsPerEm())))
		if err != nil || got != paint.Fixed(-b.Min.Y) || got <= 0 {
			t.Errorf("%s: capitals are %d high, reference %d, %v", e.Name, got, -b.Min.Y, err)
		}
	}
}

// sumOfEverything is the SHA-256 of all outlines of all shipped faces and of many lines, fits and digits. The same
// value on amd64, amd64 with GOAMD64=v3 and arm64 proves that no processor sets text otherwise. A wanted change of a
// font or of the setting changes it: then take the value the test prints.
const sumOfEverything = "f9808655f0f8c275e1d73fd16bce19583b762296f89aaf381b9fd8163b43b81d"

func TestTextIsTheSameOnEveryProcessor(t *testing.T) {
	f := load(t)
	h := sha256.New()
	var segments []paint.Segment
	for id := range f.sources {
		for g := range 7000 { // the largest font has 5,800; beyond the last there is nothing
			segments = f.Outline(segments[:0], paint.FaceID(id), paint.GlyphID(g))
			for _, s := range segments {
				put(h, int32(s.Verb), s.Args[0].X, s.Args[0].Y, s.Args[1].X, s.Args[1].Y, s.Args[2].X, s.Args[2].Y)
			}
		}
	}
	for id := range f.sources {
		for _, size := range []paint.Fixed{paint.Px(9), paint.Px(31) + 5, paint.Px(240)} {
			st := Style{Face: paint.FaceID(id), Condensed: 4, Size: size}
			for line := range strings.Lines(string(readTestdata(t, "names.txt"))) {
				putRun(h, f.Line(st, line))
				for _, share := range []paint.Fixed{1, 3, 6} {
					putRun(h, f.Fit(st, line, share*size))
				}
			}
			d := f.Digits(st.Face, size)
			put(h, int32(f.CapHeight(st.Face, size)), int32(d.Advance), int32(d.Height))
			var l paint.List
			d.Draw(&l, paint.Point{}, digitSet, paint.Colour{A: 255})
			for _, o := range l.Ops {
				put(h, int32(o.Glyph), int32(o.Points[0].X), int32(o.Points[0].Y), int32(o.Box.Min.X), int32(o.Box.Max.Y))
			}
		}
	}
	if got := fmt.Sprintf("%x", h.Sum(nil)); got != sumOfEverything {
		t.Errorf("sum is %s, want %s", got, sumOfEverything)
	}
}

func putRun(h hash.Hash, r Run) {
	put(h, int32(r.Width), int32(len(r.Glyphs)), int32(len(r.Missing)))
	for _, g := range r.Glyphs {
		put(h, int32(g.Face), int32(g.Glyph), int32(g.At.X), int32(g.At.Y),
			int32(g.Ink.Min.X), int32(g.Ink.Min.Y), int32(g.Ink.Max.X), int32(g.Ink.Max.Y))
	}
}

func put(h hash.Hash, values ...int32) {
	for _, v := range values {
		var b [4]byte
		binary.BigEndian.PutUint32(b[:], uint32(v))
		h.Write(b[:])
	}
}

func TestAKeptLineAllocatesNothing(t *testing.T) {
	f := load(t)
	st := nameStyle(t, f, 32)
	var l paint.List
	draw := func() {
		l.Reset()
		f.Line(st, "Hollow Creek").Draw(&l, paint.Point{X: 64, Y: 64}, paint.Colour{A: 255})
		f.Fit(st, "Three Rivers \U0001f3c0", paint.Px(90)).Draw(&l, paint.Point{X: 64, Y: 64}, paint.Colour{A: 255})
	}
	draw()
	if n := testing.AllocsPerRun(100, draw); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkLineKept(b *testing.B) {
	f := load(b)
	st := nameStyle(b, f, 32)
	b.ReportAllocs()
	for b.Loop() {
		f.Line(st, "Hollow Creek")
	}
}

func BenchmarkLineAnew(b *testing.B) {
	f := load(b)
	st := nameStyle(b, f, 32)
	b.ReportAllocs()
	for b.Loop() {
		clear(f.runs)
		f.Line(st, "Hollow Creek")
	}
}

func BenchmarkFitCutAnew(b *testing.B) {
	f := load(b)
	st := nameStyle(b, f, 32)
	b.ReportAllocs()
	for b.Loop() {
		clear(f.runs)
		f.Fit(st, "Hollow Creek Consolidated", paint.Px(120))
	}
}

// The slowest text known: marks that each face is asked for, in a width that cuts.
func BenchmarkFitWorst(b *testing.B) {
	f := load(b)
	st := nameStyle(b, f, 32)
	for b.Loop() {
		clear(f.runs)
		f.Fit(st, strings.Repeat("q\u0330\u0303\u0323", 64), paint.Px(300))
	}
}

func BenchmarkLoad(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		load(b)
	}
}
