package web

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"
	"strconv"

	"rafter/overlay/frame"
)

// The message that a page gets, version 1. All integers are unsigned and big-endian but the two instants, which are signed.
//
//	offset  bytes  what
//	     0      1  version, 1
//	     1      1  kind: 0 beat (nothing is new), 1 tiles (to be put over what is there), 2 whole (the canvas takes the
//	               box's size and is clear before the tiles), 3 ahead (all steps are for later)
//	     2      1  silent: for how many seconds the host has heard nothing from where it has the game, 255 at most. From
//	               2 on what it shows is not current
//	     3      1  count of the steps: 0 for a beat, 1 or more else
//	     4      8  sequence: the frame's number, from 1
//	    12      8  the instant that the frame shows, nanoseconds of the game
//	    20      8  when it is shown, nanoseconds of the host's clock
//	    28      4  width and height of the whole frame in pixels, 2 bytes each
//	    32      8  the box: its place in the frame, x and y, then its width and height, 2 bytes each. Outside it the
//	               frame is transparent; the canvas is exactly the box
//	    40         the steps, in the order of their instants. Each: how long after the frame it is put up, 4 bytes,
//	               microseconds; the count of its tiles, 2 bytes, 0 to 16; and 8 bytes a tile: x and y in the box,
//	               width and height, 2 bytes each
//	 then    rest  the tiles' pixels one after the other, rows top down, 4 bytes a pixel: red, green, blue and alpha,
//	               straight (not premultiplied), compressed as one raw DEFLATE stream (RFC 1951); empty for a beat
//
// A step is put up when the host's clock shows its instant: what will be seen then if nothing happens, so that digits need
// not wait for the network. Until then the page holds it, behind those that it holds already. The first step of tiles and
// whole is the frame itself: the page puts up what it holds for instants until the frame's, drops what it holds for later
// ones, and puts the frame up at once. Its tiles cover all that dropped steps have touched, too.
//
// The page answers with how many messages it has taken over this connection, in decimal digits as text: every fourth
// message, and sooner where those that it has not answered have 8 KB. The first answer comes
// up to three messages sooner, by chance, so that not all pages answer the same ones.
//
// The host's clock is known from texts: the page sends "ping T1", the host answers "pong T1 T2 T3": decimal digits,
// microseconds, T1 as it came. Where what is shown is new in words, a line with these follows: UTF-8, a few hundred bytes. They
// are what the page's canvas is called to who does not see it. Source of the names: RFC 5905 section 8.
const (
	tileVersion = 1
	headBytes   = 40
	stepBytes   = 6
	rectBytes   = 8
	maxSteps    = 255
	maxTiles    = 16 // of a step: what frame.Damage keeps
	// maxPixels bounds the pixels of a message: a whole frame and as much again for later.
	maxPixels = 2 * 7680 * 4320
)

// kind says what a message does.
type kind uint8

const (
	beat kind = iota
	tiles
	whole
	ahead
)

// head is a message without its steps.
type head struct {
	kind     kind
	silent   uint8 // seconds
	sequence uint64
	at, made int64
	size     image.Point // of the frame
	box      image.Rectangle
}

func (h *head) appendTo(b []byte, steps int) []byte {
	b = append(b, tileVersion, byte(h.kind), h.silent, byte(steps))
	for _, n := range []uint64{h.sequence, uint64(h.at), uint64(h.made)} {
		b = binary.BigEndian.AppendUint64(b, n)
	}
	for _, n := range []int{h.size.X, h.size.Y} {
		b = binary.BigEndian.AppendUint16(b, uint16(n))
	}
	return appendRect(b, h.box)
}

// step is what is put up at one instant.
type step struct {
	at    int64 // nanoseconds of the game; the page is not told
	made  int64 // nanoseconds of the host's clock
	rects []image.Rectangle
	pix   []byte // straight, of one tile after the other
}

