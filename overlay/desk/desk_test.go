package desk

import (
	"image"
	"io/fs"
	"testing"

	"rafter/assets"
	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/text"
	"rafter/overlay/theme"
	"rafter/themes"
)

type fixture struct {
	theme *theme.Theme
	fonts *text.Fonts
}

func load(t testing.TB) fixture {
	t.Helper()
	sub, err := fs.Sub(themes.FS, "maple")
	if err != nil {
		t.Fatal(err)
	}
	th, err := theme.Parse(sub, themes.FS)
	if err != nil {
		t.Fatal(err)
	}
	fonts, err := text.Load(assets.FS)
	if err != nil {
		t.Fatal(err)
	}
	return fixture{th, fonts}
}

func (f fixture) pen(t testing.TB, size image.Point) *pen.Pen {
	t.Helper()
	p, err := pen.New(f.theme, f.fonts, size)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func (f fixture) draw(t testing.TB, name string, size image.Point, c *content.Content) []paint.Op {
	t.Helper()
	var l paint.List
	p := f.pen(t, size)
	p.Begin(&l, image.Rectangle{Max: size})
	map[string]func(*pen.Pen, *content.Content){"strip": Strip, "card": Card, "sheet": Sheet, "code": Code}[name](p, c)
	return l.Ops
}

func polygons(ops []paint.Op) []paint.Op {
	var found []paint.Op
	for _, op := range ops {
		if op.Shape == paint.Polygon {
			found = append(found, op)
		}
	}
	return found
}

// under returns the colour of the last filled shape below the middle of a glyph; thin ones, which only cross it, are passed over.
func under(ops []paint.Op, glyph paint.Op) (paint.Colour, bool) {
	x, y := (glyph.Box.Min.X+glyph.Box.Max.X)/2, (glyph.Box.Min.Y+glyph.Box.Max.Y)/2
	for i := len(ops) - 1; i >= 0; i-- {
		o := &ops[i]
		thin := min(o.Box.Max.X-o.Box.Min.X, o.Box.Max.Y-o.Box.Min.Y) < (glyph.Box.Max.Y-glyph.Box.Min.Y)/2
		if o.Shape != paint.Glyph && o.Shape != paint.Arc && o.Stroke == 0 && !thin &&
			o.Box.Min.X <= x && x < o.Box.Max.X && o.Box.Min.Y <= y && y < o.Box.Max.Y {
			return o.Colour, true
		}
	}
	return paint.Colour{}, false
}

func someDesk() content.Desk {
	d := content.Desk{Last: "score home 2 by 12", LastNumber: 47, Entry: "home foul by 1_", Wrong: "The disk is full", HoldFor: "clear", Held: 30000, Card: &content.Card{Title: "Keys", Note: "The officials stand above this."}}
	d.AddHint("Space", "start")
	d.Card.Add(content.Act{Does: "Clock"})
	d.Card.Add(content.Act{Does: "Start", Home: content.Keys{Caps: [2]string{"Space"}}})
	d.Card.Add(content.Act{Does: "More"})
	d.Card.Add(content.Act{Does: "Set", Home: content.Keys{Caps: [2]string{"T", "`"}, Says: "left of 1"}, Away: content.Keys{Caps: [2]string{"Y", ";"}}, Typed: "12", Gives: "clock set 0:12"})
	return d
}
