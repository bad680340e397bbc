package text

import (
	"io/fs"
	"testing"

	"github.com/go-text/typesetting/font"
	ot "github.com/go-text/typesetting/font/opentype"
	hinting "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"rafter/assets"
	"rafter/overlay/paint"
)

// reference opens a shipped font with golang.org/x/image/font/sfnt, another reader than ours.
func reference(t *testing.T, e indexFace) *sfnt.Font {
	t.Helper()
	data, err := fs.ReadFile(assets.FS, "fonts/"+e.File)
	if err != nil {
		t.Fatal(err)
	}
	f, err := sfnt.Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// latin calls each with every rune of the Latin blocks, Basic to Extended Additional, that the font has.
func latin(f *sfnt.Font, each func(r rune, g sfnt.GlyphIndex)) {
	for _, block := range [][2]rune{{0x20, 0x24f}, {0x1e00, 0x1eff}, {0x2010, 0x2044}} {
		for r := block[0]; r <= block[1]; r++ {
			if g, err := f.GlyphIndex(nil, r); err == nil && g != 0 {
				each(r, g)
			}
		}
	}
}

func shippedIndex(t *testing.T) index {
	t.Helper()
	ix, err := readIndex(assets.FS)
	if err != nil {
		t.Fatal(err)
	}
	return ix
}

// Reference library: golang.org/x/image/font/sfnt, asked for as many pixels an em as we have outline units.
func TestOutlinesAreThoseOfTheReferenceLibrary(t *testing.T) {
	f := load(t)
	for _, e := range shippedIndex(t).Faces {
		t.Run(e.Name, func(t *testing.T) {
			id, ref := faceOf(t, f, e.Name), reference(t, e)
			if em := f.UnitsPerEm(id); em != 2*int32(ref.UnitsPerEm()) {
				t.Fatalf("%d units an em, reference has %d", em, ref.UnitsPerEm())
			}
			ppem := fixed.Int26_6(f.UnitsPerEm(id))
			glyphs := 0
			latin(ref, func(r rune, g sfnt.GlyphIndex) {
				want, err := ref.LoadGlyph(nil, g, ppem, nil)
				if err != nil {
					t.Fatalf("%q: %v", r, err)
				}
				b, _, err := ref.GlyphBounds(nil, g, ppem, hinting.HintingNone)
				if err != nil {
					t.Fatalf("%q: %v", r, err)
				}
				got := f.Outline(nil, id, paint.GlyphID(g))
				var shift int32
				if len(got) > 1 && len(want) > 1 { // the first point that is given and not implied
					shift = got[1].Args[0].X - int32(want[1].Args[0].X)
				}
				if shift < -2 || shift > 2 || shift != 0 && e.Family != "DejaVu Sans Condensed" {
					t.Errorf("%q stands %d outline units to the right of the reference", r, shift)
				}
				whole, _ := f.face(id).parsed.GlyphDataOutline(font.GID(g))
				sameOutline(t, r, got, want, whole.Segments, shift)
				sameBounds(t, r, f.inkOf(id, paint.GlyphID(g)), b, shift)
				glyphs++
			})
			if glyphs < 300 {
				t.Errorf("only %d glyphs compared", glyphs)
			}
		})
	}
}

// sameOutline compares all points. A glyph stands with its left edge at the font's left side bearing (OpenType 1.9, glyf:
// the first phantom point is xMin less the bearing), but the reference leaves it where it was drawn; in DejaVu the two
// differ by up to a font unit, shift.
func sameOutline(t *testing.T, r rune, got []paint.Segment, want sfnt.Segments, drawn []ot.Segment, shift int32) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%q: %d segments, reference has %d", r, len(got), len(want))
		return
	}
	for i, s := range want {
		if int(got[i].Verb) != int(s.Op) {
			t.Errorf("%q: segment %d has verb %d, reference %d", r, i, got[i].Verb, s.Op)
			return
		}
		for k := range max(1, int(s.Op)) {
			dx, dy := got[i].Args[k].X-int32(s.Args[k].X)-shift, got[i].Args[k].Y+int32(s.Args[k].Y)
			// The reference cuts implied midpoints to whole font units, so there ours may be half a unit, one of outline,
			// off. In a component that the font scales and turns, it rounds both terms of each sum: two more.
			limit := int32(0)
			if s.Op == sfnt.SegmentOpQuadTo && k == 1 || s.Op == sfnt.SegmentOpMoveTo {
				limit++
			}
			if p := drawn[i].Args[k]; p.X != float32(int32(p.X)) || p.Y != float32(int32(p.Y)) {
				limit += 2
			}
			if max(dx, -dx, dy, -dy) > limit {
				t.Errorf("%q: segment %d point %d is off by %d,%d outline units", r, i, k, dx, dy)
				return
			}
		}
	}
}

