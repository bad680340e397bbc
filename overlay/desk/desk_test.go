package desk

import (
	"image"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/overlaytest"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/text"
	"rafter/overlay/theme"
)

type fixture struct {
	theme *theme.Theme
	fonts *text.Fonts
}

func load(t testing.TB) fixture {
	t.Helper()
	return fixture{overlaytest.Theme(t, "maple"), overlaytest.Fonts(t)}
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
