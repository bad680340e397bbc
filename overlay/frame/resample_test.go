package frame

import (
	"bytes"
	"fmt"
	"image"
	"math/rand/v2"
	"testing"

	"golang.org/x/image/draw"
)

// random returns a frame of valid premultiplied pixels; smooth ones vary slowly, as photographs do.
func random(rng *rand.Rand, w, h int, smooth bool) *Frame {
	f := New(w, h)
	base := rng.IntN(200)
	for i := range w * h {
		a := rng.IntN(256)
		if smooth {
			a = min(255, base+i%w*3+i/w*2)
		}
		for c := range 3 {
			f.Pix[4*i+c] = Premultiply(uint8(40*c+60+i%w), uint8(a))
			if !smooth {
				f.Pix[4*i+c] = uint8(rng.IntN(a + 1))
			}
		}
		f.Pix[4*i+3] = uint8(a)
	}
	return f
}

// The definition: a pixel that becomes smaller is the mean of what it covers, weighed by area, in whole numbers. Half
// a code is the last rounding; the weights' own, 16 bits, and the rows', 8 bits, add less than a fiftieth.
func TestResampleAveragesByArea(t *testing.T) {
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 11))
		f := random(rng, 1+rng.IntN(60), 1+rng.IntN(40), false)
		x0, y0 := rng.IntN(f.W), rng.IntN(f.H)
		part := image.Rect(x0, y0, x0+1+rng.IntN(f.W-x0), y0+1+rng.IntN(f.H-y0))
		w, h := 1+rng.IntN(part.Dx()), 1+rng.IntN(part.Dy())
		got := Resample(f, part, w, h)
		overlap := func(i, n, j, m int) int { return max(0, min((i+1)*m, (j+1)*n)-max(i*m, j*n)) }
		for i, v := range got.Pix {
			x, y, sum := i/4%w, i/4/w, 0
			for sy := range part.Dy() {
				for sx := range part.Dx() {
					sum += overlap(x, w, sx, part.Dx()) * overlap(y, h, sy, part.Dy()) * int(f.Row(part.Min.Y+sy, part.Min.X+sx, f.W)[i%4])
				}
			}
			area := part.Dx() * part.Dy()
			if d := 100 * (int(v)*area - sum); d > 52*area || d < -52*area {
				t.Fatalf("seed %d, %v to %d×%d: pixel %d,%d channel %d is %d, its mean %d/%d", seed, part, w, h, x, y, i%4, v, sum, area)
			}
		}
	}
}

// Reference: golang.org/x/image/draw.BiLinear, in floats, on the same premultiplied codes; it cuts down where we
// round.
func TestResampleInterpolatesAsTheReferenceDoes(t *testing.T) {
	for seed := range uint64(40) {
		rng := rand.New(rand.NewPCG(seed, 12))
		f := random(rng, 2+rng.IntN(30), 2+rng.IntN(20), false)
		w, h := f.W+rng.IntN(3*f.W), f.H+rng.IntN(3*f.H)
		got := Resample(f, f.Bounds(), w, h)
		want := image.NewRGBA(image.Rect(0, 0, w, h))
		src := &image.RGBA{Pix: f.Pix, Stride: 4 * f.W, Rect: f.Bounds()}
		draw.BiLinear.Scale(want, want.Rect, src, src.Rect, draw.Src, nil)
		for i, v := range got.Pix {
			if d := int(v) - int(want.Pix[i]); d < -1 || d > 1 {
				t.Fatalf("seed %d, %d×%d to %d×%d: byte %d of pixel %d,%d is %d, the reference's %d", seed, f.W, f.H, w, h,
					i%4, i/4%w, i/4/w, v, want.Pix[i])
			}
		}
	}
}

func TestResampleKeepsWhatIsPlain(t *testing.T) {
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 13))
		f := random(rng, 1+rng.IntN(50), 1+rng.IntN(50), seed%2 == 0)
		if same := Resample(f, f.Bounds(), f.W, f.H); !bytes.Equal(same.Pix, f.Pix) {
			t.Fatalf("seed %d: %d×%d drawn at its own size differs", seed, f.W, f.H)
		}
		w, h := 1+rng.IntN(120), 1+rng.IntN(120)
		for i, p := 0, Resample(f, f.Bounds(), w, h).Pix; i < len(p); i += 4 {
			if max(p[i], p[i+1], p[i+2]) > p[i+3] {
				t.Fatalf("seed %d: pixel %d is %v: a colour above its alpha", seed, i/4, p[i:i+4])
			}
		}
		pixel := []byte{f.Pix[0], f.Pix[1], f.Pix[2], f.Pix[3]}
		flat := &Frame{f.W, f.H, bytes.Repeat(pixel, f.W*f.H)}
		if got := Resample(flat, flat.Bounds(), w, h); !bytes.Equal(got.Pix, bytes.Repeat(pixel, w*h)) {
			t.Fatalf("seed %d: %v over %d×%d is not that colour at %d×%d", seed, pixel, f.W, f.H, w, h)
		}
	}
}

