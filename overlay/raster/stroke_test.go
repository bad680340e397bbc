package raster

import (
	"bytes"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rafter/overlay/paint"
)

// outlined returns the coverage of the band of width stroke, in units, inside corners.
func outlined(w, h int, stroke int32, corners ...point) []uint8 {
	return covered(w, h, func(r *Rasteriser) {
		r.corners(corners)
		r.scan.sign = -1
		r.corners(inward(nil, nil, corners, stroke))
	})
}

// testdata/coverage.json gives a frame of half a pixel, as two squares by the even-odd rule: a square's outline.
func TestOutlineOfASquareIsTheFrameOfTheVectors(t *testing.T) {
	for _, v := range loadVectors(t).Pixels {
		if v.Name != "frame: evenodd" {
			continue
		}
		got := outlined(4, 4, unit/2, point{0, 0}, point{4 * unit, 0}, point{4 * unit, 4 * unit}, point{0, 4 * unit})
		for i, want := range v.Cov8 {
			if d := int(got[i]) - want; d < -1 || d > 1 { // the file's own tolerance
				t.Errorf("pixel %d,%d has coverage %d, want %d", i%4, i/4, got[i], want)
			}
		}
		return
	}
	t.Error("the vectors have no such frame")
}

// testdata/coverage.json: of a polygon that the band fills, or that has corners turned inwards, the outline is the
// polygon.
func TestOutlineOfASmallPolygonIsAllOfIt(t *testing.T) {
	checked := 0
	for _, v := range loadVectors(t).Pixels {
		if v.Kind != "polygon" || v.Rule == "evenodd" {
			continue
		}
		checked++
		var corners []point
		for _, p := range v.Points {
			corners = append(corners, point{rational(t, p[0]), rational(t, p[1])})
		}
		got := outlined(v.Grid[0], v.Grid[1], 40*unit, corners...)
		for i, want := range v.Cov8 {
			if d := int(got[i]) - want; d < -1 || d > 1 {
				t.Errorf("%s: pixel %d,%d has coverage %d, want %d", v.Name, i%v.Grid[0], i/v.Grid[0], got[i], want)
			}
		}
	}
	if checked < 15 {
		t.Errorf("only %d polygons checked", checked)
	}
}

// convex returns n corners on an ellipse, clockwise, in a frame of side pixels.
func convex(rng *rand.Rand, n, side int) []paint.Point {
	angles := make([]float64, n)
	for i := range angles {
		angles[i] = rng.Float64() * 2 * math.Pi
	}
	slices.Sort(angles)
	a, b := (0.2+0.28*rng.Float64())*float64(side), (0.2+0.28*rng.Float64())*float64(side)
	p := make([]paint.Point, n)
	for i, angle := range angles {
		p[i] = paint.Point{X: paint.Fixed((float64(side)/2 + a*math.Cos(angle)) * 64), Y: paint.Fixed((float64(side)/2 + b*math.Sin(angle)) * 64)}
	}
	return p
}

// Plane geometry in floating point: a point is in the band if it is nearer than the stroke to the line of an edge.
func TestOutlineIsWhatIsNearAnEdge(t *testing.T) {
	const side, fine = 60, 8
	for seed := range uint64(25) {
		rng := rand.New(rand.NewPCG(seed, 41))
		p := convex(rng, 3+rng.IntN(paint.MaxPoints-2), side)
		stroke := paint.Fixed(20 + rng.IntN(700))
		var l paint.List
		l.Outline(stroke, white, p...)
		f := frameOf(&l, side, side)
		for y := range side {
			for x := range side {
				band := 0
				for i := range fine * fine {
					px, py := float64(x)+(float64(i%fine)+0.5)/fine, float64(y)+(float64(i/fine)+0.5)/fine
					nearest := math.Inf(1)
					for j, a := range p {
						b := p[(j+1)%len(p)]
						dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
						if long := math.Hypot(dx, dy); long > 0 {
							nearest = min(nearest, (dx*(py*64-float64(a.Y))-dy*(px*64-float64(a.X)))/long)
						}
					}
					if nearest >= 0 && nearest < float64(stroke) {
						band++
					}
				}
				// 64 samples a pixel are up to half a sample off for every edge and every crossing column.
				got, want := float64(f[y*side+x]), 255*float64(band)/fine/fine
				if math.Abs(got-want) > 255.0/fine*1.5 {
					t.Fatalf("seed %d: %v, stroke %d/64: pixel %d,%d is %.0f, by samples %.0f", seed, p, stroke, x, y, got, want)
				}
			}
		}
	}
}

func frameOf(l *paint.List, w, h int) []uint8 {
	f := ground(w, h)
	clear(f.Pix)
	New(nil, nil).Draw(f, l, f.Bounds())
	out := make([]uint8, w*h)
	for i := range out {
		out[i] = f.Pix[4*i+3]
	}
	return out
}

func TestOutlineOfARectangleIsItsFrame(t *testing.T) {
	for stroke := paint.Fixed(1); stroke < 2000; stroke += 61 {
		b := paint.Box{Min: paint.Point{X: 333, Y: 190}, Max: paint.Point{X: 2900, Y: 2111}}
		corners := []paint.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
		var frame, there, back paint.List
		frame.Frame(b, 0, stroke, white)
		there.Outline(stroke, white, corners...)
		slices.Reverse(corners)
		back.Outline(stroke, white, corners...)
		want := frameOf(&frame, 50, 40)
		if !bytes.Equal(want, frameOf(&there, 50, 40)) || !bytes.Equal(want, frameOf(&back, 50, 40)) {
			t.Errorf("stroke %d/64: the outline is not the frame", stroke)
		}
	}
}

// Home's and away's plates are mirror images, whatever the order of their corners.
func TestOutlinesAreMirrored(t *testing.T) {
	const side = 64
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 42))
		p := convex(rng, 3+rng.IntN(6), side)
		stroke := paint.Fixed(rng.IntN(500))
		mirrored := slices.Clone(p)
		for i := range mirrored {
			mirrored[i].X = paint.Px(side) - mirrored[i].X
		}
		var l, m paint.List
		l.Outline(stroke, white, p...)
		m.Outline(stroke, white, mirrored...)
		a, b := frameOf(&l, side, side), frameOf(&m, side, side)
		for i, c := range a {
			if c != b[i/side*side+side-1-i%side] {
				t.Fatalf("seed %d: pixel %d,%d is %d, its mirror image %d", seed, i%side, i/side, c, b[i/side*side+side-1-i%side])
			}
		}
	}
}

func TestInwardStaysWithinItsMemory(t *testing.T) {
	for seed := range uint64(20000) {
		rng := rand.New(rand.NewPCG(seed, 43))
		corners := make([]point, 3+rng.IntN(6))
		shift := rng.IntN(28)
		for i := range corners {
			corners[i] = point{(int32(rng.Uint32()) >> 3) >> shift, (int32(rng.Uint32()) >> 3) >> shift}
		}
		var a, b [3 * paint.MaxPoints]point
		left := inward(a[:0], b[:0], corners, int32(rng.Uint32()>>4)>>rng.IntN(28))
		if len(left) > len(a) {
			t.Fatalf("seed %d: %d corners are left of %d", seed, len(left), len(corners))
		}
		low, high := slices.MinFunc(corners, byX).x, slices.MaxFunc(corners, byX).x
		for _, p := range left {
			if p.x < low || p.x > high {
				t.Fatalf("seed %d: a corner at %d is outside %d to %d", seed, p.x, low, high)
			}
		}
	}
}

func byX(a, b point) int { return int(a.x) - int(b.x) }
