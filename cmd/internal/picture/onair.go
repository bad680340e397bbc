package picture

import (
	"fmt"
	"slices"
	"strings"

	"rafter/engine"
	"rafter/overlay/content"
	"rafter/overlay/graphic"
	"rafter/overlay/theme"
	"rafter/overlay/toml"
)

// OnAir is the graphic's name that follows the game: what the operator has put on air, First until then, and what the
// theme opens by itself on an occasion, as a timeout, until that is over or the operator shows another.
const OnAir = "on-air"

// First is the graphic that is on air in a new game.
const First = "bug"

// blank is nothing on air.
const blank = "blank"

// Check refuses a command that shows a graphic which there is not, or which is not for the air.
func Check(c engine.Command) *engine.Error {
	names := graphic.Names(true)
	if c.Do != engine.Show && c.Amended != engine.Show || slices.Contains(names, c.Text) {
		return nil
	}
	list := strings.Join(names, ", ")
	return engine.Refuse(engine.BadValue, c.Text, list, fmt.Sprintf("there is no graphic %q%s; there are %s", c.Text, toml.DidYouMean(c.Text, names), list))
}

// chosen returns the graphic that is to be on air.
func (p *Picture) chosen(show string, open engine.Occasions) string {
	for o, on := range [theme.Occasions]bool{theme.OnTimeout: open.Timeout, theme.OnOver: open.Over, theme.OnInterval: open.Interval} {
		if name := p.looks.theme.Opens[o]; on && name != "" {
			return name
		}
	}
	if slices.Contains(p.names, show) {
		return show
	}
	return First
}

// onAir returns the graphic to draw, and since when it is there or goes. Where another is chosen, the one on air goes
// first, and the new one comes when that is gone. It follows from the view alone, and what the view no longer remembers
// stands still.
func (p *Picture) onAir(v *engine.View) (name string, air content.Air) {
	at := content.Instant(v.At)
	if len(v.Past) == 0 {
		return p.chosen(v.Show, v.Open), air
	}
	name = p.chosen(v.Past[0].Show, v.Past[0].Open)
	next, gone := name, content.Instant(0) // while name goes: what comes, and when
	pass := func(to content.Instant) {
		if air.Closing && gone <= to {
			name, air = next, content.Air{Opened: gone, Opening: true}
		}
	}
	for i := range v.Past {
		g := &v.Past[i]
		pass(g.At)
		if next = p.chosen(g.Show, g.Open); next != name && !air.Closing {
			air.Closed, air.Closing = g.At, true
			gone = g.At + p.leavesOf(name)
		}
	}
	pass(at)
	if air.Opening && at-air.Opened >= still {
		air.Opened, air.Opening = 0, false
	}
	return name, air
}

// still is how long after it began no motion is on any more.
const still = content.Instant(theme.MaxMotion) * 1_000_000

// leavesOf returns how long a graphic takes to go off air.
func (p *Picture) leavesOf(name string) content.Instant {
	long, known := p.leaves[name]
	if !known {
		long = p.renderer.Leaves(name)
		p.leaves[name] = long
	}
	return long
}
