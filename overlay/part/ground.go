package part

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// stained is an operation whose colours are still to be mixed. Without a colour it has what reads best on the ground,
// or a little of that.
type stained struct {
	op         paint.Op
	colour, to theme.ColourRef // to only with an Axis
	little     bool
}

// little is how much of what reads best a pattern has, of 255.
const little = 30

// ground returns what is painted below an item's content, back to front, for one of the two ways that it can face.
func (it *item) ground(right bool) []stained {
	t := it.part
	if it.outer.Empty() {
		return nil
	}
	var list []stained
	if t.Shadow > 0 {
		soft := it.scale.Px(t.Shadow)
		list = append(list, stained{op: paint.Op{
			Shape: paint.Shadow, Box: paint.BoxPx(shadowOf(it.outer, soft)), Radius: it.roundness(), Stroke: paint.Px(soft),
		}, colour: t.Shade})
	}
	if t.Fill.Of != theme.NoColour {
		fill := stained{op: it.outline(it.outer, right, 0), colour: t.Fill}
		if t.To.Of != theme.NoColour {
			fill.to, fill.op.Axis = t.To, paint.Across
			switch {
			case t.Toward == theme.TowardBottom:
				fill.op.Axis = paint.Down
			case t.Toward == theme.TowardInside && right:
				fill.colour, fill.to = t.To, t.Fill
			}
		}
		list = append(list, fill)
	}
	if t.Pattern != theme.Plain {
		for _, op := range it.pattern(right) {
			list = append(list, stained{op: op, colour: t.Grain, little: true})
		}
	}
	return list
}

// line returns the part's painted line, which lies over its picture; without a shape where it has none.
func (it *item) line(right bool) stained {
	t := it.part
	if t.Content == theme.Marked || it.stroke == 0 || it.outer.Empty() { // the line is that of the marks
		return stained{}
	}
	return stained{op: it.outline(it.outer, right, it.stroke), colour: t.Line}
}

// roundness is the radius of a shadow and of a picture's corners.
func (it *item) roundness() paint.Fixed {
	if f := it.part.Form; f == theme.Rounded || f == theme.Pill {
		return it.corner(it.outer)
	}
	return 0
}

// outline returns the part's form in r, filled or as a band of that width inside its edge.
func (it *item) outline(r image.Rectangle, right bool, stroke int) paint.Op {
	corner := it.corner(r)
	if f := it.part.Form; f == theme.Rounded || f == theme.Pill {
		return paint.Op{Shape: paint.Rect, Box: paint.BoxPx(r), Radius: corner, Stroke: paint.Px(stroke)}
	}
	return polygon(corners(it.part.Form, paint.BoxPx(r), corner, right), stroke)
}

func polygon(corners []paint.Point, stroke int) paint.Op {
	var l paint.List
	l.Outline(paint.Px(stroke), paint.Colour{}, corners...)
	if len(l.Ops) == 0 {
		return paint.Op{}
	}
	return l.Ops[0]
}

// corners returns the corners of a form that has no round ones, clockwise. A tag's point is towards the left or the right
// end; a slant leans away from it.
func corners(f theme.Form, b paint.Box, by paint.Fixed, right bool) []paint.Point {
	x0, y0, x1, y1 := b.Min.X, b.Min.Y, b.Max.X, b.Max.Y
	var list []paint.Point
	switch f {
	case theme.Slanted:
		list = []paint.Point{{X: x0 + by, Y: y0}, {X: x1, Y: y0}, {X: x1 - by, Y: y1}, {X: x0, Y: y1}}
	case theme.Tag:
		list = []paint.Point{{X: x0, Y: (y0 + y1) / 2}, {X: x0 + by, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0 + by, Y: y1}}
	case theme.Notched:
		list = []paint.Point{
			{X: x0 + by, Y: y0}, {X: x1 - by, Y: y0}, {X: x1, Y: y0 + by}, {X: x1, Y: y1 - by},
			{X: x1 - by, Y: y1}, {X: x0 + by, Y: y1}, {X: x0, Y: y1 - by}, {X: x0, Y: y0 + by},
		}
	default:
		list = []paint.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
	}
	if right {
		for i := range list {
			list[i].X = x0 + x1 - list[i].X
		}
	}
	return list
}

