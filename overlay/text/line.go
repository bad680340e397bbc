package text

import (
	"rafter/overlay/paint"
)

// Style says how a line is set. Condensed is the cut that Fit may change to; the same as Face for none.
type Style struct {
	Face, Condensed paint.FaceID
	Size            paint.Fixed // pixels an em, from 0 to 8192; the nearest of these is taken
}

func (st Style) bounded() Style {
	st.Size = clampSize(st.Size)
	return st
}

// Run is a line of placed glyphs, ready to draw at any origin. Runs are kept and shared: do not change Glyphs or Missing.
type Run struct {
	Glyphs  []Placed
	Size    paint.Fixed
	Width   paint.Fixed // from the origin to where the next text would start
	Ink     paint.Box   // relative to the origin; empty where nothing is drawn
	Missing []rune      // what no font of the set can draw, each once, in order of appearance
	Cut     bool        // ends in an ellipsis for something left out
}

// Placed is one glyph of a run, or the hollow box that stands for a missing one.
type Placed struct {
	Face   paint.FaceID
	Glyph  paint.GlyphID
	Hollow bool
	At     paint.Point // its origin, relative to the run's
	Ink    paint.Box   // relative to the run's origin, holds all that it draws
}

// Draw appends the run to l with its left end on the baseline at origin.
func (r Run) Draw(l *paint.List, origin paint.Point, c paint.Colour) {
	for i := range r.Glyphs {
		g := &r.Glyphs[i]
		g.draw(l, r.Size, origin, c)
	}
}

func (g *Placed) draw(l *paint.List, size paint.Fixed, origin paint.Point, c paint.Colour) {
	ink := shift(g.Ink, origin)
	if g.Hollow {
		l.Frame(ink, 0, max(paint.Px(1), size/24), c)
		return
	}
	if ink.Min == ink.Max {
		return
	}
	op := paint.Op{Shape: paint.Glyph, Face: g.Face, Glyph: g.Glyph, Colour: c, Box: ink, Size: size}
	op.Points[0] = add(g.At, origin)
	l.Ops = append(l.Ops, op)
}

func add(p, q paint.Point) paint.Point { return paint.Point{X: p.X + q.X, Y: p.Y + q.Y} }

func shift(b paint.Box, by paint.Point) paint.Box {
	return paint.Box{Min: add(b.Min, by), Max: add(b.Max, by)}
}

func union(a, b paint.Box) paint.Box {
	if a.Min == a.Max {
		return b
	}
	if b.Min == b.Max {
		return a
	}
	return paint.Box{
		Min: paint.Point{X: min(a.Min.X, b.Min.X), Y: min(a.Min.Y, b.Min.Y)},
		Max: paint.Point{X: max(a.Max.X, b.Max.X), Y: max(a.Max.Y, b.Max.Y)},
	}
}

// runKey names a run that is kept; width is natural for Line.
type runKey struct {
	style Style
	width paint.Fixed
	text  string
}

const natural = paint.Fixed(-1)

// Bounds of what is kept: a picture holds some 60 texts of a dozen glyphs; the limits are about a megabyte. When full it
// starts anew, which costs time only: a run is the same whether it was kept or not.
const (
	maxRuns     = 512
	maxGlyphs   = 16_384
	maxKeptText = 4 * maxRunes // bytes
)

// Line sets s on one line at its natural width. A text of more than 256 runes is cut there and ends in an ellipsis.
func (f *Fonts) Line(st Style, s string) Run {
	k := runKey{st.bounded(), natural, s}
	if r, ok := f.runs[k]; ok {
		return r
	}
	text, cut := clean(s)
	if cut {
		text = withEllipsis(text)
	}
	r := f.place(f.shapeText(k.style.Face, text), k.style.Size, 0)
	r.Cut = cut
	return f.keep(k, r)
}

func (f *Fonts) keep(k runKey, r Run) Run {
	f.note(r.Missing)
	if len(k.text) > maxKeptText {
		return r
	}
	if f.glyphs += len(r.Glyphs); len(f.runs) >= maxRuns || f.glyphs > maxGlyphs {
		clear(f.runs)
		f.glyphs = len(r.Glyphs)
	}
	f.runs[k] = r
	return r
}

// shapedText is a text in one cut, before it has a size.
type shapedText struct {
	runes  []rune
	pieces []piece
}

func (f *Fonts) shapeText(id paint.FaceID, s string) shapedText {
	return shapedText{[]rune(s), f.shape(id, s)}
}

// place scales a shaped text and lays tracking between its graphemes, but for scripts whose letters join. Each glyph's place is rounded from whole font units by itself, so that roundings do not add up.
func (f *Fonts) place(t shapedText, size, tracking paint.Fixed) Run {
	r := Run{Size: size}
	var pen paint.Fixed
	last := -1 // the cluster before
	for i := range t.pieces {
		p := &t.pieces[i]
		em := int64(f.sources[p.face].upem)
		at := func(units int64) paint.Fixed { return paint.Fixed(roundDiv(units*int64(size), em)) }
		var units int64
		for _, g := range p.glyphs {
			if g.cluster != last && last >= 0 && !cursive(p.script) {
				pen += tracking
			}
			if g.glyph == 0 {
				if g.cluster != last {
					r.Missing = f.missing(r.Missing, p, g.cluster, t.runes)
					box := f.hollow(p.face, size)
					r.add(Placed{Face: p.face, Hollow: true, Ink: shift(box, paint.Point{X: pen + at(units)})})
					pen += box.Max.X + box.Min.X
				}
				last = g.cluster
				continue
			}
			last = g.cluster
			o := paint.Point{X: pen + at(units+int64(g.dx)), Y: -at(int64(g.dy))}
			if ink := f.box(p.face, g.glyph, size); ink.Min != ink.Max {
				r.add(Placed{Face: p.face, Glyph: g.glyph, At: o, Ink: shift(ink, o)})
			}
			units += int64(g.advance)
		}
		pen += at(units)
	}
	r.Width = pen
	return r
}

func (r *Run) add(g Placed) {
	r.Glyphs = append(r.Glyphs, g)
	r.Ink = union(r.Ink, g.Ink)
}

// hollow returns the box that stands for a missing grapheme: as high as a capital, with room on both sides.
func (f *Fonts) hollow(id paint.FaceID, size paint.Fixed) paint.Box {
	side, width := size/16, size/2
	return paint.Box{Min: paint.Point{X: side, Y: -f.CapHeight(id, size)}, Max: paint.Point{X: side + width}}
}
