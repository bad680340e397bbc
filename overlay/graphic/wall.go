package graphic

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// wallPlan is where everything stands. A wide picture has the clock between the teams; a square or tall one
// has it above them. Of the content, places depend on the rosters alone: without players the board has the whole
// page. The line below it and the places of the timeout and the shot clock are kept free, so that nothing moves when
// they fill.
type wallPlan struct {
	scale               layout.Scale
	whole, floor, note  image.Rectangle
	clock, foot         image.Rectangle
	label, arrow        image.Rectangle // the arrow's is home's
	timeout             image.Rectangle
	shot, digits        image.Rectangle    // the shot clock's plate, and the part for its digits
	panel, score, lamp  image.Rectangle    // home's; so are the next
	captions, marks     [2]image.Rectangle // of the fouls and of the timeouts
	players             image.Rectangle
	stroke, gap         int
	corner, pad, margin int
}

// tallest is the height, in thousandths of the width, of the tall picture that the stacked wall is laid out
// for; a shorter one shrinks it.
const tallest = 1778

func planWall(t *theme.Theme, size image.Point, listed bool) wallPlan {
	w, s := &t.Wall, layout.ScaleOf(size)
	stacked := 5*size.X < 6*size.Y
	if stacked {
		s = layout.Scale{Num: min(size.Y, size.X*tallest/1000), Den: tallest}
	}
	p := wallPlan{
		scale: s, whole: image.Rectangle{Max: size}, stroke: s.Line(w.Stroke), gap: s.Line(w.Gap),
		corner: s.Px(w.Corner), pad: s.Px(w.Pad), margin: s.Line(w.Margin),
	}
	board := layout.Inset(p.whole, p.margin, p.margin)
	p.note, board = layout.CutBottom(board, s.Px(w.Note.Cap*2))
	board.Max.Y -= p.gap
	if listed {
		p.players, board = layout.CutBottom(board, board.Dy()*2/5)
		board.Max.Y -= p.gap
		p.players = layout.Column(p.players, 0, 2)
		p.players.Max.X -= p.gap
	}
	if stacked {
		p.floor, board = layout.CutTop(board, board.Dy()*9/20)
		board.Min.Y += p.gap
		p.stackedFloor()
		home := layout.Column(board, 0, 2)
		home.Max.X -= p.gap / 2
		p.team(home)
	} else {
		home, _ := layout.CutLeft(board, board.Dx()*3/10)
		p.floor = layout.Inset(board, home.Dx()+p.gap, 0)
		p.team(home)
		p.wideFloor()
	}
	return p
}

// stackedFloor lays out a floor that is wide. From the middle of its foot to either end stand the period, the timeout or
// the shot clock, the arrow.
func (p *wallPlan) stackedFloor() {
	p.clockOverFoot()
	p.label = layout.Inset(p.foot, p.foot.Dx()*41/100, 0)
	p.arrow, p.timeout = layout.CutLeft(p.foot, p.foot.Dx()/8)
	p.timeout.Max.X = p.label.Min.X
	p.shot = mirror(p.timeout, p.floor)
	p.shot, _ = layout.CutLeft(p.shot, p.shot.Dy()*3/2)
	p.digits = p.shot
}

// clockOverFoot cuts the floor into the clock's place and its foot. On a tall floor, where the width bounds the clock, it
// brings the two together in the middle.
func (p *wallPlan) clockOverFoot() {
	inner := layout.Inset(p.floor, p.pad, p.pad/2)
	p.foot, p.clock = layout.CutBottom(inner, inner.Dy()*3/10)
	spare := max(0, p.clock.Dy()-p.clock.Dx()*2/5) / 3
	p.clock.Min.Y, p.clock.Max.Y = p.clock.Min.Y+spare, p.clock.Max.Y-spare
	p.foot = p.foot.Sub(image.Pt(0, spare))
}

// wideFloor lays out a floor that is tall. It is as high as the names and scores beside it; timeout and shot clock
// stand below it, between the rails.
func (p *wallPlan) wideFloor() {
	p.shot, p.floor = layout.CutBottom(p.floor, p.floor.Max.Y-p.score.Max.Y)
	p.shot.Min.Y += p.gap
	p.digits, p.timeout = layout.CutRight(p.shot, p.shot.Dx()*2/5)
	p.clockOverFoot()
	p.label = layout.Inset(p.foot, p.foot.Dx()/4, 0)
	p.arrow, _ = layout.CutLeft(p.foot, p.foot.Dx()/4)
}

