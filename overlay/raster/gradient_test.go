package raster

import (
	"bytes"
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// B. E. Bayer 1973, "An optimum method for two-level rendition of continuous-tone pictures": each square consists of
// four of the next smaller, their numbers times four and 0, 2, 3, 1 more. From memory.
func TestDitherIsBayersSquare(t *testing.T) {
	square := [][]int{{0}}
	for n := 1; n < 8; n *= 2 {
		larger := make([][]int, 2*n)
		for y := range larger {
			for x := range 2 * n {
				larger[y] = append(larger[y], 4*square[y%n][x%n]+[2][2]int{{0, 2}, {3, 1}}[y/n][x/n])
			}
		}
		square = larger
	}
	for y := range 8 {
		for x := range 8 {
			if int(bayer[y][x]) != square[y][x] {
				t.Errorf("cell %d,%d is %d, want %d", x, y, bayer[y][x], square[y][x])
			}
		}
	}
}

// graded draws a gradient over all of a frame, whose Box may reach beyond it.
func graded(size image.Point, box paint.Box, axis paint.Axis, from, to paint.Colour) *frame.Frame {
	f := frame.New(size.X, size.Y)
	var l paint.List
	l.Rect(box, 0, from)
	l.Grade(0, axis, to)
	New(nil, nil).Draw(f, &l, f.Bounds())
	return f
}

func randomColour(rng *rand.Rand) paint.Colour {
	c := paint.Colour{R: uint8(rng.Uint32()), G: uint8(rng.Uint32()), B: uint8(rng.Uint32()), A: 255}
	if rng.IntN(2) == 0 {
		c.A = uint8(rng.Uint32())
	}
	return c
}

// The definition: straight interpolation, at the middle of each pixel, between the premultiplied ends, as CSS Images
// (W3C) has it, "in premultiplied RGBA space"; the cell decides between the two codes around it. The value in 64ths
// is rounded (half a 64th) and so is the way along (a fiftieth).
func TestEveryPixelOfAGradientIsTheDitheredValue(t *testing.T) {
	for seed := range uint64(400) {
		rng := rand.New(rand.NewPCG(seed, 21))
		size := image.Pt(1+rng.IntN(60), 1+rng.IntN(60))
		less, more := func() paint.Fixed { return -paint.Fixed(rng.IntN(3000)) }, func(n int) paint.Fixed { return paint.Px(n) + paint.Fixed(rng.IntN(3000)) }
		box := paint.Box{Min: paint.Point{X: less(), Y: less()}, Max: paint.Point{X: more(size.X), Y: more(size.Y)}}
		from, to, axis := randomColour(rng), randomColour(rng), paint.Down+paint.Axis(rng.IntN(2))
		f := graded(size, box, axis, from, to)
		for i, got := range f.Pix {
			x, y := i/4%size.X, i/4/size.X
			n, low, high := y, box.Min.Y, box.Max.Y
			if axis == paint.Across {
				n, low, high = x, box.Min.X, box.Max.X
			}
			channel := func(c paint.Colour) float64 {
				return float64([4]uint8{frame.Premultiply(c.R, c.A), frame.Premultiply(c.G, c.A), frame.Premultiply(c.B, c.A), c.A}[i%4])
			}
			along := (float64(64*n+32) - float64(low)) / float64(high-low)
			value, cell := 64*(channel(from)+(channel(to)-channel(from))*along), float64(bayer[y%8][x%8])
			least, most := math.Floor((value-0.52+cell)/64), math.Floor((value+0.52+cell)/64)
			if float64(got) < least || float64(got) > most {
				t.Fatalf("seed %d, %v to %v: channel %d of pixel %d,%d is %d, want %v to %v", seed, from, to, i%4, x, y, got, least, most)
			}
		}
	}
}

// Without dither a square's mean would be up to half a code off, and neighbours would stand a whole code apart with
// nothing between: a band. With it a square is at most 0.07 off, and all of a gradient whose slope keeps step with
// the squares 1/32.
func TestGradientsDoNotBand(t *testing.T) {
	const side, squares = 512, 512 / 8
	for _, ends := range [][2]uint8{{20, 24}, {24, 20}, {0, 1}, {16, 48}, {200, 180}, {0, 60}, {255, 254}, {30, 93}} {
		for _, axis := range []paint.Axis{paint.Down, paint.Across} {
			from, to := paint.Colour{R: ends[0], A: 255}, paint.Colour{R: ends[1], A: 255}
			f := graded(image.Pt(side, side), px(0, 0, side, side), axis, from, to)
			span := float64(ends[1]) - float64(ends[0])
			total, last := 0.0, float64(ends[0])
			for k := range squares {
				// A strip of squares across the axis; each must be right by itself.
				for j := range squares {
					at := image.Pt(8*j, 8*k)
					if axis == paint.Across {
						at = image.Pt(8*k, 8*j)
					}
					sum := 0
					for y := range 8 {
						for x := range 8 {
							sum += int(f.Row(at.Y+y, at.X+x, side)[0])
						}
					}
					mean, want := float64(sum)/64, float64(ends[0])+span*float64(8*k+4)/side
					total += mean / squares / squares
					if math.Abs(mean-want) > 0.1 {
						t.Fatalf("%v: the square at %v has the mean %.3f, want %.3f", ends, at, mean, want)
					}
					if j == 0 {
						if math.Abs(mean-last) > 1 {
							t.Fatalf("%v: neighbouring squares' means are %.3f and %.3f", ends, last, mean)
						}
						last = mean
					}
				}
			}
			if want := float64(ends[0]) + span/2; math.Abs(total-want) > 0.04 {
				t.Errorf("%v: the mean of all is %.4f, want %.4f", ends, total, want)
			}
		}
	}
}

func TestAGradientToItsOwnColourIsThatColour(t *testing.T) {
	fonts := newGoFonts(t)
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 22))
		flat := opsFrom(randomBytes(rng, 300), 90, 60)
		same := paint.List{Ops: append([]paint.Op(nil), flat.Ops...)}
		for i := range flat.Ops {
			flat.Ops[i].Axis = paint.Flat
			same.Ops[i].Axis, same.Ops[i].To = paint.Down+paint.Axis(i%2), same.Ops[i].Colour
		}
		want, got := ground(90, 60), ground(90, 60)
		New(fonts, testPictures()).Draw(want, &flat, want.Bounds())
		New(fonts, testPictures()).Draw(got, &same, got.Bounds())
		if !bytes.Equal(want.Pix, got.Pix) {
			t.Fatalf("seed %d: a gradient between equal ends differs from the plain colour\n%+v", seed, flat.Ops)
		}
	}
}

