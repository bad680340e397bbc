package raster

import (
	"image"
	"image/color"
	"image/draw"
	"testing"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

func px(x0, y0, x1, y1 int) paint.Box { return paint.BoxPx(image.Rect(x0, y0, x1, y1)) }

// 33 MB: the lower bound of any full-screen graphic at 2160p.
func BenchmarkFillWholeFrame2160p(b *testing.B) {
	f, r := frame.New(3840, 2160), New(nil, nil)
	var l paint.List
	l.Rect(px(0, 0, 3840, 2160), 0, paint.Colour{R: 30, G: 20, B: 10, A: 255})
	b.SetBytes(int64(len(f.Pix)))
	for b.Loop() {
		r.Draw(f, &l, f.Bounds())
	}
}

// The plain twin of the fill: one copy of 33 MB.
func BenchmarkCopyWholeFrame2160p(b *testing.B) {
	f, g := frame.New(3840, 2160), frame.New(3840, 2160)
	b.SetBytes(int64(len(f.Pix)))
	for b.Loop() {
		copy(f.Pix, g.Pix)
	}
}

func BenchmarkScrimWholeFrame2160p(b *testing.B) {
	f, r := frame.New(3840, 2160), New(nil, nil)
	var l paint.List
	l.Rect(px(0, 0, 3840, 2160), 0, paint.Colour{R: 30, G: 20, B: 10, A: 100})
	b.SetBytes(int64(len(f.Pix)))
	for b.Loop() {
		r.Draw(f, &l, f.Bounds())
	}
}

func BenchmarkRoundedPanel(b *testing.B) {
	f, r := frame.New(1920, 1080), New(nil, nil)
	var l paint.List
	l.Rect(px(100, 900, 800, 1000), paint.Px(16), paint.Colour{R: 30, G: 20, B: 10, A: 255})
	for b.Loop() {
		r.Draw(f, &l, f.Bounds())
	}
}

func BenchmarkDot(b *testing.B) {
	f, r := frame.New(1920, 1080), New(nil, nil)
	var l paint.List
	l.Rect(px(100, 900, 114, 914), paint.Px(7), white)
	for b.Loop() {
		r.Draw(f, &l, f.Bounds())
	}
}

func glyphList(tb testing.TB, fonts *goFonts, text string, size paint.Fixed, at image.Point) paint.List {
	var l paint.List
	for i, c := range text {
		x := at.X + i*int(size)*5/8/64
		box := image.Rect(x-size.Ceil()/8, at.Y-size.Ceil(), x+size.Ceil(), at.Y+size.Ceil()/3)
		l.Ops = append(l.Ops, glyphOp(1, fonts.index(tb, 1, c), size, paint.Point{X: paint.Px(x), Y: paint.Px(at.Y)}, box))
	}
	return l
}

func benchmarkText(b *testing.B, text string, size paint.Fixed, cold bool) {
	f, fonts := frame.New(3840, 2160), newGoFonts(b)
	l := glyphList(b, fonts, text, size, image.Pt(100, 1500))
	r := New(fonts, nil)
	for b.Loop() {
		if cold {
			clear(r.glyphs.masks)
			r.glyphs.rows, r.glyphs.runs = r.glyphs.rows[:0], r.glyphs.runs[:0]
		}
		r.Draw(f, &l, f.Bounds())
	}
}

func BenchmarkSmallTextWarm(b *testing.B)   { benchmarkText(b, "Quiet Harbor", paint.Px(24), false) }
func BenchmarkSmallTextCold(b *testing.B)   { benchmarkText(b, "Quiet Harbor", paint.Px(24), true) }
func BenchmarkLargeDigitsWarm(b *testing.B) { benchmarkText(b, "12:08", paint.Px(1000), false) }
func BenchmarkLargeDigitsCold(b *testing.B) { benchmarkText(b, "12:08", paint.Px(1000), true) }

// What a tick of the clock damages at 1080p: the panel and two digits inside their own boxes.
func BenchmarkClockDigits(b *testing.B) {
	f, fonts := frame.New(1920, 1080), newGoFonts(b)
	var l paint.List
	l.Rect(px(100, 900, 800, 1000), paint.Px(16), paint.Colour{R: 30, G: 20, B: 10, A: 255})
	l.Ops = append(l.Ops, glyphList(b, fonts, "12:08", paint.Px(56), image.Pt(400, 960)).Ops...)
	clip := image.Rect(400+3*35, 960-42, 400+5*35, 962)
	r := New(fonts, nil)
	r.Draw(f, &l, clip)
	b.ReportAllocs()
	for b.Loop() {
		r.Draw(f, &l, clip)
	}
}

// The plain twin of the clock's digits: the same panel filled and the same two digits by font.Drawer.
func BenchmarkClockDigitsPlain(b *testing.B) {
	parsed, err := opentype.Parse(gobold.TTF)
	if err != nil {
		b.Fatal(err)
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 56, DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		b.Fatal(err)
	}
	dst := image.NewRGBA(image.Rect(0, 0, 1920, 1080))
	clip := image.Rect(400+3*35, 960-42, 400+5*35, 962)
	panel := image.NewUniform(color.RGBA{30, 20, 10, 255})
	d := font.Drawer{Dst: dst.SubImage(clip).(*image.RGBA), Src: image.White, Face: face}
	b.ReportAllocs()
	for b.Loop() {
		draw.Draw(dst, clip, panel, image.Point{}, draw.Src)
		d.Dot = fixed.P(400+3*35, 960)
		d.DrawString("08")
	}
}
