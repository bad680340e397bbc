package theme

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/toml"
)

// File is the name of the file that makes a folder a theme.
const File = "theme.toml"

// format is the version of the language that this program reads.
const format = 1

var (
	fontRoles   = [FontRoles]string{Digits: "digits", Text: "text", Condensed: "condensed"}
	colourRoles = [ColourRoles]string{
		Plate: "plate", Floor: "floor", Seam: "seam", Cloth: "cloth", Paper: "paper", Stripe: "stripe",
		Line: "line", Faint: "faint", Lamp: "lamp", Alarm: "alarm", Ink: "ink",
	}
)

// String returns the role as themes spell it.
func (r ColourRole) String() string { return colourRoles[r] }

// Parse reads theme.toml at the root of fsys. Everything must be given and nothing else may be: the error is
// a toml.Errors with every mistake, each with its row and column, or says why the file cannot be read.
func Parse(fsys fs.FS) (*Theme, error) {
	data, err := read(fsys)
	if err != nil {
		return nil, err
	}
	return parse(data)
}

func read(fsys fs.FS) ([]byte, error) {
	f, err := fsys.Open(File)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("no %s here: a theme is a folder with that file in it: %w", File, err)
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, toml.MaxSize+1)) // one more, so that too long is seen
	if err != nil {
		return nil, err
	}
	return data, nil
}

func parse(data []byte) (*Theme, error) {
	root, err := toml.Parse(File, data)
	if err != nil {
		return nil, err
	}
	t, r := &Theme{}, reader{root}
	r.number("format", format, format)
	t.Name = r.words("name", 40)
	t.About = r.words("about", 400)
	fonts := r.table("fonts")
	for role, name := range fontRoles {
		t.Fonts[role].Name = fonts.words(name, 60)
		t.Fonts[role].Row, t.Fonts[role].Col, _ = fonts.Place(name)
	}
	colours := r.table("colours")
	for role, name := range colourRoles {
		t.Colours[role] = colours.colour(name)
	}
	r.bug(&t.Bug)
	r.wall(&t.Wall)
	r.strip(&t.Strip)
	r.card(&t.Card)
	r.sheet(&t.Sheet)
	if err := root.Done(); err != nil {
		return nil, err
	}
	return t, nil
}

func (r reader) bug(b *Bug) {
	t := r.table("bug")
	b.Anchor = t.anchor("anchor")
	t.sizes([]size{
		{"width", &b.Width, 200, 1700}, {"tab", &b.Tab, 20, 120}, {"board", &b.Board, 30, 250},
		{"rail", &b.Rail, 20, 120}, {"centre", &b.Centre, 100, 600}, {"score", &b.Score, 40, 400},
		{"corner", &b.Corner, 0, 100}, {"stroke", &b.Stroke, 1, 12}, {"gap", &b.Gap, 0, 40}, {"pad", &b.Pad, 0, 60},
		{"dot", &b.Dot, 6, 40},
	})
	t.letterings([]lettering{
		{"clock", &b.Clock}, {"points", &b.Points}, {"name", &b.Name}, {"label", &b.Label}, {"lamp", &b.Lamp},
		{"shot", &b.Shot}, {"note", &b.Note},
	})
	if free := b.Width - b.Centre - 2*b.Score; min(b.Width, b.Centre, b.Score) > 0 && free < 2*minName {
		t.Refuse("width", "width: %d leaves %d for the two names beside centre and twice score; they need %d",
			b.Width, max(free, 0), 2*minName)
	}
}

// minName is the least width of a team's name in the bug: four condensed capitals at the least size.
const minName = 60

