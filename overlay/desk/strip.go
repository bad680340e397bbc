package desk

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// stripLook is in thousandths of the strip's own height.
var stripLook = struct {
	Corner, Stroke, Gap, Pad int
	Key, Does, Note          lettering
}{
	Corner: 60, Stroke: 14, Gap: 110, Pad: 90,
	Key: lettering{theme.Text, 125}, Does: lettering{theme.Condensed, 130}, Note: lettering{theme.Text, 180},
}

// Strip draws the operator's strip: at the left whether the clock runs; beside it, above, the last event, what is
// typed, what is wrong; below, the keys. The ring of a key being held stands at the right over both.
func Strip(to *pen.Pen, c *content.Content) {
	p := drawer{to}
	t, d, s := &stripLook, &c.Desk, layout.ScaleOf(p.Size)
	all := image.Rectangle{Max: p.Size}
	p.Rect(all, 0, p.Colour(theme.Plate))
	pad, gap := s.Px(t.Pad), s.Px(t.Gap)
	inner := layout.Inset(all, pad, pad)
	if c.Clock.Len() > 0 {
		state, rest := layout.CutLeft(inner, inner.Dy()*2)
		p.clockState(state, pad, s, c)
		inner = rest
		inner.Min.X += pad
	}
	if d.HoldFor != "" {
		inner = p.hold(inner, pad, s, d)
	}
	upper, lower := layout.Row(inner, 0, 2), layout.Row(inner, 1, 2)
	upper.Max.Y, lower.Min.Y = upper.Max.Y-gap/2, lower.Min.Y+gap/2
	p.stripNews(upper, pad, s, d)
	p.hints(lower, gap, s, d)
}

// clockState says whether the clock runs, by a word, a shape and a ground: a triangle on a lit plate where it runs, two
// bars in a frame where it stands. It changes with the clock alone, and nothing in it moves.
func (p drawer) clockState(r image.Rectangle, pad int, s layout.Scale, c *content.Content) {
	t := &stripLook
	ink, word := p.Colour(theme.Line), "clock stands"
	if c.Running {
		ink, word = p.Theme.Readable(p.Colour(theme.Lamp)), "clock runs"
		p.Rect(r, s.Px(t.Corner), p.Colour(theme.Lamp))
	} else {
		p.Frame(r, s.Px(t.Corner), s.Line(t.Stroke), p.Colour(theme.Faint))
	}
	r = layout.Inset(r, pad, pad/2)
	mark, says := layout.CutLeft(r, r.Dy()*3/5)
	says.Min.X += pad * 5 / 4
	mark = layout.Place(mark, image.Pt(mark.Dx(), mark.Dx()), layout.Centre)
	if c.Running {
		b := paint.BoxPx(mark)
		p.To.Polygon(ink, b.Min, paint.Point{X: b.Max.X, Y: (b.Min.Y + b.Max.Y) / 2}, paint.Point{X: b.Min.X, Y: b.Max.Y})
	} else {
		bar := image.Pt(max(1, mark.Dx()/3), mark.Dy())
		p.Rect(layout.Place(mark, bar, layout.Left), 0, ink)
		p.Rect(layout.Place(mark, bar, layout.Right), 0, ink)
	}
	upper, lower := layout.CutTop(says, says.Dy()*3/5)
	var buffer [20]byte
	p.Digits(upper, pen.Left, theme.Digits, upper.Dy()*4/5, ink, string(c.Clock.Bytes(buffer[:0])), "00:00")
	p.Name(lower, pen.Left, t.Does.Font, s.Px(t.Does.Cap), ink, word)
}

// hold draws the ring that fills while a key is held, with what it will do, and returns what is left of r.
func (p drawer) hold(r image.Rectangle, pad int, s layout.Scale, d *content.Desk) image.Rectangle {
	t := &stripLook
	ring := layout.Place(r, image.Pt(r.Dy(), r.Dy()), layout.Right)
	r.Max.X = ring.Min.X - pad
	band := paint.Px(max(2, r.Dy()/6))
	p.To.Arc(paint.BoxPx(ring), band, 1<<16, p.Colour(theme.Faint))
	p.To.Arc(paint.BoxPx(ring), band, min(max(d.Held, 0), 1<<16), p.Colour(theme.Lamp))
	word := r
	word.Min.X = r.Max.X - min(r.Dx()/3, r.Dy()*4)
	upper, lower := layout.Row(word, 0, 2), layout.Row(word, 1, 2)
	p.Name(upper, pen.Right, t.Does.Font, s.Px(t.Does.Cap), p.Colour(theme.Faint), "keep holding to")
	p.Name(lower, pen.Right, t.Note.Font, s.Px(t.Note.Cap), p.Colour(theme.Lamp), d.HoldFor)
	r.Max.X = word.Min.X - pad
	return r
}

