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

// parseXWD reads an X window dump, version 7, of 32-bit true-colour pixels. Layout: X11/XWDFile.h; the
// header's words are big-endian, the pixels have the byte order that it names. Of the picture it takes r, or all of it
// where r is empty.
func parseXWD(data []byte, r image.Rectangle) (*Shot, error) {
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
	w, h := word(pixelWidth), word(pixelHeight)
	start, stride := word(headerSize)+12*word(colours), word(bytesPerLine)
	const limit = 1 << 14 // pixels a side; also keeps the products below from overflowing
	if w > limit || h > limit || stride < 4*w || stride > 5*limit || start < 4*words || start > len(data) || len(data)-start < stride*h {
		return nil, errors.New("window dump: shorter than its header says")
	}
	if all := image.Rect(0, 0, w, h); r.Empty() {
		r = all
	} else if !r.In(all) {
		return nil, fmt.Errorf("window dump: %v is not in %v", r, all)
	}
	s := &Shot{W: r.Dx(), H: r.Dy(), RGB: make([]byte, 0, 3*r.Dx()*r.Dy())}
	red, green, blue := 1, 2, 3
	if word(byteOrder) == 0 { // least significant first: B G R x
		red, green, blue = 2, 1, 0
	}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := data[start+y*stride:][4*r.Min.X : 4*r.Max.X]
		for i := 0; i < len(row); i += 4 {
			s.RGB = append(s.RGB, row[i+red], row[i+green], row[i+blue])
		}
	}
	return s, nil
}
