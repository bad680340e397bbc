package part

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// What a table of scores by period is made of, in hundredths of the height of its digits: a column, and the least that
// a name has.
const (
	columnWide    = 190
	leastNameWide = 500
)

// table is how scores by period are set.
type table struct {
	cap, name, column int
	first, count      int  // of the periods that are shown
	elsewhere         bool // a column for what was made in none
}

// planTable finds as large a setting as shows all periods; where they would be too small the newest have the room.
func planTable(r image.Rectangle, most int, c *content.Content) table {
	t := table{count: c.Periods.Count, elsewhere: c.Teams[0].Elsewhere != 0 || c.Teams[1].Elsewhere != 0}
	others := 1 // the total
	if t.elsewhere {
		others++
	}
	cap := func(columns int) int { return r.Dx() * 100 / (columns*columnWide + leastNameWide) }
	for t.count > 1 && cap(t.count+others) < most*2/3 {
		t.count--
	}
	t.first = c.Periods.Count - t.count
	t.cap = min(most, cap(t.count+others))
	// What is left makes the columns wider, up to a half, and then the name.
	spare := r.Dx() - t.cap*((t.count+others)*columnWide+leastNameWide)/100
	t.column = t.cap*columnWide/100 + min(max(0, spare)/(t.count+others+2), t.cap*columnWide/200)
	t.name = r.Dx() - t.column*(t.count+others)
	return t
}

// periods sets both teams' scores by period: a row of heads, then a row a team, the total at the end.
func (l *lister) periods(c *content.Content) {
	r := l.it.inner
	most := r.Dy() * 2 / 9
	if l.it.part.Cap > 0 {
		most = min(most, l.it.cap)
	}
	t := planTable(r, most, c)
	if t.cap < pen.Least {
		return
	}
	r = layout.Place(r, image.Pt(r.Dx(), min(r.Dy(), t.cap*13/2)), layout.Centre)
	heads, r := layout.CutTop(r, r.Dy()/5)
	l.heads(heads, &t, c)
	for i := range c.Teams {
		row := layout.Row(r, i, 2)
		l.scores(row, &t, c, [2]content.Side{content.Home, content.Away}[i])
	}
}

// cell returns column i of a row, after the name.
func (t *table) cell(r image.Rectangle, i int) image.Rectangle {
	x := r.Min.X + t.name + i*t.column
	return image.Rect(x, r.Min.Y, x+t.column, r.Max.Y)
}

func (l *lister) heads(r image.Rectangle, t *table, c *content.Content) {
	cap := min(t.cap*3/5, r.Dy()*3/5)
	inner := func(i int) image.Rectangle { return layout.Inset(t.cell(r, i), t.column/10, 0) }
	for i := range t.count {
		cap = l.Alike(inner(i), theme.Condensed, cap, c.Periods.Labels[t.first+i])
	}
	for i := range t.count {
		l.Label(inner(i), pen.Centre, theme.Condensed, cap, l.faint, c.Periods.Labels[t.first+i])
	}
	if t.elsewhere {
		l.Label(inner(t.count), pen.Centre, theme.Condensed, cap, l.faint, "OTHER")
	}
	l.Label(inner(t.columns()-1), pen.Centre, theme.Condensed, cap, l.faint, "TOTAL")
}

// columns is how many columns follow the name.
func (t *table) columns() int {
	if t.elsewhere {
		return t.count + 2
	}
	return t.count + 1
}

// scores is a team's row: its name on its colour, its points, the total larger in the text's colour.
func (l *lister) scores(r image.Rectangle, t *table, c *content.Content, side content.Side) {
	own, font := &c.Teams[side.Index()], l.it.part.Font
	tall := min(r.Dy()*4/5, t.cap*9/5)
	panel := layout.Place(image.Rect(r.Min.X, r.Min.Y, r.Min.X+t.name-t.column/5, r.Max.Y), image.Pt(t.name-t.column/5, tall), layout.Left)
	l.named(panel, t.cap, c, side)
	var buffer [20]byte
	for i := range t.count {
		if t.first+i < c.Periods.Begun {
			l.Digits(t.cell(r, i), pen.Centre, font, t.cap*7/8, l.text, string(pen.Number(buffer[:], own.ByPeriod[t.first+i])), "00")
		} else {
			l.Digits(t.cell(r, i), pen.Centre, font, t.cap*7/8, l.faint, "-", "00")
		}
	}
	if t.elsewhere {
		l.Digits(t.cell(r, t.count), pen.Centre, font, t.cap*7/8, l.faint, string(pen.Number(buffer[:], own.Elsewhere)), "00")
	}
	total := l.text
	if c.Winner == side {
		total = l.lit
	}
	fits := "00"
	if max(c.Teams[0].Score, c.Teams[1].Score) > 99 {
		fits = "000"
	}
	l.Digits(t.cell(r, t.columns()-1), pen.Centre, font, t.cap, total, string(pen.Number(buffer[:], own.Score)), fits)
}

// named is a team's name on its colour, in the size of the other's.
func (l *lister) named(r image.Rectangle, cap int, c *content.Content, side content.Side) {
	own := l.teamColour(c, side)
	radius := min(l.it.scale.Px(l.it.part.Corner), r.Dy()/2)
	l.Rect(r, radius, own)
	ink, stroke := l.Theme.Readable(own), max(1, r.Dy()/20)
	switch {
	case side == content.Away && theme.Alike(own, l.teamColour(c, content.Home)):
		l.Frame(r, radius, stroke, ink)
		l.Frame(r.Inset(2*stroke), max(0, radius-2*stroke), stroke, ink)
	case l.ground.some && theme.Contrast(own, l.ground.a) < edgeBelow:
		l.Frame(r, radius, stroke, l.Theme.Readable(l.ground.a))
	}
	words := layout.Inset(r, cap/2, 0)
	cap = l.Alike(words, theme.Text, min(cap*7/10, r.Dy()*5/8), c.Teams[0].Name, c.Teams[1].Name)
	l.Words(words, pen.Left, theme.Text, cap, ink, c.Teams[side.Index()].Name)
}
