package raster

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// ground returns a frame with something in every pixel, premultiplied.
func ground(w, h int) *frame.Frame {
	f := frame.New(w, h)
	for i := range w * h {
		a := byte(i*7 + 40)
		copy(f.Pix[4*i:], []byte{a / 2, a / 3, a, a})
	}
	return f
}

// pieces splits a rectangle at random into parts that together cover it once.
func pieces(rng *rand.Rand, r image.Rectangle, depth int) []image.Rectangle {
	if depth == 0 || r.Dx() < 2 || r.Dy() < 2 {
		return []image.Rectangle{r}
	}
	a, b := r, r
	if rng.IntN(2) == 0 {
		a.Max.X = r.Min.X + 1 + rng.IntN(r.Dx()-1)
		b.Min.X = a.Max.X
	} else {
		a.Max.Y = r.Min.Y + 1 + rng.IntN(r.Dy()-1)
		b.Min.Y = a.Max.Y
	}
	return append(pieces(rng, a, depth-1), pieces(rng, b, depth-1)...)
}

// checkDraw draws a list whole and in pieces: the same bytes, nothing outside the operations' bounds, and no colour
// above its alpha.
func checkDraw(fonts paint.Outlines, l *paint.List, rng *rand.Rand, w, h int) error {
	whole, split := ground(w, h), ground(w, h)
	New(fonts, testPictures()).Draw(whole, l, whole.Bounds())
	r := New(fonts, testPictures())
	parts := pieces(rng, split.Bounds(), 4)
	for _, i := range rng.Perm(len(parts)) {
		r.Draw(split, l, parts[i])
	}
	if !bytes.Equal(whole.Pix, split.Pix) {
		for i := range whole.Pix {
			if whole.Pix[i] != split.Pix[i] {
				return fmt.Errorf("pixel %d,%d differs when drawn in the pieces %v", i/4%w, i/4/w, parts)
			}
		}
	}
	before := ground(w, h)
	for i := 0; i < len(whole.Pix); i += 4 {
		p := whole.Pix[i : i+4]
		if max(p[0], p[1], p[2]) > p[3] {
			return fmt.Errorf("pixel %d,%d is %v: a colour above its alpha", i/4%w, i/4/w, p)
		}
		if bytes.Equal(p, before.Pix[i:i+4]) {
			continue
		}
		at, held := image.Pt(i/4%w, i/4/w), false
		for k := range l.Ops {
			held = held || at.In(l.Ops[k].Bounds())
		}
		if !held {
			return fmt.Errorf("pixel %v was touched outside every operation's bounds", at)
		}
	}
	return nil
}

func TestAnyClipGivesTheBytesOfTheWholeDraw(t *testing.T) {
	fonts := newGoFonts(t)
	for seed := range uint64(2000) {
		rng := rand.New(rand.NewPCG(seed, 1))
		w, h := 1+rng.IntN(150), 1+rng.IntN(100)
		l := opsFrom(randomBytes(rng, 40+rng.IntN(400)), w, h)
		if err := checkDraw(fonts, &l, rng, w, h); err != nil {
			t.Fatalf("seed %d, %d×%d: %v\n%+v", seed, w, h, err, l.Ops)
		}
	}
}

