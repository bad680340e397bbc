package graphic

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/theme"
)

// What a line of the list is made of, in hundredths of the height of its digits: the lit bar of one on the floor
// with the space behind it, the number's chip, a foul's mark, the points and the space before them.
const (
	barWide    = 35
	chipWide   = 170
	markWide   = 78
	pointsWide = 190
	// fewMarks is the room for marks that a line has at least, so that lines of any rule set look alike.
	fewMarks = 5
)

// leastRows keeps a short list from growing beyond the score.
const leastRows = 3

// list is how both teams' lists are set: in one size and one number of columns.
type list struct{ columns, rows, cap, wide int }

// planList finds the number of columns, three at most, that makes the lines largest.
func planList(r image.Rectangle, pad, most, count, places int) list {
	var best list
	line := barWide + chipWide + max(places, fewMarks)*markWide + pointsWide
	for n := 1; n <= 3; n++ {
		rows, wide := max((count+n-1)/n, leastRows), r.Dx()/n-pad
		if cap := min(most, r.Dy()/rows*5/8, wide*100/line); cap > best.cap {
			best = list{n, rows, cap, min(wide, cap*line*5/400)}
		}
	}
	return best
}

// players lists the team below a row of captions. longest is the count of the longer list of the two.
func (p *Pen) players(r image.Rectangle, w *wallPlan, c *content.Content, t *content.Team, longest int) {
	captions, r := layout.CutTop(r, w.scale.Px(p.theme.Wall.Caption.Cap))
	l := planList(r, w.pad, w.scale.Px(p.theme.Wall.Player.Cap), longest, c.PlayerLimit)
	if l.cap == 0 {
		return
	}
	for i := range t.Count {
		at := image.Pt(i/l.rows, i%l.rows)
		cell := layout.Row(layout.Column(r, at.X, l.columns), at.Y, l.rows)
		cell.Max.X = cell.Min.X + l.wide
		if at.Y == 0 {
			p.captionPlayers(image.Rect(cell.Min.X, captions.Min.Y, cell.Max.X, captions.Max.Y), l.cap, w)
		}
		p.player(cell, l.cap, c, t, &t.Players[i])
	}
}

// playerParts cuts a line into the bar, the number's chip, the marks and the points.
func playerParts(r image.Rectangle, cap int) (bar, chip, marks, points image.Rectangle) {
	bar, r = layout.CutLeft(r, max(2, cap*barWide/100))
	chip, r = layout.CutLeft(r, cap*chipWide/100)
	points, marks = layout.CutRight(r, cap*pointsWide/100)
	marks.Min.X += cap * 2 / 5
	return bar, chip, marks, points
}

func (p *Pen) captionPlayers(r image.Rectangle, cap int, w *wallPlan) {
	_, _, marks, points := playerParts(r, cap)
	font, faint := p.theme.Wall.Caption.Font, p.colour(theme.Faint)
	cap = min(p.shrunk(points, font, r.Dy()*7/10, "POINTS"), p.shrunk(marks, font, r.Dy()*7/10, "FOULS"))
	p.label(marks, left, font, cap, faint, "FOULS")
	p.label(points, right, font, cap, faint, "POINTS")
}

// player is one line: the number on the team's colour, marks for fouls, points. A lit bar stands before one
// on the floor; the number of one who is out is struck through and the marks become blocks.
func (p *Pen) player(r image.Rectangle, cap int, c *content.Content, t *content.Team, player *content.Player) {
	font := p.theme.Wall.Player.Font
	bar, chip, marks, points := playerParts(r, cap)
	thick, tall := max(1, bar.Dx()/2), min(r.Dy()*4/5, cap*7/5) // few players have more room than their plates need
	if player.OnFloor {
		p.rect(layout.Place(bar, image.Pt(thick, tall), layout.Left), 0, p.colour(theme.Lamp))
	}
	chip = layout.Place(chip, image.Pt(chip.Dx(), tall), layout.Centre)
	own := teamColour(t)
	ink := p.theme.Readable(own)
	p.rect(chip, thick, own)
	if theme.Contrast(own, p.colour(theme.Plate)) < edgeBelow {
		p.frame(chip, thick, max(1, thick/3), p.colour(theme.Faint))
	}
	p.digits(chip, centre, font, cap, ink, player.Number, "00")
	var buffer [20]byte
	p.digits(points, right, font, cap, p.colour(theme.Line), string(number(buffer[:], player.Points)), "00")
	if player.Out {
		p.rect(layout.Place(chip, image.Pt(chip.Dx()+thick, thick), layout.Centre), 0, p.colour(theme.Alarm))
	}
	p.playerFouls(marks, cap, c.PlayerLimit, player)
}

// playerFouls draws as many marks as bring a player out. A number stands for them where the rule set has no such
// limit, or where they would be too many to count.
func (p *Pen) playerFouls(r image.Rectangle, cap, limit int, player *content.Player) {
	places := max(limit, player.Fouls)
	if limit == 0 || places > maxMarks {
		c := p.colour(theme.Line)
		if player.Out {
			c = p.colour(theme.Alarm)
		}
		var buffer [20]byte
		p.digits(r, left, p.theme.Wall.Player.Font, cap, c, string(number(buffer[:], player.Fouls)), "00")
		return
	}
	pitch := min(r.Dx()/places, cap)
	dot := min(cap*7/10, pitch*4/5)
	for i := range places {
		cell := image.Rect(r.Min.X+i*pitch, r.Min.Y, r.Min.X+i*pitch+dot, r.Max.Y)
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
