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
	captions, fouls     image.Rectangle
	outs, lamp          image.Rectangle
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
	name, points, foot := s.Px(w.Name.Cap*9/5), s.Px(w.Points.Cap*6/5), s.Px(w.Label.Cap*8/5)
	rail := s.Px(w.Dot * 4)
	p.note, inner = layout.CutBottom(inner, s.Px(w.Note.Cap*2))
	inner.Max.Y -= p.gap
	if stacked {
		p.floor, inner = layout.CutTop(inner, s.Px(w.Clock.Cap*8/5)+foot)
		inner.Min.Y += p.gap
		p.team(layout.Column(inner, 0, 2), name, points, rail)
		p.players.Min.Y += p.gap
	} else {
		p.floor, _ = layout.CutTop(inner, name+p.gap+points+rail)
		home, _ := layout.CutLeft(inner, inner.Dx()*32/100)
		p.floor = layout.Inset(p.floor, home.Dx()+p.gap, 0)
		p.team(home, name, points, rail)
		_, p.players = layout.CutTop(layout.Column(inner, 0, 2), p.floor.Dy()+p.gap)
	}
	p.foot, p.clock = layout.CutBottom(p.floor, foot+p.pad)
	p.foot = layout.Inset(p.foot, p.pad, p.pad/2)
	return p
}

// team lays out the home team's column: name, score, and a rail of fouls over timeouts with the lamp beside.
func (p *wallPlan) team(column image.Rectangle, name, points, rail int) {
	column.Max.X -= p.gap / 2
	p.panel, column = layout.CutTop(column, name)
	column.Min.Y += p.gap
	p.score, column = layout.CutTop(column, points)
	foot, players := layout.CutTop(column, rail)
	p.players = players
	p.lamp, foot = layout.CutRight(foot, foot.Dx()/3)
	p.lamp = layout.Inset(p.lamp, 0, p.gap)
	p.captions, foot = layout.CutLeft(foot, foot.Dx()*3/8)
	p.captions.Max.X -= p.gap
	p.fouls, p.outs = layout.Row(foot, 0, 2), layout.Row(foot, 1, 2)
}

func drawWall(p *Pen, c *content.Content) {
	w := planWall(p.theme, p.size)
	t := &p.theme.Wall
	p.rect(w.whole, 0, p.colour(theme.Plate))
	name := p.alike(layout.Inset(w.panel, w.pad, 0), t.Name.Font, w.scale.Px(t.Name.Cap), c.Teams[0].Name, c.Teams[1].Name)
	for team := range c.Teams {
		p.wallTeam(&w, c, team, name)
	}
	p.floor(w.floor, w.corner, 7, max(1, w.stroke/3))
	ink := p.colour(theme.Ink)
	var buffer [20]byte
	if c.Phase == content.Over {
		p.label(layout.Inset(w.floor, w.pad, 0), centre, t.Name.Font, w.scale.Px(t.Clock.Cap)*3/5, ink, c.Label)
	} else {
		p.digits(layout.Inset(w.clock, w.pad, 0), centre, t.Clock.Font, w.scale.Px(t.Clock.Cap), ink, string(c.Clock.Bytes(buffer[:0])), "00:00")
	}
	p.wallFoot(&w, c)
	p.wallNote(&w, c)
	if c.Ended {
		p.frame(w.whole, 0, w.scale.Line(t.Frame), p.colour(theme.Alarm))
	}
}

