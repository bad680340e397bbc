package overlay

import (
	"image"
	"image/color"
	"image/draw"
	"testing"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"rafter/assets"
)

// BenchmarkTickPlain is the plain twin of BenchmarkTick/bug: the same readings in the same face and size at
// 1080p, drawn whole by font.Drawer on the ground that it fills behind them.
func BenchmarkTickPlain(b *testing.B) {
	const cap = 60 * 1080 / 1000 // pixels; clock of the bug in theme maple
	data, err := assets.FS.ReadFile("fonts/BarlowCondensed_600SemiBold.ttf")
	if err != nil {
		b.Fatal(err)
	}
	parsed, err := opentype.Parse(data)
	if err != nil {
		b.Fatal(err)
	}
	of := func(em float64) font.Face {
		face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: em, DPI: 72, Hinting: font.HintingNone})
		if err != nil {
			b.Fatal(err)
		}
		return face
	}
	face := of(1000 * cap * 64 / float64(of(1000).Metrics().CapHeight))
	dst := image.NewRGBA(image.Rect(0, 0, 1920, 1080))
	ground := image.NewUniform(color.RGBA{0xe6, 0xc4, 0x91, 255})
	d := font.Drawer{Dst: dst, Src: image.NewUniform(color.RGBA{0x20, 0x15, 0x0f, 255}), Face: face}
	readings, i := ticks(), 0
	width := d.MeasureString(readings[0].String()).Ceil()
	box := image.Rect(800, 900, 800+width, 900+cap)
	b.ReportAllocs()
	for b.Loop() {
		draw.Draw(dst, box, ground, image.Point{}, draw.Src)
		d.Dot = fixed.P(box.Min.X, box.Max.Y)
		d.DrawString(readings[i%len(readings)].String())
		i++
	}
}
