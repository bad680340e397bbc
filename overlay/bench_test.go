package overlay

import (
	"fmt"
	"image"
	"testing"

	"rafter/overlay/content"
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
	for _, name := range []string{"bug", "wall", "interval", "timeout"} {
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

// BenchmarkMotion is a frame of a score that rolls, a foul's mark that grows and a timeout that opens: 0 allocations.
func BenchmarkMotion(b *testing.B) {
	for _, name := range []string{"bug", "wall", "timeout"} {
		b.Run(name, func(b *testing.B) {
			r := renderer(b, options(b, name, image.Pt(1920, 1080)))
			c, old, i := game(), game(), 0
			old.Teams[0].Score, old.Teams[1].Fouls = 36, 2
			c.Timeout = content.Timeout{On: true, By: "MOOR", Team: content.Away, Text: content.Reading("0:30")}
			remember(&c, &old, 0)
			step := func() {
				r.Render(&c, content.Instant(i%18)*16_666_667)
				i++
			}
			for range 18 {
				step()
			}
			b.ReportAllocs()
			for b.Loop() {
				step()
			}
		})
	}
}

// BenchmarkRepaint is the whole frame, fonts warm: budget 4 ms for the bug's box and 12 ms for the others at 2160p.
func BenchmarkRepaint(b *testing.B) {
	for _, name := range []string{"bug", "wall", "interval", "timeout", "lineup", "periods", "final", "lower"} {
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
