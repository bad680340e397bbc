package rawvideo

import (
	"bytes"
	"errors"
	"image"
	"io"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/output"
	"rafter/overlay/output/outputtest"
)

func TestRawVideoIsAnOutput(t *testing.T) {
	broken := errors.New("the pipe is closed")
	outputtest.Run(t, outputtest.Rig{
		New: func(_ *testing.T, size image.Point) (output.Sink, func(*testing.T) *frame.Frame) {
			var out bytes.Buffer
			return New(&out, image.Rectangle{}), func(t *testing.T) *frame.Frame { return last(t, out.Bytes(), size) }
		},
		Broken: func(*testing.T, image.Point) (output.Sink, error) {
			return New(writer(func([]byte) (int, error) { return 3, broken }), image.Rectangle{}), broken
		},
	})
}

// last reads the last picture of a stream.
func last(t *testing.T, stream []byte, size image.Point) *frame.Frame {
	t.Helper()
	f := frame.New(size.X, size.Y)
	if len(stream) == 0 || len(stream)%len(f.Pix) != 0 {
		t.Fatalf("the stream has %d bytes, not a number of pictures of %d", len(stream), len(f.Pix))
	}
	for i, v := range stream[len(stream)-len(f.Pix):] {
		f.Pix[i] = v
	}
	for i := 0; i < len(f.Pix); i += 4 {
		for c := range 3 {
			f.Pix[i+c] = frame.Premultiply(f.Pix[i+c], f.Pix[i+3])
		}
	}
	return f
}

type writer func([]byte) (int, error)

func (w writer) Write(p []byte) (int, error) { return w(p) }

func TestEachShowIsOnePictureOfTheBox(t *testing.T) {
	box := image.Rect(3, 2, 11, 9)
	f, g := outputtest.Pattern(image.Pt(20, 12), 1), outputtest.Pattern(image.Pt(20, 12), 2)
	var out bytes.Buffer
	s := New(&out, box)
	for _, shown := range []struct {
		f      *frame.Frame
		damage frame.Damage
	}{{f, outputtest.All(f)}, {f, frame.Damage{}}, {g, outputtest.All(g)}} {
		if err := s.Show(shown.f, shown.damage); err != nil {
			t.Fatal(err)
		}
	}
	want := f.AppendStraight(nil, box)
	want = f.AppendStraight(want, box)
	want = g.AppendStraight(want, box)
	if !bytes.Equal(out.Bytes(), want) {
		t.Error("the stream is not the box of frame 1, of frame 1 again and of frame 2")
	}
}

func TestABoxOutsideTheFrameIsRefused(t *testing.T) {
	f := frame.New(4, 4)
	if err := New(io.Discard, image.Rect(2, 2, 6, 3)).Show(f, outputtest.All(f)); err == nil {
		t.Error("taken")
	}
}

func TestNothingFollowsABrokenPicture(t *testing.T) {
	writes := 0
	s := New(writer(func(p []byte) (int, error) { writes++; return len(p) / 2, nil }), image.Rectangle{})
	f := frame.New(4, 4)
	for range 2 {
		if err := s.Show(f, outputtest.All(f)); !errors.Is(err, io.ErrShortWrite) {
			t.Errorf("got %v, want a short write", err)
		}
	}
	if err := s.Close(); !errors.Is(err, io.ErrShortWrite) || writes != 1 {
		t.Errorf("after %d writes Close said %v, want 1 and a short write", writes, err)
	}
}

func TestAnUnchangedPictureAllocatesNothing(t *testing.T) {
	f := frame.New(64, 64)
	s := New(io.Discard, image.Rectangle{})
	if err := s.Show(f, outputtest.All(f)); err != nil {
		t.Fatal(err)
	}
	if n := testing.AllocsPerRun(100, func() { _ = s.Show(f, outputtest.All(f)) }); n != 0 {
		t.Errorf("%v allocations a picture, want 0", n)
	}
}
