package graphic

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/theme"
)

// drawCard draws the printed table of keys: act, strokes, example. Its lines share the page's height, so
// that one page holds them all.
func drawCard(p *Pen, c *content.Content) {
	p.rect(whole(nil, p.size), 0, p.colour(theme.Paper))
	card := c.Desk.Card
	if card == nil {
		return
	}
	t, s := &p.theme.Card, layout.ScaleOf(p.size)
	ink, gap, cap := p.colour(theme.Ink), s.Px(t.Gap), s.Px(t.Title.Cap)
	page := layout.Inset(whole(nil, p.size), s.Px(t.Margin), s.Px(t.Margin))
	title, page := layout.CutTop(page, cap*2)
	p.name(title, left, t.Title.Font, cap, ink, card.Title)
	cap = s.Px(t.Note.Cap)
	for _, line := range p.wrap(card.Note, t.Note, cap, page.Dx()) {
		var row image.Rectangle
		row, page = layout.CutTop(page, cap*2)
		p.words(row, left, t.Note.Font, cap, ink, line)
	}
	_, page = layout.CutTop(page, gap)
	heads := content.Act{Does: "To do this", Strokes: "press", Example: "for example"}
	columns := 1
	if page.Dx() > page.Dy() {
		columns = 2
	}
	rows := 1 + (card.Count+columns-1)/columns
	for i := range columns {
		column := layout.Column(page, i, columns)
		if columns == 2 {
			column = layout.Inset(column, gap, 0)
		}
		p.act(layout.Row(column, 0, rows), gap, s, &heads, false)
		for j := 1; j < rows && i*(rows-1)+j <= card.Count; j++ {
			p.act(layout.Row(column, j, rows), gap, s, &card.Acts[i*(rows-1)+j-1], j%2 == 0)
		}
	}
}

func (p *Pen) act(r image.Rectangle, gap int, s layout.Scale, a *content.Act, stripe bool) {
	t, ink := &p.theme.Card, p.colour(theme.Ink)
	cap := min(s.Px(t.Act.Cap), r.Dy()*2/5)
	if a.Heading() {
		line, _ := layout.CutBottom(r, s.Line(t.Stroke))
		p.rect(line, 0, ink)
		p.words(layout.Inset(r, gap, 0), left, t.Act.Font, cap*6/5, ink, a.Does)
		return
	}
	if stripe {
		p.rect(r, 0, p.colour(theme.Stripe))
	}
	does, rest := layout.CutLeft(layout.Inset(r, gap, 0), (r.Dx()-2*gap)*9/20)
	strokes, example := layout.Column(rest, 0, 2), layout.Column(rest, 1, 2)
	does.Max.X, strokes.Max.X = does.Max.X-gap, strokes.Max.X-gap
	p.name(does, left, t.Act.Font, cap, ink, a.Does)
	p.name(strokes, left, t.Key.Font, cap, ink, a.Strokes)
	p.name(example, left, t.Key.Font, cap, ink, a.Example)
}

// wrap cuts s at spaces into lines of at most width pixels; a word that is too long has a line of its own.
func (p *Pen) wrap(s string, l theme.Lettering, cap, width int) []string {
	var lines []string
	for s != "" {
		end := len(s)
		for p.fonts.Line(p.style(l.Font, cap), s[:end]).Width.Ceil() > width {
			space := lastSpace(s[:end])
			if space <= 0 {
				break
			}
			end = space
		}
		lines = append(lines, s[:end])
		for s = s[end:]; s != "" && s[0] == ' '; {
			s = s[1:]
		}
	}
	return lines
}

func lastSpace(s string) int {
	for i := len(s) - 1; i > 0; i-- {
		if s[i] == ' ' {
			return i
		}
	}
	return 0
}
