// Package outputtest is the suite that every output passes: an output takes frames and copies them, exactly.
// It knows no output, and no program may import it.
package outputtest

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/output"
)

// Rig makes the outputs under test.
type Rig struct {
	// New returns a sink for frames of the size, and a function that reads back the picture that is out after
	// the last Show or, where an output is only complete then, after Close. Called once a case.
	New func(t *testing.T, size image.Point) (output.Sink, func(t *testing.T) *frame.Frame)
	// Broken returns a sink whose place to write to fails, and the error (for errors.Is) that Show or Close must
	// then hand up; nil where the output has no such place.
	Broken func(t *testing.T, size image.Point) (output.Sink, error)
	// OnlyAfterClose tells that the picture can be read back only when the output is closed.
	OnlyAfterClose bool
	// Resizes tells that frames of another size are taken; otherwise they must be refused.
	Resizes bool
}

// Run plays every case, each as a subtest.
func Run(t *testing.T, r Rig) {
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Helper()
			if c.play(t, r) {
				return
			}
			t.Error(c.broken)
		})
	}
}

var cases = []struct {
	name   string
	broken string
	play   func(t *testing.T, r Rig) bool
}{
	{"copies_before_it_returns", "the output kept the caller's frame: it must copy what it needs before Show returns", copies},
	{"shows_what_the_damage_covers", "a changed pixel inside the damage did not come out", honoursDamage},
	{"keeps_what_is_undamaged", "an empty damage changed the picture", keepsUndamaged},
	{"is_exact_for_every_colour_and_alpha", "a premultiplied pixel did not come back as it went in", isExact},
	{"refuses_or_takes_another_size", "a frame of another size must be taken whole, or refused with both sizes named, the output left as it was", anotherSize},
	{"hands_up_the_error", "the error of the place to write to must come back from Show or Close", handsUpError},
	{"is_complete_after_close", "after Close the last picture must be out, whole", completes},
}

// Pattern returns a frame of valid premultiplied pixels that differ from place to place and from seed to seed.
func Pattern(size image.Point, seed int) *frame.Frame {
	f := frame.New(size.X, size.Y)
	n := uint32(seed)*2654435761 + 1
	for i := 0; i < len(f.Pix); i += 4 {
		n = n*1664525 + 1013904223
		a := n >> 24
		f.Pix[i] = byte((n >> 16 & 255) * a / 255)
		f.Pix[i+1] = byte((n >> 8 & 255) * a / 255)
		f.Pix[i+2] = byte((n & 255) * a / 255)
		f.Pix[i+3] = byte(a)
	}
	return f
}

// EveryPair returns a 256×256 frame that holds each colour p ≤ alpha a: column p, row a, with the two other
// channels at p/2 and at a.
func EveryPair() *frame.Frame {
	f := frame.New(256, 256)
	for a := range 256 {
		for x := range 256 {
			p := min(x, a)
			copy(f.Pix[4*(256*a+x):], []byte{byte(p), byte(p / 2), byte(a), byte(a)})
		}
	}
	return f
}

// All returns the damage that covers all of f.
func All(f *frame.Frame) frame.Damage {
	var d frame.Damage
	d.Add(f.Bounds())
	return d
}

// Same tells whether got has the size and bytes of want, and says where it differs first.
func Same(t *testing.T, got, want *frame.Frame) bool {
	t.Helper()
	if got == nil {
		t.Error("nothing came out")
		return false
	}
	if got.W != want.W || got.H != want.H {
		t.Errorf("got %d×%d pixels, want %d×%d", got.W, got.H, want.W, want.H)
		return false
	}
	if bytes.Equal(got.Pix, want.Pix) {
		return true
	}
	for i := 0; i < len(want.Pix); i += 4 {
		if g, w := got.Pix[i:i+4], want.Pix[i:i+4]; !bytes.Equal(g, w) {
			t.Errorf("pixel %d,%d is %v, want %v", i/4%want.W, i/4/want.W, g, w)
			return false
		}
	}
	return false
}

var testSize = image.Pt(24, 16)

