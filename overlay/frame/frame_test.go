package frame

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"image"
	"math/rand/v2"
	"os"
	"testing"
)

func TestPremultiplyIsTheNearestForAllPairs(t *testing.T) {
	for c := range 256 {
		for a := range 256 {
			got := int(Premultiply(uint8(c), uint8(a)))
			if d := 2*255*got - 2*c*a; d <= -255 || d >= 255 {
				t.Fatalf("%d × %d / 255 gives %d", c, a, got)
			}
		}
	}
}

func TestStraightAndBackIsTheIdentityForAllPairs(t *testing.T) {
	pairs := 0
	for a := 1; a < 256; a++ {
		for p := 0; p <= a; p++ {
			pairs++
			c := Unpremultiply(uint8(p), uint8(a))
			// Nearest to p·255/a; a tie goes up.
			if d := 2*a*int(c) - 2*p*255; d < -a+1 || d > a {
				t.Fatalf("%d under alpha %d is straight %d", p, a, c)
			}
			if back := Premultiply(c, uint8(a)); int(back) != p {
				t.Fatalf("%d under alpha %d becomes %d and then %d", p, a, c, back)
			}
		}
	}
	if pairs != 32_895 {
		t.Errorf("%d pairs, want 32,895", pairs)
	}
}

// testdata/unpremul.json: exact rational arithmetic; PNG stores straight alpha (W3C PNG, third edition).
func TestConversionsMatchExactRationals(t *testing.T) {
	var v struct {
		PerAlpha []struct {
			Alpha     uint8
			Distinct  int `json:"distinct_colours"`
			Identical int `json:"identical_of_256"`
			MaxError  int `json:"max_abs_error"`
		} `json:"per_alpha"`
		Conversions []struct {
			Straight, Alpha, Premul uint8
			Back                    uint8 `json:"straight_back"`
		}
	}
	data, err := os.ReadFile("testdata/unpremul.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	if len(v.PerAlpha) == 0 || len(v.Conversions) == 0 {
		t.Fatal("the file holds no rows")
	}
	for _, row := range v.Conversions {
		p := Premultiply(row.Straight, row.Alpha)
		if back := Unpremultiply(p, row.Alpha); p != row.Premul || back != row.Back {
			t.Errorf("%d under alpha %d: %d and back %d, want %d and %d", row.Straight, row.Alpha, p, back, row.Premul, row.Back)
		}
	}
	for _, row := range v.PerAlpha {
		distinct, identical, worst := [256]bool{}, 0, 0
		for c := range 256 {
			p := Premultiply(uint8(c), row.Alpha)
			d := c - int(Unpremultiply(p, row.Alpha))
			if d == 0 {
				identical++
			}
			distinct[p] = true
			worst = max(worst, d, -d)
		}
		count := 0
		for _, seen := range distinct {
			if seen {
				count++
			}
		}
		if count != row.Distinct || identical != row.Identical || worst != row.MaxError {
			t.Errorf("alpha %d: %d distinct, %d identical, error %d; want %d, %d, %d", row.Alpha,
				count, identical, worst, row.Distinct, row.Identical, row.MaxError)
		}
	}
}

func TestInkIsTheSmallestRectangleAroundAllThatIsNotZero(t *testing.T) {
	f := New(30, 20)
	if !f.Ink().Empty() {
		t.Errorf("a transparent frame has ink %v", f.Ink())
	}
	for _, row := range []struct {
		pixel, channel int
		want           image.Rectangle
	}{
		{5*30 + 7, 3, image.Rect(7, 5, 8, 6)},
		{5*30 + 29, 0, image.Rect(7, 5, 30, 6)},
		{19*30 + 12, 2, image.Rect(7, 5, 30, 20)},
		{0, 1, image.Rect(0, 0, 30, 20)},
	} {
		f.Pix[4*row.pixel+row.channel] = 1
		if got := f.Ink(); got != row.want {
			t.Errorf("with pixel %d,%d: ink is %v, want %v", row.pixel%30, row.pixel/30, got, row.want)
		}
	}
}