func (s *step) appendTo(b []byte, after int64) []byte {
	b = binary.BigEndian.AppendUint32(b, uint32((max(s.made-after, 0)+999)/1000)) // not early
	b = binary.BigEndian.AppendUint16(b, uint16(len(s.rects)))
	for _, r := range s.rects {
		b = appendRect(b, r)
	}
	return b
}

// size returns how many bytes the step's pixels are.
func (s *step) size() (n int) {
	for _, r := range s.rects {
		n += 4 * r.Dx() * r.Dy()
	}
	return n
}

// put puts the step into the pixels of a box of that width.
func (s *step) put(pix []byte, width int) {
	from := s.pix
	for _, r := range s.rects {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			row := 4 * r.Dx()
			copy(pix[4*(y*width+r.Min.X):], from[:row])
			from = from[row:]
		}
	}
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

// encode writes a message. The frame's own step is of rects in pix, the box's straight pixels; there is none of a beat and
// of what is ahead. z is any writer that may be used again.
func encode(h head, rects []image.Rectangle, pix []byte, later []step, z *flate.Writer) ([]byte, error) {
	var out bytes.Buffer
	steps := len(later)
	now := step{made: h.made, rects: rects}
	if h.kind == tiles || h.kind == whole {
		steps++
	}
	b := h.appendTo(make([]byte, 0, 512), steps)
	if steps > len(later) {
		b = now.appendTo(b, h.made)
	}
	for i := range later {
		b = later[i].appendTo(b, h.made)
	}
	out.Write(b)
	if steps == 0 {
		return out.Bytes(), nil
	}
	z.Reset(&out)
	width := h.box.Dx()
	for _, r := range now.rects {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			if _, err := z.Write(pix[4*(y*width+r.Min.X) : 4*(y*width+r.Max.X)]); err != nil {
				return nil, err // a buffer takes all; this is for the writer's sake
			}
		}
	}
	for i := range later {
		if _, err := z.Write(later[i].pix); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// When a page answers: after so many messages, or so many bytes of them.
const (
	answerEvery = 4
	answerBytes = 8 << 10
)

// Answers is how a page answers over one connection. The zero value is that of a new one.
type Answers struct {
	Sooner int // by so many messages comes the first answer

	taken       uint64
	open, bytes int // not answered yet
}

// To counts a message that was taken, and returns what is to be sent now; nil: nothing.
func (a *Answers) To(message []byte) []byte {
	if a.taken == 0 {
		a.open = a.Sooner
	}
	a.taken++
	a.open++
	if a.bytes += len(message); a.open < answerEvery && a.bytes < answerBytes {
		return nil
	}
	a.open, a.bytes = 0, 0
	return strconv.AppendUint(nil, a.taken, 10)
}

// Canvas is the page's twin: it takes the messages and holds what the page's canvas then shows. The zero value is an
// empty canvas.
type Canvas struct {
	Size     image.Point     // of the whole frame
	Box      image.Rectangle // in it
	Sequence uint64          // of the last message
	At, Made int64           // of what is shown
	Silent   uint8           // seconds, as the last message has it
	pix      []byte          // straight, of the box
	held     []step
}

// Take takes a message, and puts up what of it is for now. An error says what is wrong with it, and the canvas is as it was.
func (c *Canvas) Take(message []byte) error {
	h, steps, rest, err := parse(message)
	if err != nil {
		return err
	}
	if h.kind != whole && (h.box != c.Box || h.size != c.Size) {
		return fmt.Errorf("tiles for the box %v of a frame of %d×%d pixels do not go with what is shown", h.box, h.size.X, h.size.Y)
	}
	if err := inflate(steps, rest); err != nil {
		return err
	}
	c.Sequence, c.Silent = h.sequence, h.silent
	if h.kind == tiles || h.kind == whole {
		c.Advance(h.made)
		if h.kind == whole {
			c.pix = make([]byte, 4*h.box.Dx()*h.box.Dy())
		}
		c.Size, c.Box, c.At, c.Made, c.held = h.size, h.box, h.at, h.made, nil
		steps[0].put(c.pix, c.Box.Dx())
		steps = steps[1:]
	}
	c.held = append(c.held, steps...)
	return nil
}

// Advance puts up what is held for instants of the host's clock until now, nanoseconds.
func (c *Canvas) Advance(now int64) {
	for len(c.held) > 0 && c.held[0].made <= now {
		s := c.held[0]
		s.put(c.pix, c.Box.Dx())
		c.At += s.made - c.Made // but for the seconds in which another game begins
		c.Made, c.held = s.made, c.held[1:]
	}
}

// inflate reads the pixels of all steps.
func inflate(steps []step, rest []byte) error {
	if len(steps) == 0 {
		if len(rest) > 0 {
			return errors.New("a beat has no pixels")
		}
		return nil
	}
	in := bytes.NewReader(rest)
	z := flate.NewReader(in)
	for i := range steps {
		steps[i].pix = make([]byte, steps[i].size())
		if _, err := io.ReadFull(z, steps[i].pix); err != nil {
			return fmt.Errorf("the pixels end early: %w", err)
		}
	}
	if n, err := z.Read(make([]byte, 1)); n > 0 || !errors.Is(err, io.EOF) || in.Len() > 0 {
		return errors.New("something stands after the pixels")
	}
	return nil
}

// parse reads and checks all but the pixels.
func parse(b []byte) (h head, steps []step, rest []byte, err error) {
	if len(b) < headBytes || b[0] != tileVersion {
		return h, nil, nil, errors.New("not a message of version 1")
	}
	h = head{
		kind: kind(b[1]), silent: b[2], sequence: binary.BigEndian.Uint64(b[4:]),
		at: int64(binary.BigEndian.Uint64(b[12:])), made: int64(binary.BigEndian.Uint64(b[20:])),
		size: image.Pt(int(binary.BigEndian.Uint16(b[28:])), int(binary.BigEndian.Uint16(b[30:]))), box: rectAt(b[32:]),
	}
	count := int(b[3])
	switch {
	case h.kind > ahead || (h.kind == beat) != (count == 0):
		return h, nil, nil, fmt.Errorf("kind %d with %d steps", h.kind, count)
	case h.size.X*h.size.Y > frame.MaxSize.X*frame.MaxSize.Y || !h.box.In(image.Rectangle{Max: h.size}):
		return h, nil, nil, fmt.Errorf("the box %v does not lie in a frame of %d×%d pixels, or that is too large", h.box, h.size.X, h.size.Y)
	}
	rest = b[headBytes:]
	pixels, last := 0, h.made
	for i := range count {
		if len(rest) < stepBytes {
			return h, nil, nil, errors.New("the steps end early")
		}
		s := step{made: h.made + 1000*int64(binary.BigEndian.Uint32(rest))}
		n := int(binary.BigEndian.Uint16(rest[4:]))
		rest = rest[stepBytes:]
		if n > maxTiles || len(rest) < n*rectBytes || s.made < last || i == 0 && h.kind != ahead && s.made != h.made {
			return h, nil, nil, fmt.Errorf("step %d: %d tiles in %d bytes, %d ns after the frame", i, n, len(rest), s.made-h.made)
		}
		last = s.made
		for range n {
			r := rectAt(rest)
			if r.Empty() || !r.In(image.Rectangle{Max: h.box.Size()}) {
				return h, nil, nil, fmt.Errorf("tile %v does not lie in a box of %d×%d pixels", r, h.box.Dx(), h.box.Dy())
			}
			s.rects = append(s.rects, r)
			rest = rest[rectBytes:]
		}
		if pixels += s.size() / 4; pixels > maxPixels {
			return h, nil, nil, errors.New("more pixels than a message may have")
		}
		steps = append(steps, s)
	}
	return h, steps, rest, nil
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
