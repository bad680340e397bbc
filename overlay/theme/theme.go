// Package theme reads how graphics look: fonts, colours and sizes by role, strictly, out of a theme.toml.
// It draws nothing and opens no font; a theme names a font and the graphic finds it.
//
// Sizes are thousandths of the picture's short side, so one theme serves every size of picture. The height
// of text is that of its capitals and digits, which is what standards of legibility speak of.
package theme

import (
	"rafter/overlay/layout"
	"rafter/overlay/paint"
)

// Theme is a checked theme: plain values, every one of them set.
type Theme struct {
	Name, About string
	Fonts       [FontRoles]Font
	Colours     [ColourRoles]paint.Colour
	Bug         Bug
	Wall        Wall
	Strip       Strip
	Card        Card
}

// Colour returns the colour of a role.
func (t *Theme) Colour(r ColourRole) paint.Colour { return t.Colours[r] }

// Font is a font by its name in the assets, and the place in the theme that asks for it.
type Font struct {
	Name     string
	Row, Col int // from 1; 0 where the theme leaves it to the fallback
}

// FontRole is what a font is for.
type FontRole uint8

// The roles. Digits must have ten digits of one width when they are set as clock and score.
const (
	Digits FontRole = iota
	Text
	Condensed // what Text falls back to when a name is too long
	FontRoles
)

// ColourRole is what a colour is for.
type ColourRole uint8

// The roles. Each ink is read on the ground beside it in the list, and measured there.
const (
	Plate  ColourRole = iota // what most things lie on
	Rail                     // the plate's darker foot: fouls and timeouts
	Floor                    // the light ground of the clock
	Cloth                    // the ground of lines and messages
	Line                     // text and painted lines on Plate and Rail
	Faint                    // a place not yet filled, on Rail and Plate
	Ink                      // text and shapes on Floor and Cloth
	Lamp                     // what is lit, on Plate and Rail
	Alarm                    // the end of a period, what is wrong, on Plate
	Paper                    // the card's ground; its text is Ink
	Stripe                   // every other line of the card
	ColourRoles
)

// Lettering is one piece of text: the font's role and the height of its capitals. Where a graphic has less
// room the text is made smaller, never larger.
type Lettering struct {
	Font FontRole
	Cap  int
}

// Bug is the graphic of the corner: a tab for lines, the board, and a rail of fouls and timeouts.
type Bug struct {
	Anchor                    layout.Anchor // in the title-safe area
	Width, Tab, Board, Rail   int
	Centre, Score             int // widths of the clock's floor and of a score
	Corner, Stroke, Pad       int
	Dot, Bar                  int // diameter of a foul dot, length of a full timeout's bar
	Clock, Points, Name       Lettering
	Label, Shot, Note, Throws Lettering
}

// Wall is the full-screen graphic.
type Wall struct {
	Margin, Gap, Corner, Stroke int
	Frame                       int // the lit edge at the end of a period
	Dot                         int
	Clock, Points, Name         Lettering
	Label, Shot, Note, Player   Lettering
}

// Strip is the operator's strip; its thousandths are of the strip's own short side.
type Strip struct {
	Pad, Corner, Stroke int
	Key, Does, Line     Lettering
}

// Card is the printed table of keys.
type Card struct {
	Margin, Stroke    int
	Title, Note, Line Lettering
}