// team lays out the home team's column: name, score, and a rail of fouls over timeouts with the lamp beside.
func (p *wallPlan) team(column image.Rectangle) {
	all := column.Dy()
	p.panel, column = layout.CutTop(column, all*17/100)
	p.score, column = layout.CutTop(column, all*51/100)
	p.score = layout.Inset(p.score, p.pad, 0)
	p.lamp, column = layout.CutRight(column, column.Dx()*2/5)
	p.lamp = layout.Place(p.lamp, image.Pt(p.lamp.Dx(), min(p.lamp.Dy()*4/5, p.lamp.Dx()/2)), layout.Right)
	column.Max.X -= p.pad
	fouls, outs := layout.CutTop(column, column.Dy()/2)
	outs.Min.Y += p.gap / 2
	for i, row := range [2]image.Rectangle{fouls, outs} {
		p.captions[i], p.marks[i] = layout.CutTop(row, row.Dy()*3/8)
	}
}

func drawWall(p *Pen, c *content.Content) {
	longest := max(c.Teams[0].Count, c.Teams[1].Count)
	w := planWall(p.theme, p.size, longest > 0)
	t := &p.theme.Wall
	p.rect(w.whole, 0, p.colour(theme.Plate))
	name := p.alike(layout.Inset(w.panel, w.pad, 0), t.Name.Font, w.cap(t.Name, w.panel, 11, 20), c.Teams[0].Name, c.Teams[1].Name)
	for team := range c.Teams {
		p.wallTeam(&w, c, team, name)
		p.players(side(w.players, w.whole, team), &w, c, &c.Teams[team], longest)
	}
	p.floor(w.floor, w.corner, 7, max(1, w.stroke/3))
	ink := p.colour(theme.Ink)
	var buffer [20]byte
	if c.Phase == content.Over {
		p.label(layout.Inset(w.floor, w.pad, 0), centre, t.Name.Font, w.scale.Px(t.Clock.Cap)*3/5, ink, c.Label)
	} else {
		p.digits(w.clock, centre, t.Clock.Font, w.cap(t.Clock, w.clock, 5, 6), ink, string(c.Clock.Bytes(buffer[:0])), "00:00")
	}
	p.wallFoot(&w, c)
	p.wallShot(&w, c)
	p.wallTimeout(&w, c)
	p.wallNote(&w, c)
	if c.Ended {
		p.frame(w.whole, 0, w.scale.Line(t.Frame), p.colour(theme.Alarm))
	}
}

// cap returns the height of capitals that is num/den of r's, the lettering's own at most.
func (p *wallPlan) cap(l theme.Lettering, r image.Rectangle, num, den int) int {
	return min(p.scale.Px(l.Cap), r.Dy()*num/den)
}

// wallTeam draws a team's column; name is the height of its name's capitals.
func (p *Pen) wallTeam(w *wallPlan, c *content.Content, team, name int) {
	t, own := &p.theme.Wall, &c.Teams[team]
	at := func(r image.Rectangle) image.Rectangle { return side(r, w.whole, team) }
	ink := p.paintwork(at(w.panel), w.corner, w.stroke, c, team)
	p.words(layout.Inset(at(w.panel), w.pad, 0), centre, t.Name.Font, name, ink, own.Name)
	var buffer [20]byte
	fits := "00" // as large as most scores allow; both are smaller from a hundred on
	if max(c.Teams[0].Score, c.Teams[1].Score) > 99 {
		fits = "000"
	}
	points := p.digits(at(w.score), centre, t.Points.Font, w.cap(t.Points, w.score, 9, 11), p.colour(theme.Line), string(number(buffer[:], own.Score)), fits)
	captions := [2]string{"FOULS", "TIMEOUTS"}
	caption := p.shrunk(w.captions[1], t.Caption.Font, w.cap(t.Caption, w.captions[1], 3, 4), captions[1])
	for i, word := range captions {
		p.label(at(w.captions[i]), outward(team), t.Caption.Font, caption, p.colour(theme.Faint), word)
	}
	p.fouls(at(w.marks[0]), w.cap(theme.Lettering{Cap: t.Dot}, w.marks[0], 2, 3), w.stroke, own, team)
	p.timeoutsInLine(at(w.marks[1]), w.cap(theme.Lettering{Cap: t.Dot / 2}, w.marks[1], 1, 2), own, team)
	if c.Phase != content.Over {
		p.lamp(at(w.lamp), t.Lamp.Font, w.scale.Px(t.Lamp.Cap), own, team)
	}
	p.winner(points, at(w.score), w.gap, c, team)
}

