package part

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

func teamColour(t *content.Team) paint.Colour {
	return paint.Colour{R: t.Colour.R, G: t.Colour.G, B: t.Colour.B, A: 255}
}

// edgeBelow is the contrast to what is around it, times 1000, below which a panel needs an edge to be seen as one.
// Common practice, no source.
const edgeBelow = 1500

// paintwork keeps a panel in a team's colour apart: one near the colour around it gets a painted edge; where the two
// teams are alike the away team's has two.
func (p *Painter) paintwork(it *item, s *state, around ground, right bool) {
	t := it.part
	if t.Fill.Of != theme.OfTeam || t.Fill.Alpha < 255 || s.side == content.None || it.outer.Empty() {
		return
	}
	own := p.teamColour(s.says, s.side)
	stroke := max(it.stroke, it.scale.Line(3))
	switch {
	case s.side == content.Away && theme.Alike(own, p.teamColour(s.says, content.Home)):
		ink := p.Theme.Readable(own)
		p.rim(it, it.outer, right, stroke, ink)
		if r := it.outer.Inset(2 * stroke); it.part.Form <= theme.Pill && min(r.Dx(), r.Dy()) > 4*stroke {
			p.rim(it, r, right, stroke, ink)
		}
	case around.some && theme.Contrast(own, around.a) < edgeBelow:
		p.rim(it, it.outer, right, stroke, p.Theme.Readable(around.a))
	}
}

// rim draws a band inside the edge of the item's form in r.
func (p *Painter) rim(it *item, r image.Rectangle, right bool, stroke int, c paint.Colour) {
	stroke = max(1, min(stroke, min(r.Dx(), r.Dy())/4))
	op := it.outline(r, right, stroke)
	op.Colour = c
	if it.part.Form == theme.Rounded { // bands inside one another have one centre
		op.Radius = max(0, it.corner(it.outer)-paint.Px(r.Min.X-it.outer.Min.X))
	}
	if op.Shape != 0 {
		p.To.Ops = append(p.To.Ops, op)
	}
}
