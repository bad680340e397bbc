package part

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/theme"
	"rafter/overlay/tick"
)

// lead is how far a motion is as it begins: a sixtieth of a second, so that the frame of a change already shows it.
const lead = 16_666_667

// course returns how far a motion is that began at an instant, 0 to tick.One, and notes how long it goes on.
func (p *Painter) course(m *theme.Motion, began content.Instant) int {
	if m.Move == theme.Cut || p.reduced {
		return tick.One
	}
	passed := p.now - began - content.Instant(m.Wait)*millisecond
	end := content.Instant(m.MS)*millisecond - lead
	x := 0
	if passed >= 0 {
		x = tick.Share(int64(passed+lead), int64(end+lead))
	}
	if x < tick.One {
		p.still = max(p.still, p.now-passed+end)
	}
	switch m.Ease {
	case theme.EaseOut:
		return tick.Out(x)
	case theme.EaseIn:
		return tick.In(x)
	case theme.EaseInOut:
		return tick.InOut(x)
	}
	return x
}

// motion finds how an item is shown that has come or goes, on top of how what is around it is shown.
func (p *Painter) motion(it *item, s *state) {
	t := it.part
	switch {
	case s.leaving && t.Leave.Move != theme.Cut:
		x := p.course(&t.Leave, s.since)
		if s.gone = x == tick.One; !s.gone {
			s.shown = s.shown.with(it, t.Leave.Move, tick.One-x, true, it.right(s.side))
		}
	case !s.leaving && s.known && t.Enter.Move != theme.Cut:
		if x := p.course(&t.Enter, s.since); x < tick.One {
			s.shown = s.shown.with(it, t.Enter.Move, x, false, it.right(s.side))
		}
	}
}

// with returns how an item is shown that is there to x of tick.One: on its way in, or out.
func (w showing) with(it *item, m theme.Move, x int, out, right bool) showing {
	at := it.reach.Add(w.by)
	away := func(long int) int { return int(int64(long) * int64(tick.One-x) / tick.One) }
	uncovered := at
	switch m {
	case theme.Fade, theme.Glow:
		w.alpha = int(int64(w.alpha) * int64(x) / tick.One)
		return w
	case theme.Rise, theme.Roll:
		if out {
			w.by.Y -= away(at.Dy())
		} else {
			w.by.Y += away(at.Dy())
		}
	case theme.Drop:
		if out {
			w.by.Y += away(at.Dy())
		} else {
			w.by.Y -= away(at.Dy())
		}
	case theme.Slide:
		if right {
			w.by.X += away(at.Dx())
		} else {
			w.by.X -= away(at.Dx())
		}
	case theme.Wipe:
		if right {
			uncovered.Min.X += away(at.Dx())
		} else {
			uncovered.Max.X -= away(at.Dx())
		}
	case theme.Grow:
		half := away(at.Dx()) / 2
		uncovered.Min.X, uncovered.Max.X = at.Min.X+half, at.Max.X-half
	}
	return w.within(uncovered)
}

// within returns the same, clipped.
func (w showing) within(r image.Rectangle) showing {
	if w.clipped {
		r = r.Intersect(w.clip)
	}
	w.clip, w.clipped = r, true
	return w
}

// calm is how long a field has to have stood before a change of it may light up: two a second and a half at most, well
// below the three flashes a second that may harm. Source: WCAG 2.2, SC 2.3.1.
const calm = 400 * millisecond

// glow returns how lit an item's ground is by a change, 0 to tick.One.
func (p *Painter) glow(it *item, s *state) int {
	m := &it.part.Change
	if m.Move != theme.Glow || s.leaving || p.reduced {
		return 0
	}
	w := lastChange(it.part, s.says, s.side)
	if !w.ok || w.at > p.now || p.now-w.at >= theme.MaxMotion*millisecond || w.before != 0 && w.at-w.before < calm {
		return 0
	}
	if p.now-w.at < content.Instant(m.Wait)*millisecond {
		p.course(m, w.at)
		return 0
	}
	return tick.One - p.course(m, w.at)
}

// turned returns what an item said before a change that is still on its way, and how far that is.
func (p *Painter) turned(it *item, s *state) (before *moment, x int) {
	m := &it.part.Change
	if m.Move == theme.Cut || m.Move == theme.Glow || s.leaving || p.moments.count == 0 {
		return nil, tick.One
	}
	w := lastChange(it.part, s.says, s.side)
	if !w.ok || s.known && w.at <= s.since {
		return nil, tick.One
	}
	if before = p.moments.before(w.at); before == nil {
		return nil, tick.One
	}
	return before, p.course(m, w.at)
}
