package picture

import (
	"fmt"
	"slices"
	"strings"

	"rafter/engine"
	"rafter/overlay/air"
	"rafter/overlay/graphic"
	"rafter/overlay/toml"
)

// OnAir is the graphic's name that follows the game, and First the graphic that is on air in a new one.
const (
	OnAir = air.OnAir
	First = air.First
)

// Chosen returns the graphic that the view has on air, and whether it is one that the theme opens by itself.
func (l *Looks) Chosen(v *engine.View) (name string, opened bool) {
	return air.Chosen(l.theme, v.Show, v.Open)
}

// Check refuses a command that shows a graphic which there is not, or which is not for the air.
func Check(c engine.Command) *engine.Error {
	names := graphic.Names(true)
	if c.Do != engine.Show && c.Amended != engine.Show || slices.Contains(names, c.Text) {
		return nil
	}
	list := strings.Join(names, ", ")
	return engine.Refuse(engine.BadValue, c.Text, list, fmt.Sprintf("there is no graphic %q%s; there are %s", c.Text, toml.DidYouMean(c.Text, names), list))
}
