package part

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// state is how an item is in what is being drawn.
type state struct {
	gone    bool
	leaving bool
	since   content.Instant  // when it came, or went if it is leaving; with known
	known   bool             // it came lately
	says    *content.Content // what it says: what there was, if it is leaving
	shot    bool             // whether there is a shot clock in that
	side    content.Side     // whose it is
	ground  ground
	shown   showing
	// from and to are the places in the list of what it has painted.
	from, to int
}

// ground is the colours under a text, from one end of a gradient to the other; there is none over the picture itself.
type ground struct {
	a, b paint.Colour
	some bool
	dyed bool // by a team's colour
}

// showing is how a motion has an item, and with it all that is in it.
type showing struct {
	by      image.Point
	alpha   int             // of 65536
	clip    image.Rectangle // with clipped
	clipped bool
}

const opaque = 1 << 16

// theme draws a graphic that the theme lays out. It returns the instant from which nothing moves any more while the
// content stays.
func (p *Painter) lay(made *plan, c *content.Content, at content.Instant) content.Instant {
	p.now, p.still = at, 0
	p.moments.count = 0
	if !p.reduced {
		p.still = p.moments.find(c, at)
	}
	for _, i := range made.order {
		p.settle(made, i, c)
	}
	for i := range made.items {
		if s := &made.state[i]; !s.gone {
			s.from = len(p.To.Ops)
			p.item(made, i)
			s.to = len(p.To.Ops)
		}
	}
	return p.still
}

// settle finds the state of an item, once that of what is around it is known.
func (p *Painter) settle(made *plan, i int, c *content.Content) {
	it, s := &made.items[i], &made.state[i]
	around := state{says: c, shot: c.Shot.Len() > 0, shown: showing{alpha: opaque}}
	if it.around >= 0 {
		around = made.state[it.around]
	} else if !p.reduced {
		if c.Air.Closing {
			around.leaving, around.since = true, c.Air.Closed
			if m := p.moments.before(c.Air.Closed); m != nil {
				around.says, around.shot = &m.said, m.shot
			} else if p.now-c.Air.Closed >= theme.MaxMotion*millisecond {
				around.gone = true
			}
		} else if c.Air.Opening {
			around.known, around.since = true, c.Air.Opened
		}
	} else if c.Air.Closing && p.now >= c.Air.Closed {
		around.gone = true
	}
	*s = around
	if s.gone {
		return
	}
	t := it.part
	s.side = sideOf(it.who, s.says)
	here := holds(t, s.says, s.shot, s.side)
	switch {
	case around.leaving: // and it goes along, as it was
		s.gone = !here || it.around < 0 && t.Leave.Move == theme.Cut
	default:
		p.turn(it, s, c, here)
	}
	if s.gone {
		return
	}
	p.motion(it, s)
	if t.Opacity < 100 {
		s.shown.alpha = s.shown.alpha * t.Opacity / 100
	}
	if t.Fill.Of != theme.NoColour {
		s.ground = p.over(t.Fill, s, s.ground)
		if t.To.Of != theme.NoColour {
			to := p.over(t.To, s, around.ground)
			s.ground.b, s.ground.dyed = to.a, s.ground.dyed || to.dyed
		}
	}
}

// turn finds whether an item has come or gone lately by its own conditions.
func (p *Painter) turn(it *item, s *state, c *content.Content, here bool) {
	t := it.part
	after := here
	for k := range p.moments.count {
		m := &p.moments.list[k]
		side := sideOf(it.who, &m.said)
		was := holds(t, &m.said, m.shot, side)
		if was == after {
			continue
		}
		switch {
		case here && (!s.known || m.at > s.since):
			s.since, s.known = m.at, true
		case !here:
			s.leaving, s.since = true, m.at
			s.says, s.shot, s.side = &m.said, m.shot, side
		}
		break
	}
	if !here && (!s.leaving || t.Leave.Move == theme.Cut) {
		s.gone = true
	}
}

// over returns the ground that a colour makes on another.
func (p *Painter) over(r theme.ColourRef, s *state, under ground) ground {
	c := p.mix(r, s)
	dyed := r.Of == theme.OfTeam || r.Of == theme.OfOther
	if !under.some || c.A == 255 {
		c.A = 255
		return ground{c, c, true, dyed}
	}
	return ground{blend(c, under.a), blend(c, under.b), true, dyed || under.dyed}
}

// blend returns what is seen of a colour over an opaque one.
func blend(c, under paint.Colour) paint.Colour {
	a := int(c.A)
	mix := func(c, u uint8) uint8 { return uint8((int(c)*a + int(u)*(255-a) + 127) / 255) }
	return paint.Colour{R: mix(c.R, under.R), G: mix(c.G, under.G), B: mix(c.B, under.B), A: 255}
}

