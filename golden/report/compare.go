package report

import (
	"fmt"
	"image"

	"rafter/overlay/frame"
)

// Difference is how two frames differ, byte by byte.
type Difference struct {
	Count   int             // pixels
	First   image.Point     // the first one, row by row from the top
	Largest int             // step of any channel, 0 to 255
	Box     image.Rectangle // around all of them
	Sizes   [2]image.Point  // of the two frames, where these differ: then nothing else is compared
}

// None tells whether the frames are the same.
func (d Difference) None() bool { return d.Count == 0 && d.Sizes == [2]image.Point{} }

// String says it in a line.
func (d Difference) String() string {
	switch {
	case d.None():
		return "no pixel differs"
	case d.Count == 0:
		return fmt.Sprintf("%d×%d pixels, not %d×%d", d.Sizes[1].X, d.Sizes[1].Y, d.Sizes[0].X, d.Sizes[0].Y)
	}
	return fmt.Sprintf("%s, first at %d,%d, by up to %d, all within %d×%d at %d,%d", pixels(d.Count), d.First.X, d.First.Y,
		d.Largest, d.Box.Dx(), d.Box.Dy(), d.Box.Min.X, d.Box.Min.Y)
}

// Compare returns how got differs from want.
func Compare(want, got *frame.Frame) Difference {
	if want.Bounds() != got.Bounds() {
		return Difference{Sizes: [2]image.Point{want.Bounds().Max, got.Bounds().Max}}
	}
	var d Difference
	for i := 0; i < len(want.Pix); i += 4 {
		step := 0
		for k := i; k < i+4; k++ {
			step = max(step, int(want.Pix[k])-int(got.Pix[k]), int(got.Pix[k])-int(want.Pix[k]))
		}
		if step == 0 {
			continue
		}
		at := image.Pt(i/4%want.W, i/4/want.W)
		if d.Count == 0 {
			d.First = at
		}
		d.Count++
		d.Largest = max(d.Largest, step)
		d.Box = d.Box.Union(image.Rectangle{Min: at, Max: at.Add(image.Pt(1, 1))})
	}
	return d
}

// gain makes a difference of one step visible: 1 of 255 becomes 48, and 5 and more are full.
func gain(step int) byte {
	if step == 0 {
		return 0
	}
	return byte(min(step*48, 255))
}

// picture draws the difference: opaque, each channel's step amplified, alpha's step as grey, and a frame around it all.
func (d Difference) picture(want, got *frame.Frame) *frame.Frame {
	f := frame.New(want.W, want.H)
	for i := 0; i < len(f.Pix); i += 4 {
		var step [4]int
		for k := range step {
			step[k] = max(int(want.Pix[i+k])-int(got.Pix[i+k]), int(got.Pix[i+k])-int(want.Pix[i+k]))
		}
		for k := range 3 {
			f.Pix[i+k] = max(gain(step[k]), gain(step[3]))
		}
		f.Pix[i+3] = 255
	}
	outline := d.Box.Inset(-2)
	for y := range f.H {
		for x := range f.W {
			at := image.Pt(x, y)
			if at.In(outline) && !at.In(outline.Inset(1)) {
				copy(f.Row(y, x, x+1), []byte{255, 190, 60, 255})
			}
		}
	}
	return f
}

func pixels(n int) string {
	if n == 1 {
		return "1 pixel differs"
	}
	return fmt.Sprintf("%d pixels differ", n)
}
