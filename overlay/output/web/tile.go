package web

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"

	"rafter/overlay/frame"
)

// The message that a page gets, version 1. All integers are unsigned and big-endian but the two instants, which are signed.
//
//	offset  bytes  what
//	     0      1  version, 1
//	     1      1  kind: 0 beat (nothing has changed), 1 tiles (to be put over what is there), 2 whole (the canvas
//	               takes the box's size and is clear before the tiles)
//	     2      2  count of the tiles, 0 to 16; 0 for a beat
//	     4      8  sequence: the frame's number, from 1. The page answers each message with it, in decimal digits as text
//	    12      8  the instant that the frame shows, nanoseconds of the game
//	    20      8  when it was drawn, nanoseconds of the host's clock
//	    28      4  width and height of the whole frame in pixels, 2 bytes each
//	    32      8  the box: its place in the frame, x and y, then its width and height, 2 bytes each. Outside it the
//	               frame is transparent; the canvas is exactly the box
//	    40    8·n  the tiles: x and y in the box, width and height, 2 bytes each
//	 then    rest  the tiles' pixels one after the other, rows top down, 4 bytes a pixel: red, green, blue and alpha,
//	               straight (not premultiplied), compressed as one raw DEFLATE stream (RFC 1951); empty for a beat
const (
	tileVersion = 1
	headBytes   = 40
	rectBytes   = 8
	maxTiles    = 16 // what frame.Damage keeps
)

// kind says what a message does.
type kind uint8

const (
	beat kind = iota
	tiles
	whole
)

// head is a message without its tiles.
type head struct {
	kind     kind
	count    int
	sequence uint64
	at, made int64
	size     image.Point // of the frame
	box      image.Rectangle
}

func (h *head) appendTo(b []byte) []byte {
	b = append(b, tileVersion, byte(h.kind))
	b = binary.BigEndian.AppendUint16(b, uint16(h.count))
	for _, n := range []uint64{h.sequence, uint64(h.at), uint64(h.made)} {
		b = binary.BigEndian.AppendUint64(b, n)
	}
	for _, n := range []int{h.size.X, h.size.Y} {
		b = binary.BigEndian.AppendUint16(b, uint16(n))
	}
	return appendRect(b, h.box)
}

func appendRect(b []byte, r image.Rectangle) []byte {
	for _, n := range []int{r.Min.X, r.Min.Y, r.Dx(), r.Dy()} {
		b = binary.BigEndian.AppendUint16(b, uint16(n))
	}
	return b
}

func rectAt(b []byte) image.Rectangle {
	n := func(i int) int { return int(binary.BigEndian.Uint16(b[2*i:])) }
	return image.Rect(n(0), n(1), n(0)+n(2), n(1)+n(3))
}