func TestAnOperationsClipOnlyMasksIt(t *testing.T) {
	fonts := newGoFonts(t)
	for seed := range uint64(500) {
		rng := rand.New(rand.NewPCG(seed, 8))
		l := opsFrom(randomBytes(rng, 60), 70, 50)
		free := paint.List{Ops: l.Ops[:1]}
		free.Ops[0].Clip = paint.Box{}
		x, y := rng.IntN(70), rng.IntN(50)
		clip := image.Rect(x, y, x+1+rng.IntN(40), y+1+rng.IntN(40))
		kept := paint.List{Ops: []paint.Op{free.Ops[0]}}
		kept.Clip(0, clip)
		want, got, before := ground(70, 50), ground(70, 50), ground(70, 50)
		New(fonts, testPictures()).Draw(want, &free, want.Bounds())
		New(fonts, testPictures()).Draw(got, &kept, got.Bounds())
		for y := range 50 {
			if y < clip.Min.Y || y >= clip.Max.Y {
				copy(want.Row(y, 0, 70), before.Row(y, 0, 70))
				continue
			}
			copy(want.Row(y, 0, clip.Min.X), before.Row(y, 0, clip.Min.X))
			if clip.Max.X < 70 {
				copy(want.Row(y, clip.Max.X, 70), before.Row(y, clip.Max.X, 70))
			}
		}
		if !bytes.Equal(want.Pix, got.Pix) {
			t.Fatalf("seed %d: inside %v the operation is another\n%+v", seed, clip, free.Ops[0])
		}
	}
}

// The renderer begins with what hides all below it, and a shadow leaves out what its panel hides: both believe Solid.
func TestSolidIsReplacedWhateverWasThere(t *testing.T) {
	solid := 0
	for seed := range uint64(3000) {
		rng := rand.New(rand.NewPCG(seed, 9))
		l := opsFrom(randomBytes(rng, 60), 70, 50)
		l.Ops = l.Ops[:1]
		if seed%4 != 0 { // few are opaque panels by chance
			l.Ops[0].Shape, l.Ops[0].Colour.A, l.Ops[0].To.A = paint.Rect, 255, 255
		}
		a, b := ground(70, 50), frame.New(70, 50)
		New(nil, testPictures()).Draw(a, &l, a.Bounds())
		New(nil, testPictures()).Draw(b, &l, b.Bounds())
		for _, r := range l.Ops[0].Solid() {
			r = r.Intersect(a.Bounds())
			for y := r.Min.Y; y < r.Max.Y; y++ {
				solid++
				if row := a.Row(y, r.Min.X, r.Max.X); !bytes.Equal(row, b.Row(y, r.Min.X, r.Max.X)) || row[3] != 255 {
					t.Fatalf("seed %d: something shows through row %d of %v\n%+v", seed, y, r, l.Ops[0])
				}
			}
		}
	}
	if solid < 1000 {
		t.Errorf("only %d rows were solid", solid)
	}
}

func FuzzDraw(f *testing.F) {
	fonts := newGoFonts(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		l := opsFrom(data, 64, 48)
		if err := checkDraw(fonts, &l, rand.New(rand.NewPCG(uint64(len(data)), 2)), 64, 48); err != nil {
			t.Fatal(err)
		}
	})
}

// wildOutlines gives glyphs that no font should hold.
type wildOutlines struct{ em int32 }

func (w wildOutlines) UnitsPerEm(paint.FaceID) int32 { return w.em }

func (w wildOutlines) Outline(dst []paint.Segment, _ paint.FaceID, g paint.GlyphID) []paint.Segment {
	rng := rand.New(rand.NewPCG(uint64(g), 3))
	for range g % 9 {
		s := paint.Segment{Verb: paint.Verb(rng.IntN(5))}
		for i := range s.Args {
			s.Args[i].X, s.Args[i].Y = int32(rng.Uint32())>>rng.IntN(31), int32(rng.Uint32())>>rng.IntN(31)
		}
		dst = append(dst, s)
	}
	return dst
}

func TestBrokenOutlinesDrawTheSameInAnyClip(t *testing.T) {
	for _, em := range []int32{-5, 0, 1, 1000, 16384, math.MaxInt32} {
		for g := range paint.GlyphID(60) {
			for _, size := range []paint.Fixed{math.MinInt32, 0, 1, paint.Px(40), paint.Px(5000), math.MaxInt32} {
				l := paint.List{Ops: []paint.Op{glyphOp(0, g, size, paint.Point{X: 700, Y: 900}, image.Rect(-99, -99, 999, 999))}}
				if err := checkDraw(wildOutlines{em}, &l, rand.New(rand.NewPCG(uint64(g), 4)), 40, 30); err != nil {
					t.Fatalf("%d units an em, glyph %d, size %d: %v", em, g, size, err)
				}
			}
		}
	}
}

