package main

import (
	"image"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/windowcli"
	"rafter/overlay/frame"
)

// layout says what is where in the window: the picture (its key beside it), and below, apart from what is
// captured, the operator's strip and the panel with codes.
type layout struct {
	picture, key, strip, panel image.Rectangle
}

// below is what lies below the picture, in heights of a strip.
type below int

const (
	nothing   below = 0
	theStrip  below = 1
	withPanel below = 3
)

// leastStrip is the least height of a strip, in pixels.
const leastStrip = 48

// stripHeight is that of the strip below a picture of that width: 90 pixels below one of 1280 × 720.
func stripHeight(width int) int { return max(width*9/128, leastStrip) }

// windowFor returns the inside of the window that shows a picture of that size.
func windowFor(picture image.Point, b below, sides int) image.Point {
	return image.Pt(picture.X*sides, picture.Y+int(b)*stripHeight(picture.X))
}

// lay shares out a window. In one that is too small the picture is cut, not shrunk below its least.
func lay(window image.Point, b below, sides int) (l layout) {
	w := min(max(window.X/sides, cli.MinSize.X), frame.MaxSize.X)
	strip := stripHeight(w)
	h := min(max(window.Y-int(b)*strip, cli.MinSize.Y), frame.MaxSize.Y)
	l.picture = image.Rect(0, 0, w, h)
	if sides == 2 {
		l.key = image.Rect(w, 0, 2*w, h)
	}
	if b != nothing {
		l.strip = image.Rect(0, h, w*sides, h+strip)
		l.panel = image.Rect(0, h+strip, w*sides, h+int(b)*strip)
	}
	return l
}

// sides is how many pictures lie side by side.
func sides(b windowcli.Background) int {
	if b == windowcli.FillAndKey {
		return 2
	}
	return 1
}
