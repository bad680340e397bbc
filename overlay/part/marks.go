package part

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
	"rafter/overlay/tick"
)

// maxMarks bounds a row of foul marks; no set's display goes on beyond ten.
const maxMarks = 10

// marker draws an item's marks. They are laid out from a team's own end, the left one, and mirrored for the right one.
type marker struct {
	*Painter
	it              *item
	right           bool
	full, void, lit paint.Colour
	fresh, share    int // marks from fresh on are on their way in, to share of tick.One
}

// marks paints an item's marks.
func (p *Painter) marks(it *item, s *state, right bool) {
	own := &s.says.Teams[s.side.Index()]
	m := marker{Painter: p, it: it, right: right, fresh: maxMarks + 1, share: tick.One}
	m.full, m.void, m.lit = p.ink(it.part.Colour, s, s.ground), p.void(it, s), p.ink(lamp(it.part.Lit), s, s.ground)
	before, x := p.turned(it, s)
	if it.part.Change.Move == theme.Glow {
		m.full = between(m.full, m.lit, p.glow(it, s))
	}
	switch {
	case it.part.Marks == theme.ArrowMark:
		m.arrow(s)
	case s.side == content.None:
	case it.part.Marks == theme.FoulMarks:
		if before != nil && x < tick.One {
			m.fresh, m.share = before.said.Teams[s.side.Index()].Fouls, x
		}
		m.fouls(own)
	case it.part.Marks == theme.TimeoutMarks:
		m.timeouts(own)
	case it.part.Marks == theme.SwatchMark:
		m.swatch(s)
	}
}

// lamp is the colour of what is lit, the lamp's where none is given.
func lamp(r theme.ColourRef) theme.ColourRef {
	if r.Of == theme.NoColour {
		return theme.ColourRef{Of: theme.OfPalette, Role: int(theme.Lamp), Alpha: 255}
	}
	return r
}

// void returns the colour of places not yet filled.
func (p *Painter) void(it *item, s *state) paint.Colour {
	if it.part.Line.Of != theme.NoColour {
		return p.mix(it.part.Line, s)
	}
	c := p.reads(s.ground)
	c.A = 128
	return c
}

// between returns a colour on the way from a to b, x of tick.One.
func between(a, b paint.Colour, x int) paint.Colour {
	mix := func(a, b uint8) uint8 { return uint8((int(a)*(tick.One-x) + int(b)*x + tick.One/2) / tick.One) }
	return paint.Colour{R: mix(a.R, b.R), G: mix(a.G, b.G), B: mix(a.B, b.B), A: mix(a.A, b.A)}
}

// start returns where a row of that width begins, from the team's own end at the left.
func (m *marker) start(wide int) int {
	r := m.it.inner
	a := m.it.align(m.right)
	if m.right && a != pen.Centre {
		a = pen.Left + pen.Right - a
	}
	switch a {
	case pen.Centre:
		return r.Min.X + (r.Dx()-wide)/2
	case pen.Right:
		return r.Max.X - wide
	}
	return r.Min.X
}

// mark paints one mark, filled or with a stroke as a ring.
func (m *marker) mark(box image.Rectangle, stroke int, c paint.Colour) {
	r := m.it.inner
	if m.right {
		box = pen.Mirror(box, r)
	}
	if box.Empty() {
		return
	}
	b := paint.BoxPx(box)
	slim := min(b.Max.X-b.Min.X, b.Max.Y-b.Min.Y)
	round := min(paint.Px(m.it.scale.Px(m.it.part.Corner)), slim/2)
	switch f := m.it.part.Form; f {
	case theme.Pill:
		m.To.Ops = append(m.To.Ops, paint.Op{Shape: paint.Rect, Box: b, Radius: slim / 2, Stroke: paint.Px(stroke), Colour: c})
	case theme.Rounded:
		m.To.Ops = append(m.To.Ops, paint.Op{Shape: paint.Rect, Box: b, Radius: round, Stroke: paint.Px(stroke), Colour: c})
	default:
		var at [paint.MaxPoints]paint.Point
		m.To.Outline(paint.Px(stroke), c, append(at[:0], corners(f, b, pickFixed(round, slim/3), m.right)...)...)
	}
}

func pickFixed(given, other paint.Fixed) paint.Fixed {
	if given > 0 {
		return given
	}
	return other
}

// fouls paints a row of marks from a team's own end: rings for places, filled ones for fouls. At the limit each is a
// tall lit slab instead, so that the change is one of shape and light as well as of colour.
func (m *marker) fouls(t *content.Team) {
	places := min(max(t.Limit, t.Fouls), maxMarks)
	if places == 0 {
		return
	}
	r, dot := m.it.inner, m.it.dot
	dot = min(dot, r.Dy()*3/5) // the slabs are taller
	pitch := min(dot*4/3+1, r.Dx()/places)
	dot = min(dot, pitch-max(1, pitch/6))
	if dot < 1 {
		return
	}
	ring := max(1, pick(m.it.stroke, dot/7))
	atLimit := t.Limit > 0 && t.Fouls >= t.Limit
	x, y := m.start(places*pitch-(pitch-dot)), r.Min.Y+(r.Dy()-dot)/2
	for i := range places {
		box := image.Rect(x+i*pitch, y, x+i*pitch+dot, y+dot)
		full := m.full
		if i >= m.fresh && i < t.Fouls && !atLimit {
			m.mark(box, ring, m.void)
			box, full = m.growing(box, full)
		}
		switch {
		case atLimit:
			m.slab(layout.Inset(box, 0, -max(1, dot/4)), dot/6)
		case i < t.Fouls:
			m.mark(box, 0, full)
		default:
			m.mark(box, ring, m.void)
		}
	}
}

