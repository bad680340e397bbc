package check

import (
	"testing"

	"rafter/engine/enginetest/race"
	"rafter/overlay/overlaytest"
)

// Every shipped theme passes every measure that needs no other program.
func TestShippedThemesPass(t *testing.T) {
	if race.Enabled {
		t.Skip("not run: nothing here is shared, and the race detector takes half a minute a theme")
	}
	fonts := overlaytest.Fonts(t)
	for _, name := range overlaytest.Themes(t) {
		t.Run(name, func(t *testing.T) {
			all, err := Theme(Options{Theme: overlaytest.Theme(t, name), Fonts: fonts})
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range all {
				if m.Unmeasured != "" {
					t.Logf("%s: not measured: %s", m.Name, m.Unmeasured)
					continue
				}
				t.Logf("%s: %.2f of %.2f %s, %s", m.Name, m.Value, m.Limit, m.Unit, m.Worst)
				if !m.Pass {
					t.Errorf("%s fails", m.Name)
				}
			}
		})
	}
}
