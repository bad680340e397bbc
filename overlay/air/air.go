// Package air decides which graphic is on air: what the operator shows, and what the theme opens by itself on an
// occasion. It draws nothing, and what it says follows from the theme and the view alone, whatever was on air before.
//
//	d := air.New(theme, renderer.Leaves)
//	name, onAir := d.At(&view)
package air

import (
	"slices"

	"rafter/engine"
	"rafter/overlay/content"
	"rafter/overlay/graphic"
	"rafter/overlay/theme"
)

// OnAir is the name that follows the game: what the operator has put on air, First until then, and what the theme opens
// by itself on an occasion, as a timeout, until that is over or the operator shows another.
const OnAir = "on-air"

// First is the graphic that is on air in a new game, and Blank nothing on air.
const (
	First = "bug"
	Blank = "blank"
)

// Director chooses for one theme. It is not safe for concurrent use.
type Director struct {
	theme  *theme.Theme
	leaves func(name string) content.Instant // how long a graphic takes to go off air
	known  map[string]content.Instant        // of leaves
}

// New returns a director. leaves tells how long a graphic takes to go off air, in nanoseconds.
func New(t *theme.Theme, leaves func(name string) content.Instant) *Director {
	return &Director{t, leaves, map[string]content.Instant{}}
}

// names are those of what may be on air. Nobody writes it.
var names = graphic.Names(true)

// Chosen returns the graphic that is to be on air where the operator has put show there, and whether it is one that the theme
// opens by itself.
func Chosen(t *theme.Theme, show string, open engine.Occasions) (name string, opened bool) {
	for o, on := range [theme.Occasions]bool{theme.OnTimeout: open.Timeout, theme.OnOver: open.Over, theme.OnInterval: open.Interval} {
		if name := t.Opens[o]; on && name != "" {
			return name, true
		}
	}
	if slices.Contains(names, show) {
		return show, false
	}
	return First, false
}

func (d *Director) chosen(show string, open engine.Occasions) string {
	name, _ := Chosen(d.theme, show, open)
	return name
}

// At returns the graphic to draw, and since when it is there or goes. Where another is chosen, the one on air goes
// first, and the new one comes when that is gone; after a cut it is there. What the view no longer remembers stands still.
func (d *Director) At(v *engine.View) (name string, air content.Air) {
	at := content.Instant(v.At)
	if len(v.Past) == 0 {
		return d.chosen(v.Show, v.Open), air
	}
	name = d.chosen(v.Past[0].Show, v.Past[0].Open)
	next, gone := name, content.Instant(0) // while name goes: what comes, and when
	pass := func(to content.Instant) {
		if air.Closing && gone <= to {
			name, air = next, content.Air{Opened: gone, Opening: true}
		}
	}
	for i := range v.Past {
		g := &v.Past[i]
		pass(g.At)
		now := d.chosen(g.Show, g.Open)
		switch {
		case now == next:
		case g.Cut:
			name, air = now, content.Air{}
		case !air.Closing:
			air.Closed, air.Closing = g.At, true
			gone = g.At + d.leavesOf(name)
		}
		next = now
	}
	pass(at)
	if air.Opening && at-air.Opened >= still {
		air.Opened, air.Opening = 0, false
	}
	return name, air
}

// still is how long after it began no motion is on any more.
const still = content.Instant(theme.MaxMotion) * 1_000_000

func (d *Director) leavesOf(name string) content.Instant {
	long, known := d.known[name]
	if !known {
		long = d.leaves(name)
		d.known[name] = long
	}
	return long
}