// Shapes that are vastly larger than the clip must cost what the clip costs; a second is thousands of times that.
func TestHugeShapesCostWhatTheClipCosts(t *testing.T) {
	const far = math.MaxInt32
	all := paint.Box{Min: paint.Point{X: -far, Y: -far}, Max: paint.Point{X: far, Y: far}}
	var l paint.List
	for i := range 100 {
		first := len(l.Ops)
		l.Rect(all, 0, white)
		l.Rect(all, far, white)
		l.Arc(all, 64, 40000, white)
		l.Polygon(white, all.Min, paint.Point{X: far, Y: -far}, all.Max)
		l.Outline(far, white, all.Min, paint.Point{X: far, Y: -far}, all.Max)
		l.Ops = append(l.Ops, paint.Op{Shape: paint.Glyph, Face: 1, Glyph: 40, Size: far, Box: all, Colour: white},
			paint.Op{Shape: paint.Shadow, Box: all, Radius: far, Stroke: paint.Px(9), Colour: white},
			paint.Op{Shape: paint.Shadow, Box: all, Radius: far, Stroke: far, Colour: white},
			paint.Op{Shape: paint.Image, Box: all, Radius: far, Colour: white})
		l.Grade(first, paint.Axis(i%3), white)
	}
	f, r := frame.New(64, 64), New(newGoFonts(t), testPictures())
	done := make(chan struct{})
	go func() {
		r.Draw(f, &l, image.Rect(10, 10, 20, 20))
		close(done)
	}()
	select {
	case <-done:
	case <-time.After(20 * time.Second):
		t.Fatal("900 huge shapes over 100 pixels take more than 20 s")
	}
	if f.Pix[4*(15*64+15)+3] != 255 {
		t.Error("a shape around everything does not cover the middle")
	}
}

func TestNothingIsDrawnOutsideTheClip(t *testing.T) {
	f := ground(40, 30)
	clip := image.Rect(7, 5, 23, 19)
	var l paint.List
	l.Rect(px(-50, -50, 90, 90), paint.Px(3), white)
	New(nil, nil).Draw(f, &l, clip)
	before := ground(40, 30)
	for y := range 30 {
		for x := range 40 {
			got := binary.LittleEndian.Uint32(f.Row(y, x, x+1))
			want := binary.LittleEndian.Uint32(before.Row(y, x, x+1))
			if image.Pt(x, y).In(clip) {
				want = math.MaxUint32
			}
			if got != want {
				t.Fatalf("pixel %d,%d is %08x, want %08x", x, y, got, want)
			}
		}
	}
}

func TestWholePixelShapesHaveNoGreyEdge(t *testing.T) {
	for _, box := range []image.Rectangle{image.Rect(3, 4, 9, 20), image.Rect(0, 0, 30, 24), image.Rect(29, 23, 30, 24)} {
		f := frame.New(30, 24)
		var l paint.List
		l.Rect(paint.BoxPx(box), 0, white)
		New(nil, nil).Draw(f, &l, f.Bounds())
		for i := 0; i < len(f.Pix); i += 4 {
			want := uint8(0)
			if image.Pt(i/4%30, i/4/30).In(box) {
				want = 255
			}
			if f.Pix[i+3] != want {
				t.Fatalf("%v: pixel %d,%d has alpha %d, want %d", box, i/4%30, i/4/30, f.Pix[i+3], want)
			}
		}
	}
}

