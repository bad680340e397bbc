package theme

import (
	"fmt"
	"path"
	"strings"

	"rafter/overlay/layout"
)

// row is one key of the language: how it is spelled, what it means and how it is read. The tables of rows below are
// the language: they check a theme, they write Begin, and they are the reference.
type row[T any] struct {
	key      string
	example  string // a value, as it is written
	fallback string // what holds where the key is left out, as it is written; empty: nothing
	doc      string // one line, in the words of who makes a theme
	kind[T]
}

// kind is what the values of a key may be. read returns what puts the value into its place; nil where it is a mistake,
// which it has refused.
type kind[T any] struct {
	says string
	read func(v value) func(*T)
}

// assign is a value that was read.
type assign[T any] struct {
	v   value
	set func(*T)
}

// read reads those of rows that the table gives.
func read[T any](at value, rows []row[T]) (given []assign[T]) {
	for i := range rows {
		r := &rows[i]
		is, ok := at.at.Value(r.key)
		if !ok {
			continue
		}
		v := value{at.from, at.at, r.key, -1, is}
		if set := r.read(v); set != nil {
			given = append(given, assign[T]{v, set})
		}
	}
	return given
}

func oneOf[T ~uint8, D any](names []string, field func(*D) *T) kind[D] {
	return kind[D]{strings.ReplaceAll(listed(names), ", ", " | "), func(v value) func(*D) {
		i, ok := v.choice(names)
		if !ok {
			return nil
		}
		return func(d *D) { *field(d) = T(i) }
	}}
}

func number[D any](low, high int, field func(*D) *int) kind[D] {
	return kind[D]{fmt.Sprintf("%d to %d", low, high), func(v value) func(*D) {
		n, ok := v.number(low, high)
		if !ok {
			return nil
		}
		return func(d *D) { *field(d) = n }
	}}
}

// lengths are two, across and down.
func lengths[D any](b bounds, field func(*D) *[2]Length) kind[D] {
	says := fmt.Sprintf(`two of: %d to %d, "%d%%" to "%d%%"`, b.low, b.high, b.lowPercent, b.highPercent)
	if b.auto {
		says += `, "auto"`
	}
	return kind[D]{says, func(v value) func(*D) {
		pair, ok := v.pair()
		if !ok {
			return nil
		}
		x, okX := pair[0].length(b)
		y, okY := pair[1].length(b)
		if !okX || !okY {
			return nil
		}
		return func(d *D) { *field(d) = [2]Length{x, y} }
	}}
}

// alike is one number for across and down, or two.
func alike[D any](low, high int, field func(*D) *[2]int) kind[D] {
	return kind[D]{fmt.Sprintf("%d to %d, or two of them", low, high), func(v value) func(*D) {
		if _, isList := v.is.([]any); !isList {
			n, ok := v.number(low, high)
			if !ok {
				return nil
			}
			return func(d *D) { *field(d) = [2]int{n, n} }
		}
		pair, ok := v.pair()
		if !ok {
			return nil
		}
		x, okX := pair[0].number(low, high)
		y, okY := pair[1].number(low, high)
		if !okX || !okY {
			return nil
		}
		return func(d *D) { *field(d) = [2]int{x, y} }
	}}
}

func line[D any](most int, field func(*D) *string) kind[D] {
	return kind[D]{fmt.Sprintf("at most %d bytes", most), func(v value) func(*D) {
		s, ok := v.line(most)
		if !ok {
			return nil
		}
		return func(d *D) { *field(d) = s }
	}}
}

func name[D any](field func(*D) *string) kind[D] {
	return kind[D]{"", func(v value) func(*D) {
		s, ok := v.name()
		if !ok {
			return nil
		}
		return func(d *D) { *field(d) = s }
	}}
}

func colour[D any](field func(*D) *ColourRef) kind[D] {
	return kind[D]{"", func(v value) func(*D) {
		c, ok := v.colour()
		if !ok {
			return nil
		}
		return func(d *D) { *field(d) = c }
	}}
}

// head is what a theme says of itself.
type head struct {
	format            int
	name, about, from string
	logo              string
}

var headRows = []row[head]{
	{"format", "1", "", "the version of this language", number(format, format, func(h *head) *int { return &h.format })},
	{"name", `"mine"`, "", "the theme's name", line(40, func(h *head) *string { return &h.name })},
	{"about", `"Our school's colours."`, "", "one sentence on it", line(400, func(h *head) *string { return &h.about })},
	{"from", `"maple"`, "", "the theme that this one starts from; below stands only what is different", name(func(h *head) *string { return &h.from })},
	{"logo", `"logo.png"`, "", "a school's logo, which stands wherever a part has picture = \"logo\"", file(pictureEnds, func(h *head) *string { return &h.logo })},
}

var (
	pictureEnds = []string{".png"}
	fontEnds    = []string{".ttf", ".otf"}
)

