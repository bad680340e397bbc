package graphic

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/theme"
)

// wallPlan is where everything stands. A wide picture has the clock between the teams; a square or tall one
// has it above them. Places never depend on the content.
type wallPlan struct {
	scale               layout.Scale
	whole, floor        image.Rectangle
	clock, foot, note   image.Rectangle
	panel, score        image.Rectangle // home's; so are the next
	fouls, outs, lamp   image.Rectangle
	players             image.Rectangle
	stroke, gap         int
	corner, pad, margin int
}

// tallest is the height, in thousandths of the width, of the tall picture that the stacked wall is laid out
// for; a shorter one shrinks it.
const tallest = 1778

func planWall(t *theme.Theme, size image.Point) wallPlan {
	w, s := &t.Wall, layout.ScaleOf(size)
	stacked := 5*size.X < 6*size.Y
	if stacked {
		s = layout.Scale{Num: min(size.Y, size.X*tallest/1000), Den: tallest}
	}
	p := wallPlan{
		scale: s, whole: image.Rectangle{Max: size}, stroke: s.Line(w.Stroke), gap: s.Line(w.Gap),
		corner: s.Px(w.Corner), pad: s.Px(w.Pad), margin: s.Line(w.Margin),
	}
	inner := layout.Inset(p.whole, p.margin, p.margin)
	name, points, foot := s.Px(w.Name.Cap*9/5), s.Px(w.Points.Cap*5/4), s.Px(w.Label.Cap*8/5)
	if stacked {
		p.floor, inner = layout.CutTop(inner, s.Px(w.Clock.Cap*8/5)+foot)
		p.note, inner = layout.CutTop(layout.Inset(inner, 0, p.gap), s.Px(w.Note.Cap*5/2))
		_, inner = layout.CutTop(inner, p.gap)
		p.team(layout.Column(inner, 0, 2), name, points, foot, w)
	} else {
		home, middle := layout.CutLeft(inner, inner.Dx()*32/100)
		middle, _ = layout.CutLeft(middle, inner.Dx()-2*home.Dx())
		middle = layout.Inset(middle, p.gap, 0)
		p.floor, p.note = layout.CutTop(middle, name+p.gap+points)
		_, p.note = layout.CutTop(p.note, p.gap)
		p.team(home, name, points, foot, w)
	}
	p.foot, p.clock = layout.CutBottom(p.floor, foot+p.pad)
	p.foot = layout.Inset(p.foot, p.pad, p.pad/2)
	return p
}

// team lays out the home team's column: name, score, lamp and fouls, timeouts, players.
func (p *wallPlan) team(column image.Rectangle, name, points, foot int, w *theme.Wall) {
	column.Max.X -= p.gap / 2
	p.panel, column = layout.CutTop(column, name)
	_, column = layout.CutTop(column, p.gap)
	p.score, column = layout.CutTop(column, points)
	var rail image.Rectangle
	rail, column = layout.CutTop(column, foot)
	rail = layout.Inset(rail, p.pad/2, 0)
	p.lamp, rail = layout.CutRight(rail, rail.Dx()*2/5)
	p.lamp = layout.Inset(p.lamp, p.pad/2, p.gap/2)
	p.fouls = rail
	p.outs, column = layout.CutTop(column, foot*2/3)
	p.outs = layout.Inset(p.outs, p.pad/2, 0)
	_, p.players = layout.CutTop(column, p.gap)
}

func drawWall(p *Pen, c *content.Content) {
	w := planWall(p.theme, p.size)
	t := &p.theme.Wall
	p.rect(w.whole, 0, p.colour(theme.Plate))
	for team := range c.Teams {
		p.wallTeam(&w, c, team)
	}
	p.floor(w.floor, w.corner, 7, max(1, w.stroke/2))
	ink := p.colour(theme.Ink)
	if c.Phase == content.Over {
		p.words(layout.Inset(w.clock, w.pad, 0), centre, t.Name.Font, w.scale.Px(t.Clock.Cap)*3/5, ink, c.Label)
	} else {
		p.digits(layout.Inset(w.clock, w.pad, 0), centre, t.Clock.Font, w.scale.Px(t.Clock.Cap), ink, c.Clock.String(), "00:00")
	}
	p.wallFoot(&w, c)
	p.wallNote(&w, c)
	if c.Ended {
		p.frame(w.whole, 0, w.scale.Line(t.Frame), p.colour(theme.Alarm))
	}
}

