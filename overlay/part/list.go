package part

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// lister sets an item's list in its colours.
type lister struct {
	*Painter
	it                     *item
	ground                 ground
	text, faint, lit, grim paint.Colour
}

// list paints an item's list.
func (p *Painter) list(it *item, s *state) {
	l := lister{
		Painter: p, it: it, ground: s.ground, text: p.ink(it.part.Colour, s, s.ground), faint: p.void(it, s),
		lit: p.ink(lamp(it.part.Lit), s, s.ground), grim: p.Colour(theme.Alarm),
	}
	switch {
	case it.part.List == theme.ByPeriod:
		l.periods(s.says)
	case s.side != content.None:
		l.players(s.says, s.side)
	}
}

// What a line of a list of players is made of, in hundredths of the height of its digits: the lit bar of one on the
// floor with the space behind it, the number's chip, the name, a foul's mark, the points and the space before them.
const (
	barWide    = 35
	chipWide   = 170
	nameWide   = 620
	markWide   = 78
	pointsWide = 190
	// fewMarks is the room for marks that a line has at least, so that lines of any rule set look alike.
	fewMarks = 5
	// leastRows keeps a short list from growing without bound.
	leastRows = 3
	// mostColumns bounds the columns that a list is set in.
	mostColumns = 3
	// captionTall is the height of the captions' row.
	captionTall = 90
)

// rows is how both teams' lists are set: in one size and one number of columns.
type rows struct {
	columns, rows, cap, wide int
	named                    bool
}

// planRows finds the number of columns that makes the lines largest; names are shown where that costs no more than a
// fifth of the size.
func planRows(r image.Rectangle, pad, most, count, places int, named bool) rows {
	line := barWide + chipWide + max(places, fewMarks)*markWide + pointsWide
	best := largest(r, pad, most, count, line)
	if named {
		if with := largest(r, pad, most, count, line+nameWide); with.cap >= pen.Least && 5*with.cap >= 4*best.cap {
			with.named = true
			return with
		}
	}
	best.wide = min(best.wide, best.cap*line*5/400) // without names the points stay near
	return best
}

func largest(r image.Rectangle, pad, most, count, line int) rows {
	var best rows
	for n := 1; n <= mostColumns; n++ {
		tall, wide := max((count+n-1)/n, leastRows), r.Dx()/n-pad
		// The captions' row is as high as nine tenths of a digit.
		cap := min(most, r.Dy()*500/(800*tall+5*captionTall), wide*100/line)
		if cap > best.cap {
			best = rows{columns: n, rows: tall, cap: cap, wide: wide}
		}
	}
	return best
}

// squad returns those of a team that a list shows; for a list of the floor those on it, if they are known.
func squad(t *content.Team, l theme.List, to *[content.MaxPlayers]int) int {
	n := 0
	for i := range t.Count {
		if l != theme.Floor5 || t.Floor == 0 || t.Players[i].OnFloor {
			to[n] = i
			n++
		}
	}
	return n
}

// players lists a team below a row of captions, in the same size as the other.
func (l *lister) players(c *content.Content, side content.Side) {
	own, other := &c.Teams[side.Index()], &c.Teams[1-side.Index()]
	var shown, beside [content.MaxPlayers]int
	n, m := squad(own, l.it.part.List, &shown), squad(other, l.it.part.List, &beside)
	longest, named := n, anyName(own)
	if l.it.twin {
		longest, named = max(n, m), named || anyName(other)
	}
	if longest == 0 {
		return
	}
	r, pad := l.it.inner, max(1, l.it.scale.Px(l.it.part.Gap))
	most := r.Dy()
	if l.it.part.Cap > 0 {
		most = l.it.cap
	}
	set := planRows(r, pad, most, longest, c.PlayerLimit, named)
	if set.cap < pen.Least {
		return
	}
	captions, r := layout.CutTop(r, set.cap*captionTall/100)
	for i, at := range shown[:n] {
		column, row := i/set.rows, i%set.rows
		cell := layout.Row(layout.Column(r, column, set.columns), row, set.rows)
		cell.Max.X = cell.Min.X + set.wide
		line := l.cut(cell, &set)
		if row == 0 {
			over := image.Rect(cell.Min.X, captions.Min.Y, cell.Max.X, captions.Max.Y)
			head := l.cut(over, &set)
			l.captions(head, set.cap*7/12)
		}
		l.player(line, set.cap, c, own, &own.Players[at], side)
	}
}

