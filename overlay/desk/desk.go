// Package desk draws what the operator alone sees: the strip below the picture, the table of keys and the score sheet. It
// is laid out by code; of a theme it has fonts and colours.
package desk

import (
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// drawer draws for the desk.
type drawer struct{ *pen.Pen }

// lettering is one kind of text: the font's role and the height of its capitals in thousandths of the short side. Where
// there is less room it is set smaller, never larger.
type lettering struct {
	Font theme.FontRole
	Cap  int
}
