package raster

import (
	"bytes"
	"encoding/binary"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// lanes holds the four 8-bit channels of a pixel 16 bits apart (red, blue, green, alpha from the low end), so that
// one multiplication scales all four. It also holds every other byte of two pixels.
type lanes uint64

const (
	laneMask = 0x00ff00ff00ff00ff
	laneHalf = 0x0080008000800080
)

func spread(p uint32) lanes { return (lanes(p) | lanes(p)<<24) & laneMask }

func (v lanes) pack() uint32 { return uint32(v) | uint32(v>>32)<<8 }

func (v lanes) alpha() uint32 { return uint32(v >> 48) }

// scale returns every channel × f / 255, nearest; f is 0 to 255. 255 is odd, so there is no tie.
func (v lanes) scale(f uint32) lanes {
	t := v*lanes(f) + laneHalf
	return (t + t>>8&laneMask) >> 8 & laneMask
}

// brush composites: out = src + dst × (255 − src alpha) / 255, Porter and Duff's "over" on premultiplied values, each
// term to the nearest. The order of roundings is part of the picture: the straight colour is premultiplied, then
// scaled by coverage, then composited.
type brush struct {
	src   lanes  // the colour, where it is one
	solid []byte // pixels of the colour whole, grown to the longest run met
	of    uint32 // the pixel that solid repeats

	source  source // where it is not one colour
	opaque  bool   // all of source is
	opacity uint32 // of source, 0 to 255
	repeats bool   // source gives tiles
	again   again
}

// source is what is painted where that is not one colour.
type source interface {
	// row returns the premultiplied pixels x0 ≤ x < x1 of the picture's row y, good until the next call. A source that
	// repeats gives a tile and as much again as a beginning within it may need.
	row(y, x0, x1 int) []byte
}

// tile is the length in bytes of the stretches in which a row that repeats is laid: four times the eight pixels after
// which a gradient's dither comes again, so that most copies are long. period is those eight pixels.
const tile, period = 128, 32

// premultiplied returns a colour as a pixel.
func premultiplied(c paint.Colour) uint32 {
	return uint32(frame.Premultiply(c.R, c.A)) | uint32(frame.Premultiply(c.G, c.A))<<8 |
		uint32(frame.Premultiply(c.B, c.A))<<16 | uint32(c.A)<<24
}

// load takes the colour to paint with.
func (b *brush) load(c paint.Colour) {
	pixel := premultiplied(c)
	b.src, b.source = spread(pixel), nil
	if b.of != pixel {
		b.of, b.solid = pixel, b.solid[:0]
	}
}

// take takes a source to paint with.
func (b *brush) take(s source, opaque, repeats bool, opacity uint8) {
	b.source, b.opaque, b.repeats, b.opacity = s, opaque, repeats, uint32(opacity)
}

// row composites the runs, moved right by shift, over pixels of row y: those of the clip, which begins at left.
func (b *brush) row(row []byte, y, left int, runs []run, shift int32) {
	if b.source == nil {
		b.flat(row, runs, shift)
		return
	}
	if len(runs) == 0 {
		return
	}
	width := int32(len(row) / 4)
	line := b.source.row(y, left, left+int(width))
	for i := range runs {
		r := &runs[i]
		x0, x1 := max(r.x0+shift, 0), min(r.x1+shift, width)
		switch {
		case x0 >= x1:
		case b.repeats:
			b.layTiles(row[4*x0:4*x1], line[4*x0%period:][:tile], uint32(r.coverage))
		default:
			b.lay(row[4*x0:4*x1], line[4*x0:4*x1], uint32(r.coverage))
		}
	}
}

// flat is row for one colour. Most runs of a letter are the single pixels of its edge.
func (b *brush) flat(row []byte, runs []run, shift int32) {
	width := int32(len(row) / 4)
	for i := range runs {
		r := &runs[i]
		x0, x1 := max(r.x0+shift, 0), min(r.x1+shift, width)
		switch {
		case x0 >= x1:
		case x1-x0 == 1:
			src, dst := b.src.scale(uint32(r.coverage)), row[4*x0:][:4]
			p := spread(binary.LittleEndian.Uint32(dst))
			binary.LittleEndian.PutUint32(dst, (src + p.scale(255-src.alpha())).pack())
		default:
			b.over(row[4*x0:4*x1], r.coverage)
		}
	}
}

// over composites the colour at one coverage over a stretch of pixels.
func (b *brush) over(dst []byte, coverage uint8) {
	src := b.src
	if coverage != 255 {
		src = src.scale(uint32(coverage))
	}
	rest := 255 - src.alpha()
	if rest == 0 {
		b.cover(dst)
		return
	}
	// Two pixels at a time: the even bytes of both in one word, the odd ones in another.
	even, odd := src&0xffffffff, src>>32
	even, odd = even|even<<32, odd|odd<<32
	// What is under a picture's text and panels is mostly flat, or repeats eight pixels of a gradient's dither, so the
	// answer from eight pixels ago often serves again.
	var under, out [4]uint64
	for i := range out {
		out[i] = uint64(even | odd<<8)
	}
	for i := 0; len(dst) >= 8; i++ {
		k := i & 3
		if p := binary.LittleEndian.Uint64(dst); p != under[k] {
			under[k] = p
			e, o := (lanes(p)&laneMask).scale(rest)+even, (lanes(p)>>8&laneMask).scale(rest)+odd
			out[k] = uint64(e | o<<8)
		}
		binary.LittleEndian.PutUint64(dst, out[k])
		dst = dst[8:]
	}
	if len(dst) > 0 {
		p := spread(binary.LittleEndian.Uint32(dst))
		binary.LittleEndian.PutUint32(dst, (src + p.scale(rest)).pack())
	}
}

// cover writes the opaque colour. A copy of a row that stays in the nearest cache runs at the speed of memory.
func (b *brush) cover(dst []byte) {
	if len(b.solid) < len(dst) {
		b.grow(len(dst))
	}
	copy(dst, b.solid)
}

func (b *brush) grow(n int) {
	if cap(b.solid) < n {
		b.solid = make([]byte, 0, n)
	}
	was := max(len(b.solid), 4)
	b.solid = b.solid[:n]
	binary.LittleEndian.PutUint32(b.solid, b.of)
	double(b.solid, was)
}

// sized returns s with n elements; those it had may be lost.
func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// double repeats the first n bytes of s over all of it. What is filled doubles, so that most copies are long.
func double(s []byte, n int) {
	for n < len(s) {
		n += copy(s[n:], s[:n])
	}
}

// lay composites the source's pixels at one coverage over as many.
func (b *brush) lay(dst, src []byte, coverage uint32) {
	if b.opaque && coverage == 255 {
		copy(dst, src)
		return
	}
	blend(dst, dst, src, b.dimmed(coverage))
}

// layTiles composites a tile, again and again, at one coverage.
func (b *brush) layTiles(dst, src []byte, coverage uint32) {
	if b.opaque && coverage == 255 {
		for pixels := [tile]byte(src); len(dst) >= tile; dst = dst[tile:] {
			*(*[tile]byte)(dst) = pixels
		}
		copy(dst, src)
		return
	}
	coverage = b.dimmed(coverage)
	dst = dst[b.again.lay(dst, src, coverage):]
	blend(dst, dst, src, coverage)
}

// dimmed returns a coverage at the source's opacity.
func (b *brush) dimmed(coverage uint32) uint32 {
	if b.opacity == 255 {
		return coverage
	}
	return (coverage*b.opacity + 127) / 255
}

// again remembers what came of laying a tile: rows of gradients repeat, and often the rows under them.
type again struct {
	coverage        uint32
	src, under, out [tile]byte
}

// lay composites as many whole tiles as there are, and returns their length.
func (a *again) lay(dst, src []byte, coverage uint32) (n int) {
	for ; n+tile <= len(dst); n += tile {
		d := dst[n : n+tile]
		if a.coverage != coverage || !bytes.Equal(a.src[:], src) || !bytes.Equal(a.under[:], d) {
			a.coverage = coverage
			copy(a.src[:], src)
			copy(a.under[:], d)
			blend(a.out[:], d, src, coverage)
		}
		copy(d, a.out[:])
	}
	return n
}

// blend composites pixels at one coverage over as many, into out, which may be dst itself.
func blend(out, dst, src []byte, coverage uint32) {
	dst, src = dst[:len(out)], src[:len(out)]
	for i := 0; i <= len(out)-4; i += 4 {
		s := binary.LittleEndian.Uint32(src[i:])
		if s>>24 == 255 && coverage == 255 {
			i += copy(out[i:], src[i:i+solid(src[i:])]) - 4
			continue
		}
		v := spread(s)
		if coverage != 255 {
			v = v.scale(coverage)
		}
		p := spread(binary.LittleEndian.Uint32(dst[i:]))
		binary.LittleEndian.PutUint32(out[i:], (v + p.scale(255-v.alpha())).pack())
	}
}

// solid returns how many bytes at the beginning of pixels belong to opaque ones; the first is known to.
func solid(pixels []byte) int {
	const alphas = 0xff000000ff000000
	n := 4
	for n+8 <= len(pixels) && binary.LittleEndian.Uint64(pixels[n:])&alphas == alphas {
		n += 8
	}
	return n
}
