package raster

import (
	"image"
	"slices"

	"rafter/overlay/paint"
)

// units returns a place of the display list in this package's units.
func units(p paint.Point) point { return point{unitsOf(p.X), unitsOf(p.Y)} }

func unitsOf(v paint.Fixed) int32 { return int32(within(v)) << (unitBits - 6) }

func unitsOfPixels(n int) int32 {
	return int32(min(max(n, -reach>>unitBits), reach>>unitBits)) << unitBits
}

// within returns v, or the nearest that coordinates reach.
func within(v paint.Fixed) paint.Fixed {
	const limit = reach >> (unitBits - 6)
	return min(max(v, -limit), limit)
}

func (r *Rasteriser) polygon(o *paint.Op) {
	var memory [paint.MaxPoints]point
	corners := memory[:min(int(o.Count), len(memory))]
	for i := range corners {
		corners[i] = units(o.Points[i])
	}
	var a, b [3 * paint.MaxPoints]point
	var hole []point
	if stroke := unitsOf(o.Stroke); stroke > 0 {
		hole = inward(a[:0], b[:0], corners, stroke)
	}
	if direction(corners) < 0 { // all go round one way, so that mirrored polygons get mirrored coverage (see edge.at)
		slices.Reverse(corners)
		slices.Reverse(hole)
	}
	r.corners(corners)
	r.scan.sign = -1
	r.corners(hole)
}

// corners adds a polygon; fewer than three corners are none.
func (r *Rasteriser) corners(p []point) {
	if len(p) < 3 {
		return
	}
	r.scan.move(p[0])
	for _, q := range p[1:] {
		r.scan.line(q)
	}
	r.scan.close()
}

// image adds the whole pixels of an Image's box, its corners rounded.
func (r *Rasteriser) image(o *paint.Op) {
	b := o.Box.Pixels()
	at := func(p image.Point) point { return point{unitsOfPixels(p.X), unitsOfPixels(p.Y)} }
	r.rounded(at(b.Min), at(b.Max), unitsOf(o.Radius))
}

func (r *Rasteriser) rect(o *paint.Op) {
	a, b, radius := units(o.Box.Min), units(o.Box.Max), unitsOf(o.Radius)
	r.rounded(a, b, radius)
	if stroke := unitsOf(o.Stroke); stroke > 0 {
		r.scan.sign = -1
		r.rounded(point{a.x + stroke, a.y + stroke}, point{b.x - stroke, b.y - stroke}, radius-stroke)
	}
}

// rounded adds a rectangle; a radius above half the short side counts as that, one below 0 as 0.
func (r *Rasteriser) rounded(a, b point, radius int32) {
	if a.x >= b.x || a.y >= b.y {
		return
	}
	s := &r.scan
	radius = max(min(radius, (b.x-a.x)/2, (b.y-a.y)/2), 0)
	if radius == 0 {
		s.move(a)
		s.line(point{b.x, a.y})
		s.line(b)
		s.line(point{a.x, b.y})
		s.close()
		return
	}
	r.quarter.divide(radius)
	s.move(point{b.x - radius, a.y})
	r.corner(point{b.x - radius, a.y + radius}, radius, radius, 0)
	r.corner(point{b.x - radius, b.y - radius}, radius, radius, 1)
	r.corner(point{a.x + radius, b.y - radius}, radius, radius, 2)
	r.corner(point{a.x + radius, a.y + radius}, radius, radius, 3)
	s.close()
}

// corner adds a quarter of the ellipse around c, number q clockwise from the top, after a line to where it begins.
func (r *Rasteriser) corner(c point, rx, ry int32, q int) {
	s, n := &r.scan, r.quarter.n
	from, to := r.quarter.at(c, rx, ry, q, 0), r.quarter.at(c, rx, ry, q, n)
	s.line(from)
	if s.sees(from, to) {
		for i := 1; i < n; i++ {
			s.line(r.quarter.at(c, rx, ry, q, i))
		}
	}
	s.line(to)
}

// ring adds the part of a ring or of an ellipse that an Arc names.
func (r *Rasteriser) ring(o *paint.Op) {
	a, b, stroke := units(o.Box.Min), units(o.Box.Max), unitsOf(o.Stroke)
	rx, ry := (b.x-a.x)/2, (b.y-a.y)/2
	if rx <= 0 || ry <= 0 || o.Sweep <= 0 {
		return
	}
	c := point{a.x + rx, a.y + ry}
	hole := stroke > 0 && rx > stroke && ry > stroke
	if o.Sweep >= turn {
		r.ellipse(c, rx, ry)
		if hole {
			r.scan.sign = -1
			r.ellipse(c, rx-stroke, ry-stroke)
		}
		return
	}
	r.sweep(c, rx, ry, o.Sweep)
	r.scan.move(r.arc[0])
	for _, p := range r.arc[1:] {
		r.scan.line(p)
	}
	if hole {
		r.sweep(c, rx-stroke, ry-stroke, o.Sweep)
		for i := len(r.arc) - 1; i >= 0; i-- {
			r.scan.line(r.arc[i])
		}
	} else {
		r.scan.line(c)
	}
	r.scan.close()
}

func (r *Rasteriser) ellipse(c point, rx, ry int32) {
	r.quarter.divide(max(rx, ry))
	r.scan.move(point{c.x, c.y - ry})
	for q := range 4 {
		r.corner(c, rx, ry, q)
	}
	r.scan.close()
}

// sweep fills arc with the points of an ellipse from the top clockwise for part/65536 of a turn.
func (r *Rasteriser) sweep(c point, rx, ry, part int32) {
	r.quarter.divide(max(rx, ry))
	n := int64(r.quarter.n)
	rest := int64(part&(turn/4-1)) * quarterAngle / (turn / 4)
	r.arc = append(r.arc[:0], point{c.x, c.y - ry})
	for i := int64(1); i*turn < int64(part)*4*n; i++ {
		r.arc = append(r.arc, r.quarter.at(c, rx, ry, int(i/n), int(i%n)))
	}
	r.arc = append(r.arc, onEllipse(c, rx, ry, int(part>>14), sine(rest), sine(quarterAngle-rest)))
}