// Bounds of a pattern: its lines are at least leastStep pixels apart, and so far apart that there are at most maxGrain.
const (
	leastStep = 6
	maxGrain  = 240
)

// leastBoard is the height in pixels from which a board shows its joints; on smaller ones they would disturb.
const leastBoard = 14

// pattern returns the lines of the part's pattern, cut to its form.
func (it *item) pattern(right bool) []paint.Op {
	t, r := it.part, it.outer
	step, thin := max(it.scale.Px(t.Step), leastStep), it.scale.Line(1)
	var list []paint.Op
	// level adds what of a level line lies in the form, upright what of an upright one.
	level := func(x0, x1, y int) {
		if low, high := it.row(y, thin, right); max(x0, low) < min(x1, high) {
			list = append(list, paint.Op{Shape: paint.Rect, Box: paint.BoxPx(image.Rect(max(x0, low), y, min(x1, high), y+thin))})
		}
	}
	upright := func(x, y0, y1 int) {
		for y0 < y1 {
			if low, high := it.row(y0, 1, right); low <= x && x+thin <= high {
				break
			}
			y0++
		}
		for y0 < y1 {
			if low, high := it.row(y1-1, 1, right); low <= x && x+thin <= high {
				break
			}
			y1--
		}
		if y0 < y1 {
			list = append(list, paint.Op{Shape: paint.Rect, Box: paint.BoxPx(image.Rect(x, y0, x+thin, y1))})
		}
	}
	switch t.Pattern {
	case theme.Boards:
		boards := min(max(1, (r.Dy()+step/2)/step), maxGrain/2)
		if r.Dy()/boards < leastBoard {
			return nil
		}
		for i := range boards {
			board := layout.Row(r, i, boards)
			if i > 0 {
				level(r.Min.X, r.Max.X, board.Min.Y)
			}
			// Joints a third of the way along, in turn from either end, as boards are laid.
			upright(r.Min.X+r.Dx()*(2+3*(i%2)+i%3)/9, board.Min.Y, board.Max.Y)
		}
	case theme.Ruled:
		step = max(step, r.Dy()/maxGrain)
		for y := r.Min.Y + step; y+thin < r.Max.Y; y += step {
			level(r.Min.X, r.Max.X, y)
		}
	case theme.Bands:
		list = it.bands(list, max(step, (r.Dx()+r.Dy())/maxGrain), step/2, right, !right)
	case theme.Lattice:
		step = max(step, 2*(r.Dx()+r.Dy())/maxGrain)
		list = it.bands(list, step, thin, right, false)
		list = it.bands(list, step, thin, right, true)
	case theme.Weave:
		for step*step < r.Dx()*r.Dy()/maxGrain {
			step++
		}
		// Threads over one another in turn: level in one cell, upright in the next.
		for j, y := 0, r.Min.Y; y < r.Max.Y; j, y = j+1, y+step {
			for i, x := 0, r.Min.X; x < r.Max.X; i, x = i+1, x+step {
				if (i+j)%2 == 0 {
					level(x, min(x+step, r.Max.X), min(y+step/2, r.Max.Y-thin))
				} else if x+step/2+thin <= r.Max.X {
					upright(x+step/2, y, min(y+step, r.Max.Y))
				}
			}
		}
	}
	return list
}