// slab paints a mark at the limit: a round one becomes an upright block.
func (m *marker) slab(box image.Rectangle, radius int) {
	if m.it.part.Form != theme.Pill && m.it.part.Form != theme.Rounded {
		m.mark(box, 0, m.lit)
		return
	}
	if m.right {
		box = pen.Mirror(box, m.it.inner)
	}
	m.Rect(box, radius, m.lit)
}

// growing returns a mark that is on its way in.
func (m *marker) growing(box image.Rectangle, c paint.Colour) (image.Rectangle, paint.Colour) {
	if m.it.part.Change.Move == theme.Fade {
		c.A = faded(c.A, m.share)
		return box, c
	}
	off := int(int64(box.Dx()) * int64(tick.One-m.share) / (2 * tick.One))
	return box.Inset(off), c
}

// timeouts paints what is left: long bars for full timeouts, then short ones; in one row, or where that has no room in
// two. There is room for three and two at least, so that what is left does not grow as it becomes less.
func (m *marker) timeouts(t *content.Team) {
	full, short := t.Timeouts.Full, t.Timeouts.Short
	r, high := m.it.inner, m.it.dot
	// In quarters of the height: bars of 10 and 5, with 3 between.
	wide := func(full, short int) int { return 13*full + 8*short - 3 }
	one := min(high, 4*r.Dx()/max(wide(full, short), wide(3, 2)))
	if two := min(high, 4*r.Dx()/max(wide(full, 0), wide(3, 0)), r.Dy()*3/8); two > one {
		gap := max(1, two*2/3)
		y := r.Min.Y + (r.Dy()-2*two-gap)/2
		if short == 0 {
			y = r.Min.Y + (r.Dy()-two)/2
		}
		m.bars(y, two, full, 0)
		m.bars(y+two+gap, two, 0, short)
		return
	}
	m.bars(r.Min.Y+(r.Dy()-one)/2, one, full, short)
}

// bars paints a row of bars of that height.
func (m *marker) bars(y, high, full, short int) {
	high = max(1, high)
	wide, gap := [2]int{max(1, high*10/4), max(1, high*5/4)}, max(1, high*3/4)
	x := m.start(full*wide[0] + short*wide[1] + max(0, full+short-1)*gap)
	for i := range full + short {
		w := wide[0]
		if i >= full {
			w = wide[1]
		}
		box := image.Rect(x, y, x+w, y+high)
		if !box.In(m.it.inner) {
			return
		}
		m.mark(box, 0, m.full)
		x += w + gap
	}
}

// arrow paints an arrow with a shaft towards the team that has it: in a part of a team's only if it is that team's. Where
// the teams stand one below the other it points to the side that it is set at.
func (m *marker) arrow(s *state) {
	whose := s.says.Arrow
	if whose == content.None || s.side != content.None && s.side != whose {
		return
	}
	r := m.it.inner
	high := min(m.it.dot, r.Dx()*4/5)
	wide := min(high*3/2, r.Dx())
	b := paint.BoxPx(layout.Place(r, image.Pt(wide, high), m.place()))
	head, middle, shaft := min(b.Max.X-b.Min.X, (b.Max.Y-b.Min.Y)*4/5), (b.Min.Y+b.Max.Y)/2, (b.Max.Y-b.Min.Y)/6
	at := [7]paint.Point{
		{X: b.Min.X, Y: middle}, {X: b.Min.X + head, Y: b.Min.Y}, {X: b.Min.X + head, Y: middle - shaft},
		{X: b.Max.X, Y: middle - shaft}, {X: b.Max.X, Y: middle + shaft},
		{X: b.Min.X + head, Y: middle + shaft}, {X: b.Min.X + head, Y: b.Max.Y},
	}
	toRight := whose == content.Away
	if m.it.stacked {
		toRight = m.it.part.Align == theme.AlignRight
	}
	if toRight {
		for i := range at {
			at[i].X = b.Min.X + b.Max.X - at[i].X
		}
	}
	m.To.Polygon(m.full, at[:]...)
}

// place returns the anchor that an alignment stands for.
func (m *marker) place() layout.Anchor {
	return [...]layout.Anchor{pen.Left: layout.Left, pen.Centre: layout.Centre, pen.Right: layout.Right}[m.it.align(m.right)]
}

// swatch paints a patch of the team's colour, with an edge to be seen by.
func (m *marker) swatch(s *state) {
	side := min(m.it.dot, m.it.inner.Dx())
	box := layout.Place(m.it.inner, image.Pt(side, side), m.place())
	if m.right {
		box = pen.Mirror(box, m.it.inner) // mark mirrors it back
	}
	m.mark(box, 0, m.teamColour(s.says, s.side))
	m.mark(box, max(1, pick(m.it.stroke, side/12)), m.reads(s.ground))
}
