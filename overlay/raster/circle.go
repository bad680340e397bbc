package raster

import "math/bits"

// turn is a whole turn in the units of an Arc's sweep.
const turn = 1 << 16

// Sines and the angles they are taken of, in radians, are fixed-point numbers of 30 fractional bits.
const (
	oneBits      = 30
	one          = 1 << oneBits
	quarterAngle = 1686629713 // π/2
)

// sine returns the sine of 0 ≤ x ≤ π/2 within 8 units of the last place: the power series up to π/4, and that of the
// cosine above.
func sine(x int64) int64 {
	s := int64(one)
	if x > quarterAngle/2 {
		x = quarterAngle - x
		z := x * x >> oneBits
		for _, d := range [...]int64{90, 56, 30, 12, 2} {
			s = one - (z*s>>oneBits)/d
		}
		return s
	}
	z := x * x >> oneBits
	for _, d := range [...]int64{110, 72, 42, 20, 6} {
		s = one - (z*s>>oneBits)/d
	}
	return x * s >> oneBits
}

// quarter holds the corners of a quarter circle of radius 1 cut into n equal parts.
type quarter struct {
	n   int
	cos []int64
}

// A radius of 19,000 pixels still has the deviation that divide states; no frame is as large.
const maxParts = 1024

// divide cuts the quarter so that a circle of this radius is drawn within 1/256 pixel.
//
// The corners lie outside the circle by the factor 1 + θ²/12 (θ = π/2n is a part's angle), where the polygon
// has the circle's own area: r·θ²/12 out at a corner, half as much in at a chord's middle. The ends on the
// axes stay on the circle, so that straight sides join it and nothing leaves its box.
func (q *quarter) divide(radius int32) {
	// n² = r·π²/48·256 for r in pixels makes r·θ²/12 = 1/256 pixel; π²·256/48 = 52.64.
	n := min(max(root(uint64(radius)*5264/(100*unit))+1, 4), maxParts)
	if n == int64(q.n) {
		return
	}
	const outward = 220779895 // π²/48, so that outward/n² = θ²/12
	q.n, q.cos = int(n), append(q.cos[:0], one)
	for i := n - 1; i > 0; i-- {
		c := sine(i * quarterAngle / n)
		q.cos = append(q.cos, c+c*(outward/(n*n))>>oneBits)
	}
	q.cos = append(q.cos, 0)
}

// at returns corner i of the n parts of quarter k, clockwise from the top, of the ellipse around c.
func (q *quarter) at(c point, rx, ry int32, k, i int) point {
	return onEllipse(c, rx, ry, k, q.cos[q.n-i], q.cos[i])
}

// onEllipse returns a point of quarter k, clockwise from the top, by its angle from the quarter's beginning.
func onEllipse(c point, rx, ry int32, k int, sin, cos int64) point {
	switch k {
	case 0:
		return point{c.x + times(rx, sin), c.y - times(ry, cos)}
	case 1:
		return point{c.x + times(rx, cos), c.y + times(ry, sin)}
	case 2:
		return point{c.x - times(rx, sin), c.y + times(ry, cos)}
	default:
		return point{c.x - times(rx, cos), c.y - times(ry, sin)}
	}
}

// times returns v × f to the nearest; neither is negative.
func times(v int32, f int64) int32 { return int32((int64(v)*f + one/2) >> oneBits) }

// root returns the square root of n, cut down.
func root(n uint64) int64 {
	if n < 2 {
		return int64(n)
	}
	x := uint64(1) << ((bits.Len64(n) + 1) / 2)
	for {
		y := (x + n/x) / 2
		if y >= x {
			return int64(x)
		}
		x = y
	}
}
