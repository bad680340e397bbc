package raster

import "math/bits"

// inward returns the part of a convex polygon that is at least stroke from every edge: what a band of that width,
// its corners mitred, leaves free in the middle. Nothing is left of a polygon that is not convex. a and b are memory
// to use.
func inward(a, b, corners []point, stroke int32) []point {
	sign := direction(corners)
	left := append(a, corners...)
	for i, from := range corners {
		e := side(from, corners[(i+1)%len(corners)], sign)
		for _, p := range corners {
			if e.inside(p) < 0 {
				return nil
			}
		}
		e.beyond = e.length(stroke)
		left, b = e.cut(b[:0], left), left
	}
	return left
}

// direction returns +1 for a polygon that goes round clockwise, −1 for the other way and 0 if it has no area.
func direction(p []point) int64 {
	sum := int64(0)
	for i, a := range p {
		b := p[(i+1)%len(p)]
		sum += int64(a.x)*int64(b.y) - int64(b.x)*int64(a.y)
	}
	return min(max(sum, -1), 1)
}

// halfPlane is one side of an edge, to a distance.
type halfPlane struct {
	from   point
	dx, dy int64 // the edge, its inner side to the right
	beyond int64 // the distance from it × its length
}

func side(from, to point, sign int64) halfPlane {
	return halfPlane{from, sign * (int64(to.x) - int64(from.x)), sign * (int64(to.y) - int64(from.y)), 0}
}

// inside returns how far p is inside × the edge's length.
func (h *halfPlane) inside(p point) int64 {
	return h.dx*(int64(p.y)-int64(h.from.y)) - h.dy*(int64(p.x)-int64(h.from.x)) - h.beyond
}

// length returns the edge's length × f, with as many bits more as there is room for, for a short edge.
func (h *halfPlane) length(f int32) int64 {
	square := uint64(h.dx*h.dx) + uint64(h.dy*h.dy)
	more := max(bits.LeadingZeros64(square)-1, 0) / 2
	return int64(f) * root(square<<(2*more)) >> more
}

// cut appends to dst what the half-plane leaves of a convex polygon.
func (h *halfPlane) cut(dst, p []point) []point {
	for i, a := range p {
		b := p[(i+1)%len(p)]
		in, out := h.inside(a), h.inside(b)
		if in >= 0 {
			dst = append(dst, a)
		}
		switch {
		case in > 0 && out < 0:
			dst = append(dst, between(a, b, in, -out))
		case in < 0 && out > 0: // from the inner end too, so that mirrored shapes get mirrored corners
			dst = append(dst, between(b, a, out, -in))
		}
	}
	return dst
}

// between returns the point that divides the way from a to b as near to far, to the nearest unit.
func between(a, b point, near, far int64) point {
	part := func(a, b int32) int32 {
		way := int64(b) - int64(a)
		high, low := bits.Mul64(uint64(max(way, -way)), uint64(near))
		n, rest := bits.Div64(high, low, uint64(near+far))
		if rest > uint64(near+far)/2 {
			n++
		}
		if way < 0 {
			return a - int32(n)
		}
		return a + int32(n)
	}
	return point{part(a.x, b.x), part(a.y, b.y)}
}
