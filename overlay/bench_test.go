package overlay

import (
	"fmt"
	"image"
	"testing"
)

// BenchmarkUnchanged: budget 1 µs, 0 allocations.
func BenchmarkUnchanged(b *testing.B) {
	r := renderer(b, options(b, "wall", image.Pt(1920, 1080)))
	c := game()
	r.Render(&c, 0)
	b.ReportAllocs()
	for b.Loop() {
		r.Render(&c, 0)
	}
}

// BenchmarkTick is a second of the game clock: budget 20 µs, 0 allocations at 1080p.
func BenchmarkTick(b *testing.B) {
	for _, name := range []string{"bug", "wall"} {
		b.Run(name, func(b *testing.B) {
			r := renderer(b, options(b, name, image.Pt(1920, 1080)))
			c, readings, i := game(), ticks(), 0
			for _, c.Clock = range readings {
				r.Render(&c, 0)
			}
			b.ReportAllocs()
			for b.Loop() {
				c.Clock = readings[i%len(readings)]
				i++
				r.Render(&c, 0)
			}
		})
	}
}

// BenchmarkRepaint is the whole frame, fonts warm: budget 4 ms for the bug's box and 12 ms for the wall at 2160p.
func BenchmarkRepaint(b *testing.B) {
	for _, name := range []string{"bug", "wall"} {
		for _, size := range []image.Point{{1280, 720}, {1920, 1080}, {3840, 2160}} {
			b.Run(fmt.Sprintf("%s/%d", name, size.Y), func(b *testing.B) {
				r := renderer(b, options(b, name, size))
				c := game()
				for b.Loop() {
					r.Repaint(&c, 0)
				}
			})
		}
	}
}

// BenchmarkCold is the first frame of a new renderer: nothing is remembered, the fonts' outlines and glyphs included.
func BenchmarkCold(b *testing.B) {
	for _, name := range []string{"bug", "wall"} {
		for _, size := range []image.Point{{1280, 720}, {1920, 1080}, {3840, 2160}} {
			b.Run(fmt.Sprintf("%s/%d", name, size.Y), func(b *testing.B) {
				o := options(b, name, size)
				fonts := o.Fonts
				c := game()
				for b.Loop() {
					b.StopTimer()
					o.Fonts = fonts.Clone()
					r := renderer(b, o)
					b.StartTimer()
					r.Render(&c, 0)
				}
			})
		}
	}
}
