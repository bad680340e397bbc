package raster

import (
	"encoding/binary"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// lanes holds the four 8-bit channels of a pixel 16 bits apart (red, blue, green, alpha from the low end), so that
// one multiplication scales all four.
type lanes uint64

const (
	laneMask = 0x00ff00ff00ff00ff
	laneHalf = 0x0080008000800080
)

func spread(p uint32) lanes { return lanes(p&0xff00ff) | lanes(p>>8&0xff00ff)<<32 }

func (v lanes) pack() uint32 { return uint32(v) | uint32(v>>32)<<8 }

func (v lanes) alpha() uint32 { return uint32(v >> 48) }

// scale returns every channel × f / 255, nearest; f is 0 to 255. 255 is odd, so there is no tie.
func (v lanes) scale(f uint32) lanes {
	t := v*lanes(f) + laneHalf
	return (t + t>>8&laneMask) >> 8 & laneMask
}

// brush composites one colour: out = src + dst × (255 − src alpha) / 255, Porter and Duff's "over" on
// premultiplied values, each term to the nearest. The order of roundings is part of the picture: the straight
// colour is premultiplied, then scaled by coverage, then composited.
type brush struct {
	src   lanes
	solid []byte // pixels of the colour whole, grown to the longest run met
	of    uint32 // the pixel that solid repeats
}

// load takes the colour to paint with.
func (b *brush) load(c paint.Colour) {
	pixel := uint32(frame.Premultiply(c.R, c.A)) | uint32(frame.Premultiply(c.G, c.A))<<8 |
		uint32(frame.Premultiply(c.B, c.A))<<16 | uint32(c.A)<<24
	b.src = spread(pixel)
	if b.of != pixel {
		b.of, b.solid = pixel, b.solid[:0]
	}
}

// row composites the runs, moved right by shift, over the pixels of one row of the clip.
func (b *brush) row(row []byte, runs []run, shift int32) {
	width := int32(len(row) / 4)
	for i := range runs {
		r := &runs[i]
		if x0, x1 := max(r.x0+shift, 0), min(r.x1+shift, width); x0 < x1 {
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
	if len(dst) == 4 {
		p := spread(binary.LittleEndian.Uint32(dst))
		binary.LittleEndian.PutUint32(dst, (src + p.scale(rest)).pack())
		return
	}
	// Two pixels at a time: the even bytes of both in one word, the odd ones in another.
	even, odd := src&0xffffffff, src>>32
	even, odd = even|even<<32, odd|odd<<32
	// What is under a picture's text and panels is mostly flat, so the last answer often serves again.
	var under, out uint64
	out = uint64(even | odd<<8)
	for len(dst) >= 8 {
		if p := binary.LittleEndian.Uint64(dst); p != under {
			under = p
			e, o := (lanes(p)&laneMask).scale(rest)+even, (lanes(p)>>8&laneMask).scale(rest)+odd
			out = uint64(e | o<<8)
		}
		binary.LittleEndian.PutUint64(dst, out)
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
	for was < n {
		was += copy(b.solid[was:], b.solid[:was])
	}
}
