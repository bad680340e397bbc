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

// BenchmarkWhole draws one operation over all of a 2160p frame, in bands of 64 rows as the renderer does. What lies
// under it is flat for the first, dithered for those that say so.
func BenchmarkWhole(b *testing.B) {
	const w, h = 3840, 2160
	all := image.Rect(0, 0, w, h)
	dark, light := paint.Colour{R: 30, G: 20, B: 10, A: 255}, paint.Colour{R: 200, G: 160, B: 90, A: 255}
	clear, thin := paint.Colour{A: 0}, paint.Colour{R: 90, G: 20, B: 10, A: 160}
	photo := frame.New(w, h)
	for i := range w * h {
		copy(photo.Pix[4*i:], []byte{byte(i), byte(i >> 4), byte(i >> 8), 255})
	}
	rect := func(l *paint.List, c paint.Colour, axis paint.Axis, to paint.Colour) {
		l.Rect(paint.BoxPx(all), 0, c)
		l.Grade(len(l.Ops)-1, axis, to)
	}
	for _, row := range []struct {
		name string
		draw func(l *paint.List)
	}{
		{"flat", func(l *paint.List) { rect(l, dark, paint.Flat, clear) }},
		{"scrim", func(l *paint.List) { rect(l, thin, paint.Flat, clear) }},
		{"down", func(l *paint.List) { rect(l, dark, paint.Down, light) }},
		{"across", func(l *paint.List) { rect(l, dark, paint.Across, light) }},
		{"down_thin", func(l *paint.List) { rect(l, thin, paint.Down, clear) }},
		{"across_thin", func(l *paint.List) { rect(l, thin, paint.Across, clear) }},
		{"down_under_scrim", func(l *paint.List) { rect(l, dark, paint.Down, light); rect(l, thin, paint.Flat, clear) }},
		{"shadow", func(l *paint.List) { l.Shadow(px(30, 30, w-30, h-30), paint.Px(30), paint.Px(26), thin) }},
		{"photo", func(l *paint.List) { l.Image(all, 0, 0, 255) }},
		{"photo_half", func(l *paint.List) { l.Image(all, 0, 0, 128) }},
		{"logo", func(l *paint.List) { l.Image(all, 0, 1, 255) }},
		{"six_panels", func(l *paint.List) {
			rect(l, dark, paint.Down, light)
			for i := range 6 {
				box := paint.BoxPx(image.Rect(100+i%3*1250, 100+i/3*1000, 1200+i%3*1250, 1000+i/3*1000))
				l.Shadow(box, paint.Px(30), paint.Px(26), thin)
				l.Rect(box, paint.Px(30), light)
				l.Grade(len(l.Ops)-1, paint.Across, dark)
				l.Frame(box, paint.Px(30), paint.Px(4), dark)
			}
			l.Image(image.Rect(1700, 900, 2100, 1300), 0, 2, 255)
		}},
	} {
		b.Run(row.name, func(b *testing.B) {
			var l paint.List
			row.draw(&l)
			f, r := frame.New(w, h), New(nil, pictures{photo, logo(w, h), logo(400, 400)})
			b.SetBytes(int64(len(f.Pix)))
			b.ReportAllocs()
			draw := func() {
				for y := 0; y < h; y += 64 {
					r.Draw(f, &l, image.Rect(0, y, w, y+64))
				}
			}
			draw()
			for b.Loop() {
				draw()
			}
		})
	}
}
