package raster

import (
	"image"
	"math"

	"rafter/overlay/paint"
)

// maxChords bounds the straight pieces of one curve; it is enough for a curve that bends by 4,000 pixels.
const maxChords = 512

// chordDeviation is how far plain chords would be from their curve: 1/256 pixel. The corners' shift outwards (see quad)
// leaves two thirds of it. With twice as much, pixels of the Go fonts are up to 1.4 of 255 from their exact area, with
// this 0.9, and a small letter takes an eighth longer.
const chordDeviation = unit / 256

// contour places a glyph's outline: origin in units, size in paint.Fixed pixels an em.
type contour struct {
	origin point
	size   int64
	em     int64
}

func (t *contour) place(a struct{ X, Y int32 }) point {
	return point{t.origin.x + t.scale(a.X), t.origin.y - t.scale(a.Y)}
}

func (t *contour) scale(v int32) int32 {
	n := int64(v) * t.size << (unitBits - 6)
	if n < 0 {
		return -int32(min((t.em/2-n)/t.em, reach))
	}
	return int32(min((n+t.em/2)/t.em, reach))
}

// bounds returns the pixels that hold all points of the outline; curves stay within the box of their points.
func (t *contour) bounds(outline []paint.Segment) image.Rectangle {
	low, high := point{math.MaxInt32, math.MaxInt32}, point{math.MinInt32, math.MinInt32}
	for i := range outline {
		for _, a := range outline[i].Args[:points(outline[i].Verb)] {
			p := t.place(a)
			low = point{min(low.x, p.x), min(low.y, p.y)}
			high = point{max(high.x, p.x), max(high.y, p.y)}
		}
	}
	if low.x > high.x {
		return image.Rectangle{}
	}
	return image.Rect(int(low.x>>unitBits), int(low.y>>unitBits), int(high.x>>unitBits)+1, int(high.y>>unitBits)+1)
}

func points(v paint.Verb) int {
	switch v {
	case paint.MoveTo, paint.LineTo:
		return 1
	case paint.QuadTo:
		return 2
	case paint.CubicTo:
		return 3
	}
	return 0
}

// trace adds the outline to the scan; open contours are closed.
func (t *contour) trace(s *scan, outline []paint.Segment) {
	s.move(t.origin)
	for i := range outline {
		g := &outline[i]
		switch g.Verb {
		case paint.MoveTo:
			s.close()
			s.move(t.place(g.Args[0]))
		case paint.LineTo:
			s.line(t.place(g.Args[0]))
		case paint.QuadTo:
			s.quad(t.place(g.Args[0]), t.place(g.Args[1]))
		case paint.CubicTo:
			s.cubic(t.place(g.Args[0]), t.place(g.Args[1]), t.place(g.Args[2]))
		}
	}
	s.close()
}

// quad adds a quadratic curve from the pen, as chords whose number depends on the curve alone.
//
// Inner corners lie outside the curve by −B″h²/12 (h = 1/n is a chord's share of the parameter): the mean distance
// of a chord from its curve is then 0 and the area is kept. 6n² times the point's weights are whole numbers.
func (s *scan) quad(b, c point) {
	a := s.pen
	n := quadChords(a, b, c, chordDeviation)
	for i := int64(1); i < n; i++ {
		j := n - i
		u, v, w := 6*j*j-1, 12*i*j+2, 6*i*i-1
		s.line(point{
			mean(u*int64(a.x)+v*int64(b.x)+w*int64(c.x), 6*n*n),
			mean(u*int64(a.y)+v*int64(b.y)+w*int64(c.y), 6*n*n),
		})
	}
	s.line(c)
}

// cubic adds a cubic curve from the pen, as quad does; here 2n³ makes the weights whole.
func (s *scan) cubic(b, c, d point) {
	a := s.pen
	n := cubicChords(a, b, c, d, chordDeviation)
	for i := int64(1); i < n; i++ {
		j := n - i
		t, u, v, w := 2*j*j*j-j, 6*i*j*j+2*j-i, 6*i*i*j-j+2*i, 2*i*i*i-i
		s.line(point{
			mean(t*int64(a.x)+u*int64(b.x)+v*int64(c.x)+w*int64(d.x), 2*n*n*n),
			mean(t*int64(a.y)+u*int64(b.y)+v*int64(c.y)+w*int64(d.y), 2*n*n*n),
		})
	}
	s.line(d)
}

// mean returns sum / d to the nearest.
func mean(sum, d int64) int32 {
	if sum < 0 {
		return -int32((d/2 - sum) / d)
	}
	return int32((sum + d/2) / d)
}

// quadChords returns how many equal parts keep chords within deviation units of the curve. A chord is off by at
// most h²/8 · max|B″|, B″ = 2(a−2b+c) for a quadratic and at most 6 times the larger bend for a cubic.
func quadChords(a, b, c point, deviation int64) int64 { return chords(bend(a, b, c), 4*deviation) }

func cubicChords(a, b, c, d point, deviation int64) int64 {
	return chords(3*max(bend(a, b, c), bend(b, c, d)), 4*deviation)
}

// chords returns the least n with n² · per ≥ bend, within 1 to maxChords.
func chords(bend, per int64) int64 {
	n := root(uint64(bend / per))
	if n*n*per < bend {
		n++
	}
	return min(max(n, 1), maxChords)
}

// bend returns |a − 2b + c|, raised to a whole unit.
func bend(a, b, c point) int64 {
	x := int64(a.x) - 2*int64(b.x) + int64(c.x)
	y := int64(a.y) - 2*int64(b.y) + int64(c.y)
	square := uint64(x*x) + uint64(y*y)
	n := root(square)
	if uint64(n*n) < square {
		n++
	}
	return n
}
