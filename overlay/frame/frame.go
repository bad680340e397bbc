// Package frame holds pixels: a picture, the damage between two pictures, and exact conversions. It is a
// leaf, and all that an output may import, so an output can do nothing but copy pixels.
package frame

import (
	"crypto/sha256"
	"encoding/binary"
	"image"
	"slices"
)

// Frame is a picture: premultiplied 8-bit RGBA, sRGB-encoded, rows top down without padding.
type Frame struct {
	W, H int
	Pix  []byte // 4*W*H bytes
}

// MaxSize is the largest picture of this program in pixels, lying.
var MaxSize = image.Pt(7680, 4320)

// New returns a wholly transparent frame; w and h are in pixels.
func New(w, h int) *Frame { return &Frame{w, h, make([]byte, 4*w*h)} }

// Bounds returns the frame's rectangle, origin at 0,0.
func (f *Frame) Bounds() image.Rectangle { return image.Rect(0, 0, f.W, f.H) }

// Row returns the bytes of pixels x0 ≤ x < x1 of row y.
func (f *Frame) Row(y, x0, x1 int) []byte { return f.Pix[4*(y*f.W+x0) : 4*(y*f.W+x1)] }

// Hash returns the SHA-256 of the size (two big-endian 32-bit integers) and the pixels.
func (f *Frame) Hash() [sha256.Size]byte {
	h := sha256.New()
	var size [8]byte
	binary.BigEndian.PutUint32(size[:4], uint32(f.W))
	binary.BigEndian.PutUint32(size[4:], uint32(f.H))
	h.Write(size[:])
	h.Write(f.Pix)
	return [sha256.Size]byte(h.Sum(nil))
}

// Ink returns the smallest rectangle outside which every byte is zero; empty for a transparent frame.
func (f *Frame) Ink() image.Rectangle {
	ink := image.Rectangle{}
	for y := range f.H {
		row := f.Row(y, 0, f.W)
		first, last := 0, len(row)
		for first+8 <= last && binary.LittleEndian.Uint64(row[first:]) == 0 {
			first += 8
		}
		for first < last && row[first] == 0 {
			first++
		}
		if first == last {
			continue
		}
		for row[last-1] == 0 {
			last--
		}
		ink = ink.Union(image.Rect(first/4, y, (last+3)/4, y+1))
	}
	return ink
}

// Premultiply returns the nearest integer to c*a/255. There is no tie: 255 is odd.
func Premultiply(c, a uint8) uint8 { return uint8((uint32(c)*uint32(a) + 127) / 255) }

// Unpremultiply returns the nearest straight value to p under alpha a; 0 where a is 0.
// Premultiply(Unpremultiply(p, a), a) == p for every p ≤ a.
func Unpremultiply(p, a uint8) uint8 {
	if a == 0 {
		return 0
	}
	return uint8((uint32(p)*255 + uint32(a)/2) / uint32(a))
}

// AppendStraight appends the rectangle r of f as straight-alpha RGBA, rows top down.
func (f *Frame) AppendStraight(dst []byte, r image.Rectangle) []byte {
	r = r.Intersect(f.Bounds())
	dst = slices.Grow(dst, 4*r.Dx()*r.Dy())
	for y := r.Min.Y; y < r.Max.Y; y++ {
		dst = append(dst, f.Row(y, r.Min.X, r.Max.X)...)
		row := dst[len(dst)-4*r.Dx():]
		for i := 0; i < len(row); i += 4 {
			if a := row[i+3]; a != 0 && a != 255 {
				row[i], row[i+1], row[i+2] = Unpremultiply(row[i], a), Unpremultiply(row[i+1], a), Unpremultiply(row[i+2], a)
			}
		}
	}
	return dst
}
