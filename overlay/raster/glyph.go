package raster

import (
	"image"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

const (
	// maxCached bounds the cache in runs and rows, 12 and 8 bytes each: at most 6 MiB before the last glyph. A
	// digit 900 pixels high takes some 12,000 of them, a letter of 20 pixels 100.
	maxCached = 1 << 19
	// maxMasks bounds the number of glyphs kept: blank ones take neither runs nor rows.
	maxMasks = 1 << 12
	// maxSide is the largest glyph kept, in pixels; larger ones are drawn straight from the outline.
	maxSide = 4096
)

// glyphKey names a glyph's coverage: its place within the pixel changes it, whole pixels do not.
type glyphKey struct {
	face   paint.FaceID
	glyph  paint.GlyphID
	size   paint.Fixed
	dx, dy uint8 // of the origin, in 64ths of a pixel
}

// mask is a glyph's coverage: its box around the pixel of the origin, and where in the cache its rows begin.
type mask struct {
	box image.Rectangle
	row int
}

// span is a row's part of the runs; upright stems repeat one span over many rows.
type span struct{ from, to int32 }

// glyphCache keeps masks in two arenas. When they are full it is emptied, which leaves no garbage and, as the
// pixels do not depend on it, does no harm.
type glyphCache struct {
	masks map[glyphKey]mask
	rows  []span
	runs  []run
}

// glyph composites a glyph inside c.
func (r *Rasteriser) glyph(dst *frame.Frame, o *paint.Op, c image.Rectangle) {
	if o.Size <= 0 || r.outlines == nil {
		return
	}
	origin := paint.Point{X: within(o.Points[0].X), Y: within(o.Points[0].Y)}
	key := glyphKey{o.Face, o.Glyph, within(o.Size), uint8(origin.X & 63), uint8(origin.Y & 63)}
	m, ok := r.glyphs.masks[key]
	if !ok {
		if m, ok = r.mask(key); !ok {
			r.scan.begin(c)
			t := r.contour(key)
			t.origin = units(origin)
			t.trace(&r.scan, r.segments)
			r.fill(dst, c)
			return
		}
	}
	box := m.box.Add(image.Pt(origin.X.Floor(), origin.Y.Floor()))
	inked := box.Intersect(c)
	shift := int32(box.Min.X - inked.Min.X)
	for y := inked.Min.Y; y < inked.Max.Y; y++ {
		row := r.glyphs.rows[m.row+y-box.Min.Y]
		r.brush.row(dst.Row(y, inked.Min.X, inked.Max.X), y, inked.Min.X, r.glyphs.runs[row.from:row.to], shift)
	}
}

// mask rasterises a glyph into the cache; false if it is too large to keep. Its outline is then in segments.
func (r *Rasteriser) mask(key glyphKey) (mask, bool) {
	t := r.contour(key)
	box := t.bounds(r.segments)
	if box.Dx() > maxSide || box.Dy() > maxSide {
		return mask{}, false
	}
	g := &r.glyphs
	if len(g.runs)+len(g.rows) > maxCached || len(g.masks) == maxMasks {
		clear(g.masks)
		g.runs, g.rows = g.runs[:0], g.rows[:0]
	}
	m := mask{box, len(g.rows)}
	g.rows = append(g.rows, make([]span, box.Dy())...)
	r.scan.begin(box)
	t.trace(&r.scan, r.segments)
	for r.scan.next() {
		row := span{from: int32(len(g.runs))}
		g.runs = append(g.runs, r.scan.runs...)
		row.to = int32(len(g.runs))
		for y := r.scan.y; y < r.scan.until; y++ {
			g.rows[m.row+y] = row
		}
	}
	g.masks[key] = m
	return m, true
}

// contour fetches the outline of a glyph into segments and places it around the origin's pixel.
func (r *Rasteriser) contour(key glyphKey) contour {
	r.segments = r.outlines.Outline(r.segments[:0], key.face, key.glyph)
	return contour{
		origin: point{int32(key.dx) << (unitBits - 6), int32(key.dy) << (unitBits - 6)},
		size:   int64(key.size),
		em:     int64(max(r.outlines.UnitsPerEm(key.face), 1)),
	}
}
