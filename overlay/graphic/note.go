package graphic

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// noteRow sets what is worth a line: at the right a timeout with its clock, in the rest what says does.
// Alone, each has the whole row.
func (p *Pen) noteRow(r image.Rectangle, pad int, font theme.FontRole, cap int, ink paint.Colour, c *content.Content) {
	if c.Timeout.On {
		out := r
		if !c.Lower.Empty() || c.Message != "" {
			out, r = layout.CutRight(r, r.Dx()*2/5)
			p.rect(layout.Place(out, image.Pt(max(1, cap/12), cap*5/4), layout.Left), 0, ink)
			out.Min.X += pad
			r.Max.X -= pad
		}
		p.timeout(out, pad, font, cap, ink, c)
	}
	p.says(r, pad, font, cap, ink, c)
}

// says sets a player's line, or else a message.
func (p *Pen) says(r image.Rectangle, pad int, font theme.FontRole, cap int, ink paint.Colour, c *content.Content) {
	switch {
	case !c.Lower.Empty():
		p.lower(r, pad, font, cap, ink, c)
	case c.Message != "":
		p.words(r, left, font, cap, ink, c.Message)
	}
}

func (p *Pen) timeout(r image.Rectangle, pad int, font theme.FontRole, cap int, ink paint.Colour, c *content.Content) {
	if c.Timeout.Text.Len() > 0 {
		d := p.fonts.Digits(p.faces[theme.Digits], p.em(theme.Digits, cap))
		var clock image.Rectangle
		var buffer [20]byte
		clock, r = layout.CutRight(r, d.Width("00:00").Ceil())
		p.digits(clock, right, theme.Digits, cap, ink, string(c.Timeout.Text.Bytes(buffer[:0])), "00:00")
		r.Max.X -= pad
	}
	r = p.swatch(r, pad, cap, c, c.Timeout.Team)
	r.Min.X += p.words(r, left, font, cap, ink, "TIMEOUT") + pad
	p.name(r, left, font, cap, ink, c.Timeout.By)
}

func (p *Pen) lower(r image.Rectangle, pad int, font theme.FontRole, cap int, ink paint.Colour, c *content.Content) {
	r = p.swatch(r, pad, cap, c, c.Lower.Team)
	taken := p.words(r, left, font, cap, ink, c.Lower.Number)
	if taken > 0 {
		r.Min.X += taken + pad
	}
	p.words(r, left, font, cap, ink, c.Lower.Name)
}

// swatch draws a patch of the team's colour at the left of r, and returns what is left of r.
func (p *Pen) swatch(r image.Rectangle, pad, cap int, c *content.Content, s content.Side) image.Rectangle {
	if s == content.None || r.Dx() < 2*cap {
		return r
	}
	patch := layout.Place(r, image.Pt(cap, cap), layout.Left)
	p.rect(patch, cap/6, teamColour(&c.Teams[s.Index()]))
	p.frame(patch, cap/6, max(1, cap/12), p.colour(theme.Ink))
	r.Min.X += cap + pad
	return r
}
