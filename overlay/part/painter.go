// Package part draws the graphics that a theme lays out from parts: one interpreter for all of them. plan.go places the
// parts at a size, once; draw.go finds how each of them is at an instant and paints it; motion.go moves them. It knows
// parts, not looks: what a graphic is for is its caller's business.
package part

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// Painter draws a theme's graphics at one size. It holds no trace of what it drew before, but for plans and scaled
// pictures, which save time and change nothing. It satisfies paint.Pictures.
type Painter struct {
	*pen.Pen
	reduced  bool
	plans    map[string]*plan
	pictures []scaled

	// Of what is being drawn:
	now     content.Instant
	still   content.Instant // nothing moves from here on
	moments moments
	fresh   paint.List // for Retell
}

// New returns a painter; with reduced nothing moves.
func New(p *pen.Pen, reduced bool) *Painter {
	return &Painter{Pen: p, reduced: reduced, plans: map[string]*plan{}}
}

// Draw appends the graphic of that name as it is at an instant; nothing if the theme does not draw it. It returns the
// instant from which nothing moves any more while the content stays as it is.
func (p *Painter) Draw(name string, c *content.Content, at content.Instant, to *paint.List) content.Instant {
	made := p.plan(name)
	p.Begin(to, made.box)
	return p.lay(made, c, at)
}

// Retell brings a list that Draw has made of the graphic up to a content that differs from the one drawn in the text of
// readings alone, while nothing moves. It tells whether it could; if not the list is as it was.
func (p *Painter) Retell(name string, c *content.Content, list *paint.List, damage *frame.Damage) bool {
	made := p.plan(name)
	p.fresh.Reset()
	p.Begin(&p.fresh, made.box)
	for _, i := range made.readings {
		s := &made.state[i]
		if s.gone {
			continue
		}
		first := len(p.fresh.Ops)
		s.says = c
		p.item(made, i)
		if len(p.fresh.Ops)-first != s.to-s.from {
			return false
		}
	}
	done := 0
	for _, i := range made.readings {
		s := &made.state[i]
		if s.gone {
			continue
		}
		for k := s.from; k < s.to; k++ {
			old, now := &list.Ops[k], &p.fresh.Ops[done]
			if *old != *now {
				damage.Add(old.Bounds().Intersect(made.box))
				damage.Add(now.Bounds().Intersect(made.box))
				*old = *now
			}
			done++
		}
	}
	return true
}

// Box returns all that the graphic can ever touch.
func (p *Painter) Box(name string) image.Rectangle { return p.plan(name).box }

// Box returns the same for a theme and a size.
func Box(t *theme.Theme, name string, size image.Point) image.Rectangle {
	if g := t.Graphic(name); g != nil {
		return place(&g.Layouts[shapeOf(size)], size).box
	}
	return image.Rectangle{}
}

// plan returns the plan of a graphic; an empty one if the theme does not draw it.
func (p *Painter) plan(name string) *plan {
	made := p.plans[name]
	if made == nil {
		made = &plan{}
		if g := p.Theme.Graphic(name); g != nil {
			made = place(&g.Layouts[shapeOf(p.Size)], p.Size)
			p.scalePictures(made)
		}
		p.plans[name] = made
	}
	return made
}

// Leaves returns how long the graphic takes to go off air, in nanoseconds.
func (p *Painter) Leaves(name string) content.Instant {
	if p.reduced {
		return 0
	}
	long, items := 0, p.plan(name).items
	for i := range items {
		if m := &items[i].part.Leave; items[i].around < 0 && m.Move != theme.Cut {
			long = max(long, m.Wait+m.MS)
		}
	}
	return max(0, content.Instant(long)*millisecond-lead)
}
