package main

import (
	"bytes"
	"image"
	"strings"
	"testing"
	"time"

	"rafter/cmd/internal/desk"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/engine"
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

// Each trouble is in the strip as long as it stands, and is said once: also in the terminal, for the strip may be out of sight.
func TestWhatStandsIsInTheStripAndIsSaidOnce(t *testing.T) {
	b := newBench(t, "--strip", "off")
	var said bytes.Buffer
	b.strip.say = &said
	lost := host.Keeper{Name: "board.json", Desk: "source", Lost: true, Heard: -3 * time.Second}
	odds := host.Keeper{Name: "board.json", Desk: "source", Odds: []host.Odds{{Field: "home.score", Text: "a desk has 40"}}}
	for i, step := range []struct {
		keeper      host.Keeper
		strip, more string
		shown       bool
	}{
		{host.Keeper{Name: "board.json", Desk: "source"}, "", "", false},
		{lost, "board.json is lost. The clock goes on; pages say", "rafter-window: board.json is lost. The clock goes on; pages say so until a desk keys something.\n", true},
		{lost, "board.json is lost", "", true},
		{odds, "a desk has 40", "rafter-window: a desk has 40\n", false},
		{host.Keeper{Name: "board.json", Desk: "source", Odds: []host.Odds{{Field: "home.score", Text: "a desk has 41"}}}, "a desk has 41", "", false},
		{host.Keeper{}, "", "", false},
		{odds, "a desk has 40", "rafter-window: a desk has 40\n", false},
	} {
		b.host.Keep(step.keeper)
		said.Reset()
		b.frame()
		panes := len(b.frame().Panes)
		if got := b.strip.strip.Desk.Wrong; got != step.strip && (step.strip == "" || !strings.HasPrefix(got, step.strip)) {
			t.Errorf("step %d: the strip says %q, want %q", i, got, step.strip)
		}
		if said.String() != step.more || (panes == 2) != step.shown {
			t.Errorf("step %d: said %q, want %q; %d panes", i, said.String(), step.more, panes)
		}
	}
}

// What a phone has keyed is beside the last entry of the keyboard, which is what taking back is about.
func TestTheStripShowsWhatAnotherHandHasKeyed(t *testing.T) {
	b := newBench(t)
	foul := engine.Command{Do: engine.Foul, Team: engine.Home}
	for i, step := range []struct {
		do          func()
		last, other string
	}{
		{func() { b.frame("KeyF") }, "score home 2", ""},
		{func() { _, _, _ = b.host.Do("phone", foul) }, "score home 2", "phone: 2 foul home"},
		{func() { b.frame("Backspace") }, "undo 1", ""},
		{func() { _, _, _ = b.host.Do("source", foul) }, "undo 1", "source: 4 foul home"},
		{func() { _, _, _ = b.host.Do("phone", engine.Command{Do: engine.GameNew}) }, "", ""},
	} {
		step.do()
		b.frame()
		if d := &b.strip.strip.Desk; d.Last != step.last || d.Other != step.other {
			t.Errorf("step %d: %q and %q, want %q and %q", i, d.Last, d.Other, step.last, step.other)
		}
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
