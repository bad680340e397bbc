package check

import (
	"image"
	"math"
	"testing"

	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/paint"
	"rafter/overlay/raster"
)

// A picture of 3 by 3 fields of sight: the one in the middle is 15 cells wide and 10 high.
var filmSize = image.Pt(3*15*cell, 3*10*cell)

var middle = image.Rect(15*cell, 10*cell, 2*15*cell, 2*10*cell)

// lamp is a film of a rectangle on black that has the n-th colour in the n-th frame, made of display lists.
func lamp(at image.Rectangle, colours []paint.Colour) *Film {
	f := frame.New(filmSize.X, filmSize.Y)
	r := raster.New(nil, nil)
	draw := func(at image.Rectangle, c paint.Colour) {
		var list paint.List
		list.Rect(paint.BoxPx(at), 0, c)
		r.Draw(f, &list, at)
	}
	draw(f.Bounds(), paint.Colour{A: 255})
	return &Film{Name: "lamp", Length: content.Instant(len(colours)-1) * second / watchFPS, Frame: func(now content.Instant) (*frame.Frame, frame.Damage) {
		var damage frame.Damage
		n := int((now*watchFPS + second/2) / second)
		damage.Add(at)
		if n == 0 {
			damage.Add(f.Bounds())
		}
		draw(at, colours[n])
		return f, damage
	}}
}

// codes are greys of those luminances, each for so many frames.
func codes(runs [][2]float64) (list []paint.Colour) {
	for _, run := range runs {
		g := encode(run[0])
		for range int(run[1]) {
			list = append(list, paint.Colour{R: g, G: g, B: g, A: 255})
		}
	}
	return list
}

// share returns a part of the field in the middle.
func share(of float64) image.Rectangle {
	r := middle
	r.Max.Y = r.Min.Y + int(math.Round(of*10))*cell
	return r
}

// Source: WCAG 2.2, definition of general flash threshold; the sequences of testdata/flash.json at the frame rate of the
// watch, lit on so much of a field.
func TestWatchOfKnownSequences(t *testing.T) {
	var file flashFile
	load(t, "testdata/flash.json", &file)
	films := 0
	for _, s := range file.Sequences {
		var w follower
		var changes []transition
		n := 0
		for _, run := range s.Runs {
			for range int(run[1]) {
				if up, counts := w.general(linear{run[0], run[0], run[0]}); counts {
					changes = append(changes, transition{n, up})
				}
				n++
			}
		}
		if most := flashes(changes, s.FPS); len(changes) != s.Transitions || most != s.Most {
			t.Errorf("%s: followed, %d changes and %d flashes in a second, want %d and %d", s.Name, len(changes), most, s.Transitions, s.Most)
		}
		if s.FPS != watchFPS {
			continue
		}
		films++
		got, red := lamp(share(s.Area), codes(s.Runs)).Watch(func(int) {})
		if pass := got <= maxFlashes; pass != s.Pass || s.Area > flashArea && got != s.Most || red != 0 {
			t.Errorf("%s: watched, %d flashes in a second, %d of them red, want %d on %.0f %% of the field", s.Name, got, red, s.Most, 100*s.Area)
		}
	}
	if films < 10 {
		t.Errorf("%d films", films)
	}
}

// blink is a lamp that is lit and dark in turn for three frames each: five flashes a second.
func blink(lit, dark paint.Colour) (colours []paint.Colour) {
	for n := range 60 {
		if n/3%2 == 1 {
			colours = append(colours, lit)
		} else {
			colours = append(colours, dark)
		}
	}
	return colours
}

func TestALampBlinksFiveTimesASecond(t *testing.T) {
	white, black := paint.Colour{R: 255, G: 255, B: 255, A: 255}, paint.Colour{A: 255}
	red, blue := paint.Colour{R: 160, A: 255}, paint.Colour{B: 160, A: 255} // of much the same luminance
	corner := image.Rectangle{Max: middle.Size()}
	between := middle.Add(image.Pt(7*cell, -5*cell)) // as far in four of the nine as in another
	for _, c := range []struct {
		name         string
		at           image.Rectangle
		lit, dark    paint.Colour
		general, red int
	}{
		{"on 40 % of a field", share(0.4), white, black, 5, 0},
		{"on 20 % of a field", share(0.2), white, black, 0, 0},
		{"in the corner of the picture", corner, white, black, 5, 0},
		{"between the fields", between, white, black, 5, 0},
		{"on all of the picture", image.Rectangle{Max: filmSize}, white, black, 5, 0},
		{"red and blue in turn", middle, red, blue, 0, 5},
		{"red and blue, small", share(0.2), red, blue, 0, 0},
		{"red and black in turn", middle, red, black, 0, 0}, // black has no colour to come from, and red is too dark
	} {
		general, reds := lamp(c.at, blink(c.lit, c.dark)).Watch(func(int) {})
		if general != c.general || reds != c.red {
			t.Errorf("%s: %d flashes and %d red ones in a second, want %d and %d", c.name, general, reds, c.general, c.red)
		}
	}
}

// Not one after another, but side by side: no place flashes more often than the first.
func TestTwoLampsInTurnAreNoFasterLamp(t *testing.T) {
	white, black := paint.Colour{R: 255, G: 255, B: 255, A: 255}, paint.Colour{A: 255}
	slow := func(from int) (colours []paint.Colour) {
		for n := range 60 {
			if (n+from)/6%2 == 1 {
				colours = append(colours, white)
			} else {
				colours = append(colours, black)
			}
		}
		return colours
	}
	left, right := middle, middle
	left.Max.X, right.Min.X = middle.Min.X+7*cell, middle.Min.X+7*cell
	a, b := lamp(left, slow(0)), slow(6)
	paintA := a.Frame
	r := raster.New(nil, nil)
	a.Frame = func(now content.Instant) (*frame.Frame, frame.Damage) {
		f, damage := paintA(now)
		var list paint.List
		list.Rect(paint.BoxPx(right), 0, b[int((now*watchFPS+second/2)/second)])
		r.Draw(f, &list, right)
		damage.Add(right)
		return f, damage
	}
	if general, _ := a.Watch(func(int) {}); general > maxFlashes {
		t.Errorf("%d flashes in a second", general)
	}
}
