// Package raster turns a display list into pixels: exact-area coverage, then compositing, both in integers. It
// must not know fonts, graphics or basketball; it starts no goroutine and the same list gives the same bytes on
// every processor.
//
// Coverage is the area of the shape within each pixel (a box filter), non-zero winding. Every shape becomes
// edges, edges become runs of equal coverage row by row, runs are composited. What an edge adds to a cell
// depends on the edge alone, never on the clip, so drawing a list piece by piece gives the bytes of drawing it
// whole.
package raster

import (
	"image"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// Rasteriser draws display lists. It keeps scratch memory and the coverage of recent glyphs, so that drawing
// allocates nothing once warm. Not safe for concurrent use.
type Rasteriser struct {
	outlines paint.Outlines
	pictures paint.Pictures
	scan     scan
	brush    brush
	gradient gradient
	bitmap   bitmap
	shades   shades
	soft     []run
	quarter  quarter
	arc      []point
	segments []paint.Segment
	glyphs   glyphCache
}

// New returns a rasteriser that takes the shapes of glyphs from o and pictures from p; either may be nil for none.
func New(o paint.Outlines, p paint.Pictures) *Rasteriser {
	return &Rasteriser{outlines: o, pictures: p, glyphs: glyphCache{masks: make(map[glyphKey]mask)},
		shades: shades{by: make(map[shadeKey]*shade)}}
}

// Draw composites l over dst inside clip, from the first operation to the last. No operation touches a pixel
// outside its own Bounds. Coordinates beyond ±262,144 pixels count as that; a shape without area draws nothing.
func (r *Rasteriser) Draw(dst *frame.Frame, l *paint.List, clip image.Rectangle) {
	clip = clip.Intersect(dst.Bounds())
	if clip.Empty() {
		return
	}
	for i := range l.Ops {
		o := &l.Ops[i]
		c := r.load(o, clip.Intersect(o.Bounds()))
		if c.Empty() {
			continue
		}
		switch o.Shape {
		case paint.Glyph:
			r.glyph(dst, o, c)
			continue
		case paint.Shadow:
			var panel [2]image.Rectangle
			if i+1 < len(l.Ops) { // a panel's own shadow is for the most part under the panel
				panel = l.Ops[i+1].Solid()
			}
			r.shadow(dst, o, c, panel)
			continue
		}
		if o.Shape == paint.Rect {
			if even, covered := evenly(o, c); even {
				if covered {
					r.cover(dst, c)
				}
				continue
			}
		}
		r.scan.begin(c)
		switch o.Shape {
		case paint.Rect:
			r.rect(o)
		case paint.Polygon:
			r.polygon(o)
		case paint.Arc:
			r.ring(o)
		case paint.Image:
			r.image(o)
		}
		r.fill(dst, c)
	}
}

// load takes what the operation paints with, and returns the part of c where it paints anything.
func (r *Rasteriser) load(o *paint.Op, c image.Rectangle) image.Rectangle {
	graded := (o.Axis == paint.Down || o.Axis == paint.Across) && o.Shape != paint.Image
	switch {
	case c.Empty() || o.Colour.A == 0 && !(graded && o.To.A != 0):
		return image.Rectangle{}
	case o.Shape == paint.Image:
		return r.picture(o, c)
	case graded:
		r.gradient.load(o, c.Min.X, c.Max.X)
		r.brush.take(&r.gradient, o.Colour.A&o.To.A == 255, o.Axis == paint.Down, 255)
	default:
		r.brush.load(o.Colour)
	}
	return c
}

// evenly tells whether a rectangle covers the whole of all pixels of c, or none of any: far enough from its edges and
// corners there is no need to look at them.
func evenly(o *paint.Op, c image.Rectangle) (even, covered bool) {
	radius, stroke := unitsOf(max(o.Radius, 0)), unitsOf(max(o.Stroke, 0))
	a, b := units(o.Box.Min), units(o.Box.Max)
	a, b, radius = point{a.x + stroke, a.y + stroke}, point{b.x - stroke, b.y - stroke}, max(radius-stroke, 0)
	even = spans(a, b, c, radius, 0) || spans(a, b, c, 0, radius)
	return even, even && stroke == 0
}

// spans tells whether c lies in a box that is less by dx at both sides and by dy above and below.
func spans(a, b point, c image.Rectangle, dx, dy int32) bool {
	return a.x+dx <= unitsOfPixels(c.Min.X) && unitsOfPixels(c.Max.X) <= b.x-dx &&
		a.y+dy <= unitsOfPixels(c.Min.Y) && unitsOfPixels(c.Max.Y) <= b.y-dy
}

// cover composites what the brush has over all of c.
func (r *Rasteriser) cover(dst *frame.Frame, c image.Rectangle) {
	all := [1]run{{0, int32(c.Dx()), 255}}
	for y := c.Min.Y; y < c.Max.Y; y++ {
		r.brush.row(dst.Row(y, c.Min.X, c.Max.X), y, c.Min.X, all[:], 0)
	}
}

// fill composites what was added to the scan since begin(c).
func (r *Rasteriser) fill(dst *frame.Frame, c image.Rectangle) {
	for r.scan.next() {
		for y := c.Min.Y + r.scan.y; y < c.Min.Y+r.scan.until; y++ {
			r.brush.row(dst.Row(y, c.Min.X, c.Max.X), y, c.Min.X, r.scan.runs, 0)
		}
	}
}
