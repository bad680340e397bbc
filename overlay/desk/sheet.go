package desk

import (
	"fmt"
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

var sheetLook = struct {
	Margin, Stroke, Gap     int
	Title, Head, Note, Cell lettering
}{
	Margin: 44, Stroke: 1, Gap: 14,
	Title: lettering{theme.Text, 22}, Head: lettering{theme.Text, 14}, Note: lettering{theme.Text, 10}, Cell: lettering{theme.Condensed, 10},
}

// sheetColumns is how many columns the running score is set in: beside each other they fill a standing page.
const sheetColumns = 3

// sheetTall is the height of a row in capitals, before a long game presses the rows together.
const sheetTall = 2

// Sheet draws the running score sheet to print: both teams over the page's width, below them the running score in
// columns. All rows share one height, so that one page holds them.
func Sheet(to *pen.Pen, c *content.Content) {
	p := drawer{to}
	p.Rect(image.Rectangle{Max: p.Size}, 0, p.Colour(theme.Paper))
	sheet := c.Desk.Sheet
	if sheet == nil {
		return
	}
	t, s := &sheetLook, layout.ScaleOf(p.Size)
	page := layout.Inset(image.Rectangle{Max: p.Size}, s.Px(t.Margin), s.Px(t.Margin))
	title, page := layout.CutTop(page, s.Px(t.Title.Cap)*2)
	p.Name(title, pen.Left, t.Title.Font, s.Px(t.Title.Cap), p.Colour(theme.Ink), sheet.Title)
	page = p.sheetNotes(page, s.Px(t.Note.Cap)*sheetTall, sheet.Notes)
	_, page = layout.CutTop(page, s.Px(t.Gap))

	teams := [2]sheetTable{p.sheetTable(&sheet.Teams[0], page.Dx()), p.sheetTable(&sheet.Teams[1], page.Dx())}
	running := p.sheetTable(&sheet.Running, page.Dx())
	deep := (len(running.Rows) + sheetColumns - 1) / sheetColumns
	gaps := 2 * s.Px(t.Gap)
	rows := teams[0].rows() + teams[1].rows() + headRows + deep
	tall := min(s.Px(t.Cell.Cap)*sheetTall, max(page.Dy()-gaps, 0)/rows)
	if tall < pen.Least*sheetTall { // what cannot be read is left out, and said
		tall = pen.Least * sheetTall
		fits := (page.Dy()-gaps)/tall - teams[0].rows() - teams[1].rows() - headRows
		deep = min(deep, max(fits, 0))
	}
	for i := range teams {
		var r image.Rectangle
		r, page = layout.CutTop(page, teams[i].rows()*tall)
		p.sheetRows(p.sheetHead(r, tall, &teams[i], 1), tall, &teams[i], teams[i].Rows)
		r.Min.Y += (headRows + len(teams[i].Rows)) * tall
		p.sheetNotes(r, tall, teams[i].notes)
		_, page = layout.CutTop(page, s.Px(t.Gap))
	}
	if left := len(running.Rows) - deep*sheetColumns; left > 0 {
		running.title += fmt.Sprintf(" (%d more: ask for a larger picture, or the sheet as text)", left)
	}
	below := p.sheetHead(page, tall, &running, sheetColumns)
	for i := range sheetColumns {
		from, to := min(i*deep, len(running.Rows)), min((i+1)*deep, len(running.Rows))
		column := layout.Column(below, i, sheetColumns)
		column.Max.X -= s.Px(t.Gap)
		p.sheetRows(column, tall, &running, running.Rows[from:to])
	}
}

// titleRows and headRows are the rows of a table's title, and of its title and heads.
const titleRows, headRows = 2, 3

// sheetTable is a table with its notes cut into lines.
type sheetTable struct {
	*content.Table
	title string
	notes []string
}

func (t *sheetTable) rows() int { return headRows + len(t.Rows) + len(t.notes) }

func (p drawer) sheetTable(t *content.Table, width int) sheetTable {
	made := sheetTable{Table: t, title: t.Title}
	for _, n := range t.Notes {
		made.notes = append(made.notes, p.wrap(n, sheetLook.Note, p.sheetPx(sheetLook.Note), width)...)
	}
	return made
}

func (p drawer) sheetPx(l lettering) int { return layout.ScaleOf(p.Size).Px(l.Cap) }

// sheetNotes sets lines, each in a row of its own, and returns what is below them.
func (p drawer) sheetNotes(r image.Rectangle, tall int, notes []string) image.Rectangle {
	l := sheetLook.Note
	cap := min(p.sheetPx(l), tall/sheetTall)
	for _, n := range notes {
		for _, line := range p.wrap(n, l, cap, r.Dx()) {
			var row image.Rectangle
			row, r = layout.CutTop(r, tall)
			p.Words(row, pen.Left, l.Font, cap, p.Colour(theme.Ink), line)
		}
	}
	return r
}

// sheetHead sets a table's title over r, and its heads over each of the columns that it is set in; it returns what is
// below them.
func (p drawer) sheetHead(r image.Rectangle, tall int, t *sheetTable, columns int) image.Rectangle {
	style, ink := &sheetLook, p.Colour(theme.Ink)
	title, r := layout.CutTop(r, titleRows*tall)
	p.Name(title, pen.Left, style.Head.Font, min(p.sheetPx(style.Head), tall*3/4), ink, t.title)
	heads, r := layout.CutTop(r, tall)
	for i := range columns {
		column := layout.Column(heads, i, columns)
		if columns > 1 {
			column.Max.X -= p.sheetGap()
		}
		line, _ := layout.CutBottom(column, layout.ScaleOf(p.Size).Line(style.Stroke))
		p.Rect(line, 0, ink)
		cells, cap := p.sheetCells(column, t), p.sheetCap(tall)
		for j, cell := range cells {
			cap = p.Alike(cell, style.Cell.Font, cap, t.Columns[j].Head)
		}
		for j, cell := range cells {
			p.sheetCell(cell, cap, t.Columns[j].Right, t.Columns[j].Head)
		}
	}
	return r
}

func (p drawer) sheetGap() int { return layout.ScaleOf(p.Size).Px(sheetLook.Gap) }

// sheetCells cuts a row into the table's columns.
func (p drawer) sheetCells(r image.Rectangle, t *sheetTable) []image.Rectangle {
	sum, done := 0, 0
	for _, c := range t.Columns {
		sum += c.Wide
	}
	cells := make([]image.Rectangle, len(t.Columns))
	for i, c := range t.Columns {
		cells[i] = r
		cells[i].Min.X = r.Min.X + r.Dx()*done/sum
		done += c.Wide
		cells[i].Max.X = max(cells[i].Min.X, r.Min.X+r.Dx()*done/sum-p.sheetGap()*2/3)
	}
	return cells
}

// sheetCap is the height of a cell's capitals in rows of that height.
func (p drawer) sheetCap(tall int) int { return min(p.sheetPx(sheetLook.Cell), tall/sheetTall) }

func (p drawer) sheetCell(r image.Rectangle, cap int, right bool, s string) {
	a := pen.Left
	if right {
		a = pen.Right
	}
	p.Name(r, a, sheetLook.Cell.Font, cap, p.Colour(theme.Ink), s)
}

// sheetRows sets rows down from the top of r, every other one on a stripe.
func (p drawer) sheetRows(r image.Rectangle, tall int, t *sheetTable, rows [][]string) {
	for i, cells := range rows {
		var row image.Rectangle
		row, r = layout.CutTop(r, tall)
		if i%2 == 0 {
			p.Rect(row, 0, p.Colour(theme.Stripe))
		}
		for j, place := range p.sheetCells(row, t) {
			p.sheetCell(place, p.sheetCap(tall), t.Columns[j].Right, cells[j])
		}
	}
}