// The four corners of a panel are mirror images, or the eye finds the one that is not.
func TestRoundedPanelsAndRingsAreSymmetric(t *testing.T) {
	const side = 61
	for radius := range paint.Fixed(64 * 20) {
		if radius%13 != 0 {
			continue
		}
		var l paint.List
		l.Rect(px(4, 4, side-4, side-4), radius, white)
		l.Frame(px(2, 2, side-2, side-2), radius+paint.Px(2), 64+radius/16, paint.Colour{R: 90, A: 180})
		l.Arc(px(20, 20, side-20, side-20), paint.Px(3), 1<<16, paint.Colour{B: 200, A: 255})
		f := frame.New(side, side)
		New(nil, nil).Draw(f, &l, f.Bounds())
		at := func(x, y int) uint32 { return binary.LittleEndian.Uint32(f.Row(y, x, x+1)) }
		for y := range side {
			for x := range side {
				if at(x, y) != at(side-1-x, y) || at(x, y) != at(x, side-1-y) {
					t.Fatalf("radius %d/64: pixel %d,%d is %08x, its mirror images %08x and %08x", radius, x, y,
						at(x, y), at(side-1-x, y), at(x, side-1-y))
				}
			}
		}
	}
}

func TestSweepsShareTheRingBetweenThem(t *testing.T) {
	box := px(1, 1, 49, 49)
	sum := func(sweep int32) (n int) {
		f := frame.New(50, 50)
		var l paint.List
		l.Arc(box, paint.Px(6), sweep, white)
		New(nil, nil).Draw(f, &l, f.Bounds())
		for i := 3; i < len(f.Pix); i += 4 {
			n += int(f.Pix[i])
		}
		return n
	}
	ring := math.Pi * (24*24 - 18*18) * 255
	for _, sweep := range []int32{0, 1, 500, 1 << 13, 1 << 14, 1<<14 + 1, 30000, 1 << 15, 50000, 65535, 65536, 1 << 20} {
		want := ring * float64(min(sweep, 1<<16)) / (1 << 16)
		if got := float64(sum(sweep)); math.Abs(got-want) > 0.001*ring {
			t.Errorf("sweep %d: the sum of coverage is %.0f, want %.0f", sweep, got, want)
		}
	}
	if sum(-5) != 0 {
		t.Error("a sweep below 0 draws something")
	}
}

func TestGlyphsDoNotDependOnTheCache(t *testing.T) {
	fonts := newGoFonts(t)
	warm := New(fonts, nil)
	want, got := frame.New(300, 120), frame.New(300, 120)
	for i := range paint.Fixed(2 * maxMasks / 5) { // five glyphs, every one at another place: the cache fills and empties
		l := glyphList(t, fonts, "12:08", paint.Px(20)+i, image.Pt(10, 80))
		clear(want.Pix)
		clear(got.Pix)
		New(fonts, nil).Draw(want, &l, want.Bounds())
		warm.Draw(got, &l, got.Bounds())
		if !bytes.Equal(want.Pix, got.Pix) {
			t.Fatalf("size %d/64: the glyphs differ from freshly drawn ones", paint.Px(20)+i)
		}
		if len(warm.glyphs.masks) > maxMasks {
			t.Fatalf("%d masks are kept, the bound is %d", len(warm.glyphs.masks), maxMasks)
		}
	}
}

// The hash stands for the pixels of 300 random lists. It was taken on amd64; the test runs as amd64 v1 and v3 and as
// arm64, and any float or any undefined shift would show here before it shows in a frame.
func TestPixelsAreTheSameOnEveryProcessor(t *testing.T) {
	const want = "901e726682e150e378ceb7f704da407b3517f51bbe43bcd92ebbef9a1983dde3"
	fonts := newGoFonts(t)
	h := sha256.New()
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 6))
		l := opsFrom(randomBytes(rng, 300), 90, 70)
		f := ground(90, 70)
		New(fonts, testPictures()).Draw(f, &l, f.Bounds())
		h.Write(f.Pix)
	}
	if got := hex.EncodeToString(h.Sum(nil)); got != want {
		t.Errorf("hash is %s, want %s", got, want)
	}
}
