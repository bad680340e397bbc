package raster

import (
	"encoding/binary"
	"math/rand/v2"

	"rafter/overlay/paint"
)

// opsFrom reads operations out of arbitrary bytes: any shape, any numbers, mostly near a frame of w × h pixels. It
// is how the fuzz target and the property tests make lists.
func opsFrom(data []byte, w, h int) paint.List {
	var l paint.List
	next := func() (v int32) {
		var b [4]byte
		n := copy(b[:], data)
		data = data[n:]
		return int32(binary.LittleEndian.Uint32(b[:]))
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
		c := paint.Colour{R: uint8(look), G: uint8(look >> 8), B: uint8(look >> 16), A: uint8(look >> 24)}
		if look&3 == 0 {
			c.A = 255
		}
		b := paint.Box{Min: place(), Max: place()}
		if !wild {
			b.Max = paint.Point{X: max(b.Min.X, b.Max.X), Y: max(b.Min.Y, b.Max.Y)}
		}
		switch kind & 7 {
		case 0, 1:
			l.Rect(b, coordinate(w)/4, c)
		case 2:
			l.Frame(b, coordinate(w)/4, coordinate(w)/16, c)
		case 3:
			l.Polygon(c, b.Min, b.Max, place())
		case 4:
			l.Polygon(c, b.Min, place(), b.Max, place(), place())
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
	}
	return l
}

func randomBytes(rng *rand.Rand, n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(rng.Uint32())
	}
	return b
}
