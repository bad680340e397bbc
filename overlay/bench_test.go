package overlay

import (
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/overlaytest"
	"rafter/overlay/theme"
)

// inEveryTheme runs a benchmark for each shipped theme and each of the graphics: NAME/THEME/GRAPHIC.
func inEveryTheme(b *testing.B, graphics []string, run func(b *testing.B, look, name string)) {
	for _, look := range overlaytest.Themes(b) {
		for _, name := range graphics {
			b.Run(look+"/"+name, func(b *testing.B) { run(b, look, name) })
		}
	}
}

// busy is a game with all that a graphic is shown for. Teams and players are invented.
func busy(name string) content.Content {
	c := game()
	c.Running, c.Next = true, "3rd"
	c.Periods = content.Periods{Count: 4, Begun: 2}
	copy(c.Periods.Labels[:], []string{"1st", "2nd", "3rd", "4th"})
	for t := range c.Teams {
		team := &c.Teams[t]
		team.ByPeriod[0], team.ByPeriod[1], team.Floor = team.Score-17, 17, 5
		for i := range team.Count {
			team.Players[i].Name = "Mara Ellistone"
		}
	}
	switch name {
	case "timeout":
		c.Timeout = content.Timeout{On: true, By: "MOOR", Team: content.Away, Kind: "FULL", Text: content.Reading("0:30")}
	case "interval":
		c.Phase, c.Label, c.FoulsClear = content.Interval, "INT", true
	case "final":
		c.Phase, c.Label, c.Winner = content.Over, "FINAL", content.Away
	case "lower":
		c.Lower = content.Lower{Team: content.Home, Number: "12", Name: "Mara Ellistone", Points: 11, Fouls: 2}
	}
	return c
}

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
	inEveryTheme(b, []string{"bug", "wall", "interval", "timeout"}, func(b *testing.B, look, name string) {
		r := renderer(b, optionsIn(b, look, name, image.Pt(1920, 1080)))
		c, readings, i := busy(name), ticks(), 0
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

// BenchmarkMotion is a frame of a score that rolls, a foul's mark that grows and a timeout that opens: 0 allocations.
// Its share is how much of the box is painted, in percent.
func BenchmarkMotion(b *testing.B) {
	const frames = 18 // of motion, at 60 a second
	inEveryTheme(b, []string{"bug", "wall", "timeout"}, func(b *testing.B, look, name string) {
		r := renderer(b, optionsIn(b, look, name, image.Pt(1920, 1080)))
		c, old, i, painted := busy("timeout"), busy(""), 0, 0
		old.Teams[0].Score, old.Teams[1].Fouls = 36, 2
		remember(&c, &old, 0)
		step := func() {
			_, damage := r.Render(&c, content.Instant(i%frames)*16_666_667)
			for _, d := range damage.Rects() {
				painted += d.Dx() * d.Dy()
			}
			i++
		}
		for range frames + 1 { // the first of all is whole
			step()
		}
		i, painted = 1, 0
		b.ReportAllocs()
		for b.Loop() {
			step()
		}
		box := r.Box()
		b.ReportMetric(100*float64(painted)/float64(i-1)/float64(box.Dx()*box.Dy()), "share")
	})
}

// BenchmarkRepaint is the whole graphic at 2160p, fonts warm: budget 4 ms for the bug's box and 12 ms for a full screen.
func BenchmarkRepaint(b *testing.B) {
	all := []string{"bug", "wall", "interval", "timeout", "lineup", "periods", "final", "lower"}
	inEveryTheme(b, all, func(b *testing.B, look, name string) {
		r := renderer(b, optionsIn(b, look, name, image.Pt(3840, 2160)))
		c := busy(name)
		r.Repaint(&c, 0)
		b.ReportAllocs()
		for b.Loop() {
			r.Repaint(&c, 0)
		}
	})
}

// BenchmarkRepaintPlain is what the whole graphics are compared with: one opaque colour over the frame at 2160p.
func BenchmarkRepaintPlain(b *testing.B) {
	dst := image.NewRGBA(image.Rect(0, 0, 3840, 2160))
	ground := image.NewUniform(color.RGBA{0xe6, 0xc4, 0x91, 255})
	for b.Loop() {
		draw.Draw(dst, dst.Rect, ground, image.Point{}, draw.Src)
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

// BenchmarkLoad is a theme from its folder to a first renderer, its places laid out at 1080p: budget 50 ms.
func BenchmarkLoad(b *testing.B) {
	inEveryTheme(b, []string{"wall"}, func(b *testing.B, look, name string) {
		fonts := optionsIn(b, look, name, image.Pt(1920, 1080)).Fonts
		for b.Loop() {
			renderer(b, Options{Theme: overlaytest.Theme(b, look), Fonts: fonts, Graphic: name, Size: image.Pt(1920, 1080)})
		}
	})
}

// BenchmarkLoadJSON is what that is compared with: the graphics of maple as JSON, read by the standard library.
func BenchmarkLoadJSON(b *testing.B) {
	text, err := json.Marshal(options(b, "wall", image.Pt(1920, 1080)).Theme.Graphics)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		var graphics []theme.Graphic
		if err := json.Unmarshal(text, &graphics); err != nil {
			b.Fatal(err)
		}
	}
}
