package raster

import (
	"encoding/binary"

	"rafter/overlay/paint"
)

// bayer orders the 64 cells of an 8 × 8 square so that each next one is far from those before: Bayer 1973. A value of
// n + f/64 is drawn as n + 1 in the cells numbered 64 − f and up, which are f, and as n in the others, so that its
// mean over the square is exact.
var bayer = [8][8]lanes{
	{0, 32, 8, 40, 2, 34, 10, 42},
	{48, 16, 56, 24, 50, 18, 58, 26},
	{12, 44, 4, 36, 14, 46, 6, 38},
	{60, 28, 52, 20, 62, 30, 54, 22},
	{3, 35, 11, 43, 1, 33, 9, 41},
	{51, 19, 59, 27, 49, 17, 57, 25},
	{15, 47, 7, 39, 13, 45, 5, 37},
	{63, 31, 55, 23, 61, 29, 53, 21},
}

// The way from one end of a gradient to the other is cut into full parts; values between are in 64ths of a code.
const (
	fullBits = 20
	full     = 1 << fullBits
)

// gradient is the source of a colour that changes along an axis.
//
// It is computed in premultiplied codes: what is half-way between a colour and nothing is that colour at half its
// strength, while the straight codes of a transparent end, which nobody sees, would stain it. No colour rises above
// its alpha, for both ends are valid, a mean rounds in order, and all four channels of a pixel meet the same cell of
// the dither. The cells are fixed to the picture, not to the shape or the clip.
type gradient struct {
	axis     paint.Axis
	from, to uint32 // premultiplied
	min, max paint.Fixed
	line     []byte // a row of a gradient that runs down
	ramps    [4]ramp
	ramp     int // the one that is good for what is drawn now
	oldest   int
}

// ramp is the eight rows, in turn, of a gradient that runs across, from x0 to x1.
type ramp struct {
	from, to uint32
	min, max paint.Fixed
	x0, x1   int
	pixels   []byte
}

// load takes the gradient of an operation, of which pixels x0 ≤ x < x1 will be asked for.
func (g *gradient) load(o *paint.Op, x0, x1 int) {
	g.axis, g.from, g.to = o.Axis, premultiplied(o.Colour), premultiplied(o.To)
	if g.axis == paint.Down {
		g.min, g.max = o.Box.Min.Y, o.Box.Max.Y
		return
	}
	g.min, g.max = o.Box.Min.X, o.Box.Max.X
	for i := range g.ramps {
		r := &g.ramps[i]
		if r.from == g.from && r.to == g.to && r.min == g.min && r.max == g.max && r.x0 <= x0 && x1 <= r.x1 {
			g.ramp = i
			return
		}
	}
	g.ramp = g.oldest
	g.oldest = (g.oldest + 1) % len(g.ramps)
	g.build(&g.ramps[g.ramp], x0, x1)
}

// at returns the colour at the middle of pixel n along the axis: 64ths of a code, a channel a lane.
func (g *gradient) at(n int) lanes {
	length := max(int64(g.max)-int64(g.min), 1)
	along := min(max(int64(n)<<6+32-int64(g.min), 0), length)
	t := uint64((along<<fullBits + length/2) / length)
	// 28 bits a channel: red and blue share a word, green and alpha another.
	mix := func(from, to uint32) uint64 {
		a, b := uint64(from&0xff)|uint64(from&0xff0000)<<16, uint64(to&0xff)|uint64(to&0xff0000)<<16
		const half = 1 << (fullBits - 7)
		v := (a*(full-t) + b*t + half<<32 + half) >> (fullBits - 6)
		return v&0xffff | v>>16&0xffff0000
	}
	return lanes(mix(g.from, g.to) | mix(g.from>>8, g.to>>8)<<32)
}

// dithered returns the pixel of a colour in a cell.
func (v lanes) dithered(cell lanes) uint32 {
	return ((v + cell*0x0001000100010001) >> 6 & laneMask).pack()
}

func (g *gradient) row(y, x0, x1 int) []byte {
	if g.axis == paint.Across {
		r := &g.ramps[g.ramp]
		row := r.pixels[4*(y&7)*(r.x1-r.x0):]
		return row[4*(x0-r.x0) : 4*(x1-r.x0)]
	}
	// A row down a gradient repeats eight pixels.
	v, cells := g.at(y), &bayer[y&7]
	var eight [32]byte
	for i := range 8 {
		binary.LittleEndian.PutUint32(eight[4*i:], v.dithered(cells[(x0+i)&7]))
	}
	g.line = sized(g.line, 4*(x1-x0))
	double(g.line, copy(g.line, eight[:]))
	return g.line
}

func (g *gradient) build(r *ramp, x0, x1 int) {
	width := 4 * (x1 - x0)
	*r = ramp{g.from, g.to, g.min, g.max, x0, x1, sized(r.pixels, 8*width)}
	for x := x0; x < x1; x++ {
		v, place := g.at(x), 4*(x-x0)
		for y := range bayer {
			binary.LittleEndian.PutUint32(r.pixels[place+y*width:], v.dithered(bayer[y][x&7]))
		}
	}
}
