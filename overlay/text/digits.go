package text

import (
	"strings"

	"github.com/go-text/typesetting/harfbuzz"
	"github.com/go-text/typesetting/language"

	"rafter/overlay/paint"
)

// digitSet are the characters that Digits lays, in the order of its cells. A space is as wide as a digit.
const digitSet = "0123456789 :.-"

// Digits lays the text of clocks and scores in cells of fixed width: one for all ten digits and the space, one each
// for colon, point and hyphen. Cells are whole pixels wide, so a digit has the same pixels wherever it stands and a
// changing text never moves what is beside it. Colon and hyphen stand at half the height of the digits.
type Digits struct {
	Size    paint.Fixed
	Advance paint.Fixed // of a digit's cell
	Height  paint.Fixed // of the 0 above the baseline, rounded up
	cells   [len(digitSet)]digitCell
}

type digitCell struct {
	width paint.Fixed
	mark  Placed // relative to the cell's left end on the baseline
}

type digitsKey struct {
	face paint.FaceID
	size paint.Fixed
}

// maxDigits bounds the sets kept.
const maxDigits = 64

// Digits returns the cells of a face at a size; they are kept and shared.
func (f *Fonts) Digits(id paint.FaceID, size paint.Fixed) *Digits {
	k := digitsKey{id, clampSize(size)}
	if d, ok := f.digits[k]; ok {
		return d
	}
	if len(f.digits) >= maxDigits {
		clear(f.digits)
	}
	d := f.newDigits(k.face, k.size)
	f.digits[k] = d
	return d
}

func (f *Fonts) newDigits(id paint.FaceID, size paint.Fixed) *Digits {
	d := &Digits{Size: size}
	em := int64(f.sources[id].upem)
	var glyphs [len(digitSet)]shaped
	var widest int32
	for i := range digitSet {
		glyphs[i] = f.tabular(id, rune(digitSet[i]))
		if i < 10 {
			widest = max(widest, glyphs[i].advance)
		}
	}
	for i := range d.cells {
		c, g := &d.cells[i], glyphs[i]
		advance := g.advance
		if i <= 10 {
			advance = widest
		}
		c.width = wholePixel(paint.Fixed(roundDiv(int64(advance)*int64(size), em)))
		c.mark = Placed{Face: id, Glyph: g.glyph}
		if digitSet[i] == ' ' {
			continue
		}
		own := paint.Fixed(roundDiv(int64(g.advance)*int64(size), em))
		c.mark.At.X = (c.width - own) / 2
		if g.glyph == 0 {
			f.note([]rune{rune(digitSet[i])})
			c.mark.Hollow, c.mark.At = true, paint.Point{}
			c.mark.Ink = f.hollow(id, size)
			c.width = max(c.width, wholePixel(c.mark.Ink.Min.X+c.mark.Ink.Max.X))
			continue
		}
		c.mark.Ink = shift(f.box(id, g.glyph, size), c.mark.At)
		c.mark.moveInto(c.width)
	}
	d.Advance = d.cells[0].width
	d.Height = -d.cells[0].mark.Ink.Min.Y
	d.centre(strings.IndexByte(digitSet, ':'))
	d.centre(strings.IndexByte(digitSet, '-'))
	return d
}

// moveInto shifts a glyph that hangs out of its cell into it, where it has room: in some faces the 4 does.
func (m *Placed) moveInto(width paint.Fixed) {
	by := paint.Point{X: max(-m.Ink.Min.X, 0)}
	if over := m.Ink.Max.X - width; over > 0 {
		by.X = -over
	}
	m.At, m.Ink = add(m.At, by), shift(m.Ink, by)
}

// centre moves a sign to half the height of the digits.
func (d *Digits) centre(i int) {
	m := &d.cells[i].mark
	if m.Hollow {
		return
	}
	by := paint.Point{Y: (-d.Height - m.Ink.Min.Y - m.Ink.Max.Y) / 2}
	m.At, m.Ink = add(m.At, by), shift(m.Ink, by)
}

func wholePixel(x paint.Fixed) paint.Fixed { return (x + 32) &^ 63 }

// tabular shapes one character with the font's tabular figures, where it has them.
func (f *Fonts) tabular(id paint.FaceID, r rune) shaped {
	p := piece{face: id, script: language.Latin, end: 1}
	f.shapeWith(&p, []rune{r}, []harfbuzz.Feature{feature("tnum", 1), feature("lnum", 1)})
	if len(p.glyphs) == 0 {
		return shaped{} // a font may do away with it
	}
	return p.glyphs[0]
}

// cell returns the cell of a character; one outside the set has an empty digit's cell.
func (d *Digits) cell(c byte) *digitCell {
	if c >= '0' && c <= '9' {
		return &d.cells[c-'0']
	}
	if i := strings.IndexByte(digitSet, c); i >= 0 {
		return &d.cells[i]
	}
	return &d.cells[10]
}

// Width returns how wide s is.
func (d *Digits) Width(s string) paint.Fixed {
	var w paint.Fixed
	for i := range len(s) {
		w += d.cell(s[i]).width
	}
	return w
}

// Draw appends s to l with its left end on the baseline at origin, one operation a visible character.
func (d *Digits) Draw(l *paint.List, origin paint.Point, s string, c paint.Colour) {
	for i := range len(s) {
		cell := d.cell(s[i])
		cell.mark.draw(l, d.Size, origin, c)
		origin.X += cell.width
	}
}