// wallTeam draws a team's column; name is the height of its name's capitals.
func (p *Pen) wallTeam(w *wallPlan, c *content.Content, team, name int) {
	t, own := &p.theme.Wall, &c.Teams[team]
	at := func(r image.Rectangle) image.Rectangle { return side(r, w.whole, team) }
	ink := p.paintwork(at(w.panel), w.corner, w.stroke, c, team)
	p.words(layout.Inset(at(w.panel), w.pad, 0), centre, t.Name.Font, name, ink, own.Name)
	var buffer [20]byte
	p.digits(at(w.score), centre, t.Points.Font, w.scale.Px(t.Points.Cap), p.colour(theme.Line), string(number(buffer[:], own.Score)), "000")
	captions := [2]string{"FOULS", "TIMEOUTS"}
	caption := p.shrunk(w.captions, t.Caption.Font, w.scale.Px(t.Caption.Cap), captions[1])
	for i, word := range captions {
		p.label(at(layout.Row(w.captions, i, 2)), outward(team), t.Caption.Font, caption, p.colour(theme.Faint), word)
	}
	dot := w.scale.Px(t.Dot)
	p.fouls(at(w.fouls), dot, w.stroke, own, team)
	p.timeouts(at(w.outs), dot*3/2, own, 1-team)
	if c.Phase != content.Over {
		p.lamp(at(w.lamp), t.Lamp.Font, w.scale.Px(t.Lamp.Cap), own, team)
	}
	p.winner(at(w.score), w.gap, c, team)
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
		var buffer [20]byte
		plate, label = layout.CutRight(label, label.Dx()/2)
		plate = layout.Inset(plate, w.gap, w.pad/4)
		p.rect(plate, w.corner/2, p.colour(theme.Plate))
		p.digits(plate, centre, t.Shot.Font, w.scale.Px(t.Shot.Cap), p.colour(theme.Line), string(c.Shot.Bytes(buffer[:0])), "00")
	}
	if c.Phase != content.Over {
		p.label(label, centre, t.Label.Font, cap, ink, c.Label)
	}
	if c.Arrow != content.None {
		arrow := layout.Place(slot, image.Pt(min(slot.Dx(), cap*3/2), cap), layout.Centre)
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
	p.noteRow(layout.Inset(w.note, w.pad, 0), w.pad, t.Note.Font, cap, ink, c)
}

// maxFouls is the row of marks a player has; a player with more gets more.
const maxFouls = 5

// players lists the team in the number of columns, three at most, that makes it largest.
func (p *Pen) players(r image.Rectangle, w *wallPlan, t *content.Team) {
	most := w.scale.Px(p.theme.Wall.Player.Cap)
	columns, rows, cap := 0, 0, 0
	for n := 1; n <= 3; n++ {
		each := max((t.Count+n-1)/n, 5)
		if c := min(most, r.Dy()/each*3/5, (r.Dx()/n-w.pad)/playerWide); c > cap {
			columns, rows, cap = n, each, c
		}
	}
	for i := range t.Count {
		cell := layout.Row(layout.Column(r, i/rows, columns), i%rows, rows)
		cell.Max.X = min(cell.Max.X-w.pad, cell.Min.X+cap*playerWide*4/3)
		p.player(cell, cap, t, &t.Players[i])
	}
}

// playerWide is the least width of a player's line in heights of its digits; it may take a third more.
const playerWide = 9

// player is one line: the number on the team's colour, marks for fouls, points. A lit bar stands before one
// on the floor; the number of one who is out is struck through and the marks become blocks.
func (p *Pen) player(r image.Rectangle, cap int, t *content.Team, player *content.Player) {
	font := p.theme.Wall.Player.Font
	bar := max(1, cap/5)
	if player.OnFloor {
		p.rect(layout.Place(r, image.Pt(bar, r.Dy()*4/5), layout.Left), 0, p.colour(theme.Lamp))
	}
	r.Min.X += 2 * bar
	chip, r := layout.CutLeft(r, cap*7/4)
	chip = layout.Place(chip, image.Pt(chip.Dx(), r.Dy()*4/5), layout.Centre)
	own := teamColour(t)
	ink := p.theme.Readable(own)
	p.rect(chip, bar, own)
	if theme.Contrast(own, p.colour(theme.Plate)) < edgeBelow {
		p.frame(chip, bar, max(1, bar/3), p.colour(theme.Faint))
	}
	p.digits(chip, centre, font, cap, ink, player.Number, "00")
	var buffer [20]byte
	points, marks := layout.CutRight(r, cap*7/4)
	p.digits(points, right, font, cap, p.colour(theme.Line), string(number(buffer[:], player.Points)), "00")
	if player.Out {
		p.rect(layout.Place(chip, image.Pt(chip.Dx()+bar, bar), layout.Centre), 0, p.colour(theme.Alarm))
	}
	marks = layout.Inset(marks, cap/3, 0)
	places := max(maxFouls, player.Fouls)
	pitch := min(marks.Dx()/places, cap*5/4)
	dot := min(cap*3/5, pitch*4/5)
	for i := range places {
		cell := image.Rect(marks.Min.X+i*pitch, marks.Min.Y, marks.Min.X+(i+1)*pitch, marks.Max.Y)
		box := layout.Place(cell, image.Pt(dot, dot), layout.Centre)
		switch {
		case player.Out:
			p.rect(layout.Place(cell, image.Pt(dot, dot*3/2), layout.Centre), 0, p.colour(theme.Alarm))
		case i < player.Fouls:
			p.rect(box, dot, p.colour(theme.Line))
		default:
			p.frame(box, dot, max(1, dot/8), p.colour(theme.Faint))
		}
	}
}
