// Package theme reads how graphics look out of a theme.toml, strictly: fonts, colours and pictures by role, and for each
// graphic a box with named parts in it. It draws nothing and opens no font.
//
// Two files are the room's heart: model.go is what a theme is once it is read, plain values that whoever draws can
// trust; schema.go and parts.go are the language, one table of keys that reads a theme, checks it and explains it.
//
// Sizes are thousandths of the picture's short side, so one theme serves every size of picture. The height
// of text is that of its capitals and digits, which is what standards of legibility speak of.
package theme

import (
	"cmp"
	"fmt"
	"slices"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
	"rafter/overlay/toml"
)

// Theme is a checked theme: plain values, every one of them set.
type Theme struct {
	Name, About string
	Fonts       [FontRoles]Font
	// Palette has first the colours that every theme has, in the order of their roles, then the theme's own.
	Palette  []Swatch
	Pictures []Picture // those that parts or the logo show, at most MaxPictures
	Logo     int       // index in Pictures; -1 where the theme has none
	// Opens names, for each occasion, the graphic that is shown by itself; "" for none.
	Opens    [Occasions]string
	Graphics []Graphic // in the order of Graphics; a graphic that the theme does not draw is left out
}

// Colour returns the colour of a role.
func (t *Theme) Colour(r ColourRole) paint.Colour { return t.Palette[r].Colour }

// Graphic returns how the graphic of that name looks; nil where the theme does not draw it.
func (t *Theme) Graphic(name string) *Graphic {
	for i := range t.Graphics {
		if t.Graphics[i].Name == name {
			return &t.Graphics[i]
		}
	}
	return nil
}

// Graphics are the names of what a theme can draw.
func Graphics() []string {
	return []string{"bug", "wall", "interval", "timeout", "lineup", "periods", "final", "lower"}
}

// Swatch is a colour of the palette.
type Swatch struct {
	Name   string
	Colour paint.Colour
}

// Picture is a picture of the theme's, decoded and premultiplied.
type Picture struct {
	Name  string // of its file in the theme
	Frame *frame.Frame
}

// MaxPictures bounds the pictures of a theme, MaxPalette its colours.
const (
	MaxPictures = 32
	MaxPalette  = 64
)

// Occasion is when a graphic can open by itself: while it lasts, and until the operator shows another.
type Occasion uint8

// The occasions. OnInterval is an interval or half-time.
const (
	OnTimeout Occasion = iota
	OnInterval
	OnOver
	Occasions
)

// Font is a font, and the place in the theme that asks for it.
type Font struct {
	Name string     // in the assets; with Data its file in the theme
	Data []byte     // of a font of the theme's own, not yet looked at; nil for one of the assets
	At   toml.Place // of the name
}

// CheckFonts tells whether every font of the theme is among names; the error is a toml.Errors with the places.
func (t *Theme) CheckFonts(names []string) error {
	var bad toml.Errors
	for role, f := range t.Fonts {
		if f.Data == nil && !slices.Contains(names, f.Name) {
			bad = append(bad, toml.Error{File: f.At.File, Row: f.At.Row, Col: f.At.Col, Message: fmt.Sprintf(
				"%s: there is no font %q%s", fontRoles[role], f.Name, toml.DidYouMean(f.Name, names))})
		}
	}
	if bad == nil {
		return nil
	}
	slices.SortFunc(bad, func(a, b toml.Error) int { return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(a.Col, b.Col)) })
	return bad
}

// AddFonts calls add with the name and the data of each font of the theme's own; what add finds wrong becomes a toml.Errors
// with the places.
func (t *Theme) AddFonts(add func(name string, data []byte) error) error {
	var bad toml.Errors
	for role, f := range t.Fonts {
		same := func(g Font) bool { return g.Name == f.Name }
		if f.Data == nil || slices.ContainsFunc(t.Fonts[:role], same) {
			continue
		}
		if err := add(f.Name, f.Data); err != nil {
			bad = append(bad, toml.Error{File: f.At.File, Row: f.At.Row, Col: f.At.Col, Message: fmt.Sprintf(
				"%s: %s: %v", fontRoles[role], f.Name, err)})
		}
	}
	if bad == nil {
		return nil
	}
	return bad
}

// FontRole is what a font is for.
type FontRole uint8

// The roles. Digits are set in cells of one width, so any font does.
const (
	Digits FontRole = iota
	Text
	Condensed // what Text falls back to where a name is too long
	FontRoles
)

// ColourRole is what a colour is for: an index in Theme.Palette.
type ColourRole uint8

// The roles that every theme has a colour for.
const (
	Plate         ColourRole = iota // the ground of nearly everything
	Line                            // text, counted fouls and timeouts, painted lines: on Plate
	Faint                           // places not yet filled, and labels: on Plate
	Ink                             // text on Cloth, Paper and Stripe
	Lamp                            // what is lit: on Plate, as a ground and as text
	Alarm                           // the period's end, what is wrong: on Plate
	Cloth                           // the ground of lines and messages
	Paper                           // the ground of the printed card
	Stripe                          // the ground of every other line of the card
	NeededColours                   // how many they are
)
