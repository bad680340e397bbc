package part

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
	"rafter/overlay/tick"
)

// content paints what stands on an item's ground.
func (p *Painter) content(it *item, s *state, right bool) {
	if it.inner.Empty() {
		return
	}
	switch it.part.Content {
	case theme.Literal, theme.Says:
		p.text(it, s, right)
	case theme.Marked:
		p.marks(it, s, right)
	case theme.ListOf:
		p.list(it, s)
	}
}

// text sets an item's text, and while it changes what was there before.
func (p *Painter) text(it *item, s *state, right bool) {
	ink := p.ink(it.part.Colour, s, p.lightUp(it, s, right))
	before, x := p.turned(it, s)
	if before == nil || x == tick.One {
		p.say(it, s.says, s.side, right, ink)
		return
	}
	now, then := showing{alpha: opaque}, showing{alpha: opaque}
	switch m := it.part.Change.Move; m {
	case theme.Fade:
		now.alpha, then.alpha = x, opaque-x
	case theme.Roll:
		long := it.inner.Dy()
		now.by.Y, then.by.Y = long-long*x/tick.One, -long*x/tick.One
		now, then = now.within(it.outer), then.within(it.outer)
	default:
		now, then.alpha = now.with(it, m, x, false, right), 0
	}
	first := len(p.To.Ops)
	p.say(it, &before.said, s.side, right, ink)
	middle := len(p.To.Ops)
	p.say(it, s.says, s.side, right, ink)
	p.exchange(p.To.Ops[first:middle], p.To.Ops[middle:], &then, &now, it)
	p.drop(first)
}

// exchange shows an old text on its way out and a new one on its way in. Of what is as long in both, such as a score,
// only the letters that differ move.
func (p *Painter) exchange(old, fresh []paint.Op, then, now *showing, it *item) {
	alike := len(old) == len(fresh)
	for i := range fresh {
		if alike && old[i] == fresh[i] {
			old[i].Colour.A = 0
		} else {
			now.apply(&fresh[i], it, p.Bounds)
		}
	}
	for i := range old {
		then.apply(&old[i], it, p.Bounds)
	}
}

// lightUp lays a glow over an item's ground, and returns the ground that there is then.
func (p *Painter) lightUp(it *item, s *state, right bool) ground {
	lit := p.glow(it, s)
	if lit == 0 {
		return s.ground
	}
	c := p.lit(it, s)
	c.A = faded(c.A, lit)
	op := it.outline(it.outer, right, 0)
	op.Colour = c
	p.To.Ops = append(p.To.Ops, op)
	g := s.ground
	if g.some {
		g.a, g.b, g.dyed = blend(c, g.a), blend(c, g.b), true
	}
	return g
}

// lit returns the colour of what is lit in an item.
func (p *Painter) lit(it *item, s *state) paint.Colour {
	if it.part.Lit.Of == theme.NoColour {
		return p.Colour(theme.Lamp)
	}
	return p.mix(it.part.Lit, s)
}

// leastContrast is that of a text to its ground, times 1000. Source: WCAG 2.2, SC 1.4.3.
const leastContrast = 4500

// ink returns the colour of a text: the one asked for, and what reads best where none is, or where a team's colour would
// make it unreadable.
func (p *Painter) ink(r theme.ColourRef, s *state, g ground) paint.Colour {
	if r.Of == theme.NoColour {
		return p.reads(g)
	}
	c := p.mix(r, s)
	dyed := g.dyed || r.Of == theme.OfTeam || r.Of == theme.OfOther
	if g.some && dyed && worst(c, g) < leastContrast {
		best := p.reads(g)
		best.A = c.A
		return best
	}
	return c
}

// worst returns the contrast at the end of the ground where it is less.
func worst(c paint.Colour, g ground) int { return min(theme.Contrast(c, g.a), theme.Contrast(c, g.b)) }

// reads returns what reads best on a ground.
func (p *Painter) reads(g ground) paint.Colour {
	if !g.some {
		return p.Colour(theme.Line)
	}
	a, b := p.Theme.Readable(g.a), p.Theme.Readable(g.b)
	if worst(b, g) > worst(a, g) {
		return b
	}
	return a
}

// align returns where in its box an item's text stands.
func (it *item) align(right bool) pen.Align {
	switch a := it.part.Align; {
	case a == theme.AlignLeft, a == theme.Outward && !right, a == theme.Inward && right:
		return pen.Left
	case a == theme.AlignCentre:
		return pen.Centre
	}
	return pen.Right
}

