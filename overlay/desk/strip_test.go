package desk

import (
	"image"
	"slices"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/overlaytest"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// TestTheStripSaysWhetherTheClockRuns by shape as well as by colour, and at one place whatever else there is to say.
// Source: WCAG 2.2, SC 1.4.1 (not by colour alone).
func TestTheStripSaysWhetherTheClockRuns(t *testing.T) {
	f := load(t)
	for _, size := range []image.Point{{320, 48}, {1280, 90}, {1920, 135}, {3840, 270}, {2560, 90}} {
		state := func(running bool, reading string, d content.Desk) []paint.Op {
			c := content.Content{Clock: content.Reading(reading), Running: running, Desk: d}
			ops := f.draw(t, "strip", size, &c)
			end := ops[1].Bounds().Max.X // ops[0] is the ground, ops[1] the state's plate
			var in []paint.Op
			for _, op := range ops[1:] {
				if b := op.Bounds(); b.Max.X <= end {
					in = append(in, op)
				} else if b.Min.X < end {
					t.Errorf("%v, running %t: %+v crosses the state's edge at %d", size, running, op, end)
				}
			}
			return in
		}
		runs, stands := state(true, "5:41", content.Desk{}), state(false, "5:41", content.Desk{})
		if len(overlaytest.Polygons(runs)) != 1 || len(overlaytest.Polygons(stands)) != 0 {
			t.Errorf("%v: %d triangles while it runs, %d while it stands", size, len(overlaytest.Polygons(runs)), len(overlaytest.Polygons(stands)))
		}
		bars := 0
		for _, op := range stands {
			if op.Shape == paint.Rect && op.Stroke == 0 && op.Colour == f.theme.Colour(theme.Line) {
				bars++
			}
		}
		if bars != 2 || runs[0].Box != stands[0].Box || runs[0].Stroke != 0 || stands[0].Stroke == 0 {
			t.Errorf("%v: %d bars, plates %+v and %+v", size, bars, runs[0], stands[0])
		}
		for _, running := range []bool{true, false} {
			quiet, busy := state(running, "5:41", content.Desk{}), state(running, "5:41", overlaytest.Desk())
			if !slices.Equal(quiet, busy) {
				t.Errorf("%v, running %t: the state changes with what else is said", size, running)
			}
			if a, b := state(running, "11:11", overlaytest.Desk()), state(running, "20:00", overlaytest.Desk()); len(a) != len(b) {
				t.Errorf("%v, running %t: %d operations, then %d", size, running, len(a), len(b))
			}
		}
	}
}

// TestWhatIsNotKeptIsNotCalledUnsaved: the ring of an event that is not on disk yet would say that something is wrong.
func TestWhatIsNotKeptIsNotCalledUnsaved(t *testing.T) {
	f := load(t)
	rings := func(d content.Desk) (n int, ops []paint.Op) {
		c := content.Content{Desk: d}
		ops = slices.Clone(f.draw(t, "strip", image.Pt(1280, 90), &c))
		for _, op := range ops {
			if op.Shape == paint.Rect && op.Stroke > 0 {
				n++
			}
		}
		return n, ops
	}
	d := content.Desk{Last: "score home 2", LastNumber: 3}
	waits, _ := rings(d)
	d.Unkept = "demo, not kept"
	n, says := rings(d)
	d.Unkept = "script, not kept"
	if _, other := rings(d); waits != 1 || n != 0 || slices.Equal(says, other) {
		t.Errorf("%d rings for an event that waits, %d where none is kept; want 1 and 0, and the words", waits, n)
	}
}

// What another hand has keyed stands beside the last entry of this desk, which taking back is about, and gives way to what is
// wrong.
func TestWhatAnotherHandHasKeyedStandsBesideTheLastEntry(t *testing.T) {
	f := load(t)
	size := image.Pt(1280, 90)
	draw := func(d content.Desk) []paint.Op {
		c := content.Content{Clock: content.Reading("5:41"), Desk: d}
		return slices.Clone(f.draw(t, "strip", size, &c))
	}
	d := content.Desk{Last: "score home 2", LastNumber: 3, Saved: true}
	alone := draw(d)
	d.Other = "phone: 4 foul home"
	both := draw(d)
	var added []paint.Op
	for _, op := range both {
		if !slices.Contains(alone, op) {
			added = append(added, op)
		}
	}
	if len(added) == 0 || len(both) != len(alone)+len(added) {
		t.Fatalf("%d operations alone, %d with what another has keyed, %d of them new", len(alone), len(both), len(added))
	}
	for _, op := range added {
		if b := op.Bounds(); b.Min.X < size.X/2 || b.Max.X > size.X || b.Max.Y > size.Y/2 {
			t.Errorf("%v is not at the right of the upper row", b)
		}
	}
	d.Wrong = "the disk is full"
	with := draw(d)
	if d.Other = ""; !slices.Equal(with, draw(d)) {
		t.Error("what another has keyed takes room from what is wrong")
	}
}