// stripNews is the upper row: what is wrong, on a lit plate, takes the most of it, in the place of what others have keyed.
func (p drawer) stripNews(r image.Rectangle, pad int, s layout.Scale, d *content.Desk) {
	t := &stripLook
	cap, line := s.Px(t.Note.Cap), p.Colour(theme.Line)
	if d.Entry != "" {
		box, rest := layout.CutLeft(r, r.Dx()*3/10)
		p.Frame(box, s.Px(t.Corner), s.Line(t.Stroke), p.Colour(theme.Lamp))
		p.Name(layout.Inset(box, pad, 0), pen.Left, t.Note.Font, cap, p.Colour(theme.Lamp), d.Entry)
		r = rest
		r.Min.X += pad
	}
	if d.Wrong != "" {
		box, rest := layout.CutRight(r, r.Dx()*3/5)
		p.Rect(box, s.Px(t.Corner), p.Colour(theme.Alarm))
		sign := layout.Place(layout.Inset(box, pad/2, 0), image.Pt(cap*4/3, cap*4/3), layout.Left)
		p.caution(sign)
		box.Min.X = sign.Max.X
		p.Name(layout.Inset(box, pad/2, 0), pen.Left, t.Note.Font, cap, p.Theme.Readable(p.Colour(theme.Alarm)), d.Wrong)
		r = rest
		r.Max.X -= pad
	} else if d.Other != "" {
		box, rest := layout.CutRight(r, r.Dx()/2)
		p.Name(box, pen.Right, t.Does.Font, s.Px(t.Does.Cap), p.Colour(theme.Faint), d.Other)
		r = rest
		r.Max.X -= pad
	}
	if d.Unkept != "" {
		r.Min.X += p.Words(r, pen.Left, t.Does.Font, s.Px(t.Does.Cap), p.Colour(theme.Faint), d.Unkept) + pad
	}
	if d.Last == "" {
		return
	}
	if d.Unkept == "" {
		tick := layout.Place(r, image.Pt(cap, cap), layout.Left)
		p.saved(tick, d.Saved)
		r.Min.X = tick.Max.X + pad/2
	}
	var buffer [20]byte
	r.Min.X += p.Words(r, pen.Left, t.Note.Font, cap, p.Colour(theme.Faint), string(pen.Number(buffer[:], d.LastNumber))) + pad/2
	p.Name(r, pen.Left, t.Note.Font, cap, line, d.Last)
}

// saved draws a tick where the last event is safe on disk, and a ring where it is not yet.
func (p drawer) saved(r image.Rectangle, yes bool) {
	if !yes {
		p.Frame(r, r.Dy(), max(1, r.Dy()/8), p.Colour(theme.Faint))
		return
	}
	b := paint.BoxPx(r)
	at := func(x, y paint.Fixed) paint.Point { // sixths of the box
		return paint.Point{X: b.Min.X + (b.Max.X-b.Min.X)*x/6, Y: b.Min.Y + (b.Max.Y-b.Min.Y)*y/6}
	}
	p.To.Polygon(p.Colour(theme.Lamp), at(0, 3), at(1, 2), at(2, 3), at(5, 0), at(6, 1), at(2, 5))
}

// caution draws a triangle with a bar in it.
func (p drawer) caution(r image.Rectangle) {
	b := paint.BoxPx(r)
	p.To.Polygon(p.Theme.Readable(p.Colour(theme.Alarm)), paint.Point{X: (b.Min.X + b.Max.X) / 2, Y: b.Min.Y}, b.Max, paint.Point{X: b.Min.X, Y: b.Max.Y})
	w, h := max(1, r.Dx()/8), r.Dy()
	x := (r.Min.X + r.Max.X - w) / 2
	p.Rect(image.Rect(x, r.Min.Y+h*2/5, x+w, r.Min.Y+h*7/10), 0, p.Colour(theme.Alarm))
	p.Rect(image.Rect(x, r.Min.Y+h*4/5, x+w, r.Min.Y+h*4/5+w), 0, p.Colour(theme.Alarm))
}

// hints draws the keys, each in a frame as on a keyboard, with what it does beside it; as many as fit.
func (p drawer) hints(r image.Rectangle, gap int, s layout.Scale, d *content.Desk) {
	t := &stripLook
	for i := range d.Count {
		h := &d.Hints[i]
		key := p.Wide(t.Key.Font, s.Px(t.Key.Cap), h.Key)
		does := p.Wide(t.Does.Font, s.Px(t.Does.Cap), h.Does)
		wide := max(key+gap, r.Dy())
		if wide+gap/2+does > r.Dx() {
			return
		}
		cell, rest := layout.CutLeft(r, wide)
		p.Frame(cell, s.Px(t.Corner), s.Line(t.Stroke), p.Colour(theme.Faint))
		p.Words(cell, pen.Centre, t.Key.Font, s.Px(t.Key.Cap), p.Colour(theme.Line), h.Key)
		rest.Min.X += gap / 2
		p.Words(rest, pen.Left, t.Does.Font, s.Px(t.Does.Cap), p.Colour(theme.Faint), h.Does)
		r.Min.X = rest.Min.X + does + gap*3/2
	}
}
