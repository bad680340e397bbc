package text

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"rafter/overlay/paint"
)

// Invented names. Each step of fitting is met exactly.
func TestFitTightensThenNarrowsThenCuts(t *testing.T) {
	f := load(t)
	st := nameStyle(t, f, 32)
	const name = "Hollow Creek"
	natural := f.Line(st, name).Width
	narrow := f.Line(Style{Face: st.Condensed, Condensed: st.Condensed, Size: st.Size}, name).Width
	gaps := paint.Fixed(len(name) - 1)
	for _, c := range []struct {
		name  string
		width paint.Fixed
		face  paint.FaceID
		cut   bool
	}{
		{"enough_room", natural, st.Face, false},
		{"a_little_too_narrow", natural - 1, st.Face, false},
		{"tightest", natural + gaps*tightest(st), st.Face, false},
		{"condensed", natural + gaps*tightest(st) - 1, st.Condensed, false},
		{"condensed_tightest", narrow + gaps*tightest(st), st.Condensed, false},
		{"cut", narrow + gaps*tightest(st) - 1, st.Condensed, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := f.Fit(st, name, c.width)
			if r.Cut != c.cut || r.Width > c.width || r.Glyphs[0].Face != c.face {
				t.Errorf("cut %v, width %d of %d, face %d; want cut %v, face %d", r.Cut, r.Width, c.width, r.Glyphs[0].Face, c.cut, c.face)
			}
			if !c.cut && len(r.Glyphs) != len(name)-1 { // the space draws nothing
				t.Errorf("%d glyphs", len(r.Glyphs))
			}
		})
	}
}

func TestFitCutsAtAGraphemeEdgeBeforeTheEllipsis(t *testing.T) {
	f := load(t)
	st := nameStyle(t, f, 32)
	dots := glyphOf(t, f, st.Condensed, '…')
	shown := 0
	for width := range 200 {
		// The pair has no composed form, so each letter is two glyphs that may not be parted.
		r := f.Fit(st, strings.Repeat("m\u0303", 20), paint.Px(width))
		if len(r.Glyphs) == 0 {
			continue
		}
		shown++
		if last := r.Glyphs[len(r.Glyphs)-1]; !r.Cut || last.Glyph != dots || len(r.Glyphs)%2 != 1 {
			t.Fatalf("at %d pixels: %d glyphs, cut %v, ellipsis last %v", width, len(r.Glyphs), r.Cut, last.Glyph == dots)
		}
	}
	if shown < 150 {
		t.Errorf("something showed at %d widths only", shown)
	}
}

func glyphOf(t testing.TB, f *Fonts, id paint.FaceID, r rune) paint.GlyphID {
	t.Helper()
	g, ok := f.face(id).parsed.NominalGlyph(r)
	if !ok {
		t.Fatalf("no glyph for %q", r)
	}
	return paint.GlyphID(g)
}

func TestNoSpaceStandsBeforeTheEllipsis(t *testing.T) {
	if got := withEllipsis("Owl "); got != "Owl…" {
		t.Errorf("%q", got)
	}
}

func TestFitShowsMoreInMoreRoom(t *testing.T) {
	f := load(t)
	st := nameStyle(t, f, 40)
	last := 0
	for width := range 400 {
		n := len(f.Fit(st, "Three Rivers", paint.Px(width)).Glyphs)
		if n < last {
			t.Errorf("%d glyphs at %d pixels, %d at one less", n, width, last)
		}
		last = n
	}
	if last != len("ThreeRivers") {
		t.Errorf("%d glyphs in the end", last)
	}
}

// anyText draws names a scorer might type or paste, and what nobody should.
func anyText() *rapid.Generator[string] {
	alphabet := []rune("AVTofgi jJ'-.12\u00c5\u0141\u0301\u0308\u0323\u0338\u05d0\u05d1\u05bc\u0627\u0644\u0635\u064e\u0651\u0661\u0622" +
		"\u0416\u03a9\u0e17\u0e35\u0e48\u0915\u094d\u0937\u200d\u200c\U0001f3c0\U0001f468\U0001f469\U0001f1e8\U0001f1e6\u202e\u2067()[]\ufdfa\ufffd")
	piece := rapid.OneOf(
		rapid.StringOfN(rapid.SampledFrom(alphabet), 0, 60, -1),
		rapid.StringN(0, 40, -1),
		rapid.SampledFrom([]string{"Hollow Creek", "\u0627\u0644\u0635\u0642\u0648\u0631", "\u05d0\u05d1\u05d2 12", strings.Repeat("x\u0301", 150), strings.Repeat("W", 300)}),
	)
	return rapid.Map(rapid.SliceOfN(piece, 1, 3), func(s []string) string { return strings.Join(s, "") })
}

