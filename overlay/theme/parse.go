package theme

import (
	"errors"
	"fmt"
	"io"
	"io/fs"

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
		Plate: "plate", Line: "line", Faint: "faint", Ink: "ink", Lamp: "lamp", Alarm: "alarm",
		Cloth: "cloth", Paper: "paper", Stripe: "stripe", Floor: "floor", Seam: "seam",
	}
)

// String returns the role as themes spell it.
func (r ColourRole) String() string { return colourRoles[r] }

// Parse reads theme.toml at the root of fsys, and of the folder in shipped that it starts from, if it does. The error is
// a toml.Errors with every mistake, each with its row and column, or says why a file cannot be read.
func Parse(fsys, shipped fs.FS) (*Theme, error) {
	data, err := read(fsys)
	if err != nil {
		return nil, err
	}
	return parse(data)
}

func read(fsys fs.FS) ([]byte, error) {
	f, err := fsys.Open(File)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("theme: no %s here: a theme is a folder with that file in it: %w", File, err)
	}
	if err != nil {
		return nil, fmt.Errorf("theme: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, toml.MaxSize+1)) // one more, so that too long is seen
	if err != nil {
		return nil, fmt.Errorf("theme: %w", err)
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
		t.Fonts[role].At = fonts.Place(name)
	}
	colours := r.table("colours")
	t.Logo = -1
	for role, name := range colourRoles {
		t.Colours[role] = colours.colour(name)
		t.Palette = append(t.Palette, Swatch{name, t.Colours[role]})
	}
	t.fixed()
	if err := root.Done(); err != nil {
		return nil, err
	}
	return t, nil
}

// reader asks one table for what a theme must have; what is missing is reported at the table's own place.
type reader struct{ *toml.Table }

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

func (r reader) colour(key string) paint.Colour {
	if r.missing(key) {
		return paint.Colour{}
	}
	return toml.As(r.Table, key, paint.Colour{}, ParseColour)
}
