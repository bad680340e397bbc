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
	Sheet       Sheet
}

// Font is a font by its name in the assets, and the place in the theme that asks for it.
type Font struct {
	Name     string
	Row, Col int // from 1
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

// ColourRole is what a colour is for.
type ColourRole uint8

// The roles: grounds first, then what is drawn on them.
const (
	Plate  ColourRole = iota // the ground of nearly everything
	Floor                    // the light ground of the clock
	Seam                     // the joints of the floor's boards
	Cloth                    // the ground of lines and messages
	Paper                    // the ground of the printed card
	Stripe                   // the ground of every other line of the card
	Line                     // text, counted fouls and timeouts, painted lines: on Plate
	Faint                    // places not yet filled, and labels: on Plate
	Lamp                     // what is lit: on Plate, with Ink on it
	Alarm                    // the period's end, what is wrong: on Plate, with Ink on it
	Ink                      // text on Floor, Cloth, Paper, Stripe, Lamp and Alarm
	ColourRoles
)

// Lettering is one kind of text: the font's role and the height of its capitals. A graphic with less room
// sets it smaller, never larger.
type Lettering struct {
	Font FontRole
	Cap  int
}

// Bug is the small graphic that lies over the game: a tab for lines above a board.
type Bug struct {
	Anchor layout.Anchor // in the title-safe area
	// Width is the whole; Tab the row above the board, which is there only while it has something to say;
	// Board the row of names and scores, Rail the row of fouls and timeouts below it.
	Width, Tab, Board, Rail int
	// Centre and Score are the widths of the clock's floor and of a score.
	Centre, Score                                int
	Corner, Stroke, Gap, Pad                     int
	Dot                                          int // diameter of a foul's dot
	Clock, Points, Name, Label, Lamp, Shot, Note Lettering
}

// Wall is the full-screen graphic for a projector.
type Wall struct {
	Margin, Corner, Stroke, Gap, Pad                              int
	Frame                                                         int // width of the lit edge at a period's end
	Dot                                                           int // diameter of a foul's dot
	Clock, Points, Name, Label, Lamp, Shot, Note, Caption, Player Lettering
	Timeout                                                       Lettering // the time left
}

// Strip is the operator's; its thousandths are of the strip's own short side.
type Strip struct {
	Corner, Stroke, Gap, Pad int
	Key, Does, Note          Lettering
}

// Card is the printed table of keys.
type Card struct {
	Margin, Stroke, Gap   int
	Title, Note, Act, Key Lettering
}

// Sheet is the printed score sheet. A long game sets its rows smaller.
type Sheet struct {
	Margin, Stroke, Gap     int
	Title, Head, Note, Cell Lettering
}
