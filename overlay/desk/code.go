package desk

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// codeLook is in thousandths of the panel's height.
var codeLook = struct {
	Pad                       int
	Title, Address, Type, Say lettering
}{
	Pad:   60,
	Title: lettering{theme.Text, 110}, Address: lettering{theme.Text, 90}, Type: lettering{theme.Text, 130}, Say: lettering{theme.Condensed, 60},
}

// quiet is how many light modules lie around a code, at least: ISO/IEC 18004:2015 section 6.3.8 (from memory).
const quiet = 4

// Code draws the panel with a code to scan, what it leads to and what to type instead. The code is black on white in every
// theme, and each of its modules is the same whole number of pixels; without room for one the words stand alone.
func Code(to *pen.Pen, c *content.Content) {
	p := drawer{to}
	p.Rect(image.Rectangle{Max: p.Size}, 0, p.Colour(theme.Plate))
	code := c.Desk.Code
	if code == nil {
		return
	}
	t, s := &codeLook, layout.Scale{Num: p.Size.Y, Den: 1000}
	pad := s.Px(t.Pad)
	words := image.Rectangle{Max: p.Size}
	if module := p.Size.Y / (code.Side + 2*quiet); code.Side > 0 && module > 0 {
		var place image.Rectangle
		place, words = layout.CutLeft(words, module*(code.Side+2*quiet))
		p.square(place, module, code)
	}
	words = layout.Inset(words, 2*pad, pad)
	say := func(l lettering, tall int, colour theme.ColourRole, text string) {
		var row image.Rectangle
		row, words = layout.CutTop(words, tall)
		p.Name(row, pen.Left, l.Font, s.Px(l.Cap), p.Colour(colour), text)
	}
	tall := words.Dy() / 9
	say(t.Title, 2*tall, theme.Line, code.Title)
	say(t.Address, 2*tall, theme.Lamp, code.Address)
	if code.Typed != "" {
		say(t.Type, 2*tall, theme.Line, code.Typed)
	}
	for _, note := range code.Notes {
		say(t.Say, tall, theme.Faint, note)
	}
}

// square draws the code in the middle of its place, which is white.
func (p drawer) square(place image.Rectangle, module int, code *content.Code) {
	p.Rect(place, 0, paint.Colour{R: 255, G: 255, B: 255, A: 255})
	at := layout.Place(place, image.Pt(module*code.Side, module*code.Side), layout.Centre).Min
	for y := range code.Side {
		for x := 0; x < code.Side; x++ {
			begun := x
			for x < code.Side && code.Dark[y*code.Side+x] {
				x++
			}
			run := image.Rect(begun, y, x, y+1)
			p.Rect(image.Rectangle{run.Min.Mul(module), run.Max.Mul(module)}.Add(at), 0, paint.Colour{A: 255})
		}
	}
}
