package raster

import (
	"fmt"
	"image"
	"image/draw"
	"math"
	"testing"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// goFonts gives the outlines of the Go fonts as x/image reads them: face 0 regular, 1 bold.
type goFonts struct {
	faces  [2]*sfnt.Font
	buffer sfnt.Buffer
}

func newGoFonts(t testing.TB) *goFonts {
	t.Helper()
	f := &goFonts{}
	for i, data := range [][]byte{goregular.TTF, gobold.TTF} {
		face, err := sfnt.Parse(data)
		if err != nil {
			t.Fatal(err)
		}
		f.faces[i] = face
	}
	return f
}

func (f *goFonts) UnitsPerEm(id paint.FaceID) int32 {
	if int(id) >= len(f.faces) {
		return 1000
	}
	return int32(f.faces[id].UnitsPerEm())
}

func (f *goFonts) Outline(dst []paint.Segment, id paint.FaceID, g paint.GlyphID) []paint.Segment {
	if int(id) >= len(f.faces) || int(g) >= f.faces[id].NumGlyphs() {
		return dst
	}
	// At as many 64ths of a pixel as there are units an em, x/image's numbers are font units.
	segments, err := f.faces[id].LoadGlyph(&f.buffer, sfnt.GlyphIndex(g), fixed.Int26_6(f.faces[id].UnitsPerEm()), nil)
	if err != nil {
		return dst
	}
	for _, s := range segments {
		out := paint.Segment{Verb: paint.Verb(s.Op)}
		for i, a := range s.Args {
			out.Args[i].X, out.Args[i].Y = int32(a.X), -int32(a.Y)
		}
		dst = append(dst, out)
	}
	return dst
}

func (f *goFonts) index(t testing.TB, id paint.FaceID, r rune) paint.GlyphID {
	t.Helper()
	g, err := f.faces[id].GlyphIndex(&f.buffer, r)
	if err != nil || g == 0 {
		t.Fatalf("the Go fonts have no %q", r)
	}
	return paint.GlyphID(g)
}

var white = paint.Colour{R: 255, G: 255, B: 255, A: 255}

func glyphOp(face paint.FaceID, g paint.GlyphID, size paint.Fixed, origin paint.Point, box image.Rectangle) paint.Op {
	op := paint.Op{Shape: paint.Glyph, Face: face, Glyph: g, Size: size, Colour: white, Box: paint.BoxPx(box)}
	op.Points[0] = origin
	return op
}

type vertex struct{ x, y float64 }

// polygons returns the outline in pixels, each curve as enough chords for its size.
func polygons(outline []paint.Segment, em int32, size paint.Fixed, origin paint.Point) [][]vertex {
	scale := float64(size) / 64 / float64(em)
	at := func(a struct{ X, Y int32 }) vertex {
		return vertex{float64(origin.X)/64 + float64(a.X)*scale, float64(origin.Y)/64 - float64(a.Y)*scale}
	}
	chords := 32 + size.Ceil()
	var all [][]vertex
	for _, s := range outline {
		last := len(all) - 1
		switch s.Verb {
		case paint.MoveTo:
			all = append(all, []vertex{at(s.Args[0])})
		case paint.LineTo:
			all[last] = append(all[last], at(s.Args[0]))
		case paint.QuadTo:
			p, q, e := all[last][len(all[last])-1], at(s.Args[0]), at(s.Args[1])
			for i := 1; i <= chords; i++ {
				t := float64(i) / float64(chords)
				u, v, w := (1-t)*(1-t), 2*t*(1-t), t*t
				all[last] = append(all[last], vertex{u*p.x + v*q.x + w*e.x, u*p.y + v*q.y + w*e.y})
			}
		case paint.CubicTo:
			panic("the Go fonts have no cubic curves")
		}
	}
	return all
}

// reference draws the outline with golang.org/x/image/vector, below 512 pixels its integer path. Edges go in as pieces
// of at most 2 pixels: it rounds the slope once and adds it up row by row, which bends long ones by some 10 of 255.
func reference(outline [][]vertex, w, h int) []uint8 {
	z := vector.NewRasterizer(w, h)
	for _, p := range outline {
		z.MoveTo(float32(p[0].x), float32(p[0].y))
		for i, a := range p {
			b := p[(i+1)%len(p)]
			n := math.Ceil(math.Hypot(b.x-a.x, b.y-a.y) / 2)
			for k := 1.0; k <= n; k++ {
				z.LineTo(float32(a.x+(b.x-a.x)*k/n), float32(a.y+(b.y-a.y)*k/n))
			}
		}
		z.ClosePath()
	}
	z.DrawOp = draw.Src
	dst := image.NewAlpha(image.Rect(0, 0, w, h))
	z.Draw(dst, dst.Bounds(), image.Opaque, image.Point{})
	return dst.Pix
}

// exact returns the outline's area in pixel x,y, in 255ths: each contour clipped to the pixel, signed areas added.
func exact(outline [][]vertex, x, y int) float64 {
	sum := 0.0
	for _, p := range outline {
		for _, inside := range [4]func(vertex) float64{
			func(v vertex) float64 { return v.x - float64(x) },
			func(v vertex) float64 { return float64(x+1) - v.x },
			func(v vertex) float64 { return v.y - float64(y) },
			func(v vertex) float64 { return float64(y+1) - v.y },
		} {
			var kept []vertex
			for i, a := range p {
				b := p[(i+1)%len(p)]
				da, db := inside(a), inside(b)
				if da >= 0 {
					kept = append(kept, a)
				}
				if (da >= 0) != (db >= 0) {
					t := da / (da - db)
					kept = append(kept, vertex{a.x + (b.x-a.x)*t, a.y + (b.y-a.y)*t})
				}
			}
			p = kept
		}
		for i, a := range p {
			b := p[(i+1)%len(p)]
			sum += (a.x*b.y - a.y*b.x) / 2
		}
	}
	return math.Min(math.Abs(sum), 1) * 255
}

// eachGlyph draws letters and digits of the Go fonts at a size, each at another place within its pixel.
func eachGlyph(t *testing.T, size paint.Fixed, check func(t *testing.T, outline [][]vertex, got []uint8, side int)) {
	t.Helper()
	fonts := newGoFonts(t)
	r := New(fonts, nil)
	for i, c := range "0123456789:.ABGQRSWabegåßŁş&@%Ö" {
		t.Run(fmt.Sprintf("%c at %.2f px", c, float64(size)/64), func(t *testing.T) {
			face := paint.FaceID(i % 2)
			g := fonts.index(t, face, c)
			side := size.Ceil() + size.Ceil()/4 + 4
			origin := paint.Point{X: paint.Px(side/8) + paint.Fixed(i*5%64), Y: paint.Px(side-side/4) + paint.Fixed(i*11%64)}
			f := frame.New(side, side)
			r.Draw(f, &paint.List{Ops: []paint.Op{glyphOp(face, g, size, origin, f.Bounds())}}, f.Bounds())
			got := make([]uint8, side*side)
			for p := range got {
				got[p] = f.Pix[4*p+3]
			}
			check(t, polygons(fonts.Outline(nil, face, g), fonts.UnitsPerEm(face), size, origin), got, side)
		})
	}
}

// Reference: golang.org/x/image/vector, which keeps 9 fractional bits where we keep 10, and cuts coverage down.
// Measured: at most 2 of 255 apart.
func TestGlyphsAgreeWithTheReferenceRasteriser(t *testing.T) {
	const tolerance = 2
	for _, size := range []paint.Fixed{paint.Px(9), paint.Px(14) + 21, paint.Px(33), paint.Px(120) + 7, paint.Px(390)} {
		eachGlyph(t, size, func(t *testing.T, outline [][]vertex, got []uint8, side int) {
			ink := 0
			for p, want := range reference(outline, side, side) {
				ink += int(want)
				if d := int(got[p]) - int(want); d < -tolerance || d > tolerance {
					t.Errorf("pixel %d,%d has coverage %d, the reference %d; exact %.2f", p%side, p/side, got[p], want, exact(outline, p%side, p/side))
				}
			}
			if ink == 0 {
				t.Fatal("the reference drew nothing")
			}
		})
	}
}

// Plane geometry: the box filter's own definition, in floating point. Measured: at most 0.87 of 255, half of one being
// the rounding to 8 bits.
func TestGlyphsAreWithinOneStepOfTheirExactArea(t *testing.T) {
	for _, size := range []paint.Fixed{paint.Px(9), paint.Px(14) + 21, paint.Px(33)} {
		eachGlyph(t, size, func(t *testing.T, outline [][]vertex, got []uint8, side int) {
			for p, c := range got {
				if want := exact(outline, p%side, p/side); math.Abs(float64(c)-want) > 1 {
					t.Fatalf("pixel %d,%d has coverage %d, its exact area is %.2f", p%side, p/side, c, want)
				}
			}
		})
	}
}
