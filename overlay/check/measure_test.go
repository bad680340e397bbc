package check

import (
	"io/fs"
	"testing"

	"rafter/assets"
	"rafter/engine/enginetest/race"
	"rafter/overlay/text"
	"rafter/overlay/theme"
	"rafter/themes"
)

func shipped(t testing.TB, name string, fonts *text.Fonts) *theme.Theme {
	t.Helper()
	sub, err := fs.Sub(themes.FS, name)
	if err != nil {
		t.Fatal(err)
	}
	th, err := theme.Parse(sub, themes.FS)
	if err != nil {
		t.Fatal(err)
	}
	return th
}

// Every shipped theme passes every measure that needs no other program.
func TestShippedThemesPass(t *testing.T) {
	if race.Enabled {
		t.Skip("not run: nothing here is shared, and the race detector takes half a minute a theme")
	}
	fonts, err := text.Load(assets.FS)
	if err != nil {
		t.Fatal(err)
	}
	folders, err := fs.ReadDir(themes.FS, ".")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range folders {
		t.Run(f.Name(), func(t *testing.T) {
			all, err := Theme(Options{Theme: shipped(t, f.Name(), fonts), Fonts: fonts})
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
