package raster

import (
	"image"
	"math/bits"
)

// Coordinates in this package are in units of 1/1024 pixel: sixteen times finer than paint.Fixed, so that a
// rounded crossing of an edge with a pixel's side is wrong by less than a quarter of one coverage step.
const (
	unitBits = 10
	unit     = 1 << unitBits
	// whole is the accumulated value of a covered pixel: twice its area in square units.
	whole = 2 * unit * unit
	// reach bounds coordinates, ±262,144 pixels, so that products of two differences stay within 64 bits.
	reach = 1 << 28
)

type point struct{ x, y int32 }

// edge is one straight piece of a contour, top end first, measured from the clip's corner.
type edge struct {
	x0, y0, x1, y1 int32
	down           int32 // +1 as drawn downwards, −1 upwards
	x              int32 // where it enters the row that is next
	next           int32 // 1 + index of the next edge that begins in the same row; 0 for none
}

// run is a stretch of pixels x0 ≤ x < x1 of one coverage, measured from the clip's left side.
type run struct {
	x0, x1   int32
	coverage uint8
}

// scan turns contours into runs of coverage, row by row, within a clip. Memory is kept from shape to shape.
type scan struct {
	left, top     int32 // the clip's corner in units
	width, height int32 // the clip's size in pixels
	sign          int32 // −1 for a contour that cuts a hole
	start, pen    point
	edges         []edge
	first         []int32 // by row: 1 + index of an edge that begins there; 0 for none
	active        []int32
	// cells holds, by column, how much the accumulated value changes there; all zero between rows.
	cells   []int32
	touched []uint64 // one bit a cell

	y, until int // the rows that runs holds good for
	runs     []run
}

// begin starts a shape; only what is inside clip will come out.
func (s *scan) begin(clip image.Rectangle) {
	s.left, s.top = int32(clip.Min.X)<<unitBits, int32(clip.Min.Y)<<unitBits
	s.width, s.height = int32(clip.Dx()), int32(clip.Dy())
	s.sign = 1
	s.edges, s.active, s.runs = s.edges[:0], s.active[:0], s.runs[:0]
	s.y, s.until = 0, 0
	s.first = cleared(s.first, clip.Dy())
	if cells := clip.Dx() + 1; len(s.cells) < cells { // between shapes both are zero already
		s.cells = make([]int32, cells)
		s.touched = make([]uint64, (cells+63)/64)
	}
}

func cleared(s []int32, n int) []int32 {
	if cap(s) < n {
		return make([]int32, n)
	}
	s = s[:n]
	clear(s)
	return s
}

// move begins a contour at p.
func (s *scan) move(p point) { s.start, s.pen = p, p }

// line adds the edge from the pen to p.
func (s *scan) line(p point) {
	a, b, down := s.pen, p, s.sign
	s.pen = p
	if a.y == b.y {
		return
	}
	if a.y > b.y {
		a, b, down = b, a, -down
	}
	e := edge{x0: a.x - s.left, y0: a.y - s.top, x1: b.x - s.left, y1: b.y - s.top, down: down}
	if e.y1 <= 0 || e.y0 >= s.height<<unitBits || min(e.x0, e.x1) >= s.width<<unitBits {
		return
	}
	e.x = e.x0
	if e.y0 < 0 {
		e.x = e.at(0)
	}
	row := max(e.y0, 0) >> unitBits
	e.next = s.first[row]
	s.edges = append(s.edges, e)
	s.first[row] = int32(len(s.edges))
}

// close ends the contour where it began.
func (s *scan) close() { s.line(s.start) }

// sees tells whether the clip meets the box of a and b; a monotone curve that it does not meet may as well be
// a straight line, for only the height it spans can matter.
func (s *scan) sees(a, b point) bool {
	x0, x1 := min(a.x, b.x)-s.left, max(a.x, b.x)-s.left
	y0, y1 := min(a.y, b.y)-s.top, max(a.y, b.y)-s.top
	return x1 >= 0 && x0 < s.width<<unitBits && y1 > 0 && y0 < s.height<<unitBits
}

// at returns where the edge crosses the height y, to the nearest unit. It starts from the same end for every
// y, so no clip and no earlier row can change it. A tie goes to the right on a way down and to the left on a way up,
// so that mirrored shapes get mirrored coverage.
func (e *edge) at(y int32) int32 {
	n := int64(y-e.y0) * int64(e.x1-e.x0)
	if n < 0 {
		return e.x0 - share(-n, int64(e.y1-e.y0), e.down < 0)
	}
	return e.x0 + share(n, int64(e.y1-e.y0), e.down > 0)
}

// crossing returns the height at which the line from a to b meets x, to the nearest unit; x is between them. A tie
// goes upwards on a way to the right and downwards on a way to the left.
func crossing(a, b point, x, down int32) int32 {
	n, d := int64(x-a.x)*int64(b.y-a.y), int64(b.x-a.x)
	if d < 0 {
		return a.y + share(-n, -d, down > 0)
	}
	return a.y + share(n, d, down < 0)
}

// share returns n/d to the nearest for n ≥ 0 and d > 0; up says where a tie goes.
func share(n, d int64, up bool) int32 {
	n = 2*n + d
	if !up {
		n--
	}
	return int32(n / (2 * d))
}