func (r reader) wall(w *Wall) {
	t := r.table("wall")
	t.sizes([]size{
		{"margin", &w.Margin, 0, 100}, {"corner", &w.Corner, 0, 100}, {"stroke", &w.Stroke, 1, 20},
		{"gap", &w.Gap, 0, 60}, {"pad", &w.Pad, 0, 80}, {"frame", &w.Frame, 10, 80}, {"dot", &w.Dot, 10, 100},
	})
	t.letterings([]lettering{
		{"clock", &w.Clock}, {"points", &w.Points}, {"name", &w.Name}, {"label", &w.Label}, {"lamp", &w.Lamp},
		{"shot", &w.Shot}, {"note", &w.Note}, {"caption", &w.Caption}, {"player", &w.Player}, {"timeout", &w.Timeout},
	})
	if w.Margin >= 0 && w.Frame > w.Margin {
		t.Refuse("frame", "frame: %d is more than the margin %d, so the lit frame would cover the board", w.Frame, w.Margin)
	}
}

func (r reader) strip(s *Strip) {
	t := r.table("strip")
	t.sizes([]size{
		{"corner", &s.Corner, 0, 200}, {"stroke", &s.Stroke, 1, 60}, {"gap", &s.Gap, 0, 200}, {"pad", &s.Pad, 0, 200},
	})
	t.letterings([]lettering{{"key", &s.Key}, {"does", &s.Does}, {"note", &s.Note}})
}

func (r reader) card(c *Card) {
	t := r.table("card")
	t.sizes([]size{{"margin", &c.Margin, 0, 200}, {"stroke", &c.Stroke, 1, 20}, {"gap", &c.Gap, 0, 100}})
	t.letterings([]lettering{{"title", &c.Title}, {"note", &c.Note}, {"act", &c.Act}, {"key", &c.Key}})
}

func (r reader) sheet(s *Sheet) {
	t := r.table("sheet")
	t.sizes([]size{{"margin", &s.Margin, 0, 200}, {"stroke", &s.Stroke, 1, 20}, {"gap", &s.Gap, 0, 100}})
	t.letterings([]lettering{{"title", &s.Title}, {"head", &s.Head}, {"note", &s.Note}, {"cell", &s.Cell}})
}

// reader asks one table for what a theme must have; what is missing is reported at the table's own place.
type reader struct{ *toml.Table }

type size struct {
	key       string
	into      *int
	low, high int
}

type lettering struct {
	key  string
	into *Lettering
}

func (r reader) table(key string) reader {
	if !r.Has(key) {
		r.Refuse(key, "table [%s] is missing", key)
	}
	return reader{r.Table.Table(key)}
}

func (r reader) missing(key string) bool {
	if r.Has(key) {
		return false
	}
	r.Refuse(key, "%s is missing", key)
	return true
}

// number returns -1 for what is missing or out of range; it is reported, so no theme comes of it.
func (r reader) number(key string, low, high int) int {
	if r.missing(key) {
		return -1
	}
	return r.Int(key, low, high, -1)
}

func (r reader) words(key string, most int) string {
	if r.missing(key) {
		return ""
	}
	return r.String(key, most, "")
}

func (r reader) sizes(list []size) {
	for _, s := range list {
		*s.into = r.number(s.key, s.low, s.high)
	}
}

func (r reader) letterings(list []lettering) {
	for _, l := range list {
		t := r.table(l.key)
		l.into.Cap = t.number("cap", 8, 500)
		if !t.missing("font") {
			l.into.Font = toml.As(t.Table, "font", Text, fontRole)
		}
	}
}

func fontRole(s string) (FontRole, error) {
	for role, name := range fontRoles {
		if s == name {
			return FontRole(role), nil
		}
	}
	return 0, fmt.Errorf("%q is not a font role; use one of %s%s", s, strings.Join(fontRoles[:], ", "), toml.DidYouMean(s, fontRoles[:]))
}

func (r reader) anchor(key string) layout.Anchor {
	if r.missing(key) {
		return 0
	}
	names := layout.Anchors()
	name := r.Choice(key, names, names[0])
	for i := range names {
		if names[i] == name {
			return layout.Anchor(i)
		}
	}
	return 0
}

func (r reader) colour(key string) paint.Colour {
	if r.missing(key) {
		return paint.Colour{}
	}
	return toml.As(r.Table, key, paint.Colour{}, ParseColour)
}
