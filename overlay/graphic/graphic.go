// Package graphic is the table of graphics, one file each that goes on air. A theme lays those out from parts, which
// package part draws; what the desk shows is laid out by code. A graphic is a function of content, theme, size and
// instant that appends to a display list; it makes no pixels and remembers nothing that could change a picture.
package graphic

import (
	"image"
	"slices"

	"rafter/overlay/content"
	"rafter/overlay/desk"
	"rafter/overlay/frame"
	"rafter/overlay/paint"
	"rafter/overlay/part"
	"rafter/overlay/pen"
	"rafter/overlay/text"
	"rafter/overlay/theme"
)

// Graphic is one row of the table.
type Graphic struct {
	Name string
	// About is a line for who chooses among them.
	About string
	// OnAir is false for what only the desk may see.
	OnAir bool
	// Least is the smallest size in pixels that it is drawn at.
	Least image.Point
	// Needs is what a theme must show there to be complete.
	Needs []Need

	draw func(to *pen.Pen, c *content.Content) // nil: the theme lays it out
}

// Need is something that must be shown; any one of those listed shows it.
type Need struct {
	What   string
	Fields []theme.Field
	Marks  []theme.Marks
	Lists  []theme.List
}

// What several graphics must show.
var (
	needClock  = Need{What: "the clock", Fields: []theme.Field{theme.Clock}}
	needPeriod = Need{What: "the period", Fields: []theme.Field{theme.Period}}
	needNames  = Need{What: "the teams' names", Fields: []theme.Field{theme.TeamName, theme.TeamShort}, Lists: []theme.List{theme.ByPeriod}}
	needScore  = Need{What: "the score", Fields: []theme.Field{theme.Score}, Lists: []theme.List{theme.ByPeriod}}
	needFouls  = Need{What: "the team fouls", Fields: []theme.Field{theme.Fouls}, Marks: []theme.Marks{theme.FoulMarks}}
	needBonus  = Need{What: "the bonus", Fields: []theme.Field{theme.Bonus}}
	needOuts   = Need{What: "the timeouts left", Fields: []theme.Field{theme.TimeoutsLeft}, Marks: []theme.Marks{theme.TimeoutMarks}}
	needArrow  = Need{What: "the possession arrow", Marks: []theme.Marks{theme.ArrowMark}}
	needShot   = Need{What: "the shot clock", Fields: []theme.Field{theme.ShotClock}}
	needWhose  = Need{What: "whose timeout it is", Fields: []theme.Field{theme.TimeoutBy}}
	needLeft   = Need{What: "the timeout's time left", Fields: []theme.Field{theme.TimeoutLeft}}
	needLower  = Need{What: "the player's name", Fields: []theme.Field{theme.LowerName}}
	needNumber = Need{What: "the player's number", Fields: []theme.Field{theme.LowerNumber}}
	needSays   = Need{What: "the message", Fields: []theme.Field{theme.Message}}
)

// smallest is the least picture that a graphic on air must work in.
var smallest = image.Pt(320, 180)

var all = [...]Graphic{
	bug, wall, interval, timeout, lineup, periods, final, lower, blank,
	{Name: "strip", About: "what the operator sees: the last event, what is typed, the keys", Least: image.Pt(320, 48), draw: desk.Strip},
	{Name: "code", About: "a code for the operator's phone, or a parent's", Least: image.Pt(320, 48), draw: desk.Code},
	{Name: "card", About: "the table of keys, to print", Least: smallest, draw: desk.Card},
	{Name: "sheet", About: "the running score sheet, to print", Least: smallest, draw: desk.Sheet},
}

// All returns the table: help, tests, golden cases and the desk walk it.
func All() []Graphic { return slices.Clone(all[:]) }

// ByName finds a graphic.
func ByName(name string) (Graphic, bool) {
	for _, g := range all {
		if g.Name == name {
			return g, true
		}
	}
	return Graphic{}, false
}

