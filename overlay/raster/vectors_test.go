package raster

import (
	"encoding/json"
	"image"
	"math"
	"math/big"
	"os"
	"testing"

	"rafter/overlay/paint"
)

// vectors is testdata/coverage.json: plane geometry (Green's theorem, box filter), exact rational clipping for
// polygons, closed integrals for circles.
type vectors struct {
	Pixels []struct {
		Name   string
		Kind   string
		Rule   string
		Points [][2]string
		Rects  [][5]any
		Center [2]float64
		Radius float64
		Grid   [2]int
		Cov8   []int
	}
	AreaOnly []struct {
		Name  string
		Area  json.Number
		Shape areaShape
	} `json:"area_only"`
	FlattenQuadratic []struct {
		Points    [3][2]int32
		Tolerance float64
		Segments  int64
	} `json:"flatten_quadratic"`
}

type areaShape struct {
	Type          string
	X, Y, W, H, R float64
	Cx, Cy        float64
	Rx, Ry        float64
	P0, P1        [2]float64
	Width         float64
	Points        [][2]float64
}

func loadVectors(t *testing.T) vectors {
	t.Helper()
	var v vectors
	data, err := os.ReadFile("testdata/coverage.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// rational returns a fraction such as "3/10" in units, nearest.
func rational(t *testing.T, s string) int32 {
	t.Helper()
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		t.Fatalf("%q is not a fraction", s)
	}
	f, _ := r.Float64()
	return inUnits(f)
}

func inUnits(v float64) int32 { return int32(math.Round(v * unit)) }

// covered returns the coverage, row by row, of what build adds within w × h pixels.
func covered(w, h int, build func(*Rasteriser)) []uint8 {
	r := New(nil, nil)
	r.scan.begin(image.Rect(0, 0, w, h))
	build(r)
	out := make([]uint8, w*h)
	for r.scan.next() {
		for y := r.scan.y; y < r.scan.until; y++ {
			for _, run := range r.scan.runs {
				for x := run.x0; x < run.x1; x++ {
					out[y*w+int(x)] = run.coverage
				}
			}
		}
	}
	return out
}

func contourOf(points ...point) func(*Rasteriser) {
	return func(r *Rasteriser) {
		r.scan.move(points[0])
		for _, p := range points[1:] {
			r.scan.line(p)
		}
		r.scan.close()
	}
}

// The file's own tolerance: 8-bit coverage may differ by 1.
func TestCoverageIsTheExactAreaWithinOneStep(t *testing.T) {
	checked, evenOdd := 0, 0
	for _, v := range loadVectors(t).Pixels {
		if v.Rule == "evenodd" { // this rasteriser fills by the non-zero rule only
			evenOdd++
			continue
		}
		got := covered(v.Grid[0], v.Grid[1], func(r *Rasteriser) {
			switch v.Kind {
			case "polygon":
				var corners []point
				for _, p := range v.Points {
					corners = append(corners, point{rational(t, p[0]), rational(t, p[1])})
				}
				contourOf(corners...)(r)
			case "rects":
				for _, q := range v.Rects {
					r.rounded(point{rational(t, q[0].(string)), rational(t, q[1].(string))},
						point{rational(t, q[2].(string)), rational(t, q[3].(string))}, 0)
				}
			case "circle":
				radius := inUnits(v.Radius)
				r.ellipse(point{inUnits(v.Center[0]), inUnits(v.Center[1])}, radius, radius)
			default:
				t.Fatalf("%s: kind %q is not known to this test", v.Name, v.Kind)
			}
		})
		checked++
		for i, want := range v.Cov8 {
			if d := int(got[i]) - want; d < -1 || d > 1 {
				t.Errorf("%s: pixel %d,%d has coverage %d, want %d", v.Name, i%v.Grid[0], i/v.Grid[0], got[i], want)
			}
		}
	}
	if checked < 20 || evenOdd != 2 {
		t.Errorf("%d shapes checked and %d left out as even-odd; the file should give at least 20, and 2", checked, evenOdd)
	}
}

// The file's own tolerance: 1e-3 × perimeter.
func TestSumOfCoverageIsTheArea(t *testing.T) {
	for _, v := range loadVectors(t).AreaOnly {
		if v.Shape.Type == "" { // the quarter disc by one cubic: a remark on a constant we do not use
			continue
		}
		t.Run(v.Name, func(t *testing.T) {
			want, err := v.Area.Float64()
			if err != nil {
				t.Fatal(err)
			}
			build, perimeter := v.Shape.build(t)
			sum := 0
			for _, c := range covered(128, 64, build) {
				sum += int(c)
			}
			if got := float64(sum) / 255; math.Abs(got-want) > 1e-3*perimeter {
				t.Errorf("area is %.4f, want %.4f within %.4f", got, want, 1e-3*perimeter)
			}
		})
	}
}

// build returns the shape, moved by 16,8 where it would leave the grid, and a lower bound of its perimeter.
func (a areaShape) build(t *testing.T) (func(*Rasteriser), float64) {
	t.Helper()
	at := func(x, y float64) point { return point{inUnits(x + 16), inUnits(y + 8)} }
	switch a.Type {
	case "rrect":
		return func(r *Rasteriser) { r.rounded(at(a.X, a.Y), at(a.X+a.W, a.Y+a.H), inUnits(a.R)) }, 1.5 * (a.W + a.H)
	case "ellipse":
		return func(r *Rasteriser) { r.ellipse(at(a.Cx, a.Cy), inUnits(a.Rx), inUnits(a.Ry)) }, 4 * max(a.Rx, a.Ry)
	case "sector":
		fixed := func(v float64) paint.Fixed { return paint.Fixed(v * 64) }
		return func(r *Rasteriser) {
			r.ring(&paint.Op{Sweep: turn / 4, Box: paint.Box{
				Min: paint.Point{X: fixed(16 - a.R), Y: fixed(16 - a.R)},
				Max: paint.Point{X: fixed(16 + a.R), Y: fixed(16 + a.R)},
			}})
		}, 3 * a.R
	case "line":
		dx, dy := a.P1[0]-a.P0[0], a.P1[1]-a.P0[1]
		long := math.Hypot(dx, dy)
		if dy == 0 { // the capsule lies level: a pill
			return func(r *Rasteriser) {
				r.rounded(at(a.P0[0]-a.Width/2, a.P0[1]-a.Width/2), at(a.P1[0]+a.Width/2, a.P1[1]+a.Width/2), reach)
			}, 2 * long
		}
		ux, uy := dx/long*a.Width/2, dy/long*a.Width/2
		return contourOf(at(a.P0[0]-ux+uy, a.P0[1]-uy-ux), at(a.P1[0]+ux+uy, a.P1[1]+uy-ux),
			at(a.P1[0]+ux-uy, a.P1[1]+uy+ux), at(a.P0[0]-ux-uy, a.P0[1]-uy+ux)), 2 * long
	}
	var p []point
	for _, q := range a.Points {
		p = append(p, at(q[0], q[1]))
	}
	chord := math.Hypot(a.Points[len(p)-1][0]-a.Points[0][0], a.Points[len(p)-1][1]-a.Points[0][1])
	return func(r *Rasteriser) {
		r.scan.move(p[0])
		switch a.Type {
		case "quad":
			r.scan.quad(p[1], p[2])
		case "cubic":
			r.scan.cubic(p[1], p[2], p[3])
		default:
			t.Fatalf("shape %q is not known to this test", a.Type)
		}
		r.scan.close()
	}, 2 * chord
}

// Number of chords by the bound |a−2b+c| / 4n²; the file measured the deviations.
func TestQuadraticsAreCutIntoTheFewestSafeChords(t *testing.T) {
	rows := loadVectors(t).FlattenQuadratic
	if len(rows) == 0 {
		t.Fatal("no rows")
	}
	for _, v := range rows {
		const scale = 20 // makes the tolerances whole
		var p [3]point
		for i, q := range v.Points {
			p[i] = point{q[0] * scale, q[1] * scale}
		}
		if got := quadChords(p[0], p[1], p[2], int64(v.Tolerance*scale)); got != v.Segments {
			t.Errorf("%v within %v: %d chords, want %d", v.Points, v.Tolerance, got, v.Segments)
		}
	}
}

func TestSineIsExactToEightUnits(t *testing.T) {
	for x := int64(0); x <= quarterAngle; x += 997 {
		want := math.Sin(float64(x)/one) * one
		if got := float64(sine(x)); math.Abs(got-want) > 8 {
			t.Fatalf("sine(%d) = %.0f, want %.2f", x, got, want)
		}
	}
	if sine(0) != 0 || sine(quarterAngle) != one {
		t.Errorf("sine is %d at 0 and %d at π/2, want 0 and %d", sine(0), sine(quarterAngle), int64(one))
	}
}

func TestRootCutsDown(t *testing.T) {
	for _, n := range []uint64{0, 1, 2, 3, 4, 8, 9, 15, 16, 1 << 32, 1<<32 - 1, 1<<62 + 12345, 1<<63 - 1, 1<<64 - 1} {
		r := uint64(root(n))
		if r*r > n || (r+1 < 1<<32 && (r+1)*(r+1) <= n) {
			t.Errorf("root(%d) = %d", n, r)
		}
	}
}

func TestCircleStaysWithinItsDeviation(t *testing.T) {
	var q quarter
	for _, pixels := range []int32{1, 3, 17, 200, 4320, 9000} {
		radius := pixels * unit
		q.divide(radius)
		previous := q.at(point{}, radius, radius, 0, 0)
		for i := 1; i <= q.n; i++ {
			p := q.at(point{}, radius, radius, 0, i)
			middle := math.Hypot(float64(p.x+previous.x)/2, float64(p.y+previous.y)/2)
			for _, d := range []float64{math.Hypot(float64(p.x), float64(p.y)) - float64(radius), middle - float64(radius)} {
				if math.Abs(d) > unit/256+1 { // one unit for the corners' rounding
					t.Fatalf("radius %d, part %d of %d: %.2f units off the circle", pixels, i, q.n, d)
				}
			}
			previous = p
		}
	}
}
