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
	"fmt"
	"io/fs"
	"math"
	"path"
	"slices"

	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/harfbuzz"

	"rafter/overlay/paint"
)

// Fonts is a set of faces with an order of fallback. It satisfies paint.Outlines.
//
// It is not safe for concurrent use, since it keeps what it has shaped: one a renderer, made by Clone.
type Fonts struct {
	sources  []*source
	faces    []*face        // by source; opened when first used
	fallback []paint.FaceID // tried in order for what the asked face lacks
	buffer   *harfbuzz.Buffer
	runs     map[runKey]Run
	glyphs   int // in runs
	digits   map[digitsKey]*Digits
	lacking  []rune // as Missing returns them
}

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
		src, err := newSource(e.Name, data)
		if err != nil {
			return nil, fmt.Errorf("%s: %w; take another copy of the file", name, err)
		}
		f.sources = append(f.sources, src)
	}
	for _, name := range ix.Fallback {
		id, _ := f.Face(name) // readIndex has checked that it is there
		f.fallback = append(f.fallback, id)
	}
	return f.Clone(), nil
}

// maxSources bounds a set with the fonts that are added to it.
const maxSources = 128

// Add puts a font after the others in the order of fallback, under a name that no other has. The set's earlier clones stay
// as they are. The error says what is wrong with the name or the data; then the set is as before.
func (f *Fonts) Add(name string, data []byte) error {
	if _, there := f.Face(name); there || name == "" {
		return fmt.Errorf("a font named %q cannot be added: give the file another name", name)
	}
	if len(f.sources) >= maxSources {
		return fmt.Errorf("there are %d fonts already; take some away", maxSources)
	}
	if len(data) > maxFontBytes {
		return fmt.Errorf("the font has more than %d bytes; take a smaller one", maxFontBytes)
	}
	s, err := newSource(name, data)
	if err != nil {
		return err
	}
	f.fallback = append(slices.Clip(f.fallback), paint.FaceID(len(f.sources)))
	f.sources = append(slices.Clip(f.sources), s)
	f.faces = append(f.faces, nil)
	clear(f.runs) // what was missing may be there now
	f.glyphs, f.lacking = 0, nil
	return nil
}

// Missing returns what no font of the set could draw in all that was set so far, each once in the order of first sight;
// at most 64. The caller must not change it.
func (f *Fonts) Missing() []rune { return f.lacking }

const maxLacking = 64

func (f *Fonts) note(missing []rune) {
	for _, r := range missing {
		if len(f.lacking) < maxLacking && !slices.Contains(f.lacking, r) {
			f.lacking = append(f.lacking, r)
		}
	}
}

// Clone returns the same set with its own memory, for another renderer. What was read of the files is shared.
func (f *Fonts) Clone() *Fonts {
	return &Fonts{
		sources:  f.sources,
		faces:    make([]*face, len(f.sources)),
		fallback: f.fallback,
		buffer:   harfbuzz.NewBuffer(),
		runs:     map[runKey]Run{},
		digits:   map[digitsKey]*Digits{},
	}
}

func (f *Fonts) face(id paint.FaceID) *face {
	if f.faces[id] == nil {
		f.faces[id] = f.sources[id].open()
	}
	return f.faces[id]
}

// Face returns the face of that name in the index, and whether there is one.
func (f *Fonts) Face(name string) (paint.FaceID, bool) {
	for i, s := range f.sources {
		if s.name == name {
			return paint.FaceID(i), true
		}
	}
	return 0, false
}

// Names returns the names of all faces in the order of the index.
func (f *Fonts) Names() []string {
	names := make([]string, len(f.sources))
	for i, s := range f.sources {
		names[i] = s.name
	}
	return names
}

// UnitsPerEm returns the outline units an em of a face of this set; it satisfies paint.Outlines.
func (f *Fonts) UnitsPerEm(id paint.FaceID) int32 { return f.sources[id].upem * f.sources[id].scale }

// Outline appends the outline of a glyph in outline units, y up, each contour closed; it satisfies paint.Outlines. A glyph
// that is damaged has none: the library panics on some.
func (f *Fonts) Outline(dst []paint.Segment, id paint.FaceID, g paint.GlyphID) (out []paint.Segment) {
	defer func() {
		if recover() != nil {
			out = dst
		}
	}()
	fc := f.face(id)
	outline, _ := fc.parsed.GlyphDataOutline(font.GID(g))
	out = dst
	for _, s := range outline.Segments {
		seg := paint.Segment{Verb: paint.Verb(s.Op)}
		for i, p := range s.ArgsSlice() {
			seg.Args[i].X, seg.Args[i].Y = fc.units(p.X), fc.units(p.Y)
		}
		out = append(out, seg)
	}
	return out
}

// units converts a font coordinate. Static TrueType gives whole and half units, both exact; only a component
// that the font scales can fall between, and goes to the nearest half.
func (s *source) units(v float32) int32 {
	if v != v {
		return 0
	}
	return int32(math.Round(min(max(float64(v)*float64(s.scale), -maxUnit), maxUnit)))
}

// maxUnit bounds outlines, so that the largest glyph at the largest size stays inside 32 bits; TrueType's own bound is less.
const maxUnit = 1 << 17

// inkOf returns the bounds of a glyph's control points, which hold the glyph.
func (f *Fonts) inkOf(id paint.FaceID, g paint.GlyphID) unitBox {
	fc := f.face(id)
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

// CapHeight returns how high an H stands above the baseline as drawn, to the nearest 1/64 pixel; 0 for a face without.
func (f *Fonts) CapHeight(id paint.FaceID, size paint.Fixed) paint.Fixed {
	g, ok := f.sources[id].font.Cmap.Lookup('H')
	if !ok {
		return 0
	}
	return paint.Fixed(roundDiv(int64(f.inkOf(id, paint.GlyphID(g)).maxY)*int64(clampSize(size)), int64(f.UnitsPerEm(id))))
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
