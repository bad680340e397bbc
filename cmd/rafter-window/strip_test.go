package main

import (
	"bytes"
	"image"
	"strings"
	"testing"

	"rafter/cmd/internal/desk"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/overlay/content"
	"rafter/overlay/output/displaytest"
)

// This package's tests need a display, since its program does.
var _ = displaytest.Present

func table(t *testing.T) desk.Table {
	t.Helper()
	k, err := desk.NewTable(nil)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestEveryPageOfKeysFitsTheStrip(t *testing.T) {
	looks, err := picture.Load("maple")
	if err != nil {
		t.Fatal(err)
	}
	for _, width := range []int{320, 1280, 1920, 3840} {
		p, err := looks.New(picture.Options{Graphic: "strip", Size: image.Pt(width, stripHeight(width))})
		if err != nil {
			t.Fatal(err)
		}
		for _, page := range keyPages(table(t)) {
			c := content.Content{Clock: content.Reading("20:00")}
			for i, h := range page {
				before, _ := p.Draw(&c)
				old := bytes.Clone(before.Pix)
				c.Desk.AddHint(h.Key, h.Does)
				after, _ := p.Draw(&c)
				if bytes.Equal(old, after.Pix) && width > 320 { // the least strip is for news, not for reading keys
					t.Errorf("%d pixels wide, page %q: hint %d (%s) is left out", width, page[0].Key, i, h.Does)
				}
			}
		}
	}
}

func TestThePagesHaveEveryKeyThatIsStruckFirst(t *testing.T) {
	var shown strings.Builder
	for _, page := range keyPages(table(t)) {
		for _, h := range page {
			shown.WriteString(h.Key + " " + h.Does + "\n")
		}
	}
	for _, l := range table(t).Card() {
		home, _, _ := strings.Cut(l.Strokes, "  ·")
		if keys := strings.Fields(home); len(keys) == 0 || len(keys) > 1 && len(keys[0]) == 1 {
			continue // a heading, or a second stroke
		}
		if !strings.Contains(shown.String(), l.Strokes+" "+l.Does) {
			t.Errorf("no page has %s: %s", l.Strokes, l.Does)
		}
	}
}

func TestTurningGoesThroughThePagesAndBack(t *testing.T) {
	var o operator
	for i := range keyPages(table(t)) {
		if o.turn(table(t)); o.page != i+1 {
			t.Fatalf("turn %d shows page %d", i+1, o.page)
		}
	}
	if o.turn(table(t)); o.page != 0 {
		t.Errorf("after the last comes page %d, want the hints", o.page)
	}
	o.turn(table(t))
	if o.leave("KeyF"); o.page != 1 {
		t.Error("a key of the game left the page")
	}
	if o.leave("Escape"); o.page != 0 {
		t.Error("Escape did not leave the page")
	}
}

func TestATroubleIsSaidOnceForAsLongAsItStands(t *testing.T) {
	var said bytes.Buffer
	o := operator{say: &said}
	full := func(waiting string) []host.Notice {
		return []host.Notice{{Code: host.NotSaved, Path: "a.log", Text: waiting + " not saved yet"}}
	}
	o.report(full("1 entry is"))
	o.report(full("2 entries are"))
	o.report(nil)
	o.report(full("3 entries are"))
	if got, want := said.String(), "rafter-window: 1 entry is not saved yet\nrafter-window: 3 entries are not saved yet\n"; got != want {
		t.Errorf("said %q, want %q", got, want)
	}
}

// TestAGameThatIsNotKeptSaysSo instead of calling every event unsaved.
func TestAGameThatIsNotKeptSaysSo(t *testing.T) {
	for words, want := range map[string]string{
		"--demo": "1 score home 2 (demo, not kept)\n", "--script x.game": "1 score home 2 (script, not kept)\n", "": "1 score home 2 (not saved yet)\n",
	} {
		b := newBench(t, strings.Fields(words)...)
		var told bytes.Buffer
		b.strip.terminal = &told
		b.frame("KeyF")
		if told.String() != want {
			t.Errorf("%q: the strip tells %q, want %q", words, told.String(), want)
		}
	}
}