func TestColoursOfTransparentPixelsCountForNothing(t *testing.T) {
	f := &Frame{2, 1, []byte{200, 100, 0, 255, 0, 0, 0, 0}}
	if got, want := Resample(f, f.Bounds(), 1, 1).Pix, []byte{100, 50, 0, 128}; !bytes.Equal(got, want) {
		t.Errorf("a colour beside nothing becomes %v, want half of it, %v", got, want)
	}
}

func TestResampleTakesAnyNumbers(t *testing.T) {
	f := random(rand.New(rand.NewPCG(1, 14)), 9, 7, true)
	for _, row := range []struct {
		part       image.Rectangle
		w, h       int
		wantW      int
		wantH      int
		wantNoInks bool
	}{
		{f.Bounds(), 0, 5, 0, 5, true},
		{f.Bounds(), -8, -5, 0, 0, true},
		{f.Bounds(), 1 << 40, 1, 7680, 1, false},
		{f.Bounds(), 1, 1 << 40, 1, 7680, false},
		{image.Rectangle{}, 4, 4, 4, 4, true},
		{image.Rect(100, 100, 200, 200), 4, 4, 4, 4, true},
		{image.Rect(-1<<40, -1<<40, 1<<40, 1<<40), 9, 7, 9, 7, false},
		{image.Rect(5, 5, 2, 2), 4, 4, 4, 4, false}, // image.Rect puts it in order
	} {
		got := Resample(f, row.part, row.w, row.h)
		if got.W != row.wantW || got.H != row.wantH || len(got.Pix) != 4*got.W*got.H {
			t.Errorf("%v to %d×%d gives %d×%d", row.part, row.w, row.h, got.W, got.H)
		}
		if row.wantNoInks != got.Ink().Empty() {
			t.Errorf("%v to %d×%d has ink in %v", row.part, row.w, row.h, got.Ink())
		}
	}
	if got := Resample(f, image.Rect(-1<<40, -1<<40, 1<<40, 1<<40), 9, 7); !bytes.Equal(got.Pix, f.Pix) {
		t.Error("a part around the frame is not the frame")
	}
}

// FuzzResample: any sizes and parts give a valid picture, and the part alone gives the same as the part of the whole.
func FuzzResample(f *testing.F) {
	f.Fuzz(func(t *testing.T, seed uint64, w, h, x0, y0, x1, y1, toW, toH int16) {
		rng := rand.New(rand.NewPCG(seed, 15))
		src := random(rng, 1+int(uint16(w)%200), 1+int(uint16(h)%200), seed%2 == 0)
		part := image.Rect(int(x0), int(y0), int(x1), int(y1))
		got := Resample(src, part, int(toW)%700, int(toH)%700)
		for i := 0; i < len(got.Pix); i += 4 {
			if p := got.Pix[i : i+4]; max(p[0], p[1], p[2]) > p[3] {
				t.Fatalf("pixel %d is %v: a colour above its alpha", i/4, p)
			}
		}
		if part = part.Intersect(src.Bounds()); part.Empty() {
			return
		}
		alone := New(part.Dx(), part.Dy())
		for y := range alone.H {
			copy(alone.Row(y, 0, alone.W), src.Row(part.Min.Y+y, part.Min.X, part.Max.X))
		}
		if again := Resample(alone, alone.Bounds(), int(toW)%700, int(toH)%700); !bytes.Equal(got.Pix, again.Pix) {
			t.Fatalf("the part %v alone gives another picture", part)
		}
	})
}

func BenchmarkResample(b *testing.B) {
	for _, row := range []struct{ side, to int }{{4096, 400}, {1024, 400}, {256, 1024}} {
		f := random(rand.New(rand.NewPCG(1, 1)), row.side, row.side, true)
		b.Run(fmt.Sprintf("%d_to_%d", row.side, row.to), func(b *testing.B) {
			for b.Loop() {
				Resample(f, f.Bounds(), row.to, row.to)
			}
		})
	}
}