// encode writes a message; pix is the box's straight pixels and rects lie in it, from its corner. z is any writer that
// may be used again.
func encode(h head, rects []image.Rectangle, pix []byte, z *flate.Writer) ([]byte, error) {
	h.count = len(rects)
	var out bytes.Buffer
	b := h.appendTo(make([]byte, 0, headBytes+len(rects)*rectBytes))
	for _, r := range rects {
		b = appendRect(b, r)
	}
	out.Write(b)
	if h.kind == beat {
		return out.Bytes(), nil
	}
	z.Reset(&out)
	width := h.box.Dx()
	for _, r := range rects {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			if _, err := z.Write(pix[4*(y*width+r.Min.X) : 4*(y*width+r.Max.X)]); err != nil {
				return nil, err // a buffer takes all; this is for the writer's sake
			}
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// Canvas is the page's twin: it takes the messages and holds what the page's canvas then shows. The zero value is an
// empty canvas.
type Canvas struct {
	Size     image.Point     // of the whole frame
	Box      image.Rectangle // in it
	Sequence uint64
	At, Made int64
	pix      []byte // straight, of the box
}

// Take puts a message on the canvas. An error says what is wrong with it, and the canvas is as it was.
func (c *Canvas) Take(message []byte) error {
	h, rects, rest, err := parse(message)
	if err != nil {
		return err
	}
	if h.kind != whole && (h.box != c.Box || h.size != c.Size) {
		return fmt.Errorf("tiles for the box %v of a frame of %d×%d pixels do not go with what is shown", h.box, h.size.X, h.size.Y)
	}
	need := 0
	for _, r := range rects {
		need += 4 * r.Dx() * r.Dy()
	}
	pix := make([]byte, 0, need)
	if h.kind != beat {
		in := bytes.NewReader(rest)
		z := flate.NewReader(in)
		pix = pix[:need]
		if _, err := io.ReadFull(z, pix); err != nil {
			return fmt.Errorf("the pixels end early: %w", err)
		}
		if n, err := z.Read(make([]byte, 1)); n > 0 || !errors.Is(err, io.EOF) || in.Len() > 0 {
			return errors.New("something stands after the pixels")
		}
	} else if len(rest) > 0 {
		return errors.New("a beat has no pixels")
	}
	if h.kind == whole {
		c.pix = make([]byte, 4*h.box.Dx()*h.box.Dy())
	}
	c.Size, c.Box, c.Sequence, c.At, c.Made = h.size, h.box, h.sequence, h.at, h.made
	for _, r := range rects {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			row := 4 * r.Dx()
			copy(c.pix[4*(y*c.Box.Dx()+r.Min.X):], pix[:row])
			pix = pix[row:]
		}
	}
	return nil
}

// parse reads and checks all but the pixels.
func parse(b []byte) (h head, rects []image.Rectangle, rest []byte, err error) {
	if len(b) < headBytes || b[0] != tileVersion {
		return h, nil, nil, errors.New("not a message of version 1")
	}
	h = head{
		kind: kind(b[1]), count: int(binary.BigEndian.Uint16(b[2:])), sequence: binary.BigEndian.Uint64(b[4:]),
		at: int64(binary.BigEndian.Uint64(b[12:])), made: int64(binary.BigEndian.Uint64(b[20:])),
		size: image.Pt(int(binary.BigEndian.Uint16(b[28:])), int(binary.BigEndian.Uint16(b[30:]))), box: rectAt(b[32:]),
	}
	switch {
	case h.kind > whole || h.count > maxTiles || h.kind == beat && h.count > 0 || len(b) < headBytes+h.count*rectBytes:
		return h, nil, nil, fmt.Errorf("kind %d with %d tiles in %d bytes", h.kind, h.count, len(b))
	case h.size.X*h.size.Y > frame.MaxSize.X*frame.MaxSize.Y || !h.box.In(image.Rectangle{Max: h.size}):
		return h, nil, nil, fmt.Errorf("the box %v does not lie in a frame of %d×%d pixels, or that is too large", h.box, h.size.X, h.size.Y)
	}
	for i := range h.count {
		r := rectAt(b[headBytes+i*rectBytes:])
		if r.Empty() || !r.In(image.Rectangle{Max: h.box.Size()}) {
			return h, nil, nil, fmt.Errorf("tile %v does not lie in a box of %d×%d pixels", r, h.box.Dx(), h.box.Dy())
		}
		rects = append(rects, r)
	}
	return h, rects, b[headBytes+h.count*rectBytes:], nil
}

// Frame returns the whole frame as the canvas shows it, premultiplied.
func (c *Canvas) Frame() *frame.Frame {
	f := frame.New(c.Size.X, c.Size.Y)
	for y := range c.Box.Dy() {
		row := c.pix[4*y*c.Box.Dx() : 4*(y+1)*c.Box.Dx()]
		into := f.Row(c.Box.Min.Y+y, c.Box.Min.X, c.Box.Max.X)
		for i := 0; i < len(row); i += 4 {
			a := row[i+3]
			into[i], into[i+1], into[i+2], into[i+3] = frame.Premultiply(row[i], a), frame.Premultiply(row[i+1], a), frame.Premultiply(row[i+2], a), a
		}
	}
	return f
}
