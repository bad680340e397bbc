//go:build !race

package raster

import (
	"image"
	"math/rand/v2"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

// The race detector allocates on its own, so this runs without it.
func TestWarmDrawingAllocatesNothing(t *testing.T) {
	fonts := newGoFonts(t)
	r, f := New(fonts, testPictures()), frame.New(320, 180)
	l := glyphList(t, fonts, "12:08.4", 60*64, image.Pt(20, 90))
	seen := map[paint.Shape]bool{}
	for seed := range uint64(8) {
		shapes := opsFrom(randomBytes(rand.New(rand.NewPCG(5, seed)), 500), 320, 180)
		for _, o := range shapes.Ops {
			if o.Size <= 60*64 { // glyphs too large for the cache are read from the font each time
				l.Ops = append(l.Ops, o)
				seen[o.Shape] = true
			}
		}
	}
	for shape := paint.Rect; shape <= paint.Image; shape++ {
		if !seen[shape] {
			t.Fatalf("the list has no shape %d", shape)
		}
	}
	if n := testing.AllocsPerRun(50, func() { r.Draw(f, &l, f.Bounds()) }); n != 0 {
		t.Errorf("drawing %d operations allocates %v times, want 0", len(l.Ops), n)
	}
}