// next finds the next rows that have coverage: runs then holds good for y ≤ row < until. False at the end.
func (s *scan) next() bool {
	for y := s.until; y < int(s.height); y++ {
		for i := s.first[y]; i != 0; i = s.edges[i-1].next {
			s.active = append(s.active, i-1)
		}
		if len(s.active) == 0 {
			continue
		}
		steady := s.row(int32(y))
		s.sweep()
		s.y, s.until = y, y+1
		for s.until < steady && s.first[s.until] == 0 {
			s.until++
		}
		if len(s.runs) > 0 {
			return true
		}
		y = s.until - 1
	}
	return false
}

// row adds what the active edges do in row y and drops those that end in it. It returns the row up to which
// they would do the same again: every one of them is upright and spans these rows whole.
func (s *scan) row(y int32) (steady int) {
	top, bottom := y<<unitBits, (y+1)<<unitBits
	steady = int(s.height)
	for i := 0; i < len(s.active); {
		e := &s.edges[s.active[i]]
		end, x := e.y1, e.x1
		if end > bottom {
			end, x = bottom, e.at(bottom)
		}
		s.piece(point{e.x, max(e.y0, top)}, point{x, end}, e.down)
		e.x = x
		if e.x0 != e.x1 || e.y0 > top {
			steady = 0
		}
		steady = min(steady, int(e.y1>>unitBits))
		if e.y1 > bottom {
			i++
			continue
		}
		last := len(s.active) - 1
		s.active[i] = s.active[last]
		s.active = s.active[:last]
	}
	return steady
}

// piece adds a part of an edge that stays within one row, cell by cell.
func (s *scan) piece(a, b point, down int32) {
	ca, cb := a.x>>unitBits, b.x>>unitBits
	switch {
	case ca >= s.width && cb >= s.width: // right of the clip: covers nothing in it
	case ca < 0 && cb < 0:
		s.beside(down * (b.y - a.y))
	case ca == cb:
		s.add(ca, down*(b.y-a.y), a.x+b.x-2*ca<<unitBits)
	case ca < cb:
		s.rightward(a, b, down)
	default:
		s.leftward(a, b, down)
	}
}

func (s *scan) rightward(a, b point, down int32) {
	p, c, last := a, a.x>>unitBits, b.x>>unitBits
	if c < 0 {
		p, c = point{0, crossing(a, b, 0, down)}, 0
		s.beside(down * (p.y - a.y))
	}
	for ; c < last && c < s.width; c++ {
		side := (c + 1) << unitBits
		q := point{side, crossing(a, b, side, down)}
		s.add(c, down*(q.y-p.y), p.x+q.x-2*c<<unitBits)
		p = q
	}
	if c < s.width {
		s.add(c, down*(b.y-p.y), p.x+b.x-2*c<<unitBits)
	}
}

func (s *scan) leftward(a, b point, down int32) {
	p, c, last := a, a.x>>unitBits, b.x>>unitBits
	if c >= s.width {
		side := s.width << unitBits
		p, c = point{side, crossing(a, b, side, down)}, s.width-1
	}
	for ; c > last && c >= 0; c-- {
		side := c << unitBits
		q := point{side, crossing(a, b, side, down)}
		s.add(c, down*(q.y-p.y), p.x+q.x-2*c<<unitBits)
		p = q
	}
	if c < 0 {
		s.beside(down * (b.y - p.y))
		return
	}
	s.add(c, down*(b.y-p.y), p.x+b.x-2*c<<unitBits)
}

// add puts an edge of height dy into cell c, 0 ≤ c < width; twice is the sum of its ends' distances from the
// cell's left side. Coverage to the right of the edge goes up by dy, within the cell by the part beside it.
func (s *scan) add(c, dy, twice int32) {
	s.cells[c] += dy * (2*unit - twice)
	s.cells[c+1] += dy * twice
	s.touched[c>>6] |= 1 << (c & 63)
	c++
	s.touched[c>>6] |= 1 << (c & 63)
}

// beside puts an edge of height dy left of the clip.
func (s *scan) beside(dy int32) {
	s.cells[0] += dy * 2 * unit
	s.touched[0] |= 1
}

// sweep adds the touched cells up into runs, and zeroes them.
func (s *scan) sweep() {
	s.runs = s.runs[:0]
	var sum, from int32
	var covered uint8
	for i := range s.touched[:(s.width+1+63)/64] {
		for word := s.touched[i]; word != 0; word &= word - 1 {
			x := int32(i<<6 + bits.TrailingZeros64(word))
			sum += s.cells[x]
			s.cells[x] = 0
			c := coverage(sum)
			if c == covered {
				continue
			}
			if covered != 0 {
				s.runs = append(s.runs, run{from, x, covered})
			}
			covered, from = c, x
		}
		s.touched[i] = 0
	}
	if covered != 0 && from < s.width {
		s.runs = append(s.runs, run{from, s.width, covered})
	}
}

// coverage returns the accumulated area in 255ths of a pixel, nearest. Winding counts once however often it goes
// round: the non-zero rule, up to edges that cross inside one pixel.
func coverage(sum int32) uint8 {
	area := uint32(sum)
	if sum < 0 {
		area = -area
	}
	return uint8((min(area, whole)*255 + whole/2) / whole)
}