// Names lists the names of those that go on air, or of all.
func Names(onAir bool) []string {
	var names []string
	for _, g := range all {
		if g.OnAir || !onAir {
			names = append(names, g.Name)
		}
	}
	return names
}

// DrawnBy tells whether there is something to draw in that theme.
func (g Graphic) DrawnBy(t *theme.Theme) bool {
	return g.draw != nil || len(g.Needs) == 0 || t.Graphic(g.Name) != nil
}

// Box returns all that the graphic can ever touch in a picture of that size; nothing where the theme does not draw it.
func (g Graphic) Box(t *theme.Theme, size image.Point) image.Rectangle {
	if g.draw != nil {
		return image.Rectangle{Max: size}
	}
	return part.Box(t, g.Name, size)
}

// Missing returns, in words, what the theme's layout for a shape of picture lacks of what the graphic must show.
func (g Graphic) Missing(t *theme.Theme, shape theme.Shape) []string {
	var parts []theme.Part
	if look := t.Graphic(g.Name); look != nil {
		parts = look.Layouts[shape].Parts
	}
	var missing []string
	for _, n := range g.Needs {
		if !slices.ContainsFunc(parts, func(p theme.Part) bool { return n.shownBy(&p) }) {
			missing = append(missing, n.What)
		}
	}
	return missing
}

func (n *Need) shownBy(p *theme.Part) bool {
	switch p.Content {
	case theme.Says:
		return slices.Contains(n.Fields, p.Field)
	case theme.Marked:
		return slices.Contains(n.Marks, p.Marks)
	case theme.ListOf:
		return slices.Contains(n.Lists, p.List)
	}
	return false
}

// Painter draws graphics for one theme and size. It satisfies paint.Pictures.
type Painter struct {
	pen   *pen.Pen
	parts *part.Painter
}

// NewPainter returns a painter; with reduced nothing moves. A font that the set lacks is an error with its place in the
// theme.
func NewPainter(t *theme.Theme, fonts *text.Fonts, size image.Point, reduced bool) (*Painter, error) {
	p, err := pen.New(t, fonts, size)
	if err != nil {
		return nil, err
	}
	return &Painter{p, part.New(p, reduced)}, nil
}

// Draw appends the graphic as it is at an instant to the list. It returns the instant from which nothing moves any more
// while the content stays as it is.
func (p *Painter) Draw(g Graphic, c *content.Content, at content.Instant, to *paint.List) content.Instant {
	if g.draw == nil {
		return p.parts.Draw(g.Name, c, at, to)
	}
	p.pen.Begin(to, p.Box(g))
	g.draw(p.pen, c)
	return 0
}

// Retell brings a list that Draw has made up to a content that differs from the one drawn in the text of readings alone,
// while nothing moves. It tells whether it could; if not the list is as it was. Damage is what of the list has changed.
func (p *Painter) Retell(g Graphic, c *content.Content, list *paint.List, damage *frame.Damage) bool {
	return g.draw == nil && p.parts.Retell(g.Name, c, list, damage)
}

// Box returns all that the graphic can ever touch.
func (p *Painter) Box(g Graphic) image.Rectangle {
	if g.draw != nil {
		return image.Rectangle{Max: p.pen.Size}
	}
	return p.parts.Box(g.Name)
}

// Spans returns what each part has painted in the last Draw of a graphic that the theme lays out.
func (p *Painter) Spans(g Graphic) []part.Span { return p.parts.Spans(g.Name) }

// Leaves returns how long the graphic takes to go off air, in nanoseconds.
func (p *Painter) Leaves(g Graphic) content.Instant { return p.parts.Leaves(g.Name) }

// Unshown returns which pictures of a graphic are not shown, each as "crest.png in half", for lack of room.
func (p *Painter) Unshown(g Graphic) []string { return p.parts.Unshown(g.Name) }

// Picture satisfies paint.Pictures.
func (p *Painter) Picture(id paint.PictureID) (rgba []byte, w, h int) { return p.parts.Picture(id) }