// Fading to nothing must not pass through the colour that the transparent end would have if it were seen.
func TestATransparentEndStainsNothing(t *testing.T) {
	white, clear := paint.Colour{R: 255, G: 255, B: 255, A: 255}, paint.Colour{G: 255}
	f := graded(image.Pt(64, 64), px(0, 0, 64, 64), paint.Down, white, clear)
	for i := 0; i < len(f.Pix); i += 4 {
		if p := f.Pix[i : i+4]; p[0] != p[3] || p[1] != p[3] || p[2] != p[3] {
			t.Fatalf("pixel %d,%d is %v, want white at some strength", i/4%64, i/4/64, p)
		}
	}
}

func TestGradientsDoNotDependOnWhatWasDrawnBefore(t *testing.T) {
	warm := New(nil, nil)
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed%7, 23)) // seven lists in turn, more gradients than are kept
		var l paint.List
		for range 3 {
			x, y := rng.IntN(50), rng.IntN(30)
			l.Rect(px(x, y, x+5+rng.IntN(90), y+5+rng.IntN(60)), paint.Px(rng.IntN(9)), randomColour(rng))
			l.Grade(len(l.Ops)-1, paint.Down+paint.Axis(rng.IntN(2)), randomColour(rng))
		}
		rng = rand.New(rand.NewPCG(seed, 24))
		clip := image.Rect(rng.IntN(60), rng.IntN(40), 61+rng.IntN(60), 41+rng.IntN(40))
		want, got := ground(120, 80), ground(120, 80)
		New(nil, nil).Draw(want, &l, clip)
		warm.Draw(got, &l, clip)
		if !bytes.Equal(want.Pix, got.Pix) {
			t.Fatalf("seed %d: a warm rasteriser draws other pixels in %v", seed, clip)
		}
	}
}

// Premultiplied pixels at any coverage, against the written formula; 2 × 70 pixels so that whole stretches repeat.
func TestLaidPixelsEqualThePlainFormula(t *testing.T) {
	const n = 70
	var b brush
	for seed := range uint64(3000) {
		rng := rand.New(rand.NewPCG(seed, 25))
		c, under := randomColour(rng), randomColour(rng)
		coverage, opacity := uint8(rng.Uint32()), uint8(rng.Uint32())
		if seed%3 == 0 {
			coverage = 255
		}
		if seed%2 == 0 {
			opacity = 255
		}
		pixel := premultiplied(c)
		src := bytes.Repeat([]byte{byte(pixel), byte(pixel >> 8), byte(pixel >> 16), byte(pixel >> 24)}, n)
		u := premultiplied(under)
		dst := bytes.Repeat([]byte{byte(u), byte(u >> 8), byte(u >> 16), byte(u >> 24)}, n)
		b.take(nil, c.A == 255 && opacity == 255, seed%4 < 2, opacity)
		b.lay(dst, src, uint32(coverage))
		want := plain(c, (2*int(coverage)*int(opacity)+255)/510, [4]int{int(byte(u)), int(byte(u >> 8)), int(byte(u >> 16)), int(byte(u >> 24))})
		for i, got := range dst {
			if int(got) != want[i%4] {
				t.Fatalf("seed %d: %v at %d × %d over %v: byte %d is %d, want %d", seed, c, coverage, opacity, under, i, got, want[i%4])
			}
		}
	}
}