// wallFoot is the row below the clock: the period in the middle, the possession arrow towards its team.
func (p *Pen) wallFoot(w *wallPlan, c *content.Content) {
	t, ink := &p.theme.Wall, p.colour(theme.Ink)
	cap := w.cap(t.Label, w.foot, 2, 3)
	if c.Phase != content.Over {
		p.label(layout.Inset(w.label, w.pad/2, 0), centre, t.Label.Font, cap, ink, c.Label)
	}
	if c.Arrow != content.None {
		arrow := layout.Place(w.arrow, image.Pt(min(w.arrow.Dx()*4/5, cap*3/2), cap), layout.Centre)
		p.arrow(side(arrow, w.floor, c.Arrow.Index()), c.Arrow.Index(), ink)
	}
}

// wallShot is the shot clock on a dark plate. Where the plate has room beside the digits it says what they are, until
// a timeout takes that room.
func (p *Pen) wallShot(w *wallPlan, c *content.Content) {
	if c.Shot.Len() == 0 {
		return
	}
	t := &p.theme.Wall
	p.rect(w.shot, w.corner, p.colour(theme.Plate))
	p.frame(w.shot, w.corner, w.stroke, p.colour(theme.Faint))
	var buffer [20]byte
	p.digits(layout.Inset(w.digits, w.pad, 0), centre, t.Shot.Font, w.cap(t.Shot, w.digits, 7, 10), p.colour(theme.Line), string(c.Shot.Bytes(buffer[:0])), "00")
	if !c.Timeout.On && w.digits != w.shot {
		p.label(layout.Inset(w.timeout, w.pad, 0), left, t.Caption.Font, w.cap(t.Label, w.timeout, 1, 5), p.colour(theme.Faint), "SHOT CLOCK")
	}
}

// wallTimeout is a plate below the clock, in the colour of the team whose timeout it is: the teams must read the time
// left from their benches.
func (p *Pen) wallTimeout(w *wallPlan, c *content.Content) {
	if !c.Timeout.On {
		return
	}
	t, ink := &p.theme.Wall, p.colour(theme.Line)
	ground := p.colour(theme.Plate)
	if team := c.Timeout.Team; team != content.None {
		ground = teamColour(&c.Teams[team.Index()])
		ink = p.theme.Readable(ground)
	}
	plate := w.timeout
	if c.Shot.Len() == 0 && w.digits != w.shot {
		plate = w.shot
	}
	p.rect(plate, w.corner, ground)
	p.frame(plate, w.corner, w.stroke, p.colour(theme.Line))
	r := layout.Inset(plate, w.pad, w.stroke)
	if c.Timeout.Text.Len() > 0 {
		r = p.timeoutClock(r, w, ink, c)
	}
	const says = "TIMEOUT"
	words := layout.Inset(r, 0, r.Dy()/16)
	upper, lower := layout.Row(words, 0, 2), layout.Row(words, 1, 2)
	cap := upper.Dy() * 2 / 3
	switch {
	case r.Dx() > 3*r.Dy(): // room for all in one line
		cap = r.Dy() * 9 / 20
		r.Min.X += p.words(r, left, t.Note.Font, cap, ink, says) + cap
		p.name(r, left, t.Note.Font, cap, ink, c.Timeout.By)
	case cap < least:
		p.name(r, left, t.Note.Font, r.Dy()*2/5, ink, c.Timeout.By)
	default:
		p.label(upper, left, t.Caption.Font, cap, ink, says)
		p.name(lower, left, t.Note.Font, cap, ink, c.Timeout.By)
	}
}

// timeoutClock draws the time left of a timeout at the right of r, or in a narrow one in its lower part, and returns
// what is left of r.
func (p *Pen) timeoutClock(r image.Rectangle, w *wallPlan, ink paint.Colour, c *content.Content) image.Rectangle {
	l := p.theme.Wall.Timeout
	clock := r
	if 2*r.Dx() < 5*r.Dy() {
		r, clock = layout.CutTop(r, r.Dy()*2/5)
	} else {
		d := p.fonts.Digits(p.faces[l.Font], p.em(l.Font, w.cap(l, r, 3, 4)))
		clock, r = layout.CutRight(r, min(d.Width("0:00").Ceil(), r.Dx()*3/5))
		r.Max.X -= w.pad
	}
	var buffer [20]byte
	p.digits(clock, right, l.Font, w.cap(l, clock, 4, 5), ink, string(c.Timeout.Text.Bytes(buffer[:0])), "0:00")
	return r
}

func (p *Pen) wallNote(w *wallPlan, c *content.Content) {
	if c.Lower.Empty() && c.Message == "" {
		return
	}
	t := &p.theme.Wall
	p.rect(w.note, w.corner, p.colour(theme.Cloth))
	p.says(layout.Inset(w.note, w.pad, 0), w.pad, t.Note.Font, w.scale.Px(t.Note.Cap), p.colour(theme.Ink), c)
}
