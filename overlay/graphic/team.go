package graphic

import (
	"image"
	"strconv"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// What the bug and the wall show of a team alike: its colour, its fouls, its timeouts, its lamp.

func teamColour(t *content.Team) paint.Colour {
	return paint.Colour{R: t.Colour.R, G: t.Colour.G, B: t.Colour.B, A: 255}
}

// paintwork draws a team's panel and returns the colour of text on it. A colour near the plate's gets a
// painted line round it; where the two teams are alike the away team's panel has two.
func (p *Pen) paintwork(r image.Rectangle, radius, stroke int, c *content.Content, team int) paint.Colour {
	own := teamColour(&c.Teams[team])
	ink := p.theme.Readable(own)
	p.rect(r, radius, own)
	alike := theme.Alike(own, teamColour(&c.Teams[1-team]))
	if alike && team == 1 {
		p.frame(r, radius, stroke, ink)
		p.frame(r.Inset(2*stroke), max(0, radius-2*stroke), stroke, ink)
	} else if theme.Contrast(own, p.colour(theme.Plate)) < edgeBelow {
		p.frame(r, radius, stroke, p.colour(theme.Line))
	}
	return ink
}

// edgeBelow is the contrast to the plate, times 1000, below which a panel needs an edge to be seen as one.
// Common practice, no source.
const edgeBelow = 1500

// maxMarks bounds a row of foul marks; no set's display goes on beyond ten.
const maxMarks = 10

// fouls draws a row of marks from a team's own end: rings for places, discs for fouls. At the limit each mark
// is a tall lit slab instead, so that the change is one of shape and light as well as of colour.
func (p *Pen) fouls(r image.Rectangle, dot, stroke int, t *content.Team, team int) {
	places := min(max(t.Limit, t.Fouls), maxMarks)
	if places == 0 {
		return
	}
	pitch := min(dot*4/3+1, r.Dx()/places)
	dot = min(dot, pitch-max(1, pitch/6))
	atLimit := t.Limit > 0 && t.Fouls >= t.Limit
	for i := range places {
		box := image.Rect(r.Min.X+i*pitch, r.Min.Y+(r.Dy()-dot)/2, r.Min.X+i*pitch+dot, r.Min.Y+(r.Dy()-dot)/2+dot)
		box = side(box, r, team)
		switch {
		case atLimit:
			taller := max(1, dot/4)
			slab := image.Rect(box.Min.X, box.Min.Y-taller, box.Max.X, box.Max.Y+taller)
			p.rect(slab, dot/6, p.colour(theme.Lamp))
		case i < t.Fouls:
			p.rect(box, dot, p.colour(theme.Line))
		default:
			p.frame(box, dot, stroke, p.colour(theme.Faint))
		}
	}
}

// timeouts draws what is left in two rows from r's inner end: long bars for full timeouts above, short ones
// below. Where there are more than fit, all become shorter.
func (p *Pen) timeouts(r image.Rectangle, bar int, t *content.Team, team int) {
	high, gap := max(2, bar*2/5), max(1, bar/5)
	if n := min(t.Timeouts.Full, r.Dx()/(gap+1)); n > 0 {
		bar = min(bar, (r.Dx()+gap)/n-gap)
	}
	space, rows := max(1, high*2/3), 2
	if t.Timeouts.Short == 0 {
		rows = 1
	}
	y := r.Min.Y + (r.Dy()-rows*high-(rows-1)*space)/2
	for i, left := range [2]int{t.Timeouts.Full, t.Timeouts.Short} {
		wide := max(1, bar*(5-3*i)/5)
		for j := range min(left, (r.Dx()+gap)/(wide+gap)) {
			x := r.Max.X - (j+1)*wide - j*gap
			p.rect(side(image.Rect(x, y, x+wide, y+high), r, team), high/3, p.colour(theme.Line))
		}
		y += high + space
	}
}

// timeoutsInLine draws what is left in one row from a team's own end: full timeouts' bars, then the short ones'.
func (p *Pen) timeoutsInLine(r image.Rectangle, high int, t *content.Team, team int) {
	long, short := t.Timeouts.Full, t.Timeouts.Short
	// In quarters of the height: bars of 10 and 5, with 3 between. There is room for three and two at least, so that
	// what is left does not grow as it becomes less.
	high = max(1, min(high, 4*r.Dx()/max(13*long+8*short-3, 13*3+8*2-3)))
	x, y := r.Min.X, r.Min.Y+(r.Dy()-high)/2
	for i := range long + short {
		wide := high * 10 / 4
		if i >= long {
			wide = high * 5 / 4
		}
		p.rect(side(image.Rect(x, y, x+wide, y+high).Intersect(r), r, team), high/3, p.colour(theme.Line))
		x += wide + max(1, high*3/4)
	}
}

// lamp draws what a team shoots: a lit plate that points to it.
func (p *Pen) lamp(r image.Rectangle, font theme.FontRole, cap int, t *content.Team, team int) {
	if t.Bonus == content.NoThrows {
		return
	}
	point := r.Dy() * 2 / 5
	if cap < least { // the point alone must say it
		point = r.Dy()
	}
	p.tag(r, point, team, p.colour(theme.Lamp))
	word := layout.Inset(r, r.Dy()/8, 0)
	if team == 0 { // less most of the point
		word.Min.X += r.Dy() / 4
	} else {
		word.Max.X -= r.Dy() / 4
	}
	p.label(word, centre, font, cap, p.colour(theme.Ink), t.Bonus.Word())
}

// winner draws a painted line under the points of the team that has won, as wide as they are; within is their place.
func (p *Pen) winner(points, within image.Rectangle, thick int, c *content.Content, team int) {
	if c.Winner != content.None && c.Winner.Index() == team {
		y := points.Max.Y + min(thick, (within.Max.Y-points.Max.Y-thick)/2)
		p.rect(image.Rect(points.Min.X, y, points.Max.X, y+thick), 0, p.colour(theme.Line))
	}
}

// number returns n as text without allocating, in the caller's buffer.
func number(buffer []byte, n int) []byte { return strconv.AppendInt(buffer[:0], int64(n), 10) }
