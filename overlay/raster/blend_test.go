package raster

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"os"
	"testing"

	"rafter/overlay/paint"
)

// nearest tells whether got is the integer nearest to x·a/255, in whole numbers alone.
func nearest(got, x, a int) bool {
	d := 2*255*got - 2*x*a
	return -255 < d && d < 255
}

func TestScaleIsTheNearestForAllPairs(t *testing.T) {
	for x := range 256 {
		for a := range 256 {
			v := spread(uint32(x) | uint32(255-x)<<8 | uint32(x/2)<<16 | 255<<24).scale(uint32(a)).pack()
			for i, want := range [4]int{x, 255 - x, x / 2, 255} {
				if got := int(v >> (8 * i) & 255); !nearest(got, want, a) {
					t.Fatalf("%d × %d / 255 in lane %d gives %d", want, a, i, got)
				}
			}
		}
	}
}

// Porter and Duff 1984, "over" on premultiplied values; testdata/over.json gives exact rationals, nearest.
func TestOverMatchesExactRationals(t *testing.T) {
	type pixel [4]uint8
	var v struct {
		Over []struct {
			Name          string
			Src, Dst, Out pixel
		}
		Stacks []struct {
			Base      pixel
			Layers    []pixel `json:"layers_bottom_to_top"`
			Out       pixel   `json:"out_onto_base_one_by_one"`
			Flattened pixel   `json:"out_layers_flattened_first"`
		}
	}
	data, err := os.ReadFile("testdata/over.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	over := func(dst []byte, src pixel) {
		laid := bytes.Clone(dst)
		blend(laid, laid, bytes.Repeat(src[:], len(dst)/4), 255)
		b := brush{src: spread(binary.LittleEndian.Uint32(src[:])), of: binary.LittleEndian.Uint32(src[:])}
		b.over(dst, 255)
		if !bytes.Equal(dst, laid) {
			t.Errorf("%v is %v as one colour, %v laid as pixels", src, dst[:4], laid[:4])
		}
	}
	if len(v.Over) < 50 || len(v.Stacks) == 0 {
		t.Fatalf("the file gives %d rows and %d stacks", len(v.Over), len(v.Stacks))
	}
	for _, row := range v.Over {
		for _, n := range []int{1, 2, 5} { // one pixel, one word, words and a rest
			got := bytes.Repeat(row.Dst[:], n)
			over(got, row.Src)
			if want := bytes.Repeat(row.Out[:], n); !bytes.Equal(got, want) {
				t.Errorf("%s: %v over %v, %d pixels: %v, want %v", row.Name, row.Src, row.Dst, n, got, row.Out)
			}
		}
	}
	for _, row := range v.Stacks {
		got := bytes.Clone(row.Base[:])
		for _, layer := range row.Layers {
			over(got, layer)
		}
		flat := make([]byte, 4)
		for _, layer := range row.Layers {
			over(flat, layer)
		}
		whole := bytes.Clone(row.Base[:])
		over(whole, pixel(flat))
		if !bytes.Equal(got, row.Out[:]) || !bytes.Equal(whole, row.Flattened[:]) {
			t.Errorf("%v under %v: %v and %v, want %v and %v", row.Base, row.Layers, got, whole, row.Out, row.Flattened)
		}
	}
}

// plain is the written formula: premultiply, scale by coverage, composite; each to the nearest.
func plain(c paint.Colour, coverage int, dst [4]int) [4]int {
	round := func(x, a int) int { return (2*x*a + 255) / 510 }
	alpha := round(int(c.A), coverage)
	var out [4]int
	for i, v := range [4]int{int(c.R), int(c.G), int(c.B), 255} {
		out[i] = round(round(v, int(c.A)), coverage) + round(dst[i], 255-alpha)
	}
	return out
}

func TestBrushEqualsThePlainFormulaForAllPairs(t *testing.T) {
	const n = 7 // words and a single pixel
	var dst [4 * n]byte
	check := func(c paint.Colour, coverage int, under [4]int) {
		t.Helper()
		want := plain(c, coverage, under)
		for _, pixels := range []int{1, n} {
			for i := range dst {
				dst[i] = byte(under[i%4])
			}
			var b brush
			b.load(c)
			b.over(dst[:4*pixels], uint8(coverage))
			for i, got := range dst[:4*pixels] {
				if int(got) != want[i%4] {
					t.Fatalf("%v at %d over %v, byte %d of %d pixels: %d, want %d", c, coverage, under, i, pixels, got, want[i%4])
				}
			}
		}
	}
	for x := range 256 {
		for y := range 256 {
			v, w := uint8(x), uint8(y)
			check(paint.Colour{R: v, G: 255 - v, B: v / 3, A: 255}, y, [4]int{9, 100, 250, 255})
			check(paint.Colour{R: 200, G: v, B: 31, A: w}, 255, [4]int{0, 77, 128, 200})
			check(paint.Colour{R: 200, G: 3, B: 31, A: v}, 130, [4]int{y, 0, y / 2, y})
		}
	}
}

func TestWholeCoverageOfAnOpaqueColourReplaces(t *testing.T) {
	var b brush
	for _, n := range []int{1, 2, 3, 64, 1000, 17} { // longer and shorter than what is already prepared
		dst := bytes.Repeat([]byte{1, 2, 3, 4}, n)
		b.load(paint.Colour{R: 10, G: uint8(n), B: 30, A: 255})
		b.over(dst, 255)
		if want := bytes.Repeat([]byte{10, uint8(n), 30, 255}, n); !bytes.Equal(dst, want) {
			t.Errorf("%d pixels are not all the colour", n)
		}
	}
}
