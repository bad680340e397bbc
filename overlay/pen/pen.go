// Package pen sets text and simple shapes for one theme and size: words that fit their place, names in one size, digits
// that move nothing. It appends to a display list and knows neither graphics nor basketball.
package pen

import (
	"image"
	"strconv"

	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/text"
	"rafter/overlay/theme"
)

// Pen draws for one theme and size. It holds no trace of what it drew before, but for the fonts' memory of
// lines already set, which saves time and changes nothing.
type Pen struct {
	Theme  *theme.Theme
	Size   image.Point     // of the picture
	Bounds image.Rectangle // what no glyph may leave
	To     *paint.List

	fonts *text.Fonts
	faces [theme.FontRoles]paint.FaceID
	caps  [theme.FontRoles]paint.Fixed // height of a capital at capsAt pixels an em
}

// capsAt is the size at which fonts are measured; large, so that rounding does not show.
const capsAt = paint.Fixed(4096 << 6)

// New returns a pen. A font that the set lacks is an error with its place in the theme.
func New(t *theme.Theme, fonts *text.Fonts, size image.Point) (*Pen, error) {
	if err := t.CheckFonts(fonts.Names()); err != nil {
		return nil, err
	}
	p := &Pen{Theme: t, fonts: fonts, Size: size, Bounds: image.Rectangle{Max: size}}
	for role, font := range t.Fonts {
		p.faces[role], _ = fonts.Face(font.Name)
		p.caps[role] = max(1, fonts.CapHeight(p.faces[role], capsAt))
	}
	return p, nil
}

// Begin starts drawing into a list, within bounds.
func (p *Pen) Begin(to *paint.List, bounds image.Rectangle) { p.To, p.Bounds = to, bounds }

// Colour returns the theme's colour for a role.
func (p *Pen) Colour(r theme.ColourRole) paint.Colour { return p.Theme.Colour(r) }

// Align says where in its place a text stands.
type Align uint8

// The alignments.
const (
	Left Align = iota
	Centre
	Right
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

// Words sets s in r, fitted to its width and centred by the height of capitals, cap pixels high. It returns
// the width taken, in whole pixels.
func (p *Pen) Words(r image.Rectangle, a Align, font theme.FontRole, cap int, c paint.Colour, s string) int {
	if s == "" || r.Empty() {
		return 0
	}
	run := p.fonts.Fit(p.style(font, cap), s, paint.Px(r.Dx()))
	x := paint.Px(r.Min.X)
	switch a {
	case Centre: // by the ink: side bearings differ from letter to letter
		x += (paint.Px(r.Dx())-(run.Ink.Max.X-run.Ink.Min.X))/2 - run.Ink.Min.X
	case Right:
		x += paint.Px(r.Dx()) - run.Width
	}
	first := len(p.To.Ops)
	run.Draw(p.To, paint.Point{X: x, Y: baseline(r, cap)}, c)
	// A letter's bearing may stand out to the side, the overshoot of an O above and below.
	p.keepInside(first, layout.Inset(r, -cap/4, -1-cap/8).Intersect(p.Bounds))
	return run.Width.Ceil()
}

// keepInside drops the glyphs, from operation first on, that are not wholly inside r: of a storm of combining
// marks those that would run over what is above, or out of the graphic's box.
func (p *Pen) keepInside(first int, r image.Rectangle) {
	kept := p.To.Ops[:first]
	for _, op := range p.To.Ops[first:] {
		if op.Bounds().In(r) {
			kept = append(kept, op)
		}
	}
	p.To.Ops = kept
}

// Least is the smallest height of capitals, in pixels, at which a letter can still be told from another.
// From memory: five rows are what the smallest bitmap capitals have.
const Least = 5

// Label sets a short word that must not be cut: made smaller where r is too narrow for it, and left out where
// it could not be read.
func (p *Pen) Label(r image.Rectangle, a Align, font theme.FontRole, cap int, c paint.Colour, s string) {
	if cap = p.Shrunk(r, font, cap, s); cap >= Least {
		p.Words(r, a, font, cap, c, s)
	}
}

// Name sets a name: where r is too narrow it is first made smaller, by a third at most, and then fitted.
func (p *Pen) Name(r image.Rectangle, a Align, font theme.FontRole, cap int, c paint.Colour, s string) {
	p.Words(r, a, font, max(p.Shrunk(r, font, cap, s), cap*2/3), c, s)
}

// Alike returns the height of capitals at which all of them suit name in r: neighbours are set in one size.
func (p *Pen) Alike(r image.Rectangle, font theme.FontRole, cap int, all ...string) int {
	for _, s := range all {
		cap = min(cap, max(p.Shrunk(r, font, cap, s), cap*2/3))
	}
	return cap
}

// Shrunk returns the height of capitals, at most cap, at which s is no wider than r.
func (p *Pen) Shrunk(r image.Rectangle, font theme.FontRole, cap int, s string) int {
	wide := p.fonts.Line(p.style(font, cap), s).Width.Ceil()
	if wide <= max(r.Dx(), 0) {
		return cap
	}
	return max(0, cap*r.Dx()/wide)
}

// Digits sets a reading or a number in r, in cells of one width. Cells do not change with the digits in them,
// so neither does anything beside them. It makes the digits smaller where r is too narrow for fits. It returns the box
// of the cells, as high as the digits.
func (p *Pen) Digits(r image.Rectangle, a Align, font theme.FontRole, cap int, c paint.Colour, s, fits string) image.Rectangle {
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
	case Centre:
		x += free / 2 &^ 63 // cells stand on whole pixels, so that a digit is the same wherever it stands
	case Right:
		x += free
	}
	y := baseline(r, cap)
	first := len(p.To.Ops)
	d.Draw(p.To, paint.Point{X: x, Y: y}, s, c)
	p.keepInside(first, p.Bounds)
	return image.Rect(x.Floor(), y.Floor()-cap, (x + d.Width(s)).Ceil(), y.Floor())
}

// Rect fills a rectangle, its corners rounded by radius pixels or as far as it has room for.
func (p *Pen) Rect(r image.Rectangle, radius int, c paint.Colour) {
	if !r.Empty() {
		p.To.Rect(paint.BoxPx(r), paint.Px(min(radius, r.Dx()/2, r.Dy()/2)), c)
	}
}

// Frame fills the band of that width inside the edge of the same.
func (p *Pen) Frame(r image.Rectangle, radius, stroke int, c paint.Colour) {
	if !r.Empty() {
		p.To.Frame(paint.BoxPx(r), paint.Px(min(radius, r.Dx()/2, r.Dy()/2)), paint.Px(stroke), c)
	}
}

// Mirror returns r seen in a mirror that stands upright in the middle of within.
func Mirror(r, within image.Rectangle) image.Rectangle {
	sum := within.Min.X + within.Max.X
	return image.Rect(sum-r.Max.X, r.Min.Y, sum-r.Min.X, r.Max.Y)
}

// Wide returns how wide s is at its natural width, in whole pixels.
func (p *Pen) Wide(font theme.FontRole, cap int, s string) int {
	return p.fonts.Line(p.style(font, cap), s).Width.Ceil()
}

// Number returns n as text without allocating, in the caller's buffer.
func Number(buffer []byte, n int) []byte { return strconv.AppendInt(buffer[:0], int64(n), 10) }
