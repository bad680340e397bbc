package raster

import (
	"bytes"
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// shadowOf returns the coverage of the shadow of a rectangle, all at opaque black, in a frame of w × h.
func shadowOf(w, h int, own image.Rectangle, radius, soft int) []uint8 {
	f := frame.New(w, h)
	var l paint.List
	l.Shadow(paint.BoxPx(own), paint.Px(radius), paint.Px(soft), paint.Colour{A: 255})
	New(nil, nil).Draw(f, &l, f.Bounds())
	alphas := make([]uint8, w*h)
	for i := range alphas {
		alphas[i] = f.Pix[4*i+3]
	}
	return alphas
}

// kernel is the three boxes by the definition of convolution, 2·soft+1 long.
func kernel(soft int) []float64 {
	k := []float64{1}
	for _, w := range newBlur(soft).widths {
		next := make([]float64, len(k)+w-1)
		for i, v := range k {
			for j := range w {
				next[i+j] += v / float64(w)
			}
		}
		k = next
	}
	return k
}

// The plain twin: the coverage of the rounded rectangle, each pixel the mean of those around it in floating point.
func TestShadowIsTheBlurredRectangle(t *testing.T) {
	for seed := range uint64(80) {
		rng := rand.New(rand.NewPCG(seed, 31))
		soft := rng.IntN(14)
		own := image.Rect(0, 0, 1+rng.IntN(40), 1+rng.IntN(30)).Add(image.Pt(15+rng.IntN(5), 15+rng.IntN(5)))
		radius := rng.IntN(20)
		const w, h = 80, 70
		sharp := covered(w, h, func(r *Rasteriser) {
			limit := min(radius, own.Dx()/2, own.Dy()/2)
			r.rounded(point{int32(own.Min.X) * unit, int32(own.Min.Y) * unit}, point{int32(own.Max.X) * unit, int32(own.Max.Y) * unit}, int32(limit)*unit)
		})
		k := kernel(soft)
		if len(k) != 2*soft+1 {
			t.Fatalf("softness %d: the blur is %d pixels long", soft, len(k))
		}
		got := shadowOf(w, h, own, radius, soft)
		for i, c := range got {
			x, y, want := i%w, i/w, 0.0
			for dy, v := range k {
				for dx, u := range k {
					if sx, sy := x+dx-soft, y+dy-soft; sx >= 0 && sx < w && sy >= 0 && sy < h {
						want += v * u * float64(sharp[sy*w+sx])
					}
				}
			}
			if math.Abs(float64(c)-want) > 0.51 { // the rounding, and 16 bits of the tables
				t.Fatalf("seed %d: %v, radius %d, softness %d: pixel %d,%d is %d, want %.3f", seed, own, radius, soft, x, y, c, want)
			}
		}
	}
}

// Reference: the normal distribution of the same variance (math.Erf). SVG 1.1, feGaussianBlur, from memory, takes three
// boxes for it "to within roughly 3%"; the profile of an edge, which is what one sees, is within 1 % (measured).
func TestEdgesAreNearlyNormal(t *testing.T) {
	r := New(nil, nil)
	for _, soft := range []int{4, 10, 26, 100, maxSoft} {
		s, variance := r.shade(0, soft), 0.0
		for _, w := range newBlur(soft).widths {
			variance += float64(w*w-1) / 12
		}
		for i, got := range s.edge {
			want := 0.5 + 0.5*math.Erf((float64(i-soft)+0.5)/math.Sqrt(2*variance))
			if math.Abs(float64(got)/(1<<16)-want) > 0.01 {
				t.Errorf("softness %d: %d pixels from the edge the shadow is %.4f, a normal one %.4f", soft, i-soft, float64(got)/(1<<16), want)
			}
		}
		if n := len(s.edge); n != 2*soft+1 || s.edge[n-1] != 1<<16 {
			t.Errorf("softness %d: the edge has %d steps and ends at %d", soft, n, s.edge[n-1])
		}
	}
}

// A blur moves darkness about and neither makes nor loses any: the sum of coverage stays the area of
// testdata/coverage.json. A pixel's rounding is off by half at most and by chance either way.
func TestShadowsKeepTheArea(t *testing.T) {
	checked := 0
	for _, v := range loadVectors(t).AreaOnly {
		a := v.Shape
		if a.Type != "rrect" || a.W != math.Trunc(a.W) || a.X != math.Trunc(a.X) {
			continue
		}
		checked++
		area, err := v.Area.Float64()
		if err != nil {
			t.Fatal(err)
		}
		for soft := range 12 {
			own := image.Rect(0, 0, int(a.W), int(a.H)).Add(image.Pt(12, 12))
			sum := 0
			for _, c := range shadowOf(int(a.W)+24, int(a.H)+24, own, int(a.R), soft) {
				sum += int(c)
			}
			if got := float64(sum) / 255; math.Abs(got-area) > 0.005*area {
				t.Errorf("%s, softness %d: the area is %.3f, want %.3f", v.Name, soft, got, area)
			}
		}
	}
	if checked < 2 {
		t.Errorf("%d rectangles checked", checked)
	}
}

func TestAShadowWithoutSoftnessIsThePanel(t *testing.T) {
	for radius := range 16 {
		want, got := ground(60, 50), ground(60, 50)
		box, c := px(7, 5, 47, 38), paint.Colour{R: 90, G: 30, B: 200, A: 170}
		var panel, shadow paint.List
		panel.Rect(box, paint.Px(radius), c)
		shadow.Shadow(box, paint.Px(radius), 0, c)
		New(nil, nil).Draw(want, &panel, want.Bounds())
		New(nil, nil).Draw(got, &shadow, got.Bounds())
		if !bytes.Equal(want.Pix, got.Pix) {
			t.Errorf("radius %d: a shadow of softness 0 is not the panel", radius)
		}
	}
}

func TestShadowsAreSymmetric(t *testing.T) {
	for seed := range uint64(40) {
		rng := rand.New(rand.NewPCG(seed, 32))
		own := image.Rect(30, 30, 31+rng.IntN(60), 31+rng.IntN(60))
		w, h := own.Max.X+30, own.Max.Y+30
		a := shadowOf(w, h, own, rng.IntN(40), rng.IntN(30))
		for i, c := range a {
			x, y := i%w, i/w
			if c != a[y*w+w-1-x] || c != a[(h-1-y)*w+x] {
				t.Fatalf("seed %d: pixel %d,%d of the shadow of %v is no mirror image", seed, x, y, own)
			}
		}
	}
}

// What is under the panel that throws it is left out, and must not be missed.
func TestShadowsUnderTheirPanelsAreTheSame(t *testing.T) {
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 33))
		x, y := rng.IntN(60), rng.IntN(40)
		box := px(x, y, x+1+rng.IntN(60), y+1+rng.IntN(40))
		box.Min.X += paint.Fixed(rng.IntN(64))
		box.Max.Y -= paint.Fixed(rng.IntN(64))
		var l, apart paint.List
		l.Shadow(px(x-3, y+2, x+30, y+40), paint.Px(rng.IntN(12)), paint.Px(rng.IntN(12)), randomColour(rng))
		l.Rect(box, paint.Fixed(rng.IntN(900)-100), randomColour(rng))
		switch rng.IntN(4) {
		case 0:
			l.Grade(1, paint.Across, randomColour(rng))
		case 1:
			l.Clip(1, image.Rect(x+2, y+2, x+20, y+9))
		case 2:
			l.Ops[1].Stroke = 70
		}
		apart.Ops = append(apart.Ops, l.Ops[0], paint.Op{}) // nothing between them hides the panel from the shadow
		apart.Ops = append(apart.Ops, l.Ops[1:]...)
		want, got := ground(120, 90), ground(120, 90)
		New(nil, nil).Draw(want, &apart, want.Bounds())
		New(nil, nil).Draw(got, &l, got.Bounds())
		if !bytes.Equal(want.Pix, got.Pix) {
			t.Fatalf("seed %d: part of a shadow is missing\n%+v", seed, l.Ops)
		}
	}
}

