package ffmpeg

import (
	"context"
	"errors"
	"image"
	"testing"

	"rafter/overlay/frame"
)

func TestWithoutTheProgramItSaysWhatToInstall(t *testing.T) {
	t.Setenv("PATH", "")
	if _, err := New(t.Context()); !errors.Is(err, ErrMissing) {
		t.Errorf("%v", err)
	}
}

// Frames arrive in their order, all of them, nearly as they were sent.
func TestAStreamBringsEveryFrame(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	p, err := New(ctx)
	if err != nil {
		t.Skip("not run: ", err)
	}
	const n = 20
	f := frame.New(320, 180)
	draw := func(i int) *frame.Frame {
		for k := range f.Pix {
			f.Pix[k] = uint8(40 + 8*i)
			if k%4 == 3 {
				f.Pix[k] = 255
			}
		}
		return f
	}
	next := 0
	seen := func(i int, got *frame.Frame) {
		want := 40 + 8*i
		if is := int(got.Pix[4*(90*320+160)]); i != next || is < want-3 || is > want+3 {
			t.Errorf("frame %d, wanted %d: a grey of %d, sent as %d", i, next, is, want)
		}
		next++
	}
	if err := p.Stream(image.Pt(320, 180), 600, n, draw, seen); err != nil || next != n {
		t.Fatalf("%d of %d frames, %v", next, n, err)
	}
	if err := p.Stream(image.Pt(320, 182), 600, 1, draw, seen); err == nil {
		t.Error("a frame of another size is taken")
	}
	stop()
	if err := p.Stream(image.Pt(320, 180), 600, 1, draw, func(int, *frame.Frame) {}); err == nil {
		t.Error("it goes on after its end")
	}
}
