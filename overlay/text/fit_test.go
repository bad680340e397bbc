package text

import (
	"slices"
	"strings"
	"testing"
	"time"
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

func TestAnEllipsisNeverStandsInsideANumber(t *testing.T) {
	for _, c := range []struct {
		in   string
		want []string // what may stand before the ellipsis, from the longest
	}{
		{"No. 23", []string{"No. 23", "No. ", "No.", "No", "N", ""}},
		{"1924", []string{"1924", ""}},
		{"88-79 F", []string{"88-79 F", "88-79 ", "88-79", ""}},
		{"a 1,024", []string{"a 1,024", "a ", "a", ""}},
		{"12:34.5", []string{"12:34.5", ""}},
		{"7/4.", []string{"7/4.", "7/4", ""}},
		{"3..4", []string{"3..4", "3..", "3.", "3", ""}}, // two signs: two numbers
		{"2nd", []string{"2nd", "2n", "2", ""}},
		{"\u0661\u0662\u0663 \u0627", []string{"\u0661\u0662\u0663 \u0627", "\u0661\u0662\u0663 ", "\u0661\u0662\u0663", ""}},
		{"1\u20e32", []string{"1\u20e32", "1\u20e3", ""}}, // a key cap is no digit
	} {
		var got []string
		for _, at := range slices.Backward(cuts(c.in)) {
			got = append(got, c.in[:at])
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%q may be cut to %q, want %q", c.in, got, c.want)
		}
	}
}

// Invented name. The digits of the year are all there or none is, in any width.
func TestANumberIsShownWholeOrNotAtAll(t *testing.T) {
	f := load(t)
	st := nameStyle(t, f, 32)
	var digits []paint.GlyphID
	for _, r := range "1234" {
		digits = append(digits, glyphOf(t, f, st.Condensed, r))
	}
	whole, dropped := 0, 0
	for width := range 300 {
		r := f.Fit(st, "Owls 1234 Bees", paint.Px(width))
		n := 0
		for _, g := range r.Glyphs {
			if g.Face == st.Condensed && slices.Contains(digits, g.Glyph) {
				n++
			}
		}
		switch {
		case !r.Cut:
		case n == len(digits):
			whole++
		case n == 0:
			dropped++
		default:
			t.Errorf("at %d pixels %d of the digits show", width, n)
		}
	}
	if whole == 0 || dropped == 0 {
		t.Errorf("whole at %d widths, dropped at %d", whole, dropped)
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

// FuzzFit looks for a text that panics, leaves its width, takes long, or is set otherwise the second time.
func FuzzFit(f *testing.F) {
	fonts := load(f)
	fresh := fonts.Clone()
	faces := len(fonts.sources)
	f.Fuzz(func(t *testing.T, s string, size, width int32) {
		st := Style{Face: paint.FaceID(len(s) % faces), Condensed: paint.FaceID(len(s) / faces % faces), Size: paint.Fixed(size)}
		begun := time.Now()
		checkFit(t, fonts, st, s, paint.Fixed(width))
		// The worst that BenchmarkFitWorst knows takes 2 ms; the rest is for a busy machine and the race detector.
		if took := time.Since(begun); took > 2*time.Second {
			t.Errorf("%+q took %v", s, took)
		}
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
