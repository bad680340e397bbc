// Package layout places boxes: anchors to the safe areas of a picture, sizes in thousandths of its short
// side, rows and columns. It uses integers only and knows neither themes nor what stands in a box.
package layout

import "image"

// Scale turns thousandths of a picture's short side into pixels.
type Scale struct {
	// Num/Den is a pixel count for one thousandth.
	Num, Den int
}

// ScaleOf returns the scale of a picture of the given size in pixels.
func ScaleOf(size image.Point) Scale { return Scale{min(size.X, size.Y), 1000} }

// Within returns the scale, made smaller if need be, so that wide thousandths fit into the given pixels.
func (s Scale) Within(wide, pixels int) Scale {
	if wide > 0 && wide*s.Num > pixels*s.Den {
		return Scale{pixels, wide}
	}
	return s
}

// Px returns u thousandths as the nearest whole number of pixels, halves up; u ≥ 0.
func (s Scale) Px(u int) int { return (2*u*s.Num + s.Den) / (2 * s.Den) }

// Line returns u thousandths as whole pixels, at least one: a stroke that must not vanish.
func (s Scale) Line(u int) int { return max(1, s.Px(u)) }

// Safe areas in percent of width and height, centred. Source: SMPTE ST 2046-1:2009.
const (
	ActionSafe = 93
	TitleSafe  = 90
)

// Safe returns the area of the given percentage of a picture, its margins to the nearest pixel, halves up.
func Safe(size image.Point, percent int) image.Rectangle {
	margin := func(side int) int { return (side*(100-percent) + 100) / 200 }
	x, y := margin(size.X), margin(size.Y)
	return image.Rect(x, y, size.X-x, size.Y-y)
}

// Anchor is the place in an area that a box is tied to.
type Anchor uint8

// The nine anchors, named for where in the area the box lies.
const (
	TopLeft Anchor = iota
	Top
	TopRight
	Left
	Centre
	Right
	BottomLeft
	Bottom
	BottomRight
)

// Anchors are the names as themes spell them, indexed by Anchor.
func Anchors() []string {
	return []string{"top-left", "top", "top-right", "left", "centre", "right", "bottom-left", "bottom", "bottom-right"}
}

// Place returns a box of the given size at the anchor of the area; one that is too large is centred on it.
func Place(area image.Rectangle, size image.Point, a Anchor) image.Rectangle {
	at := func(low, high, side int, third Anchor) int {
		free := high - low - side
		switch {
		case free < 0 || third == 1:
			return low + free/2
		case third == 0:
			return low
		}
		return low + free
	}
	x := at(area.Min.X, area.Max.X, size.X, a%3)
	y := at(area.Min.Y, area.Max.Y, size.Y, a/3)
	return image.Rect(x, y, x+size.X, y+size.Y)
}

// CutTop returns the upper px of r and what is left below; never more than r has.
func CutTop(r image.Rectangle, px int) (cut, rest image.Rectangle) {
	y := min(r.Min.Y+px, r.Max.Y)
	return image.Rect(r.Min.X, r.Min.Y, r.Max.X, y), image.Rect(r.Min.X, y, r.Max.X, r.Max.Y)
}

// CutBottom returns the lower px of r and what is left above.
func CutBottom(r image.Rectangle, px int) (cut, rest image.Rectangle) {
	y := max(r.Max.Y-px, r.Min.Y)
	return image.Rect(r.Min.X, y, r.Max.X, r.Max.Y), image.Rect(r.Min.X, r.Min.Y, r.Max.X, y)
}

// CutLeft returns the left px of r and what is left beside it.
func CutLeft(r image.Rectangle, px int) (cut, rest image.Rectangle) {
	x := min(r.Min.X+px, r.Max.X)
	return image.Rect(r.Min.X, r.Min.Y, x, r.Max.Y), image.Rect(x, r.Min.Y, r.Max.X, r.Max.Y)
}

// CutRight returns the right px of r and what is left beside it.
func CutRight(r image.Rectangle, px int) (cut, rest image.Rectangle) {
	x := max(r.Max.X-px, r.Min.X)
	return image.Rect(x, r.Min.Y, r.Max.X, r.Max.Y), image.Rect(r.Min.X, r.Min.Y, x, r.Max.Y)
}

// Row returns part i of n equal parts of r from top to bottom; edges are shared, so no pixel is lost.
func Row(r image.Rectangle, i, n int) image.Rectangle {
	h := r.Dy()
	return image.Rect(r.Min.X, r.Min.Y+h*i/n, r.Max.X, r.Min.Y+h*(i+1)/n)
}

// Column returns part i of n equal parts of r from left to right.
func Column(r image.Rectangle, i, n int) image.Rectangle {
	w := r.Dx()
	return image.Rect(r.Min.X+w*i/n, r.Min.Y, r.Min.X+w*(i+1)/n, r.Max.Y)
}

// Inset returns r less dx at left and right and dy at top and bottom; an empty one where there is no room.
func Inset(r image.Rectangle, dx, dy int) image.Rectangle {
	r = image.Rectangle{Min: r.Min.Add(image.Pt(dx, dy)), Max: r.Max.Sub(image.Pt(dx, dy))}
	if r.Empty() {
		return image.Rectangle{}
	}
	return r
}