func TestFitNeverReachesOutsideItsWidth(t *testing.T) {
	f := load(t)
	rapid.Check(t, func(t *rapid.T) {
		s := anyText().Draw(t, "text")
		st := Style{
			Face:      paint.FaceID(rapid.IntRange(0, len(f.sources)-1).Draw(t, "face")),
			Condensed: paint.FaceID(rapid.IntRange(0, len(f.sources)-1).Draw(t, "condensed")),
			Size:      paint.Fixed(rapid.Int32Range(-64, 100<<6).Draw(t, "size")),
		}
		checkFit(t, f, st, s, paint.Fixed(rapid.Int32Range(-64, 600<<6).Draw(t, "width")))
	})
}

type reporter interface{ Errorf(string, ...any) }

func checkFit(t reporter, f *Fonts, st Style, s string, width paint.Fixed) {
	r := f.Fit(st, s, width)
	limit := max(width, 0)
	if r.Width < 0 || r.Width > limit || r.Ink.Min.X < 0 || r.Ink.Max.X > limit {
		t.Errorf("%+q in %d: width %d, ink %v", s, width, r.Width, r.Ink)
	}
	checkRun(t, f, r, s)
}

// checkRun checks what holds of every run.
func checkRun(t reporter, f *Fonts, r Run, s string) {
	if len(r.Glyphs) > 4*maxRunes {
		t.Errorf("%+q: %d glyphs", s, len(r.Glyphs))
	}
	var ink paint.Box
	hollow := 0
	for _, g := range r.Glyphs {
		if g.Hollow {
			hollow++
		} else if want := shift(f.box(g.Face, g.Glyph, r.Size), g.At); g.Ink != want {
			t.Errorf("%+q: glyph %d has ink %v, want %v", s, g.Glyph, g.Ink, want)
		}
		ink = union(ink, g.Ink)
	}
	if ink != r.Ink {
		t.Errorf("%+q: ink %v, glyphs have %v", s, r.Ink, ink)
	}
	if (hollow > 0) != (len(r.Missing) > 0) {
		t.Errorf("%+q: %d hollow boxes, missing %+q", s, hollow, string(r.Missing))
	}
	var l paint.List
	r.Draw(&l, paint.Point{X: paint.Px(100), Y: paint.Px(50)}, paint.Colour{A: 255})
	if len(l.Ops) != len(r.Glyphs) {
		t.Errorf("%+q: %d operations for %d glyphs", s, len(l.Ops), len(r.Glyphs))
	}
	for i, o := range l.Ops {
		if o.Shape == paint.Glyph && o.Size != r.Size {
			t.Errorf("%+q: operation %d is %+v", s, i, o)
		}
	}
}

// FuzzFit looks for a text that panics, leaves its width, or is set otherwise the second time.
func FuzzFit(f *testing.F) {
	fonts := load(f)
	fresh := fonts.Clone()
	f.Fuzz(func(t *testing.T, s string, size, width int32) {
		st := Style{Face: 1, Condensed: 4, Size: paint.Fixed(size)}
		checkFit(t, fonts, st, s, paint.Fixed(width))
		line := fonts.Line(st, s)
		checkRun(t, fonts, line, s)
		clear(fresh.runs)
		if again := fresh.Line(st, s); !sameRun(line, again) {
			t.Errorf("%+q is set otherwise by fonts that have set nothing before", s)
		}
		if text, _ := clean(s); !utf8.ValidString(text) {
			t.Errorf("%+q is not valid UTF-8 once cleaned", s)
		}
	})
}

func sameRun(a, b Run) bool {
	return a.Size == b.Size && a.Width == b.Width && a.Ink == b.Ink && a.Cut == b.Cut &&
		slices.Equal(a.Glyphs, b.Glyphs) && slices.Equal(a.Missing, b.Missing)
}
