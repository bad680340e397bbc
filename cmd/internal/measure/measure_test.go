package measure

import (
	"flag"
	"slices"
	"testing"

	"rafter/cmd/internal/picture"
	"rafter/engine/enginetest/race"
	"rafter/overlay/check"
)

// eyes finds the reader and the stream, or skips.
func eyes(t *testing.T, moments int) check.Options {
	t.Helper()
	if race.Enabled || testing.Short() {
		t.Skip("not run: the race detector and -short leave out other programs")
	}
	o := check.Options{Moments: moments}
	if readers(t.Context(), &o); o.Unread != "" {
		t.Skip("not run: ", o.Unread)
	}
	return o
}

// moments of each of five themes come to the 300 frames and 900 fields a way that are asked for at the least; -moments 300
// asks as many of each.
var moments = flag.Int("moments", 60, "of TestDigitsAreRead: at how many the digits of each theme are read")

// In every theme another program reads the clock and both scores, field by field: 99 % of them as they are drawn, 95 %
// after a stream.
func TestDigitsAreRead(t *testing.T) {
	o := eyes(t, *moments)
	for _, name := range picture.Themes() {
		t.Run(name, func(t *testing.T) {
			looks, err := picture.Load(name)
			if err != nil {
				t.Fatal(err)
			}
			found, err := looks.Digits(o)
			if err != nil {
				t.Fatal(err)
			}
			if len(found) != 3 {
				t.Fatalf("%d measures", len(found))
			}
			for _, m := range found {
				t.Logf("%s: %.2f %%, %s; %s", m.Name, m.Value, m.Note, m.Worst)
				if !m.Pass || m.Unmeasured != "" {
					t.Errorf("%s fails: %s %s", m.Name, m.Worst, m.Unmeasured)
				}
			}
		})
	}
}

// What cannot be read is found out, on its way, and on those that are worse.
func TestDigitsOfBrokenThemesAreNot(t *testing.T) {
	o := eyes(t, 12)
	for name, fail := range map[string][]string{
		"digits-plain":  {"digits-plain", "digits-half", "digits-stream"},
		"digits-half":   {"digits-half", "digits-stream"},
		"digits-stream": {"digits-stream"},
	} {
		t.Run(name, func(t *testing.T) {
			looks, err := picture.Load("../../../overlay/check/testdata/broken/" + name)
			if err != nil {
				t.Fatal(err)
			}
			found, err := looks.Digits(o)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range found {
				if m.Pass == slices.Contains(fail, m.Name) {
					t.Errorf("%s: pass %t at %.1f %%; %s; %s", m.Name, m.Pass, m.Value, m.Note, m.Worst)
				}
			}
		})
	}
}

// Whatever keys come, no place that the eye sees sharply flashes more than three times in a second, in any theme, of what
// is on air. Source: WCAG 2.2, SC 2.3.1; the watch is held to sequences of its own in overlay/check.
func TestNoKeysFlash(t *testing.T) {
	if race.Enabled {
		t.Skip("not run: drawn on one goroutine, and ten times as slow under the race detector")
	}
	for _, name := range picture.Themes() {
		t.Run(name, func(t *testing.T) {
			looks, err := picture.Load(name)
			if err != nil {
				t.Fatal(err)
			}
			film, err := storm(looks)
			if err != nil {
				t.Fatal(err)
			}
			if general, red := film.Watch(func(int) {}); general > 3 || red > 3 {
				t.Errorf("%d flashes in a second, and %d red ones", general, red)
			}
		})
	}
}