// play shows the frames one after the other, calls after (if any) before the picture is read, and returns it.
func play(t *testing.T, r Rig, size image.Point, shows ...show) *frame.Frame {
	t.Helper()
	sink, picture := r.New(t, size)
	for _, s := range shows {
		if err := sink.Show(s.f, s.damage); err != nil {
			t.Fatalf("Show: %v", err)
		}
		if s.after != nil {
			s.after()
		}
	}
	var out *frame.Frame
	if !r.OnlyAfterClose {
		out = picture(t)
	}
	if err := sink.Close(); err != nil {
		t.Fatalf("Close: %v", err)
	}
	if r.OnlyAfterClose {
		out = picture(t)
	}
	return out
}

type show struct {
	f      *frame.Frame
	damage frame.Damage
	after  func()
}

func copies(t *testing.T, r Rig) bool {
	f, want := Pattern(testSize, 1), Pattern(testSize, 1)
	got := play(t, r, testSize, show{f, All(f), func() { clear(f.Pix) }})
	return Same(t, got, want)
}

func honoursDamage(t *testing.T, r Rig) bool {
	first, second := Pattern(testSize, 1), Pattern(testSize, 1)
	var d frame.Damage
	for _, b := range []image.Rectangle{image.Rect(0, 0, 1, 1), image.Rect(3, 2, 9, 5), image.Rect(20, 12, 24, 16)} {
		d.Add(b)
		other := Pattern(testSize, 2)
		for y := b.Min.Y; y < b.Max.Y; y++ {
			copy(second.Row(y, b.Min.X, b.Max.X), other.Row(y, b.Min.X, b.Max.X))
		}
	}
	got := play(t, r, testSize, show{first, All(first), nil}, show{second, d, nil})
	return Same(t, got, second)
}

func keepsUndamaged(t *testing.T, r Rig) bool {
	f := Pattern(testSize, 3)
	got := play(t, r, testSize, show{f, All(f), nil}, show{f, frame.Damage{}, nil}, show{f, frame.Damage{}, nil})
	return Same(t, got, f)
}

func isExact(t *testing.T, r Rig) bool {
	f := EveryPair()
	return Same(t, play(t, r, image.Pt(f.W, f.H), show{f, All(f), nil}), f)
}

func anotherSize(t *testing.T, r Rig) bool {
	sink, picture := r.New(t, testSize)
	first, other := Pattern(testSize, 4), Pattern(image.Pt(30, 10), 5)
	if err := sink.Show(first, All(first)); err != nil {
		t.Fatalf("Show: %v", err)
	}
	want := first
	err := sink.Show(other, All(other))
	switch {
	case r.Resizes && err != nil:
		t.Errorf("another size was refused: %v", err)
		return false
	case r.Resizes:
		want = other
	case err == nil:
		t.Error("another size was taken without a word")
		return false
	default:
		for _, size := range []string{"30×10", fmt.Sprintf("%d×%d", testSize.X, testSize.Y)} {
			if !bytes.Contains([]byte(err.Error()), []byte(size)) {
				t.Errorf("the refusal does not name %s: %v", size, err)
				return false
			}
		}
	}
	if err := sink.Close(); err != nil && r.OnlyAfterClose {
		t.Fatalf("Close: %v", err)
	}
	return !r.OnlyAfterClose && !r.Resizes || Same(t, picture(t), want)
}

func handsUpError(t *testing.T, r Rig) bool {
	if r.Broken == nil {
		t.Skip("this output writes to no place that can break")
	}
	sink, want := r.Broken(t, testSize)
	f := Pattern(testSize, 6)
	errShow := sink.Show(f, All(f))
	errClose := sink.Close()
	return errors.Is(errors.Join(errShow, errClose), want)
}

func completes(t *testing.T, r Rig) bool {
	sink, picture := r.New(t, testSize)
	var f *frame.Frame
	for seed := range 3 {
		f = Pattern(testSize, seed)
		if err := sink.Show(f, All(f)); err != nil {
			t.Fatalf("Show: %v", err)
		}
	}
	if err := sink.Close(); err != nil {
		t.Fatalf("Close: %v", err)
	}
	return Same(t, picture(t), f)
}
