// Package graphic draws what goes on air and what the desk shows: each graphic is a function of content,
// theme and size that appends to a display list, one file each, and one table of all. It makes no pixels and
// remembers nothing that could change a picture.
package graphic

import (
	"image"
	"slices"

	"rafter/overlay/content"
	"rafter/overlay/theme"
)

// Graphic is one row of the table.
type Graphic struct {
	Name string
	// OnAir is false for what only the desk may see.
	OnAir bool
	// Least is the smallest size in pixels that it is drawn at.
	Least image.Point
	// Box returns all that the graphic can ever touch in a picture of that size.
	Box func(t *theme.Theme, size image.Point) image.Rectangle

	draw func(p *Pen, c *content.Content)
}

var all = [...]Graphic{
	{"bug", true, image.Pt(320, 180), bugBox, drawBug},
	{"wall", true, image.Pt(320, 180), whole, drawWall},
	{"strip", false, image.Pt(320, 48), whole, drawStrip},
	{"card", false, image.Pt(320, 180), whole, drawCard},
	{"sheet", false, image.Pt(320, 180), whole, drawSheet},
}

// All returns the table: help, tests, golden cases and the desk walk it.
func All() []Graphic { return slices.Clone(all[:]) }

// ByName finds a graphic.
func ByName(name string) (Graphic, bool) {
	for _, g := range all {
		if g.Name == name {
			return g, true
		}
	}
	return Graphic{}, false
}

// Names lists the names of those that go on air, or of all.
func Names(onAir bool) []string {
	var names []string
	for _, g := range all {
		if g.OnAir || !onAir {
			names = append(names, g.Name)
		}
	}
	return names
}

func whole(_ *theme.Theme, size image.Point) image.Rectangle { return image.Rectangle{Max: size} }
