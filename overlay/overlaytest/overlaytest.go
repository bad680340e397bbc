// Package overlaytest is what tests of several rooms draw with and look for: the themes and fonts that ship, an operator's
// strip with all that it can say, and shapes in a display list. It must not draw, nor be imported outside tests.
package overlaytest

import (
	"io/fs"
	"testing"

	"rafter/assets"
	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/text"
	"rafter/overlay/theme"
	"rafter/themes"
)

// Themes lists the names of the themes that ship.
func Themes(t testing.TB) (names []string) {
	t.Helper()
	folders, err := fs.ReadDir(themes.FS, ".")
	if err != nil || len(folders) == 0 {
		t.Fatal(folders, err)
	}
	for _, f := range folders {
		names = append(names, f.Name())
	}
	return names
}

// Theme reads one of them.
func Theme(t testing.TB, name string) *theme.Theme {
	t.Helper()
	folder, err := fs.Sub(themes.FS, name)
	if err != nil {
		t.Fatal(err)
	}
	look, err := theme.Parse(folder, themes.FS)
	if err != nil {
		t.Fatal(err)
	}
	return look
}

// Fonts loads the fonts that ship.
func Fonts(t testing.TB) *text.Fonts {
	t.Helper()
	fonts, err := text.Load(assets.FS)
	if err != nil {
		t.Fatal(err)
	}
	return fonts
}

// Desk is a strip and a card that say something of each kind.
func Desk() content.Desk {
	d := content.Desk{Last: "score home 2 by 12", LastNumber: 47, Entry: "home foul by 1_", Wrong: "The disk is full", HoldFor: "clear", Held: 30000, Card: &content.Card{Title: "Keys", Note: "The officials stand above this."}}
	d.AddHint("Space", "start")
	d.Card.Add(content.Act{Does: "Clock"})
	d.Card.Add(content.Act{Does: "Start", Home: content.Keys{Caps: [2]string{"Space"}}})
	d.Card.Add(content.Act{Does: "More"})
	d.Card.Add(content.Act{Does: "Set", Home: content.Keys{Caps: [2]string{"T", "`"}, Says: "left of 1"}, Away: content.Keys{Caps: [2]string{"Y", ";"}}, Typed: "12", Gives: "clock set 0:12"})
	return d
}

// Polygons lists the polygons of a display list.
func Polygons(ops []paint.Op) (found []paint.Op) {
	for _, op := range ops {
		if op.Shape == paint.Polygon {
			found = append(found, op)
		}
	}
	return found
}

// Under returns the colour of the last filled shape below the middle of a glyph that is drawn after ops; thin ones, which
// only cross it, are passed over.
func Under(ops []paint.Op, glyph paint.Op) (paint.Colour, bool) {
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