func TestHashCoversTheSizeAndEveryPixel(t *testing.T) {
	f := New(2, 1)
	copy(f.Pix, []byte{1, 2, 3, 4, 5, 6, 7, 8})
	want := sha256.Sum256([]byte{0, 0, 0, 2, 0, 0, 0, 1, 1, 2, 3, 4, 5, 6, 7, 8})
	if f.Hash() != want {
		t.Errorf("hash is %x, want %x", f.Hash(), want)
	}
	if tall := (&Frame{1, 2, f.Pix}); tall.Hash() == want {
		t.Error("the same bytes as a column have the same hash")
	}
}

func TestStraightPixelsAreThoseOfTheRectangleInsideTheFrame(t *testing.T) {
	f := New(3, 2)
	for i := range f.Pix {
		f.Pix[i] = byte(i * 3)
	}
	copy(f.Row(0, 1, 2), []byte{100, 50, 0, 128})
	copy(f.Row(1, 1, 2), []byte{0, 0, 0, 0})
	copy(f.Row(1, 2, 3), []byte{9, 8, 7, 255})
	got := f.AppendStraight([]byte("x"), image.Rect(1, -4, 9, 9))
	want := append([]byte("x"), 199, 100, 0, 128)
	want = append(want, Unpremultiply(24, 33), Unpremultiply(27, 33), Unpremultiply(30, 33), 33)
	want = append(want, 0, 0, 0, 0, 9, 8, 7, 255)
	if !bytes.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestDamageCoversWhatWasAddedWithoutOverlap(t *testing.T) {
	for seed := range uint64(500) {
		rng := rand.New(rand.NewPCG(seed, 7))
		var d Damage
		var added [40][40]bool
		union := image.Rectangle{}
		for range 1 + rng.IntN(60) {
			x, y := rng.IntN(40), rng.IntN(40)
			r := image.Rect(x, y, min(x+rng.IntN(6), 40), min(y+rng.IntN(6), 40))
			d.Add(r)
			union = union.Union(r)
			for y := r.Min.Y; y < r.Max.Y; y++ {
				for x := r.Min.X; x < r.Max.X; x++ {
					added[y][x] = true
				}
			}
		}
		if d.Empty() != union.Empty() {
			t.Fatalf("seed %d: empty is %v for %v", seed, d.Empty(), union)
		}
		var covered [40][40]int
		for _, r := range d.Rects() {
			if r.Empty() || !r.In(union) {
				t.Fatalf("seed %d: %v reaches outside all that was added, %v", seed, r, union)
			}
			for y := r.Min.Y; y < r.Max.Y; y++ {
				for x := r.Min.X; x < r.Max.X; x++ {
					covered[y][x]++
				}
			}
		}
		for y := range covered {
			for x := range covered[y] {
				if covered[y][x] > 1 || added[y][x] && covered[y][x] == 0 {
					t.Fatalf("seed %d: pixel %d,%d is covered %d times, added %v", seed, x, y, covered[y][x], added[y][x])
				}
			}
		}
	}
}

func TestFarApartDamageStaysApart(t *testing.T) {
	var d Damage
	for i := range maxDamage {
		d.Add(image.Rect(10*i, 0, 10*i+2, 2))
	}
	if len(d.Rects()) != maxDamage {
		t.Errorf("%d rectangles, want %d", len(d.Rects()), maxDamage)
	}
	d.Add(image.Rect(0, 50, 1, 51))
	if want := []image.Rectangle{image.Rect(0, 0, 10*maxDamage-8, 51)}; len(d.Rects()) != 1 || d.Rects()[0] != want[0] {
		t.Errorf("one more than the bound gives %v, want %v", d.Rects(), want)
	}
}
