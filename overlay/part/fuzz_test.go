package part

import (
	"image"
	"testing"
	"testing/fstest"

	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// FuzzDraw draws whatever can be read as a theme: nothing leaves the graphic's box, and the box does not leave the
// picture. What is fuzzed is the text after the colours.
func FuzzDraw(f *testing.F) {
	g := open(f)
	f.Fuzz(func(t *testing.T, parts string) {
		look, err := theme.Parse(fstest.MapFS{theme.File: {Data: []byte(head + parts)}}, fstest.MapFS{})
		if err != nil {
			return
		}
		c := game()
		c.Timeout = content.Timeout{On: true, By: "MOOR", Team: content.Away, Text: content.Reading("0:39")}
		c.Lower = content.Lower{Team: content.Home, Number: "12", Name: "Dara Reed"}
		c.Teams[0].Bonus, c.Teams[1].Colour, c.Arrow = content.Two, c.Teams[0].Colour, content.Home
		c.Teams[0].Count, c.Teams[0].Players[0] = 1, content.Player{Number: "4", Name: "Dara Reed", Fouls: 2, OnFloor: true}
		c.Periods = content.Periods{Labels: [content.MaxPeriods]string{"1st", "2nd"}, Count: 2, Begun: 1}
		at := content.Instant(2000) * millisecond
		c.Past.Score[0] = content.Was[int]{Value: 36, At: at - 100*millisecond, Changed: true}
		c.Past.Timeout = content.Was[content.Timeout]{At: at - 50*millisecond, Changed: true}
		c.Past.Fouls[0] = content.Was[int]{Value: 1, At: at - 10*millisecond, Changed: true}
		for _, size := range []image.Point{{320, 180}, {900, 1000}, {180, 320}} {
			hand, err := pen.New(look, g.fonts, size)
			if err != nil {
				return // of a font that is not there
			}
			p := New(hand, false)
			for _, name := range theme.Graphics() {
				box := p.Box(name)
				if !box.In(image.Rectangle{Max: size}) {
					t.Fatalf("the box of %s is %v in a picture of %v", name, box, size)
				}
				var l paint.List
				p.Draw(name, &c, at, &l)
				for _, op := range l.Ops {
					if !op.Bounds().In(box) {
						t.Fatalf("%s at %v: %+v leaves %v", name, size, op, box)
					}
				}
			}
		}
	})
}