// room returns what of an item's place its text has: not the point of a tag, nor the slants.
func (it *item) room(right bool) image.Rectangle {
	r, off := it.inner, it.corner(it.outer).Ceil()
	switch it.part.Form {
	case theme.Tag:
		if right {
			r.Max.X -= off / 2
		} else {
			r.Min.X += off / 2
		}
	case theme.Slanted:
		r.Min.X, r.Max.X = r.Min.X+off/2, r.Max.X-off/2
	}
	return r
}

// say sets what an item says.
func (p *Painter) say(it *item, c *content.Content, side content.Side, right bool, ink paint.Colour) {
	t, r, a := it.part, it.room(right), it.align(right)
	if t.Content == theme.Literal {
		p.Label(r, a, t.Font, it.cap, ink, t.Words)
		return
	}
	var buffer [20]byte
	switch t.Field {
	case theme.Clock:
		p.Digits(r, a, t.Font, it.cap, ink, string(c.Clock.Bytes(buffer[:0])), "00:00")
	case theme.ShotClock:
		p.Digits(r, a, t.Font, it.cap, ink, string(c.Shot.Bytes(buffer[:0])), "00")
	case theme.TimeoutLeft:
		p.Digits(r, a, t.Font, it.cap, ink, string(c.Timeout.Text.Bytes(buffer[:0])), "0:00")
	case theme.Period:
		p.Label(r, a, t.Font, it.cap, ink, c.Label)
	case theme.Next:
		p.Label(r, a, t.Font, it.cap, ink, c.Next)
	case theme.TimeoutKind:
		p.Label(r, a, t.Font, it.cap, ink, c.Timeout.Kind)
	case theme.TimeoutBy:
		p.Name(r, a, t.Font, it.letters(), ink, c.Timeout.By)
	case theme.Message:
		p.Words(r, a, t.Font, it.letters(), ink, c.Message)
	default:
		if t.Field >= theme.TeamName && side == content.None {
			return
		}
		p.sayOf(it, c, &c.Teams[side.Index()], r, a, ink)
	}
}

// sayOf sets what an item says of a player or a team.
func (p *Painter) sayOf(it *item, c *content.Content, own *content.Team, r image.Rectangle, a pen.Align, ink paint.Colour) {
	t := it.part
	var buffer [20]byte
	count := func(n int, fits string) {
		p.Digits(r, a, t.Font, it.cap, ink, string(pen.Number(buffer[:], n)), fits)
	}
	switch t.Field {
	case theme.LowerNumber:
		p.Digits(r, a, t.Font, it.cap, ink, c.Lower.Number, "00")
	case theme.LowerName:
		p.Name(r, a, t.Font, it.letters(), ink, c.Lower.Name)
	case theme.LowerPoints:
		count(c.Lower.Points, "00")
	case theme.LowerFouls:
		count(c.Lower.Fouls, "0")
	case theme.TeamName:
		p.both(it, r, a, ink, own.Name, c.Teams[0].Name, c.Teams[1].Name)
	case theme.TeamShort:
		p.both(it, r, a, ink, own.Short, c.Teams[0].Short, c.Teams[1].Short)
	case theme.Score:
		fits := "00" // as large as most scores allow; both are smaller from a hundred on
		if max(c.Teams[0].Score, c.Teams[1].Score) > 99 {
			fits = "000"
		}
		count(own.Score, fits)
	case theme.Fouls:
		count(own.Fouls, "0")
	case theme.TimeoutsLeft:
		count(own.Timeouts.Full+own.Timeouts.Short, "0")
	case theme.Bonus:
		p.Label(r, a, t.Font, it.cap, ink, own.Bonus.Word())
	}
}

// both sets a team's name: one that is drawn for both teams is in one size.
func (p *Painter) both(it *item, r image.Rectangle, a pen.Align, ink paint.Colour, own, home, away string) {
	if !it.twin {
		p.Name(r, a, it.part.Font, it.cap, ink, own)
		return
	}
	p.Words(r, a, it.part.Font, p.Alike(r, it.part.Font, it.letters(), home, away), ink, own)
}

// letters is the height of the capitals of a text that hangs below its line too.
func (it *item) letters() int { return min(it.cap, it.inner.Dy()*5/8) }