func (p *Pen) wallTeam(w *wallPlan, c *content.Content, team int) {
	t, own := &p.theme.Wall, &c.Teams[team]
	at := func(r image.Rectangle) image.Rectangle { return side(r, w.whole, team) }
	ink := p.paintwork(at(w.panel), w.corner, w.stroke, c, team)
	p.words(layout.Inset(at(w.panel), w.pad, 0), centre, t.Name.Font, w.scale.Px(t.Name.Cap), ink, own.Name)
	var buffer [20]byte
	p.digits(at(w.score), centre, t.Points.Font, w.scale.Px(t.Points.Cap), p.colour(theme.Line), string(number(buffer[:], own.Score)), "000")
	dot := w.scale.Px(t.Label.Cap) * 3 / 5
	p.fouls(at(w.fouls), dot, w.stroke, own, team)
	p.lamp(at(w.lamp), t.Label.Font, w.scale.Px(t.Label.Cap)*3/4, own, team)
	p.timeouts(at(w.outs), dot*3/2, own, 1-team) // outward, under the fouls
	p.players(at(w.players), w, own)
}

// wallFoot is the row below the clock, as in the bug.
func (p *Pen) wallFoot(w *wallPlan, c *content.Content) {
	t, ink := &p.theme.Wall, p.colour(theme.Ink)
	cap := w.scale.Px(t.Label.Cap)
	slot, label := layout.CutLeft(w.foot, w.foot.Dx()/4)
	_, label = layout.CutRight(label, w.foot.Dx()/4)
	if c.Shot.Len() > 0 {
		var plate image.Rectangle
		plate, label = layout.CutRight(label, label.Dx()/2)
		p.rect(plate, w.corner/2, p.colour(theme.Plate))
		p.digits(plate, centre, t.Shot.Font, w.scale.Px(t.Shot.Cap), p.colour(theme.Line), c.Shot.String(), "00")
	}
	if c.Phase != content.Over {
		p.words(label, centre, t.Label.Font, cap, ink, c.Label)
	}
	if c.Arrow != content.None {
		arrow := layout.Place(slot, image.Pt(slot.Dx()*4/5, cap), layout.Centre)
		p.arrow(side(arrow, w.floor, c.Arrow.Index()), c.Arrow.Index(), ink)
	}
}

func (p *Pen) wallNote(w *wallPlan, c *content.Content) {
	t := &p.theme.Wall
	says := !c.Lower.Empty() || c.Message != ""
	if !c.Timeout.On && !says {
		return
	}
	p.rect(w.note, w.corner, p.colour(theme.Cloth))
	ink, cap := p.colour(theme.Ink), w.scale.Px(t.Note.Cap)
	r := layout.Inset(w.note, w.pad, 0)
	if r.Dy() < 4*cap { // one row
		p.note(r, w.pad, t.Note.Font, cap, ink, c)
		return
	}
	p.note(r, w.pad, t.Note.Font, cap, ink, c)
}

// maxFouls is the row of marks a player has; a player with more gets more.
const maxFouls = 5

// players lists the team: number, fouls, points, in one column or two.
func (p *Pen) players(r image.Rectangle, w *wallPlan, t *content.Team) {
	if t.Count == 0 {
		return
	}
	columns := 1
	if r.Dy() < t.Count*w.scale.Px(p.theme.Wall.Player.Cap)*3/2 {
		columns = 2
	}
	rows := max((t.Count+columns-1)/columns, 5)
	for i := range t.Count {
		column := layout.Column(r, i/rows, columns)
		if columns == 2 {
			column = layout.Inset(column, w.gap/2, 0)
		}
		p.player(layout.Row(column, i%rows, rows), w, &t.Players[i])
	}
}

func (p *Pen) player(r image.Rectangle, w *wallPlan, player *content.Player) {
	t := &p.theme.Wall
	cap := min(w.scale.Px(t.Player.Cap), r.Dy()*3/4)
	line := p.colour(theme.Line)
	var buffer [20]byte
	number1, rest := layout.CutLeft(r, cap*2)
	points, marks := layout.CutRight(rest, cap*5/2)
	if player.OnFloor {
		p.rect(layout.Place(number1, image.Pt(max(1, cap/6), cap), layout.Left), 0, p.colour(theme.Lamp))
	}
	p.digits(number1, centre, t.Player.Font, cap, line, player.Number, "00")
	p.digits(points, right, t.Player.Font, cap, line, string(number(buffer[:], player.Points)), "000")
	if player.Out {
		p.rect(layout.Place(number1, image.Pt(cap*3/2, max(1, cap/6)), layout.Centre), 0, p.colour(theme.Alarm))
	}
	places := max(maxFouls, player.Fouls)
	pitch := marks.Dx() / places
	dot := min(cap*3/5, pitch*4/5)
	for i := range places {
		box := layout.Place(image.Rect(marks.Min.X+i*pitch, marks.Min.Y, marks.Min.X+(i+1)*pitch, marks.Max.Y), image.Pt(dot, dot), layout.Centre)
		switch {
		case player.Out:
			p.rect(box.Inset(-dot/6), 0, p.colour(theme.Alarm))
		case i < player.Fouls:
			p.rect(box, dot, line)
		default:
			p.frame(box, dot, max(1, dot/8), p.colour(theme.Faint))
		}
	}
}
