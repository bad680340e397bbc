package raster

import (
	"encoding/binary"
	"math/rand/v2"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// opsFrom reads operations out of arbitrary bytes: any shape and paint, any numbers, mostly near a frame of w × h pixels. It
// is how the fuzz target and the property tests make lists.
func opsFrom(data []byte, w, h int) paint.List {
	var l paint.List
	next := func() (v int32) {
		var b [4]byte
		n := copy(b[:], data)
		data = data[n:]
		return int32(binary.LittleEndian.Uint32(b[:]))
	}
	colour := func(v int32) paint.Colour {
		c := paint.Colour{R: uint8(v), G: uint8(v >> 8), B: uint8(v >> 16), A: uint8(v >> 24)}
		if v&3 == 0 {
			c.A = 255
		}
		return c
	}
	wild := false
	coordinate := func(side int) paint.Fixed {
		v := next()
		if wild {
			return paint.Fixed(v)
		}
		return paint.Fixed(int(uint32(v)%uint32(side*3/2*64)) - side/4*64)
	}
	place := func() paint.Point { return paint.Point{X: coordinate(w), Y: coordinate(h)} }
	for len(data) > 0 && len(l.Ops) < 12 {
		kind, look := next(), next()
		wild = kind>>8&15 == 0
		c := colour(look)
		b := paint.Box{Min: place(), Max: place()}
		if !wild {
			b.Max = paint.Point{X: max(b.Min.X, b.Max.X), Y: max(b.Min.Y, b.Max.Y)}
		}
		switch other := kind >> 6 & 3; kind & 7 {
		case 0, 1:
			switch radius := coordinate(w) / 4; other {
			case 0:
				l.Rect(b, radius, c)
			case 1:
				l.Shadow(b, radius, coordinate(w)/8, c)
			default:
				l.Ops = append(l.Ops, paint.Op{Shape: paint.Image, Picture: paint.PictureID(kind >> 16 & 3), Colour: c, Box: b, Radius: radius})
			}
		case 2:
			l.Frame(b, coordinate(w)/4, coordinate(w)/16, c)
		case 3:
			l.Outline(paint.Fixed(other*64), c, b.Min, b.Max, place())
		case 4:
			l.Outline(paint.Fixed(other*150), c, b.Min, place(), b.Max, place(), place())
		case 5:
			l.Arc(b, coordinate(w)/8, next()&(1<<17-1), c)
		case 6:
			op := paint.Op{Shape: paint.Glyph, Face: paint.FaceID(kind >> 16 & 3), Glyph: paint.GlyphID(kind >> 18 & 255), Colour: c,
				Box: b, Size: coordinate(h), Points: [paint.MaxPoints]paint.Point{place()}}
			l.Ops = append(l.Ops, op)
		default: // an operation as no graphic would write it
			l.Ops = append(l.Ops, paint.Op{Shape: paint.Shape(kind >> 12), Count: uint8(kind >> 16), Colour: c, Box: b,
				Radius: coordinate(w), Stroke: coordinate(w), Sweep: next(), Size: coordinate(h)})
		}
		if o := len(l.Ops) - 1; kind>>3&7 != 0 {
			if l.Ops[o].Axis = paint.Axis(kind >> 3 & 3); l.Ops[o].Axis != paint.Flat {
				l.Ops[o].To = colour(next())
			}
			if kind>>5&1 != 0 {
				l.Ops[o].Clip = paint.Box{Min: place(), Max: place()}
			}
		}
	}
	return l
}

// testPictures are those that opsFrom names, but for the last.
func testPictures() pictures {
	opaque := frame.New(37, 29)
	for i := range opaque.Pix {
		opaque.Pix[i] = byte(i*i) | -byte(i%4/3)
	}
	return pictures{logo(64, 48), opaque, frame.New(5, 5)}
}

// pictures serves frames by their number.
type pictures []*frame.Frame

func (p pictures) Picture(id paint.PictureID) ([]byte, int, int) {
	if int(id) >= len(p) {
		return nil, 0, 0
	}
	return p[id].Pix, p[id].W, p[id].H
}

// logo is a picture with all there is: opaque and transparent parts, and soft ones between.
func logo(w, h int) *frame.Frame {
	f := frame.New(w, h)
	for i := range w * h {
		x, y := i%w, i/w
		a := byte(min(255, max(0, 400*y/h-70)))
		copy(f.Pix[4*i:], []byte{frame.Premultiply(byte(x), a), frame.Premultiply(byte(y), a), frame.Premultiply(90, a), a})
	}
	return f
}

func randomBytes(rng *rand.Rand, n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(rng.Uint32())
	}
	return b
}
