package main

import (
	"image"
	"testing"

	"rafter/cmd/internal/cli"
	"rafter/overlay/frame"
)

func TestTheWindowHoldsThePictureAndTheStripApart(t *testing.T) {
	for _, tt := range []struct {
		name    string
		picture image.Point
		below   below
		sides   int
		window  image.Point
	}{
		{"picture_alone", image.Pt(1280, 720), nothing, 1, image.Pt(1280, 720)},
		{"strip_below", image.Pt(1280, 720), theStrip, 1, image.Pt(1280, 810)},
		{"strip_and_panel", image.Pt(1280, 720), withPanel, 1, image.Pt(1280, 990)},
		{"fill_and_key", image.Pt(1280, 720), nothing, 2, image.Pt(2560, 720)},
		{"fill_and_key_and_strip", image.Pt(1920, 1080), theStrip, 2, image.Pt(3840, 1215)},
		{"the_least", image.Pt(320, 180), theStrip, 1, image.Pt(320, 228)},
		{"standing", image.Pt(1080, 1920), theStrip, 1, image.Pt(1080, 1995)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			window := windowFor(tt.picture, tt.below, tt.sides)
			if window != tt.window {
				t.Errorf("the window is %v, want %v", window, tt.window)
			}
			l := lay(window, tt.below, tt.sides)
			if l.picture.Size() != tt.picture || l.picture.Min != (image.Point{}) {
				t.Errorf("the picture is at %v, want %v at the corner", l.picture, tt.picture)
			}
			all := []image.Rectangle{l.picture, l.key, l.strip, l.panel}
			for i, a := range all {
				if !a.In(image.Rectangle{Max: window}) {
					t.Errorf("%v reaches outside the window", a)
				}
				for _, b := range all[:i] {
					if a.Overlaps(b) {
						t.Errorf("%v lies over %v", a, b)
					}
				}
			}
			if (tt.sides == 2) != (l.key.Size() == tt.picture) || (tt.below != nothing) != (l.strip.Dx() == window.X) || (tt.below == withPanel) != (l.panel.Dy() == 2*l.strip.Dy() && l.panel.Dx() == window.X) {
				t.Errorf("key at %v, strip at %v, panel at %v", l.key, l.strip, l.panel)
			}
		})
	}
}

func TestAWindowOfAnySizeHasAPictureOfALegalSize(t *testing.T) {
	for w := 1; w < 9000; w += 13 {
		for _, h := range []int{1, 47, 180, 229, 720, 4400, 9000} {
			for sides := 1; sides <= 2; sides++ {
				p := lay(image.Pt(w, h), theStrip, sides).picture.Size()
				if p.X < cli.MinSize.X || p.Y < cli.MinSize.Y || p.X > frame.MaxSize.X || p.Y > frame.MaxSize.Y {
					t.Fatalf("a window of %d×%d has a picture of %v", w, h, p)
				}
			}
		}
	}
}