func TestShadesAreBounded(t *testing.T) {
	warm := New(nil, nil)
	f := frame.New(64, 64)
	for i := range 14 {
		var l paint.List
		l.Shadow(px(-3000+i, -3000, 3000, 3000), paint.Px(9000), paint.Px(110*i), white)
		l.Shadow(px(20, 20, 40, 40), paint.Px(3*i), paint.Px(i), paint.Colour{R: 200, A: 100})
		clear(f.Pix)
		warm.Draw(f, &l, f.Bounds())
		kept := 0
		for _, s := range warm.shades.by {
			kept += len(s.corner)
		}
		if kept != warm.shades.size || kept > maxShades {
			t.Fatalf("%d pixels of corners are kept, counted as %d, the bound is %d", kept, warm.shades.size, maxShades)
		}
		fresh := frame.New(64, 64)
		New(nil, nil).Draw(fresh, &l, fresh.Bounds())
		if !bytes.Equal(f.Pix, fresh.Pix) {
			t.Fatalf("after %d shadows a warm rasteriser draws other pixels", i)
		}
	}
}

func BenchmarkShadowCold(b *testing.B) {
	for _, row := range []struct{ radius, soft int }{{14, 12}, {30, 26}, {256, maxSoft}} {
		b.Run(fmt.Sprintf("radius_%d_soft_%d", row.radius, row.soft), func(b *testing.B) {
			r := New(nil, nil)
			for b.Loop() {
				clear(r.shades.by)
				r.shade(row.radius, row.soft)
			}
		})
	}
}
