// Package text turns strings into placed glyphs: it shapes, falls back to other fonts, fits lines into a
// width and lays digits in fixed cells. It draws no pixels and knows neither themes nor basketball.
//
//	fonts, err := text.Load(assets.FS)
//	face, ok := fonts.Face("barlow-600")
//	run := fonts.Fit(text.Style{Face: face, Size: paint.Px(32)}, "Hollow Creek", paint.Px(200))
//	run.Draw(list, origin, colour)
//
// All that reaches a picture is an integer and the same on every processor: text is shaped in whole font
// units and scaled here, once.
package text

import (
	"bytes"
	"fmt"
	"io/fs"
	"math"
	"path"

	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/harfbuzz"

	"rafter/overlay/paint"
)

// Fonts is a set of faces with an order of fallback. It satisfies paint.Outlines.
//
// It is not safe for concurrent use, since it keeps what it has shaped: one a renderer, made by Clone.
type Fonts struct {
	faces    []*face
	fallback []paint.FaceID // tried in order for what the asked face lacks
	buffer   *harfbuzz.Buffer
	runs     map[runKey]Run
	glyphs   int // in runs
	digits   map[digitsKey]*Digits
}

// face is one font of the set. Its outline units are twice the font's own, so that the midpoints that
// TrueType leaves out are whole too.
type face struct {
	name   string
	parsed *font.Face
	shaper *harfbuzz.Font
	upem   int32 // font units an em
	scale  int32 // outline units a font unit
	ink    map[paint.GlyphID]unitBox
}

// Units an em that are read: with fewer, the largest coordinates of a font would pass 32 bits at the largest size.
const (
	minUnits = 256
	maxUnits = 16384
)

// unitBox is a box in outline units, y up.
type unitBox struct{ minX, minY, maxX, maxY int32 }

// Load reads the faces that fonts/index.json in fsys lists. The error names the file at fault.
func Load(fsys fs.FS) (*Fonts, error) {
	ix, err := readIndex(fsys)
	if err != nil {
		return nil, err
	}
	f := &Fonts{}
	for _, e := range ix.Faces {
		name := path.Join(path.Dir(indexFile), e.File)
		data, err := readBounded(fsys, name, maxFontBytes)
		if err != nil {
			return nil, err
		}
		parsed, err := parse(data)
		if err != nil {
			return nil, fmt.Errorf("%s: %w; take another copy of the file", name, err)
		}
		f.faces = append(f.faces, newFace(e.Name, parsed))
	}
	for _, name := range ix.Fallback {
		id, _ := f.Face(name) // readIndex has checked that it is there
		f.fallback = append(f.fallback, id)
	}
	return f.Clone(), nil
}

// parse reads a TrueType or OpenType font. The library panics on some damaged files, which are an error here.
func parse(data []byte) (parsed *font.Font, err error) {
	defer func() {
		if p := recover(); p != nil {
			parsed, err = nil, fmt.Errorf("the font is damaged: %v", p)
		}
	}()
	fc, err := font.ParseTTF(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("not a TrueType or OpenType font: %w", err)
	}
	if em := fc.Upem(); em < minUnits || em > maxUnits {
		return nil, fmt.Errorf("the font has %d units an em, not %d to %d", em, minUnits, maxUnits)
	}
	return fc.Font, nil
}

// Clone returns the same set with its own memory, for another renderer. The parsed fonts are shared.
func (f *Fonts) Clone() *Fonts {
	c := &Fonts{
		fallback: f.fallback,
		buffer:   harfbuzz.NewBuffer(),
		runs:     map[runKey]Run{},
		digits:   map[digitsKey]*Digits{},
	}
	for _, fc := range f.faces {
		c.faces = append(c.faces, newFace(fc.name, fc.parsed.Font))
	}
	return c
}

func newFace(name string, parsed *font.Font) *face {
	fc := &face{name: name, parsed: font.NewFace(parsed), upem: int32(parsed.Upem()), scale: 2, ink: map[paint.GlyphID]unitBox{}}
	if fc.upem > maxUnits/2 {
		fc.scale = 1 // paint.Outlines allows 16384 units an em
	}
	fc.shaper = harfbuzz.NewFont(fc.parsed) // unscaled: positions come out in font units
	return fc
}

// Face returns the face of that name in the index, and whether there is one.
func (f *Fonts) Face(name string) (paint.FaceID, bool) {
	for i, fc := range f.faces {
		if fc.name == name {
			return paint.FaceID(i), true
		}
	}
	return 0, false
}

