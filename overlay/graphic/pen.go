package graphic

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/text"
	"rafter/overlay/theme"
)

// Pen draws for one theme and size. It holds no trace of what it drew before, but for the fonts' memory of
// lines already set, which saves time and changes nothing.
type Pen struct {
	theme *theme.Theme
	fonts *text.Fonts
	size  image.Point
	faces [theme.FontRoles]paint.FaceID
	caps  [theme.FontRoles]paint.Fixed // height of a capital at capsAt pixels an em
	box   image.Rectangle              // of the graphic being drawn
	to    *paint.List
}

// capsAt is the size at which fonts are measured; large, so that rounding does not show.
const capsAt = paint.Fixed(4096 << 6)

// NewPen returns a pen. A font that the set lacks is an error with its place in the theme.
func NewPen(t *theme.Theme, fonts *text.Fonts, size image.Point) (*Pen, error) {
	if err := t.CheckFonts(fonts.Names()); err != nil {
		return nil, err
	}
	p := &Pen{theme: t, fonts: fonts, size: size}
	for role, font := range t.Fonts {
		p.faces[role], _ = fonts.Face(font.Name)
		p.caps[role] = max(1, fonts.Metrics(p.faces[role], capsAt).Cap)
	}
	return p, nil
}

// Draw appends the graphic to the list.
func (p *Pen) Draw(g Graphic, c *content.Content, to *paint.List) {
	p.to, p.box = to, g.Box(p.theme, p.size)
	g.draw(p, c)
}

func (p *Pen) colour(r theme.ColourRole) paint.Colour { return p.theme.Colours[r] }

// align says where in its box a text stands.
type align uint8

const (
	left align = iota
	centre
	right
)

// em returns the size in pixels an em at which capitals are cap pixels high.
func (p *Pen) em(r theme.FontRole, cap int) paint.Fixed {
	return paint.Fixed((int64(paint.Px(cap))*int64(capsAt) + int64(p.caps[r])/2) / int64(p.caps[r]))
}

func (p *Pen) style(r theme.FontRole, cap int) text.Style {
	condensed := p.faces[r]
	if r == theme.Text {
		condensed = p.faces[theme.Condensed]
	}
	return text.Style{Face: p.faces[r], Condensed: condensed, Size: p.em(r, cap)}
}

// baseline returns the whole pixel on which capitals stand centred in r.
func baseline(r image.Rectangle, cap int) paint.Fixed { return paint.Px(r.Min.Y + (r.Dy()+cap)/2) }

// words sets s in r, fitted to its width and centred by the height of capitals, cap pixels high. It returns
// the width taken, in whole pixels.
func (p *Pen) words(r image.Rectangle, a align, font theme.FontRole, cap int, c paint.Colour, s string) int {
	if s == "" || r.Empty() {
		return 0
	}
	run := p.fonts.Fit(p.style(font, cap), s, paint.Px(r.Dx()))
	x := paint.Px(r.Min.X)
	switch a {
	case centre: // by the ink: side bearings differ from letter to letter
		x += (paint.Px(r.Dx())-(run.Ink.Max.X-run.Ink.Min.X))/2 - run.Ink.Min.X
	case right:
		x += paint.Px(r.Dx()) - run.Width
	}
	first := len(p.to.Ops)
	run.Draw(p.to, paint.Point{X: x, Y: baseline(r, cap)}, c)
	// A letter's bearing may stand out to the side, the overshoot of an O above and below.
	p.keepInside(first, layout.Inset(r, -cap/4, -1-cap/16).Intersect(p.box))
	return run.Width.Ceil()
}

// keepInside drops the glyphs, from operation first on, that are not wholly inside r: of a storm of combining
// marks those that would run over what is above, or out of the graphic's box.
func (p *Pen) keepInside(first int, r image.Rectangle) {
	kept := p.to.Ops[:first]
	for _, op := range p.to.Ops[first:] {
		if op.Bounds().In(r) {
			kept = append(kept, op)
		}
	}
	p.to.Ops = kept
}

// least is the smallest height of capitals, in pixels, at which a letter can still be told from another.
// From memory: five rows are what the smallest bitmap capitals have.
const least = 5

// label sets a short word that must not be cut: made smaller where r is too narrow for it, and left out where
// it could not be read.
func (p *Pen) label(r image.Rectangle, a align, font theme.FontRole, cap int, c paint.Colour, s string) {
	if cap = p.shrunk(r, font, cap, s); cap >= least {
		p.words(r, a, font, cap, c, s)
	}
}

// name sets a name: where r is too narrow it is first made smaller, by a third at most, and then fitted.
func (p *Pen) name(r image.Rectangle, a align, font theme.FontRole, cap int, c paint.Colour, s string) {
	p.words(r, a, font, max(p.shrunk(r, font, cap, s), cap*2/3), c, s)
}

// alike returns the height of capitals at which all of them suit name in r: neighbours are set in one size.
func (p *Pen) alike(r image.Rectangle, font theme.FontRole, cap int, all ...string) int {
	for _, s := range all {
		cap = min(cap, max(p.shrunk(r, font, cap, s), cap*2/3))
	}
	return cap
}

// shrunk returns the height of capitals, at most cap, at which s is no wider than r.
func (p *Pen) shrunk(r image.Rectangle, font theme.FontRole, cap int, s string) int {
	wide := p.fonts.Line(p.style(font, cap), s).Width.Ceil()
	if wide <= max(r.Dx(), 0) {
		return cap
	}
	return max(0, cap*r.Dx()/wide)
}

