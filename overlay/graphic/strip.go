package graphic

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// drawStrip draws the operator's strip: at the left whether the clock runs; beside it, above, the last event, what is
// typed, what is wrong; below, the keys. The ring of a key being held stands at the right over both.
func drawStrip(p *Pen, c *content.Content) {
	t, d, s := &p.theme.Strip, &c.Desk, layout.ScaleOf(p.size)
	all := whole(nil, p.size)
	p.rect(all, 0, p.colour(theme.Plate))
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
func (p *Pen) clockState(r image.Rectangle, pad int, s layout.Scale, c *content.Content) {
	t := &p.theme.Strip
	ink, word := p.colour(theme.Line), "clock stands"
	if c.Running {
		ink, word = p.colour(theme.Ink), "clock runs"
		p.rect(r, s.Px(t.Corner), p.colour(theme.Lamp))
	} else {
		p.frame(r, s.Px(t.Corner), s.Line(t.Stroke), p.colour(theme.Faint))
	}
	r = layout.Inset(r, pad, pad/2)
	mark, says := layout.CutLeft(r, r.Dy()*3/5)
	says.Min.X += pad * 5 / 4
	mark = layout.Place(mark, image.Pt(mark.Dx(), mark.Dx()), layout.Centre)
	if c.Running {
		b := paint.BoxPx(mark)
		p.to.Polygon(ink, b.Min, paint.Point{X: b.Max.X, Y: (b.Min.Y + b.Max.Y) / 2}, paint.Point{X: b.Min.X, Y: b.Max.Y})
	} else {
		bar := image.Pt(max(1, mark.Dx()/3), mark.Dy())
		p.rect(layout.Place(mark, bar, layout.Left), 0, ink)
		p.rect(layout.Place(mark, bar, layout.Right), 0, ink)
	}
	upper, lower := layout.CutTop(says, says.Dy()*3/5)
	var buffer [20]byte
	p.digits(upper, left, theme.Digits, upper.Dy()*4/5, ink, string(c.Clock.Bytes(buffer[:0])), "00:00")
	p.name(lower, left, t.Does.Font, s.Px(t.Does.Cap), ink, word)
}

// hold draws the ring that fills while a key is held, with what it will do, and returns what is left of r.
func (p *Pen) hold(r image.Rectangle, pad int, s layout.Scale, d *content.Desk) image.Rectangle {
	t := &p.theme.Strip
	ring := layout.Place(r, image.Pt(r.Dy(), r.Dy()), layout.Right)
	r.Max.X = ring.Min.X - pad
	band := paint.Px(max(2, r.Dy()/6))
	p.to.Arc(paint.BoxPx(ring), band, 1<<16, p.colour(theme.Faint))
	p.to.Arc(paint.BoxPx(ring), band, min(max(d.Held, 0), 1<<16), p.colour(theme.Lamp))
	word := r
	word.Min.X = r.Max.X - min(r.Dx()/3, r.Dy()*4)
	upper, lower := layout.Row(word, 0, 2), layout.Row(word, 1, 2)
	p.name(upper, right, t.Does.Font, s.Px(t.Does.Cap), p.colour(theme.Faint), "keep holding to")
	p.name(lower, right, t.Note.Font, s.Px(t.Note.Cap), p.colour(theme.Lamp), d.HoldFor)
	r.Max.X = word.Min.X - pad
	return r
}

// stripNews is the upper row: what is wrong, on a lit plate, takes the most of it.
func (p *Pen) stripNews(r image.Rectangle, pad int, s layout.Scale, d *content.Desk) {
	t := &p.theme.Strip
	cap, line := s.Px(t.Note.Cap), p.colour(theme.Line)
	if d.Entry != "" {
		box, rest := layout.CutLeft(r, r.Dx()*3/10)
		p.frame(box, s.Px(t.Corner), s.Line(t.Stroke), p.colour(theme.Lamp))
		p.name(layout.Inset(box, pad, 0), left, t.Note.Font, cap, p.colour(theme.Lamp), d.Entry)
		r = rest
		r.Min.X += pad
	}
	if d.Wrong != "" {
		box, rest := layout.CutRight(r, r.Dx()*3/5)
		p.rect(box, s.Px(t.Corner), p.colour(theme.Alarm))
		sign := layout.Place(layout.Inset(box, pad/2, 0), image.Pt(cap*4/3, cap*4/3), layout.Left)
		p.caution(sign)
		box.Min.X = sign.Max.X
		p.name(layout.Inset(box, pad/2, 0), left, t.Note.Font, cap, p.colour(theme.Ink), d.Wrong)
		r = rest
		r.Max.X -= pad
	}
	if d.Unkept != "" {
		r.Min.X += p.words(r, left, t.Does.Font, s.Px(t.Does.Cap), p.colour(theme.Faint), d.Unkept) + pad
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
	r.Min.X += p.words(r, left, t.Note.Font, cap, p.colour(theme.Faint), string(number(buffer[:], d.LastNumber))) + pad/2
	p.name(r, left, t.Note.Font, cap, line, d.Last)
}

// saved draws a tick where the last event is safe on disk, and a ring where it is not yet.
func (p *Pen) saved(r image.Rectangle, yes bool) {
	if !yes {
		p.frame(r, r.Dy(), max(1, r.Dy()/8), p.colour(theme.Faint))
		return
	}
	b := paint.BoxPx(r)
	at := func(x, y paint.Fixed) paint.Point { // sixths of the box
		return paint.Point{X: b.Min.X + (b.Max.X-b.Min.X)*x/6, Y: b.Min.Y + (b.Max.Y-b.Min.Y)*y/6}
	}
	p.to.Polygon(p.colour(theme.Lamp), at(0, 3), at(1, 2), at(2, 3), at(5, 0), at(6, 1), at(2, 5))
}

// caution draws a triangle with a bar in it.
func (p *Pen) caution(r image.Rectangle) {
	b := paint.BoxPx(r)
	p.to.Polygon(p.colour(theme.Ink), paint.Point{X: (b.Min.X + b.Max.X) / 2, Y: b.Min.Y}, b.Max, paint.Point{X: b.Min.X, Y: b.Max.Y})
	w, h := max(1, r.Dx()/8), r.Dy()
	x := (r.Min.X + r.Max.X - w) / 2
	p.rect(image.Rect(x, r.Min.Y+h*2/5, x+w, r.Min.Y+h*7/10), 0, p.colour(theme.Alarm))
	p.rect(image.Rect(x, r.Min.Y+h*4/5, x+w, r.Min.Y+h*4/5+w), 0, p.colour(theme.Alarm))
}

// hints draws the keys, each in a frame as on a keyboard, with what it does beside it; as many as fit.
func (p *Pen) hints(r image.Rectangle, gap int, s layout.Scale, d *content.Desk) {
	t := &p.theme.Strip
	for i := range d.Count {
		h := &d.Hints[i]
		key := p.fonts.Line(p.style(t.Key.Font, s.Px(t.Key.Cap)), h.Key).Width.Ceil()
		does := p.fonts.Line(p.style(t.Does.Font, s.Px(t.Does.Cap)), h.Does).Width.Ceil()
		wide := max(key+gap, r.Dy())
		if wide+gap/2+does > r.Dx() {
			return
		}
		cell, rest := layout.CutLeft(r, wide)
		p.frame(cell, s.Px(t.Corner), s.Line(t.Stroke), p.colour(theme.Faint))
		p.words(cell, centre, t.Key.Font, s.Px(t.Key.Cap), p.colour(theme.Line), h.Key)
		rest.Min.X += gap / 2
		p.words(rest, left, t.Does.Font, s.Px(t.Does.Cap), p.colour(theme.Faint), h.Does)
		r.Min.X = rest.Min.X + does + gap*3/2
	}
}
