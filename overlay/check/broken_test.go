package check

import (
	"image"
	"os"
	"slices"
	"testing"

	"rafter/engine/enginetest/race"
	"rafter/overlay"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/overlaytest"
	"rafter/overlay/paint"
	"rafter/overlay/text"
	"rafter/overlay/theme"
	"rafter/themes"
)

// Every measure can fail: for each there is a theme that breaks it, and it alone.
func TestBrokenThemesFailTheirMeasure(t *testing.T) {
	if race.Enabled {
		t.Skip("not run: nothing here is shared, and the race detector takes a minute a theme")
	}
	fonts := overlaytest.Fonts(t)
	folders, err := os.ReadDir("testdata/broken")
	if err != nil {
		t.Fatal(err)
	}
	broken := map[string]bool{}
	for _, f := range folders {
		broken[f.Name()] = true
		if slices.ContainsFunc(ways[:], func(w way) bool { return w.name == f.Name() }) {
			continue // these need a reader: package measure of the programs
		}
		t.Run(f.Name(), func(t *testing.T) {
			th, err := theme.Parse(os.DirFS("testdata/broken/"+f.Name()), themes.FS)
			if err != nil {
				t.Fatal(err)
			}
			all, err := Theme(Options{Theme: th, Fonts: fonts.Clone(), Films: []Film{timeoutFilm(t, th, fonts)}})
			if err != nil {
				t.Fatal(err)
			}
			found := false
			for _, m := range all {
				if m.Unmeasured != "" {
					continue
				}
				own := m.Name == f.Name()
				found = found || own
				if m.Pass == own {
					t.Errorf("%s: pass %t at %.2f of %.2f %s, %s", m.Name, m.Pass, m.Value, m.Limit, m.Unit, m.Worst)
				}
			}
			if !found {
				t.Error("there is no such measure")
			}
		})
	}
	all, err := Theme(Options{Theme: overlaytest.Theme(t, "signal"), Fonts: fonts.Clone()})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range all {
		if !broken[m.Name] {
			t.Errorf("no theme shows that %s can fail", m.Name)
		}
	}
}

// timeoutFilm is two seconds in the bug: a timeout is called after the first.
func timeoutFilm(t *testing.T, th *theme.Theme, fonts *text.Fonts) Film {
	r, err := overlay.New(overlay.Options{Theme: th, Fonts: fonts.Clone(), Graphic: "bug", Size: image.Pt(640, 360), Background: paint.Colour{R: 64, G: 64, B: 64, A: 255}})
	if err != nil {
		t.Fatal(err)
	}
	before, after := state("play", "bug"), state("timeout", "bug")
	return Film{Name: "a timeout", Length: 2 * second, Frame: func(at content.Instant) (*frame.Frame, frame.Damage) {
		now := changeAt - second + at
		if now < changeAt {
			return r.Render(&before, now)
		}
		return r.Render(&after, now)
	}}
}