// digits sets a reading or a number in r, in cells of one width. Cells do not change with the digits in them,
// so neither does anything beside them. It makes the digits smaller where r is too narrow for fits. It returns the box
// of the cells, as high as the digits.
func (p *Pen) digits(r image.Rectangle, a align, font theme.FontRole, cap int, c paint.Colour, s, fits string) image.Rectangle {
	if s == "" || r.Empty() {
		return image.Rectangle{}
	}
	d := p.fonts.Digits(p.faces[font], p.em(font, cap))
	if w := max(d.Width(fits), d.Width(s)); w > paint.Px(r.Dx()) {
		cap = max(1, cap*r.Dx()/w.Ceil())
		d = p.fonts.Digits(p.faces[font], p.em(font, cap))
	}
	x := paint.Px(r.Min.X)
	switch free := paint.Px(r.Dx()) - d.Width(s); a {
	case centre:
		x += free / 2 &^ 63 // cells stand on whole pixels, so that a digit is the same wherever it stands
	case right:
		x += free
	}
	y := baseline(r, cap)
	d.Draw(p.to, paint.Point{X: x, Y: y}, s, c)
	return image.Rect(x.Floor(), y.Floor()-cap, (x + d.Width(s)).Ceil(), y.Floor())
}

func (p *Pen) rect(r image.Rectangle, radius int, c paint.Colour) {
	if !r.Empty() {
		p.to.Rect(paint.BoxPx(r), paint.Px(min(radius, r.Dx()/2, r.Dy()/2)), c)
	}
}

func (p *Pen) frame(r image.Rectangle, radius, stroke int, c paint.Colour) {
	if !r.Empty() {
		p.to.Frame(paint.BoxPx(r), paint.Px(min(radius, r.Dx()/2, r.Dy()/2)), paint.Px(stroke), c)
	}
}

// leastBoard is the height in pixels from which a board shows its joints; on smaller ones they would disturb.
const leastBoard = 14

// floor draws the varnished floor: boards along r with staggered joints.
func (p *Pen) floor(r image.Rectangle, radius, boards, seam int) {
	p.rect(r, radius, p.colour(theme.Floor))
	if r.Dy()/boards < leastBoard {
		return
	}
	c := p.colour(theme.Seam)
	for i := 1; i < boards; i++ {
		y := layout.Row(r, i, boards).Min.Y
		p.rect(image.Rect(r.Min.X, y, r.Max.X, y+seam), 0, c)
	}
	for i := range boards {
		board := layout.Row(r, i, boards)
		// Joints a third of the way along, in turn from either end, as boards are laid.
		x := r.Min.X + r.Dx()*(2+3*(i%2)+i%3)/9
		p.rect(image.Rect(x, board.Min.Y, x+seam, board.Max.Y), 0, c)
	}
}

// mirror returns r seen in a mirror that stands upright in the middle of within.
func mirror(r, within image.Rectangle) image.Rectangle {
	sum := within.Min.X + within.Max.X
	return image.Rect(sum-r.Max.X, r.Min.Y, sum-r.Min.X, r.Max.Y)
}

// side mirrors r for the away team: the home team's half is laid out, the other follows.
func side(r, within image.Rectangle, team int) image.Rectangle {
	if team == 1 {
		return mirror(r, within)
	}
	return r
}

// outward is the alignment towards a team's own end.
func outward(team int) align {
	if team == 1 {
		return right
	}
	return left
}

// arrow draws an arrow with a shaft that fills r, towards the left (home) or the right (away).
func (p *Pen) arrow(r image.Rectangle, team int, c paint.Colour) {
	b := paint.BoxPx(r)
	head, middle := min(b.Max.X-b.Min.X, (b.Max.Y-b.Min.Y)*4/5), (b.Min.Y+b.Max.Y)/2
	shaft := (b.Max.Y - b.Min.Y) / 6
	corners := [7]paint.Point{
		{X: b.Min.X, Y: middle}, {X: b.Min.X + head, Y: b.Min.Y}, {X: b.Min.X + head, Y: middle - shaft},
		{X: b.Max.X, Y: middle - shaft}, {X: b.Max.X, Y: middle + shaft},
		{X: b.Min.X + head, Y: middle + shaft}, {X: b.Min.X + head, Y: b.Max.Y},
	}
	p.pointing(corners[:], b, team, c)
}

// tag draws a plate whose end towards the team is a point of that length.
func (p *Pen) tag(r image.Rectangle, length, team int, c paint.Colour) {
	b := paint.BoxPx(r)
	point := min(paint.Px(length), b.Max.X-b.Min.X)
	corners := [5]paint.Point{
		{X: b.Min.X, Y: (b.Min.Y + b.Max.Y) / 2}, {X: b.Min.X + point, Y: b.Min.Y}, {X: b.Max.X, Y: b.Min.Y},
		{X: b.Max.X, Y: b.Max.Y}, {X: b.Min.X + point, Y: b.Max.Y},
	}
	p.pointing(corners[:], b, team, c)
}

// pointing draws a polygon made to point left, mirrored for the away team.
func (p *Pen) pointing(corners []paint.Point, b paint.Box, team int, c paint.Colour) {
	if team == 1 {
		for i := range corners {
			corners[i].X = b.Min.X + b.Max.X - corners[i].X
		}
	}
	p.to.Polygon(c, corners...)
}