// file is the name of a file in the theme.
func file[D any](ends []string, field func(*D) *string) kind[D] {
	return kind[D]{"a file beside this one, " + strings.Join(ends, " or "), func(v value) func(*D) {
		s, ok := v.text()
		if !ok || !v.isFile(s, ends) {
			return nil
		}
		return func(d *D) { *field(d) = s }
	}}
}

// fontRow: a font that ships is named; one of the theme's own is a file, read when it is met.
func fontRow(role FontRole, example, doc string) row[Theme] {
	return row[Theme]{fontRoles[role], example, "", doc, kind[Theme]{"a font's name, or a .ttf or .otf file beside this one", func(v value) func(*Theme) {
		s, ok := v.line(60)
		if !ok {
			return nil
		}
		f := Font{Name: s, At: v.at.Place(v.key)}
		if hasEnd(s, fontEnds) {
			if !v.isFile(s, fontEnds) {
				return nil
			}
			data, err := v.from.file(s, maxFontFile)
			if err != nil {
				v.refuse("%s", err)
				return nil
			}
			f.Data = data
		}
		return func(t *Theme) { t.Fonts[role] = f }
	}}}
}

// maxFontFile bounds a font file of the theme's own, in bytes.
const maxFontFile = 8 << 20

func hasEnd(name string, ends []string) bool {
	for _, end := range ends {
		if strings.EqualFold(path.Ext(name), end) {
			return true
		}
	}
	return false
}

var fontRows = []row[Theme]{
	fontRow(Digits, `"barlow-condensed-600"`, "clocks and scores; they never shift, whatever the font"),
	fontRow(Text, `"barlow-600"`, "names and words"),
	fontRow(Condensed, `"barlow-condensed-600"`, "labels, and names that are too long for the text font"),
}

func colourRow(role ColourRole, example, doc string) row[Theme] {
	return row[Theme]{colourRoles[role], example, "", doc, kind[Theme]{`"#rrggbb" or "#rrggbbaa"`, func(v value) func(*Theme) {
		return v.swatch(int(role))
	}}}
}

// swatch reads a colour of the palette.
func (v value) swatch(index int) func(*Theme) {
	s, ok := v.text()
	if !ok {
		return nil
	}
	c, err := ParseColour(s)
	if err != nil {
		v.refuse("%s", err)
		return nil
	}
	return func(t *Theme) { t.Palette[index].Colour = c }
}

var colourRows = []row[Theme]{
	colourRow(Plate, `"#1d2a26"`, "the ground of nearly everything"),
	colourRow(Line, `"#f3f0e6"`, "text and lines on the plate"),
	colourRow(Faint, `"#8fa199"`, "places not yet filled, and labels, on the plate"),
	colourRow(Ink, `"#151d1a"`, "text on cloth, paper and stripe"),
	colourRow(Lamp, `"#ffc04d"`, "what is lit, on the plate: a ground, and text too"),
	colourRow(Alarm, `"#ff6f52"`, "the end of a period, and what is wrong"),
	colourRow(Cloth, `"#e9efe9"`, "the ground of messages and lines"),
	colourRow(Paper, `"#ffffff"`, "the ground of what is printed"),
	colourRow(Stripe, `"#eef2ee"`, "the ground of every other printed line"),
}

func openRow(o Occasion, example, doc string) row[Theme] {
	names := append(Graphics(), nothing)
	return row[Theme]{occasions[o], example, "", doc, kind[Theme]{strings.Join(names, " | "), func(v value) func(*Theme) {
		i, ok := v.choice(names)
		if !ok {
			return nil
		}
		return func(t *Theme) {
			t.Opens[o] = names[i]
			if names[i] == nothing {
				t.Opens[o] = ""
			}
		}
	}}}
}

// nothing is how a theme takes back what the one it starts from gives.
const nothing = "none"

var openRows = []row[Theme]{
	openRow(OnTimeout, `"timeout"`, "while a timeout lasts"),
	openRow(OnInterval, `"interval"`, "in intervals and at half-time"),
	openRow(OnOver, `"final"`, "once the game is over"),
}

var sizeBounds = bounds{1, 4000, 1, 100, true}

var layoutRows = []row[Layout]{
	{"area", `"title"`, `"title"`, "what the graphic keeps inside of: the inner or the outer safe area, or the whole picture", oneOf(areas[:], func(l *Layout) *Area { return &l.Area })},
	{"anchor", `"bottom"`, `"bottom"`, "where in that area it stands", oneOf(anchors, func(l *Layout) *layout.Anchor { return &l.Anchor })},
	{"size", "[990, 174]", `["auto", "auto"]`, "across and down; a number is thousandths of the picture's short side, auto is all there is", lengths(sizeBounds, func(l *Layout) *[2]Length { return &l.Size })},
}
