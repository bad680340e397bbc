package raster

import (
	"image"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// pictures serves frames by their number.
type pictures []*frame.Frame

func (p pictures) Picture(id paint.PictureID) ([]byte, int, int) {
	if int(id) >= len(p) {
		return nil, 0, 0
	}
	return p[id].Pix, p[id].W, p[id].H
}

// logo is a picture with all there is: opaque and transparent parts, and soft ones between.
func logo(w, h int) *frame.Frame {
	f := frame.New(w, h)
	for i := range w * h {
		x, y := i%w, i/w
		a := byte(min(255, max(0, 400*y/h-70)))
		copy(f.Pix[4*i:], []byte{frame.Premultiply(byte(x), a), frame.Premultiply(byte(y), a), frame.Premultiply(90, a), a})
	}
	return f
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
