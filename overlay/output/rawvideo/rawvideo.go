// Package rawvideo writes frames as raw straight-alpha RGBA to a pipe or file: rows top down, no header, each
// Show one picture. It does not pace: a blocking writer sets the speed.
package rawvideo

import (
	"fmt"
	"image"
	"io"

	"rafter/overlay/frame"
)

// Stream is an output.Sink that writes the pixels of one box of every frame.
type Stream struct {
	w    io.Writer
	box  image.Rectangle
	size image.Point // of the frames; zero before the first
	pix  []byte      // the box as it was written last, straight alpha
	err  error
}

// New returns a stream of the part of each frame that lies in box, which must lie inside the frames; an empty
// box means all of it. A picture is 4·width·height bytes.
func New(w io.Writer, box image.Rectangle) *Stream { return &Stream{w: w, box: box} }

// Show writes one picture, blocking as long as the writer does. Only what is damaged is converted anew.
func (s *Stream) Show(f *frame.Frame, damage frame.Damage) error {
	if s.err != nil {
		return s.err
	}
	size := image.Pt(f.W, f.H)
	switch {
	case s.size == image.Point{}:
		if s.box.Empty() {
			s.box = f.Bounds()
		}
		if !s.box.In(f.Bounds()) {
			return fmt.Errorf("the box %v does not lie inside the frame of %d×%d pixels", s.box, f.W, f.H)
		}
		s.size = size
		s.pix = f.AppendStraight(make([]byte, 0, 4*s.box.Dx()*s.box.Dy()), s.box)
	case s.size != size:
		return fmt.Errorf("a frame of %d×%d pixels cannot follow one of %d×%d in raw video, which has no sizes in it", size.X, size.Y, s.size.X, s.size.Y)
	default:
		for _, r := range damage.Rects() {
			s.convert(f, r.Intersect(s.box))
		}
	}
	n, err := s.w.Write(s.pix)
	if err == nil && n < len(s.pix) {
		err = io.ErrShortWrite
	}
	if err != nil {
		// What follows half a picture would be read out of step for ever.
		s.err = fmt.Errorf("raw video: %d of %d bytes of a picture written: %w", n, len(s.pix), err)
	}
	return s.err
}

func (s *Stream) convert(f *frame.Frame, r image.Rectangle) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		from := 4 * ((y-s.box.Min.Y)*s.box.Dx() + r.Min.X - s.box.Min.X)
		f.AppendStraight(s.pix[from:from:from+4*r.Dx()], image.Rect(r.Min.X, y, r.Max.X, y+1))
	}
}

// Close returns the error that ended the stream, if one did. It does not close the writer.
func (s *Stream) Close() error { return s.err }