// row returns what of the rows from y on lies in the part's form, in whole pixels.
func (it *item) row(y, high int, right bool) (low, top int) {
	r, corner := it.outer, it.corner(it.outer)
	low, top = r.Min.X, r.Max.X
	for _, y := range [2]int{y, y + high - 1} {
		var a, b int // taken off at the end that a home team has, and at the other
		up := 2*(y-r.Min.Y) + 1
		up = min(up, 2*r.Dy()-up) // half pixels from the nearer edge
		c := 2 * corner.Ceil()
		switch {
		case it.part.Form == theme.Tag:
			a = max(0, r.Dy()-up) * corner.Ceil() / max(1, r.Dy())
		case it.part.Form == theme.Slanted:
			down := 2*(y-r.Min.Y) + 1
			a = (2*r.Dy()-down)*corner.Ceil()/max(1, 2*r.Dy()) + 1
			b = down*corner.Ceil()/max(1, 2*r.Dy()) + 1
		case up >= c:
		case it.part.Form == theme.Notched:
			a = (c-up)/2 + 1
			b = a
		default:
			d := c - up
			a = (c-root(c*c-d*d))/2 + 1
			b = a
		}
		if right {
			a, b = b, a
		}
		low, top = max(low, r.Min.X+a), min(top, r.Max.X-b)
	}
	return low, top
}

// root returns the greatest integer whose square is at most n; n ≥ 0.
func root(n int) int {
	x := 0
	for bit := 1 << 20; bit > 0; bit >>= 1 {
		if y := x + bit; y*y <= n {
			x = y
		}
	}
	return x
}

// bands adds slanted bands, step apart and that wide, cut to the form; rising ones go up to the right.
func (it *item) bands(list []paint.Op, step, wide int, right, rising bool) []paint.Op {
	b := paint.BoxPx(it.outer)
	high, s, w := b.Max.Y-b.Min.Y, paint.Px(step), paint.Px(max(1, wide))
	form := it.part.Form
	if form == theme.Rounded || form == theme.Pill {
		form = theme.Notched // a round corner is cut straight for them
	}
	edge := corners(form, b, it.corner(it.outer), right)
	if right { // turned over in the mirror
		for i, j := 0, len(edge)-1; i < j; i, j = i+1, j-1 {
			edge[i], edge[j] = edge[j], edge[i]
		}
	}
	for x := b.Min.X - high; x < b.Max.X; x += s {
		band := []paint.Point{{X: x + high, Y: b.Min.Y}, {X: x + high + w, Y: b.Min.Y}, {X: x + w, Y: b.Max.Y}, {X: x, Y: b.Max.Y}}
		if !rising {
			for i := range band {
				band[i].X = b.Min.X + b.Max.X - band[i].X
			}
		}
		for i := range edge {
			band = clip(band, edge[i], edge[(i+1)%len(edge)])
		}
		if op := polygon(band, 0); op.Shape != 0 {
			list = append(list, op)
		}
	}
	return list
}

// clip returns what of a convex polygon lies to the right of the way from a to b, as seen with y down and a form's
// corners clockwise: inside.
func clip(in []paint.Point, a, b paint.Point) []paint.Point {
	if a == b {
		return in
	}
	side := func(p paint.Point) int64 {
		return int64(b.X-a.X)*int64(p.Y-a.Y) - int64(b.Y-a.Y)*int64(p.X-a.X)
	}
	var out []paint.Point
	for i, p := range in {
		q := in[(i+1)%len(in)]
		sp, sq := side(p), side(q)
		if sp >= 0 {
			out = append(out, p)
		}
		if sp > 0 && sq < 0 || sp < 0 && sq > 0 {
			// In integers, from the inner end, so that rounding does not lead out.
			if sp < 0 {
				p, q, sp, sq = q, p, sq, sp
			}
			share := func(from, to paint.Fixed) paint.Fixed { return from + paint.Fixed(int64(to-from)*sp/(sp-sq)) }
			out = append(out, paint.Point{X: share(p.X, q.X), Y: share(p.Y, q.Y)})
		}
	}
	return out
}

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
