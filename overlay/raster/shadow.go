package raster

import (
	"image"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

const (
	// maxSoft is how far a shadow can be soft, maxCorner the largest side of a corner, in pixels: softness on both
	// sides and a radius.
	maxSoft, maxCorner = 384, 1024
	// maxShades bounds the memory of corners kept, in pixels of 2 bytes.
	maxShades = 1 << 21
)

// shade is what all shadows of one radius and softness have in common. The blur is that of three boxes, one after
// another, whose widths add up to 2·soft+3: nearly a normal distribution, but it ends, and whole numbers do it.
//
// A blurred rectangle is the product of two blurred stretches, and blurring is linear, so a shadow is that product
// less the four blurred bits that the round corners leave out, however near to one another they are.
type shade struct {
	soft, side int
	edge       []uint32 // how an edge rises, a step a pixel, from soft before it to soft behind it: 65536ths
	corner     []uint16 // side × side, 65535ths: what a corner leaves out, from soft outside the rectangle's own
}

type shadeKey struct{ radius, soft int }

// shades keeps the shades of recent shadows. When they are too many all are forgotten, which changes no pixel.
type shades struct {
	by   map[shadeKey]*shade
	size int
}

// shadow composites a Shadow inside c, but for what the panel over it replaces, as paint.Op.Solid has that.
func (r *Rasteriser) shadow(dst *frame.Frame, o *paint.Op, c image.Rectangle, panel [2]image.Rectangle) {
	soft := pixels(o.Stroke)
	own := o.Box.Pixels().Inset(soft)
	if own.Empty() {
		return
	}
	soft = min(soft, maxSoft)
	s := r.shade(min(pixels(o.Radius), own.Dx()/2, own.Dy()/2, maxCorner-2*soft), soft)
	box := own.Inset(-soft)
	c = c.Intersect(box)
	// Five bands: above the panel, at its upper corners, between them and the lower ones, at those, and below.
	tall, wide := panel[0], panel[1]
	ends := [5]int{tall.Min.Y, wide.Min.Y, wide.Max.Y, tall.Max.Y, c.Max.Y}
	y := c.Min.Y
	for i, hidden := range [5]image.Rectangle{{}, tall, wide, tall, {}} {
		band := image.Rect(c.Min.X, y, c.Max.X, min(max(ends[i], y), c.Max.Y))
		y = band.Max.Y
		x0, x1 := max(hidden.Min.X, c.Min.X), min(hidden.Max.X, c.Max.X)
		if x0 >= x1 {
			r.shadowPart(dst, s, band, box)
			continue
		}
		r.shadowPart(dst, s, image.Rect(c.Min.X, band.Min.Y, x0, band.Max.Y), box)
		r.shadowPart(dst, s, image.Rect(x1, band.Min.Y, c.Max.X, band.Max.Y), box)
	}
}

// shadowPart composites the part c of the shadow that fills box.
func (r *Rasteriser) shadowPart(dst *frame.Frame, s *shade, c, box image.Rectangle) {
	for y := c.Min.Y; y < c.Max.Y; {
		r.soft = s.row(r.soft[:0], y-box.Min.Y, c.Min.X-box.Min.X, c.Max.X-box.Min.X, box.Size())
		until := y + 1
		if y >= box.Min.Y+s.side { // rows between the corners are alike
			until = max(until, min(c.Max.Y, box.Max.Y-s.side))
		}
		for ; y < until; y++ {
			r.brush.row(dst.Row(y, c.Min.X, c.Max.X), y, c.Min.X, r.soft, 0)
		}
	}
}

// pixels returns a length in whole pixels, at least 0.
func pixels(v paint.Fixed) int { return max(int((int64(v)+32)>>6), 0) }

// row appends the runs of row y, for columns x0 ≤ x < x1, counted from x0; size is the whole shadow's.
func (s *shade) row(runs []run, y, x0, x1 int, size image.Point) []run {
	down := s.stretch(y, size.Y)
	for x := x0; x < x1; {
		next := x + 1
		if x >= s.side { // columns between the corners are alike
			next = max(next, min(x1, size.X-s.side))
		}
		c := s.at(x, y, down, size)
		if last := len(runs) - 1; last >= 0 && runs[last].coverage == c && int(runs[last].x1) == x-x0 {
			runs[last].x1 = int32(next - x0)
		} else if c != 0 {
			runs = append(runs, run{int32(x - x0), int32(next - x0), c})
		}
		x = next
	}
	return runs
}

// at returns the coverage of pixel x,y of a shadow of that size; down is the stretch's share in the column.
func (s *shade) at(x, y int, down uint64, size image.Point) uint8 {
	v := int64(down * s.stretch(x, size.X) >> 16)
	x1, y1 := size.X-1-x, size.Y-1-y
	v -= s.cut(x, y) + s.cut(x1, y) + s.cut(x, y1) + s.cut(x1, y1)
	return uint8((max(v, 0)*255 + 1<<15) >> 16)
}

// stretch returns the share of a blurred stretch at i, which is length pixels long with its blur.
func (s *shade) stretch(i, length int) uint64 {
	return uint64(s.risen(i) - s.risen(i-(length-2*s.soft)))
}

func (s *shade) risen(i int) uint32 {
	if i < 0 {
		return 0
	}
	return s.edge[min(i, len(s.edge)-1)]
}

// cut returns what the corner at the upper left leaves out at x,y.
func (s *shade) cut(x, y int) int64 {
	if x >= s.side || y >= s.side {
		return 0
	}
	return int64(s.corner[y*s.side+x])
}

// shade returns the shade of a radius and a softness, in pixels.
func (r *Rasteriser) shade(radius, soft int) *shade {
	key := shadeKey{radius, soft}
	if s := r.shades.by[key]; s != nil {
		return s
	}
	s := &shade{soft: soft, side: radius + 2*soft}
	if r.shades.size += s.side * s.side; r.shades.size > maxShades {
		clear(r.shades.by)
		r.shades.size = s.side * s.side
	}
	r.shades.by[key] = s

	b := newBlur(soft)
	line := make([]uint64, 2*soft+1)
	line[0] = 1
	b.apply(line)
	for i, sum := 0, uint64(0); i < len(line); i++ {
		sum += line[i]
		s.edge = append(s.edge, uint32((sum<<16+b.sum/2)/b.sum))
	}
	s.corner = r.leftOut(b, radius, s.side)
	return s
}

// leftOut returns what a round corner leaves out of a square one, blurred.
func (r *Rasteriser) leftOut(b blur, radius, side int) []uint16 {
	// Rows first: radius of them, side wide.
	rows := make([]uint16, radius*side)
	line := make([]uint64, side)
	r.scan.begin(image.Rect(0, 0, radius, radius))
	both := int32(2*radius) << unitBits
	r.rounded(point{}, point{both, both}, both)
	for more, y := r.scan.next(), 0; y < radius; y++ {
		for more && y >= r.scan.until {
			more = r.scan.next()
		}
		for x := range line {
			line[x] = 0
			if x < radius {
				line[x] = 255
			}
		}
		if more && y >= r.scan.y {
			for _, run := range r.scan.runs {
				for x := run.x0; x < run.x1; x++ {
					line[x] -= uint64(run.coverage)
				}
			}
		}
		b.apply(line)
		for x, v := range line {
			rows[y*side+x] = uint16((v*65535 + 255*b.sum/2) / (255 * b.sum))
		}
	}
	corner := make([]uint16, side*side)
	for x := range side {
		clear(line)
		for y := range radius {
			line[y] = uint64(rows[y*side+x])
		}
		b.apply(line)
		for y, v := range line {
			corner[y*side+x] = uint16((v + b.sum/2) / b.sum)
		}
	}
	return corner
}

// blur is three boxes and the product of their widths, by which what it gives is to be divided.
type blur struct {
	widths [3]int
	sum    uint64
}

// newBlur returns the blur that reaches soft pixels to either side.
func newBlur(soft int) blur {
	all := 2*soft + 3
	a := all / 3
	b := (all - a) / 2
	c := all - a - b
	return blur{[3]int{a, b, c}, uint64(a) * uint64(b) * uint64(c)}
}

// apply blurs what stands at the beginning of v, over the 2·soft zeros behind it; all moves right by soft.
func (b *blur) apply(v []uint64) {
	for _, w := range b.widths {
		for i := 1; i < len(v); i++ {
			v[i] += v[i-1]
		}
		for i := len(v) - 1; i >= w; i-- {
			v[i] -= v[i-w]
		}
	}
}
