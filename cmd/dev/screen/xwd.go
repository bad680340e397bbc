package screen

import (
	"encoding/binary"
	"errors"
	"fmt"
	"image"
)

// Shot is what the screen showed: three bytes a pixel, rows top down without padding.
type Shot struct {
	W, H int
	RGB  []byte
}

// Crop returns the bytes of a rectangle of the picture; nil if it reaches outside.
func (s *Shot) Crop(r image.Rectangle) []byte {
	if !r.In(image.Rect(0, 0, s.W, s.H)) {
		return nil
	}
	out := make([]byte, 0, 3*r.Dx()*r.Dy())
	for y := r.Min.Y; y < r.Max.Y; y++ {
		out = append(out, s.RGB[3*(y*s.W+r.Min.X):3*(y*s.W+r.Max.X)]...)
	}
	return out
}

// parseXWD reads an X window dump, version 7, of 32-bit true-colour pixels. Layout: X11/XWDFile.h; the
// header's words are big-endian, the pixels have the byte order that it names.
func parseXWD(data []byte) (*Shot, error) {
	const (
		headerSize, version, pixelWidth, pixelHeight = 0, 1, 4, 5
		byteOrder, bitsPerPixel, bytesPerLine        = 7, 11, 12
		redMask, greenMask, blueMask, colours        = 14, 15, 16, 19
		words                                        = 25
	)
	if len(data) < 4*words {
		return nil, errors.New("window dump: shorter than its header")
	}
	word := func(i int) int { return int(binary.BigEndian.Uint32(data[4*i:])) }
	if word(version) != 7 || word(bitsPerPixel) != 32 || word(redMask) != 0xff0000 || word(greenMask) != 0xff00 || word(blueMask) != 0xff {
		return nil, fmt.Errorf("window dump: version %d, %d bits a pixel; want version 7, 32 bits, 8 a colour", word(version), word(bitsPerPixel))
	}
	s := &Shot{W: word(pixelWidth), H: word(pixelHeight)}
	start, stride := word(headerSize)+12*word(colours), word(bytesPerLine)
	const limit = 1 << 14 // pixels a side; also keeps the products below from overflowing
	if s.W > limit || s.H > limit || stride < 4*s.W || stride > 5*limit || start < 4*words || start > len(data) || len(data)-start < stride*s.H {
		return nil, errors.New("window dump: shorter than its header says")
	}
	s.RGB = make([]byte, 0, 3*s.W*s.H)
	for y := range s.H {
		row := data[start+y*stride:][:4*s.W]
		for i := 0; i < len(row); i += 4 {
			if word(byteOrder) == 0 { // least significant first: B G R x
				s.RGB = append(s.RGB, row[i+2], row[i+1], row[i])
			} else {
				s.RGB = append(s.RGB, row[i+1], row[i+2], row[i+3])
			}
		}
	}
	return s, nil
}