// mix returns the colour that a reference stands for.
func (p *Painter) mix(r theme.ColourRef, s *state) paint.Colour {
	var c paint.Colour
	switch r.Of {
	case theme.OfPalette:
		c = p.Theme.Palette[r.Role].Colour
	case theme.Written:
		c = r.Fixed
	case theme.OfTeam:
		c = p.teamColour(s.says, s.side)
	case theme.OnTeam:
		c = p.Theme.Readable(p.teamColour(s.says, s.side))
	case theme.OfOther:
		c = p.teamColour(s.says, other(s.side))
	}
	c.A = uint8((int(c.A)*int(r.Alpha) + 127) / 255)
	return c
}

func other(s content.Side) content.Side {
	switch s {
	case content.Home:
		return content.Away
	case content.Away:
		return content.Home
	}
	return content.None
}

// teamColour returns a side's colour; nobody's is that of cloth.
func (p *Painter) teamColour(c *content.Content, s content.Side) paint.Colour {
	if s == content.None {
		return p.Theme.Colour(theme.Cloth)
	}
	return teamColour(&c.Teams[s.Index()])
}

// right tells whether the end of an item's team is the right one.
func (it *item) right(side content.Side) bool {
	return !it.stacked && (it.mirrored || side == content.Away)
}

// end is where what depends on an item's end is kept: 0 for the left one, 1 for the right one.
func end(right bool) int {
	if right {
		return 1
	}
	return 0
}

// item paints an item: its ground, then what stands on it.
func (p *Painter) item(made *plan, i int) {
	it, s := &made.items[i], &made.state[i]
	if s.shown.alpha == 0 || s.shown.clipped && s.shown.clip.Empty() {
		return
	}
	right := it.right(s.side)
	first := len(p.To.Ops)
	for k := range it.paint[0] {
		p.stain(&it.paint[end(right)][k], s)
	}
	if it.image.Shape != 0 {
		p.To.Ops = append(p.To.Ops, it.image)
	}
	if e := &it.edge[end(right)]; e.op.Shape != 0 {
		p.stain(e, s)
	}
	around := ground{}
	if it.around >= 0 {
		around = made.state[it.around].ground
	}
	p.paintwork(it, s, around, right)
	p.content(it, s, right)
	p.show(first, &s.shown, it, made.box)
}

func (p *Painter) stain(o *stained, s *state) {
	op := o.op
	if op.Colour = p.mix(o.colour, s); o.colour.Of == theme.NoColour {
		if op.Colour = p.reads(s.ground); o.little {
			op.Colour.A = little
		}
	}
	if op.Axis != paint.Flat {
		op.To = p.mix(o.to, s)
	}
	p.To.Ops = append(p.To.Ops, op)
}

// show moves, fades and clips the operations from first on.
func (p *Painter) show(first int, by *showing, it *item, box image.Rectangle) {
	if *by == (showing{alpha: opaque}) && !it.held {
		return
	}
	for i := range p.To.Ops[first:] {
		by.apply(&p.To.Ops[first+i], it, box)
	}
	p.drop(first)
}

// apply moves, fades and clips an operation; what shows nothing then has no colour.
func (w *showing) apply(o *paint.Op, it *item, box image.Rectangle) {
	if w.alpha != opaque {
		o.Colour.A, o.To.A = faded(o.Colour.A, w.alpha), faded(o.To.A, w.alpha)
	}
	if w.by != (image.Point{}) {
		move(o, paint.Point{X: paint.Px(w.by.X), Y: paint.Px(w.by.Y)})
	}
	clip := box
	if w.clipped {
		clip = clip.Intersect(w.clip)
	}
	if (w.clipped || it.held) && !o.Bounds().In(clip) {
		within := o.Bounds().Intersect(clip)
		if o.Clip = paint.BoxPx(within); within.Empty() { // no clip would be no bound
			o.Colour.A, o.To.A = 0, 0
		}
	}
}

// drop takes out the operations from first on that show nothing.
func (p *Painter) drop(first int) {
	kept := p.To.Ops[:first]
	for _, op := range p.To.Ops[first:] {
		if op.Colour.A|op.To.A != 0 && !op.Bounds().Empty() {
			kept = append(kept, op)
		}
	}
	p.To.Ops = kept
}

func faded(a uint8, by int) uint8 { return uint8((int(a)*by + opaque/2) / opaque) }

func move(o *paint.Op, by paint.Point) {
	at := func(q paint.Point) paint.Point { return paint.Point{X: q.X + by.X, Y: q.Y + by.Y} }
	o.Box = paint.Box{Min: at(o.Box.Min), Max: at(o.Box.Max)}
	if o.Clip != (paint.Box{}) {
		o.Clip = paint.Box{Min: at(o.Clip.Min), Max: at(o.Clip.Max)}
	}
	if o.Shape == paint.Glyph {
		o.Points[0] = at(o.Points[0])
	}
	for i := range o.Points[:o.Count] {
		o.Points[i] = at(o.Points[i])
	}
}