// Names returns the names of all faces in the order of the index.
func (f *Fonts) Names() []string {
	names := make([]string, len(f.faces))
	for i, fc := range f.faces {
		names[i] = fc.name
	}
	return names
}

// UnitsPerEm returns the outline units an em of a face of this set; it satisfies paint.Outlines.
func (f *Fonts) UnitsPerEm(id paint.FaceID) int32 { return f.faces[id].upem * f.faces[id].scale }

// Outline appends the outline of a glyph in outline units, y up, each contour closed; it satisfies paint.Outlines.
func (f *Fonts) Outline(dst []paint.Segment, id paint.FaceID, g paint.GlyphID) []paint.Segment {
	fc := f.faces[id]
	outline, _ := fc.parsed.GlyphDataOutline(font.GID(g))
	for _, s := range outline.Segments {
		seg := paint.Segment{Verb: paint.Verb(s.Op)}
		for i, p := range s.ArgsSlice() {
			seg.Args[i].X, seg.Args[i].Y = fc.units(p.X), fc.units(p.Y)
		}
		dst = append(dst, seg)
	}
	return dst
}

// units converts a font coordinate. Static TrueType gives whole and half units, both exact; only a component
// that the font scales can fall between, and goes to the nearest half.
func (fc *face) units(v float32) int32 { return int32(math.Round(float64(v) * float64(fc.scale))) }

// inkOf returns the bounds of a glyph's control points, which hold the glyph.
func (f *Fonts) inkOf(id paint.FaceID, g paint.GlyphID) unitBox {
	fc := f.faces[id]
	if b, ok := fc.ink[g]; ok {
		return b
	}
	b := unitBox{math.MaxInt32, math.MaxInt32, math.MinInt32, math.MinInt32}
	segments := f.Outline(nil, id, g)
	for _, s := range segments {
		for _, p := range s.Args[:max(1, int(s.Verb))] {
			b = unitBox{min(b.minX, p.X), min(b.minY, p.Y), max(b.maxX, p.X), max(b.maxY, p.Y)}
		}
	}
	if len(segments) == 0 {
		b = unitBox{}
	}
	fc.ink[g] = b
	return b
}

// box returns the ink of a glyph drawn at size with its origin at 0,0, rounded outward; empty for a blank.
func (f *Fonts) box(id paint.FaceID, g paint.GlyphID, size paint.Fixed) paint.Box {
	b, em := f.inkOf(id, g), int64(f.UnitsPerEm(id))
	if b.minX >= b.maxX || b.minY >= b.maxY {
		return paint.Box{}
	}
	at := func(v int32) int64 { return int64(v) * int64(size) }
	return paint.Box{
		Min: paint.Point{X: paint.Fixed(floorDiv(at(b.minX), em)), Y: paint.Fixed(-ceilDiv(at(b.maxY), em))},
		Max: paint.Point{X: paint.Fixed(ceilDiv(at(b.maxX), em)), Y: paint.Fixed(-floorDiv(at(b.minY), em))},
	}
}

// Metrics are heights above the baseline at one size; Descent is below it.
type Metrics struct{ Ascent, Descent, Cap, X paint.Fixed }

// Metrics returns the font's line metrics, and the heights of H and x as drawn, to the nearest 1/64 pixel.
func (f *Fonts) Metrics(id paint.FaceID, size paint.Fixed) Metrics {
	fc := f.faces[id]
	size = clampSize(size)
	em := int64(f.UnitsPerEm(id))
	at := func(v int32) paint.Fixed { return paint.Fixed(roundDiv(int64(v)*int64(size), em)) }
	extents, _ := fc.parsed.FontHExtents()
	m := Metrics{Ascent: at(fc.units(extents.Ascender)), Descent: at(-fc.units(extents.Descender))}
	if g, ok := fc.parsed.NominalGlyph('H'); ok {
		m.Cap = at(f.inkOf(id, paint.GlyphID(g)).maxY)
	}
	if g, ok := fc.parsed.NominalGlyph('x'); ok {
		m.X = at(f.inkOf(id, paint.GlyphID(g)).maxY)
	}
	return m
}

// maxSize bounds text sizes: beyond a frame of 4320 lines nothing is legible, and 26.6 sums stay in 32 bits.
const maxSize = paint.Fixed(8192 << 6)

func clampSize(size paint.Fixed) paint.Fixed { return min(max(size, 0), maxSize) }

// floorDiv returns the greatest integer ≤ a/b; b > 0.
func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

func ceilDiv(a, b int64) int64 { return -floorDiv(-a, b) }

// roundDiv returns the integer nearest to a/b, halves up; b > 0.
func roundDiv(a, b int64) int64 { return floorDiv(2*a+b, 2*b) }
