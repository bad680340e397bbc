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
	// Polygon fills Points[:Count], non-zero winding. With Stroke > 0 and convex only the band of that width inside
	// the edge is filled, its corners mitred.
	Polygon
	// Arc fills the part of the ring of width Stroke inside the ellipse of Box that starts at the top and
	// runs clockwise for Sweep/65536 of a turn. Stroke 0 fills the whole sector.
	Arc
	// Glyph fills glyph Glyph of face Face at Size pixels an em, its origin at Points[0]. Box holds its ink.
	Glyph
	// Shadow fills a rectangle with corners rounded by Radius, blurred: from whole, Stroke inside its edge, to
	// nothing, Stroke outside it. Box holds all of that, so it is larger by Stroke on every side. Whole pixels.
	Shadow
	// Image lays picture Picture over Box, its first pixel at Box.Min, unscaled; where it ends nothing is drawn.
	// Colour.A is its opacity, Radius rounds Box's corners. Whole pixels.
	Image
)

// Axis is the way that a gradient runs.
type Axis uint8

// The ways.
const (
	Flat   Axis = iota // one colour: To has no meaning
	Down               // Colour at Box's upper edge, To at the lower
	Across             // Colour at Box's left edge, To at the right
)

// MaxPoints is the number of corners a polygon may have: arrows, chevrons, slanted and notched plates.
const MaxPoints = 8

// FaceID numbers a face within the set of fonts that both text and raster were given.
type FaceID uint16

// GlyphID is a glyph's index within its face.
type GlyphID uint16

// PictureID numbers a picture within the set that the rasteriser was given.
type PictureID uint16

// Op is one drawing operation: comparable, of fixed size, and complete in itself, so that two lists compare
// as plain values whatever was drawn before.
type Op struct {
	Shape   Shape
	Count   uint8 // of Points, for Polygon
	Face    FaceID
	Glyph   GlyphID
	Picture PictureID
	Colour  Colour
	To      Colour // the gradient's other end, see Axis
	Box     Box    // of the shape; for Polygon and Glyph its bounds
	Clip    Box    // whole pixels that it may not leave; the zero Box is no bound
	Radius  Fixed
	Stroke  Fixed
	Sweep   int32
	Size    Fixed
	Points  [MaxPoints]Point
	Axis    Axis
}

// Bounds returns the pixels that the operation can touch.
func (o *Op) Bounds() image.Rectangle {
	if o.Clip != (Box{}) {
		return o.Box.Pixels().Intersect(o.Clip.Pixels())
	}
	return o.Box.Pixels()
}

// Solid returns what the operation replaces, whatever is there: the two rectangles that an opaque panel consists
// of without its rounded corners. Both are empty for everything else.
func (o *Op) Solid() (solid [2]image.Rectangle) {
	if o.Shape != Rect || o.Stroke > 0 || o.Colour.A != 255 || o.Axis != Flat && o.To.A != 255 {
		return solid
	}
	radius := max(o.Radius.Ceil(), 0)
	inner := image.Rectangle{
		Min: image.Pt(o.Box.Min.X.Ceil(), o.Box.Min.Y.Ceil()), Max: image.Pt(o.Box.Max.X.Floor(), o.Box.Max.Y.Floor()),
	}
	for i, r := range [2]image.Point{{X: radius}, {Y: radius}} {
		solid[i] = image.Rectangle{Min: inner.Min.Add(r), Max: inner.Max.Sub(r)}.Intersect(o.Bounds())
	}
	return solid
}

// Pixels returns the whole pixels that the box touches.
func (b Box) Pixels() image.Rectangle {
	return image.Rect(b.Min.X.Floor(), b.Min.Y.Floor(), b.Max.X.Ceil(), b.Max.Y.Ceil())
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
func (l *List) Polygon(c Colour, corners ...Point) { l.Outline(0, c, corners...) }

// Outline appends the band of width stroke inside the edge of a convex polygon.
func (l *List) Outline(stroke Fixed, c Colour, corners ...Point) {
	if len(corners) < 3 || len(corners) > MaxPoints {
		return
	}
	o := Op{Shape: Polygon, Count: uint8(len(corners)), Stroke: stroke, Colour: c, Box: Box{corners[0], corners[0]}}
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

// Shadow appends the shadow of a rectangle with rounded corners: b is the rectangle's own box, soft how far its
// edge is blurred inwards and outwards.
func (l *List) Shadow(b Box, radius, soft Fixed, c Colour) {
	b.Min, b.Max = Point{b.Min.X - soft, b.Min.Y - soft}, Point{b.Max.X + soft, b.Max.Y + soft}
	l.Ops = append(l.Ops, Op{Shape: Shadow, Box: b, Radius: radius, Stroke: soft, Colour: c})
}

// Image appends a picture that fills b, of the picture's own size, with rounded corners and an opacity of 0 to 255.
func (l *List) Image(b image.Rectangle, radius Fixed, p PictureID, opacity uint8) {
	l.Ops = append(l.Ops, Op{Shape: Image, Box: BoxPx(b), Radius: radius, Picture: p, Colour: Colour{A: opacity}})
}

// Grade has the operations from number first on run from their colour to another, each over its own Box.
func (l *List) Grade(first int, axis Axis, to Colour) {
	for i := first; i < len(l.Ops); i++ {
		l.Ops[i].Axis, l.Ops[i].To = axis, to
	}
}

// Clip keeps the operations from number first on inside r, and inside what they were kept in before. Those that
// have no pixel there are dropped.
func (l *List) Clip(first int, r image.Rectangle) {
	kept := l.Ops[:first]
	for _, o := range l.Ops[first:] {
		within := r
		if o.Clip != (Box{}) {
			within = r.Intersect(o.Clip.Pixels())
		}
		if o.Clip = BoxPx(within); !o.Bounds().Empty() && !within.Empty() {
			kept = append(kept, o)
		}
	}
	l.Ops = kept
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

// Pictures gives the pixels of pictures.
type Pictures interface {
	// Picture returns w × h pixels: premultiplied RGBA (no colour above its alpha), sRGB-encoded, rows top down
	// without padding. The rasteriser only reads them. No pixels for an unknown picture.
	Picture(PictureID) (rgba []byte, w, h int)
}