func sameBounds(t *testing.T, r rune, got unitBox, b fixed.Rectangle26_6, shift int32) {
	t.Helper()
	want := unitBox{int32(b.Min.X) + shift, -int32(b.Max.Y), int32(b.Max.X) + shift, -int32(b.Min.Y)}
	near := func(a, b int32) bool { return a-b <= 1 && b-a <= 1 } // an implied midpoint, as above
	if !near(got.minX, want.minX) || !near(got.minY, want.minY) || !near(got.maxX, want.maxX) || !near(got.maxY, want.maxY) {
		t.Errorf("%q: bounds %v, reference %v", r, got, want)
	}
}

// Reference library: golang.org/x/image/font/sfnt, at one pixel a font unit.
func TestAdvancesAndKerningAreThoseOfTheReferenceLibrary(t *testing.T) {
	f := load(t)
	kerned := 0
	for _, e := range shippedIndex(t).Faces {
		id, ref := faceOf(t, f, e.Name), reference(t, e)
		st := Style{Face: id, Condensed: id, Size: paint.Px(int(ref.UnitsPerEm()))}
		em := fixed.I(int(ref.UnitsPerEm()))
		latin(ref, func(r rune, g sfnt.GlyphIndex) {
			if s, _ := clean(string(r)); s != string(r) {
				return // another character in NFC, or none
			}
			if f.Line(st, string(r)).exchanged(paint.GlyphID(g)) {
				return // a digit as high as capitals: TestTextIsSetAsHarfBuzzSetsIt
			}
			want, err := ref.GlyphAdvance(nil, g, em, hinting.HintingNone)
			if got := f.Line(st, string(r)).Width; err != nil || got != paint.Fixed(want) {
				t.Errorf("%s %q: advance %d, reference %d, %v", e.Name, r, got, want, err)
			}
		})
		for _, pair := range []string{"AV", "To", "Ty", "LT", "P.", "y,", "We", "11", "HH"} {
			var want fixed.Int26_6
			var g [2]sfnt.GlyphIndex
			for i, r := range pair {
				g[i], _ = ref.GlyphIndex(nil, r)
				a, _ := ref.GlyphAdvance(nil, g[i], em, hinting.HintingNone)
				want += a
			}
			if kern, err := ref.Kern(nil, g[0], g[1], em, hinting.HintingNone); err == nil {
				want += kern
				if kern != 0 {
					kerned++
				}
			}
			if f.Line(st, pair).exchanged(paint.GlyphID(g[0])) {
				continue
			}
			if got := f.Line(st, pair).Width; got != paint.Fixed(want) {
				t.Errorf("%s %q: width %d, reference %d", e.Name, pair, got, want)
			}
		}
	}
	if kerned < 20 {
		t.Errorf("only %d pairs were kerned", kerned)
	}
}

// exchanged tells whether the run begins with another glyph than g.
func (r Run) exchanged(g paint.GlyphID) bool { return len(r.Glyphs) > 0 && r.Glyphs[0].Glyph != g }

// A glyph's ink at any size holds every point of its outline at that size, and is at most 1/64 pixel larger a side.
func TestInkHoldsTheOutline(t *testing.T) {
	f := load(t)
	id := faceOf(t, f, "barlow-600")
	em := int64(f.UnitsPerEm(id))
	for _, size := range []paint.Fixed{1, 640, paint.Px(32), paint.Px(33) + 7, maxSize} {
		for g := range paint.GlyphID(300) {
			box, segments := f.box(id, g, size), f.Outline(nil, id, g)
			ink := f.inkOf(id, g)
			slack := int64(box.Max.X)*em - int64(ink.maxX)*int64(size)
			if len(segments) > 0 && (slack < 0 || slack >= em) {
				t.Errorf("glyph %d at %d: right edge is %d/%d off", g, size, slack, em)
			}
			for _, s := range segments {
				for _, p := range s.Args[:max(1, int(s.Verb))] {
					x, y := int64(p.X)*int64(size), -int64(p.Y)*int64(size)
					if x < int64(box.Min.X)*em || x > int64(box.Max.X)*em || y < int64(box.Min.Y)*em || y > int64(box.Max.Y)*em {
						t.Fatalf("glyph %d at %d: a point lies outside its ink", g, size)
					}
				}
			}
		}
	}
}
