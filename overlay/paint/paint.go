// Package paint is the display list between graphics and pixels: shapes, colours and places as plain
// integers that compare with ==. It draws nothing and knows neither fonts nor basketball.
//
// A graphic appends operations, back to front; the renderer compares the list with the last one to find
// what is damaged, and the rasteriser turns operations into pixels.
package paint

import "image"

// Fixed is a coordinate in 26.6 pixels: 64 is one pixel. x points right, y down.
type Fixed int32

// Px returns n whole pixels.
func Px(n int) Fixed { return Fixed(n) << 6 }

// Floor returns the whole pixel at or before x.
func (x Fixed) Floor() int { return int(x >> 6) }

// Ceil returns the whole pixel at or after x.
func (x Fixed) Ceil() int { return int((int64(x) + 63) >> 6) }

// Point is a place in the picture.
type Point struct{ X, Y Fixed }

// Box is a rectangle; Max is outside it.
type Box struct{ Min, Max Point }

// BoxPx returns the box of a rectangle of whole pixels.
func BoxPx(r image.Rectangle) Box {
	return Box{Point{Px(r.Min.X), Px(r.Min.Y)}, Point{Px(r.Max.X), Px(r.Max.Y)}}
}

// Colour is straight-alpha 8-bit RGBA, sRGB-encoded.
type Colour struct{ R, G, B, A uint8 }

// Shape says how an operation's numbers are read.
type Shape uint8

const (
	// Rect fills Box, its corners rounded by Radius (half the short side makes a pill or a circle). With
	// Stroke > 0 only the band of that width inside the edge is filled.
	Rect Shape = iota + 1
	// Polygon fills Points[:Count], non-zero winding.
	Polygon
	// Arc fills the part of the ring of width Stroke inside the ellipse of Box that starts at the top and
	// runs clockwise for Sweep/65536 of a turn. Stroke 0 fills the whole sector.
	Arc
	// Glyph fills glyph Glyph of face Face at Size pixels an em, its origin at Points[0]. Box holds its ink.
	Glyph
)

// MaxPoints is the number of corners a polygon may have: arrows, chevrons, slanted and notched plates.
const MaxPoints = 8

// FaceID numbers a face within the set of fonts that both text and raster were given.
type FaceID uint16

// GlyphID is a glyph's index within its face.
type GlyphID uint16

// Op is one drawing operation: comparable, of fixed size, and complete in itself, so that two lists compare
// as plain values whatever was drawn before.
type Op struct {
	Shape  Shape
	Count  uint8 // of Points, for Polygon
	Face   FaceID
	Glyph  GlyphID
	Colour Colour
	Box    Box // of the shape; for Polygon and Glyph its bounds
	Radius Fixed
	Stroke Fixed
	Sweep  int32
	Size   Fixed
	Points [MaxPoints]Point
}

// Bounds returns the pixels that the operation can touch.
func (o *Op) Bounds() image.Rectangle {
	return image.Rect(o.Box.Min.X.Floor(), o.Box.Min.Y.Floor(), o.Box.Max.X.Ceil(), o.Box.Max.Y.Ceil())
}

// List is a display list, drawn from first to last. Reset keeps its memory.
type List struct{ Ops []Op }

// Reset empties the list.
func (l *List) Reset() { l.Ops = l.Ops[:0] }

// Rect appends a filled rectangle with rounded corners.
func (l *List) Rect(b Box, radius Fixed, c Colour) {
	l.Ops = append(l.Ops, Op{Shape: Rect, Box: b, Radius: radius, Colour: c})
}

// Frame appends the band of width stroke inside the edge of a rectangle with rounded corners.
func (l *List) Frame(b Box, radius, stroke Fixed, c Colour) {
	l.Ops = append(l.Ops, Op{Shape: Rect, Box: b, Radius: radius, Stroke: stroke, Colour: c})
}

// Polygon appends a filled polygon of 3 to MaxPoints corners; other numbers draw nothing.
func (l *List) Polygon(c Colour, corners ...Point) {
	if len(corners) < 3 || len(corners) > MaxPoints {
		return
	}
	o := Op{Shape: Polygon, Count: uint8(len(corners)), Colour: c, Box: Box{corners[0], corners[0]}}
	for i, p := range corners {
		o.Points[i] = p
		o.Box.Min = Point{min(o.Box.Min.X, p.X), min(o.Box.Min.Y, p.Y)}
		o.Box.Max = Point{max(o.Box.Max.X, p.X), max(o.Box.Max.Y, p.Y)}
	}
	l.Ops = append(l.Ops, o)
}

// Arc appends a part of a ring, from the top clockwise for sweep/65536 of a turn.
func (l *List) Arc(b Box, stroke Fixed, sweep int32, c Colour) {
	l.Ops = append(l.Ops, Op{Shape: Arc, Box: b, Stroke: stroke, Sweep: sweep, Colour: c})
}

// Verb says what a Segment does.
type Verb uint8

// The verbs of an outline: the first takes one point, then one, two and three.
const (
	MoveTo Verb = iota
	LineTo
	QuadTo
	CubicTo
)

// Segment is a step of a glyph's outline in font units, y up.
type Segment struct {
	Verb Verb
	Args [3]struct{ X, Y int32 }
}

// Outlines gives the shapes of glyphs; the fonts of package text satisfy it.
type Outlines interface {
	// UnitsPerEm returns the face's units an em, 16 to 16384.
	UnitsPerEm(FaceID) int32
	// Outline appends the glyph's outline to dst; nothing for a blank or unknown glyph.
	Outline(dst []Segment, f FaceID, g GlyphID) []Segment
}