func anyName(t *content.Team) bool {
	for i := range t.Count {
		if t.Players[i].Name != "" {
			return true
		}
	}
	return false
}

// line is a player's row, cut into its parts.
type line struct{ bar, chip, name, marks, points image.Rectangle }

func (l *lister) cut(r image.Rectangle, set *rows) (p line) {
	cap := set.cap
	p.bar, r = layout.CutLeft(r, max(2, cap*barWide/100))
	p.chip, r = layout.CutLeft(r, cap*chipWide/100)
	p.points, r = layout.CutRight(r, cap*pointsWide/100)
	r.Min.X += cap * 2 / 5
	p.marks = r
	if set.named {
		p.name, p.marks = layout.CutLeft(r, max(0, r.Dx()-cap*fewMarks*markWide/100))
		p.name.Max.X -= cap * 2 / 5
	}
	return p
}

func (l *lister) captions(r line, cap int) {
	cap = min(l.Shrunk(r.points, theme.Condensed, cap, "POINTS"), l.Shrunk(r.marks, theme.Condensed, cap, "FOULS"))
	l.Label(r.marks, pen.Left, theme.Condensed, cap, l.faint, "FOULS")
	l.Label(r.points, pen.Right, theme.Condensed, cap, l.faint, "POINTS")
}

// player is one line: the number on the team's colour, the name, marks for fouls, points. A lit bar stands before one on
// the floor; the number of one who is out is struck through and the marks become blocks.
func (l *lister) player(r line, cap int, c *content.Content, t *content.Team, player *content.Player, side content.Side) {
	font := l.it.part.Font
	thick, tall := max(1, r.bar.Dx()/2), min(r.bar.Dy()*4/5, cap*7/5) // few players have more room than their plates need
	if player.OnFloor {
		l.Rect(layout.Place(r.bar, image.Pt(thick, tall), layout.Left), 0, l.lit)
	}
	l.chip(layout.Place(r.chip, image.Pt(r.chip.Dx(), tall), layout.Centre), thick, cap, c, side, player.Number)
	l.Name(r.name, pen.Left, theme.Text, cap*4/5, l.text, player.Name)
	var buffer [20]byte
	l.Digits(r.points, pen.Right, font, cap, l.text, string(pen.Number(buffer[:], player.Points)), "00")
	if player.Out {
		l.Rect(layout.Place(r.chip, image.Pt(r.chip.Dx()+thick, thick), layout.Centre), 0, l.grim)
	}
	l.fouls(r.marks, cap, c.PlayerLimit, player)
}

// chip is a number on a team's colour, kept apart as a panel is.
func (l *lister) chip(r image.Rectangle, radius, cap int, c *content.Content, side content.Side, says string) {
	own := l.teamColour(c, side)
	l.Rect(r, radius, own)
	ink, stroke := l.Theme.Readable(own), max(1, radius/3)
	switch {
	case side == content.Away && theme.Alike(own, l.teamColour(c, content.Home)):
		l.Frame(r, radius, stroke, ink)
	case l.ground.some && theme.Contrast(own, l.ground.a) < edgeBelow:
		l.Frame(r, radius, stroke, l.Theme.Readable(l.ground.a))
	}
	l.Digits(r, pen.Centre, l.it.part.Font, cap, ink, says, "00")
}

// fouls draws as many marks as bring a player out. A number stands for them where the rule set has no such limit, or
// where they would be too many to count.
func (l *lister) fouls(r image.Rectangle, cap, limit int, player *content.Player) {
	places := max(limit, player.Fouls)
	if limit == 0 || places > maxMarks {
		c := l.text
		if player.Out {
			c = l.grim
		}
		var buffer [20]byte
		l.Digits(r, pen.Left, l.it.part.Font, cap, c, string(pen.Number(buffer[:], player.Fouls)), "00")
		return
	}
	pitch := min(r.Dx()/places, cap)
	dot := min(cap*7/10, pitch*4/5)
	for i := range places {
		cell := image.Rect(r.Min.X+i*pitch, r.Min.Y, r.Min.X+i*pitch+dot, r.Max.Y)
		box := layout.Place(cell, image.Pt(dot, dot), layout.Centre)
		switch {
		case player.Out:
			l.Rect(layout.Place(cell, image.Pt(dot, dot*3/2), layout.Centre), 0, l.grim)
		case i < player.Fouls:
			l.Rect(box, dot, l.text)
		default:
			l.Frame(box, dot, max(1, dot/8), l.faint)
		}
	}
}
