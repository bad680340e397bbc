package desk

import (
	"image"
	"unicode/utf8"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

var cardLook = struct {
	Margin, Stroke, Gap   int
	Title, Note, Act, Key lettering
}{
	Margin: 56, Stroke: 2, Gap: 10,
	Title: lettering{theme.Text, 28}, Note: lettering{theme.Text, 13}, Act: lettering{theme.Text, 14}, Key: lettering{theme.Condensed, 14},
}

// Heights of the card's lines, in parts that the page's height is shared among; a line with its example below it is
// taller by exampleTall.
const (
	largeTall   = 18
	smallTall   = 12
	exampleTall = 8
	headTall    = 16
	sectionGap  = 6
)

// Card draws the printed table of keys: the acts of every night first, across the page and large, each with its
// example beside it; the others below in two columns, their examples under them. All share the page's height, so that
// one page holds them. On a lying page the others stand beside.
func Card(to *pen.Pen, c *content.Content) {
	p := drawer{to}
	p.Rect(image.Rectangle{Max: p.Size}, 0, p.Colour(theme.Paper))
	card := c.Desk.Card
	if card == nil {
		return
	}
	t, s := &cardLook, layout.ScaleOf(p.Size)
	page := layout.Inset(image.Rectangle{Max: p.Size}, s.Px(t.Margin), s.Px(t.Margin))
	page = p.cardTop(page, s, card)
	acts := card.Acts[:card.Count]
	first := nextSection(acts, 1)
	large, rest := acts[:first], acts[first:]
	middle := halves(rest)
	columns := [2][]content.Act{rest[:middle], rest[middle:]}
	tall := heightOf(large, true)
	below := max(heightOf(columns[0], false), heightOf(columns[1], false))
	if page.Dx() > page.Dy() {
		beside, others := layout.CutLeft(page, page.Dx()*23/50)
		beside.Max.X -= s.Px(t.Gap) * 2
		p.acts(beside, max(tall, below), s, large, true)
		page = others
	} else {
		var above image.Rectangle
		above, page = layout.CutTop(page, page.Dy()*tall/max(tall+below, 1))
		p.acts(above, tall, s, large, true)
	}
	for i, column := range columns {
		r := layout.Column(page, i, 2)
		if i == 0 {
			r.Max.X -= s.Px(t.Gap)
		} else {
			r.Min.X += s.Px(t.Gap)
		}
		p.acts(r, below, s, column, false)
	}
}

// cardTop sets the title and the note, and returns the page below them.
func (p drawer) cardTop(page image.Rectangle, s layout.Scale, card *content.Card) image.Rectangle {
	t, ink := &cardLook, p.Colour(theme.Ink)
	cap := s.Px(t.Title.Cap)
	title, page := layout.CutTop(page, cap*3/2)
	p.Name(title, pen.Left, t.Title.Font, cap, ink, card.Title)
	cap = s.Px(t.Note.Cap)
	for _, line := range p.wrap(card.Note, t.Note, cap, page.Dx()) {
		var row image.Rectangle
		row, page = layout.CutTop(page, cap*2)
		p.Words(row, pen.Left, t.Note.Font, cap, ink, line)
	}
	_, page = layout.CutTop(page, s.Px(t.Gap))
	return page
}

// nextSection returns the place of the first heading from i on, or the end.
func nextSection(acts []content.Act, i int) int {
	for i < len(acts) && !acts[i].Heading() {
		i++
	}
	return min(i, len(acts))
}

// halves returns the place of the heading that parts the sections into two columns of the most even heights.
func halves(acts []content.Act) int {
	best, lowest := 0, heightOf(acts, false)
	for i := nextSection(acts, 1); i < len(acts); i = nextSection(acts, i+1) {
		if h := max(heightOf(acts[:i], false), heightOf(acts[i:], false)); h < lowest {
			best, lowest = i, h
		}
	}
	if best == 0 {
		return len(acts)
	}
	return best
}

func heightOf(acts []content.Act, large bool) int {
	sum := 0
	for i := range acts {
		sum += tallness(&acts[i], large)
	}
	return sum
}

func tallness(a *content.Act, large bool) int {
	switch {
	case a.Heading():
		return headTall + sectionGap
	case large:
		return largeTall
	case a.Typed != "":
		return smallTall + exampleTall
	}
	return smallTall
}

// acts sets lines down a column that has the given number of parts.
func (p drawer) acts(column image.Rectangle, parts int, s layout.Scale, acts []content.Act, large bool) {
	done := 0
	for i := range acts {
		a := &acts[i]
		next := done + tallness(a, large)
		r := column
		r.Min.Y, r.Max.Y = column.Min.Y+column.Dy()*done/parts, column.Min.Y+column.Dy()*next/parts
		done = next
		part := func(of int) int { return column.Dy() * of / parts }
		if a.Heading() {
			r.Min.Y += part(sectionGap)
			p.cardHead(r, s, a, large)
			continue
		}
		if i%2 == 0 {
			p.Rect(r, 0, p.Colour(theme.Stripe))
		}
		p.act(r, part(smallTall), s, a, large)
	}
}

// cells are the parts of a line: the act, home's keys, away's and, on a large one, the example.
func cells(r image.Rectangle, gap int, large bool) (does, home, away, example image.Rectangle) {
	r = layout.Inset(r, gap, 0)
	if large {
		does, r = layout.CutLeft(r, r.Dx()*37/100)
		home, r = layout.CutLeft(r, r.Dx()*27/100)
		away, example = layout.CutLeft(r, r.Dx()*43/100)
	} else {
		does, r = layout.CutLeft(r, r.Dx()*42/100)
		home, away = layout.CutLeft(r, r.Dx()*42/100)
	}
	does.Max.X -= gap
	return does, home, away, example
}

func (p drawer) cardHead(r image.Rectangle, s layout.Scale, a *content.Act, large bool) {
	t, ink := &cardLook, p.Colour(theme.Ink)
	line, r := layout.CutBottom(r, s.Line(t.Stroke))
	p.Rect(line, 0, ink)
	does, home, away, example := cells(r, s.Px(t.Gap), large)
	cap := min(s.Px(t.Act.Cap), r.Dy()/2)
	if !large {
		does.Max.X = away.Max.X
		p.Name(does, pen.Left, t.Act.Font, cap*9/10, ink, a.Does)
		return
	}
	p.Name(does, pen.Left, t.Act.Font, cap, ink, a.Does)
	for _, h := range [...]struct {
		r image.Rectangle
		s string
	}{{home, "home"}, {away, "away"}, {example, "for example"}} {
		p.Name(h.r, pen.Left, t.Key.Font, cap*4/5, ink, h.s)
	}
}

// act sets one line; tall is the height of a small one without its example.
func (p drawer) act(r image.Rectangle, tall int, s layout.Scale, a *content.Act, large bool) {
	t, ink, gap := &cardLook, p.Colour(theme.Ink), s.Px(cardLook.Gap)
	below := r
	if !large {
		r, below = layout.CutTop(r, tall)
		below = layout.Inset(below, 2*gap, 0)
	}
	does, home, away, example := cells(r, gap, large)
	cap := min(s.Px(t.Act.Cap), r.Dy()*9/20)
	if a.Away == (content.Keys{}) {
		home.Max.X = away.Max.X
	}
	p.Name(does, pen.Left, t.Act.Font, cap, ink, a.Does)
	cap = min(s.Px(t.Key.Cap), r.Dy()*2/5)
	p.keys(home, cap, a.Home, true)
	p.keys(away, cap, a.Away, true)
	if a.Typed == "" {
		return
	}
	if !large {
		example, cap = below, cap*9/10
	}
	if wide := p.Words(example, pen.Left, t.Act.Font, cap, ink, a.Typed); wide > 0 {
		example.Min.X += wide + cap/2
	}
	example.Min.X = p.keys(example, cap, a.Home, false) + cap/2
	p.Name(example, pen.Left, t.Key.Font, cap, ink, a.Gives)
}

// keys draws key caps from the left of r, each a frame round its sign, and what is said of them if asked. It returns
// where it ended.
func (p drawer) keys(r image.Rectangle, cap int, k content.Keys, says bool) int {
	t, ink := &cardLook, p.Colour(theme.Ink)
	high := min(cap*9/4, r.Dy())
	for _, sign := range k.Caps {
		if sign == "" {
			continue
		}
		cap := cap
		if utf8.RuneCountInString(sign) == 1 && (sign < "0" || sign > "9") && (sign < "A" || sign > "Z") {
			cap = cap * 4 / 3 // no letter: a comma or a quote is a speck at the letters' size
		}
		wide := min(max(high, p.Wide(t.Key.Font, cap, sign)+cap), r.Dx())
		key := layout.Place(r, image.Pt(wide, high), layout.Left)
		p.Frame(key, high/5, max(1, high/16), ink)
		p.Words(key, pen.Centre, t.Key.Font, cap, ink, sign)
		r.Min.X += wide + cap/3
	}
	if says && k.Says != "" {
		r.Min.X += cap / 3
		p.Name(r, pen.Left, t.Key.Font, cap*9/10, ink, k.Says)
	}
	return r.Min.X
}

// wrap cuts s at spaces into lines of at most width pixels; a word that is too long has a line of its own.
func (p drawer) wrap(s string, l lettering, cap, width int) []string {
	var lines []string
	for s != "" {
		end := len(s)
		for p.Wide(l.Font, cap, s[:end]) > width {
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
