package desk

import (
	"image"
	"strings"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/paint"
)

// chequered is a code whose every second module is dark; it says nothing.
func chequered(side int) *content.Code {
	c := content.Code{Title: "Watch", Address: "http://192.0.2.7:28150/scores", Typed: "ABCD-EFGH", Notes: []string{"Once."}, Side: side, Dark: make([]bool, side*side)}
	for i := range c.Dark {
		c.Dark[i] = i%2 == 0
	}
	return &c
}

// Black on white in any theme, all modules alike, with room about them: ISO/IEC 18004:2015 sections 6.3.8 and 9.1 (from memory).
func TestACodeHasEvenModulesAndAQuietZone(t *testing.T) {
	f := load(t)
	for _, size := range []image.Point{{320, 48}, {1280, 180}, {1280, 90}, {3840, 540}, {640, 96}} {
		for _, side := range []int{21, 25, 29, 33, 37} {
			c := content.Content{Desk: content.Desk{Code: chequered(side)}}
			white := image.Rectangle{}
			dark := 0
			var module image.Point
			for _, op := range f.draw(t, "code", size, &c) {
				b := op.Bounds()
				switch op.Colour {
				case paint.Colour{R: 255, G: 255, B: 255, A: 255}:
					white = b
				case paint.Colour{A: 255}:
					if module == (image.Point{}) {
						module = b.Size()
					}
					if b.Size() != module || module.X != module.Y || !b.In(white.Inset(quiet*module.X)) {
						t.Fatalf("%v, %d modules: one is %v in %v", size, side, b, white)
					}
					dark++
				default:
					if op.Shape == paint.Glyph && b.Overlaps(white) {
						t.Fatalf("%v: a letter at %v lies on the code", size, b)
					}
				}
			}
			if want := (side*side + 1) / 2; dark != want {
				t.Errorf("%v, %d modules: %d dark ones, want %d", size, side, dark, want)
			}
		}
	}
}

func TestWithoutRoomOrACodeTheWordsStandAlone(t *testing.T) {
	f := load(t)
	for why, code := range map[string]*content.Code{"no room": chequered(48), "no code": {Title: "Watch", Address: "here"}, "long": {Title: strings.Repeat("long ", 90)}} {
		c := content.Content{Desk: content.Desk{Code: code}}
		glyphs := 0
		for _, op := range f.draw(t, "code", image.Pt(320, 48), &c) {
			if op.Colour == (paint.Colour{A: 255}) {
				t.Errorf("%s: there is a module at %v", why, op.Bounds())
			}
			if op.Shape == paint.Glyph {
				glyphs++
			}
		}
		if glyphs == 0 {
			t.Errorf("%s: nothing is said", why)
		}
	}
}
