package raster

import (
	"bytes"
	"image"
	"math"
	"testing"

	"rafter/overlay/frame"
	"rafter/overlay/paint"
)

func TestAPictureLiesWhereItsBoxBegins(t *testing.T) {
	logo := logo(20, 12)
	for _, opacity := range []uint8{255, 254, 128, 1} {
		for _, box := range []image.Rectangle{image.Rect(3, 4, 23, 16), image.Rect(-5, -7, 15, 5), image.Rect(3, 4, 14, 9), image.Rect(30, 20, 90, 90)} {
			got, want := ground(40, 30), ground(40, 30)
			var l paint.List
			l.Image(box, 0, 0, opacity)
			New(nil, pictures{logo}).Draw(got, &l, got.Bounds())
			for y := range 30 {
				for x := range 40 {
					at := image.Pt(x, y).Sub(box.Min)
					if !image.Pt(x, y).In(box) || !at.In(logo.Bounds()) {
						continue
					}
					s, d := logo.Row(at.Y, at.X, at.X+1), want.Row(y, x, x+1)
					round := func(a, b int) int { return (2*a*b + 255) / 510 }
					rest := 255 - round(int(s[3]), int(opacity))
					for c := range d {
						d[c] = byte(round(int(s[c]), int(opacity)) + round(int(d[c]), rest))
					}
				}
			}
			if !bytes.Equal(got.Pix, want.Pix) {
				t.Errorf("a picture in %v at opacity %d is not the composited one", box, opacity)
			}
		}
	}
}

func TestAPictureHasTheCornersOfAPanel(t *testing.T) {
	full := frame.New(200, 200)
	for i := range full.Pix {
		full.Pix[i] = 255
	}
	for radius := paint.Fixed(0); radius < paint.Px(30); radius += 37 {
		want, got := ground(70, 60), ground(70, 60)
		box := image.Rect(5, 6, 60, 49)
		var panel, picture paint.List
		panel.Rect(paint.BoxPx(box), radius, white)
		picture.Image(box, radius, 0, 255)
		New(nil, nil).Draw(want, &panel, want.Bounds())
		New(nil, pictures{full}).Draw(got, &picture, got.Bounds())
		if !bytes.Equal(want.Pix, got.Pix) {
			t.Errorf("radius %d/64: a white picture is not a white panel", radius)
		}
	}
}

// liar is a picture that is not what it says.
type liar struct {
	bytes, w, h int
}

func (l liar) Picture(paint.PictureID) ([]byte, int, int) { return make([]byte, l.bytes), l.w, l.h }

func TestPicturesThatAreNotThereDrawNothing(t *testing.T) {
	var l paint.List
	l.Image(image.Rect(0, 0, 40, 30), 0, 7, 255)
	for _, p := range []paint.Pictures{nil, pictures{}, liar{100, 40, 30}, liar{0, 0, 0}, liar{64, -4, -4}, liar{64, 4, -1},
		liar{64, 0, 5}, liar{64, math.MaxInt, 2}, liar{64, 2, math.MaxInt}, liar{63, 4, 4}} {
		got := ground(40, 30)
		New(nil, p).Draw(got, &l, got.Bounds())
		if !bytes.Equal(got.Pix, ground(40, 30).Pix) {
			t.Errorf("%v: something was drawn", p)
		}
	}
}
