package window

import (
	"image"

	"github.com/hajimehoshi/ebiten/v2"

	"rafter/overlay/frame"
)

// screen puts panes on an image that keeps its pixels from frame to frame.
type screen struct {
	on     *ebiten.Image
	laid   []laid // what is where
	pixels []byte
	still  int // frames since the last pixel was written
}

// laid is where a pane lies, and how.
type laid struct {
	box  image.Rectangle
	mode Mode
}

// refreshFrames is how many frames may pass without a pixel written. The library swaps nothing then, and a
// window that was uncovered would show what lay over it: about a second.
const refreshFrames = 60

// show writes what is damaged; everything when dst is a new image or the panes lie differently.
func (s *screen) show(dst *ebiten.Image, panes []Pane) {
	whole := s.on != dst || !s.lies(panes)
	if whole {
		dst.Clear()
		s.on = dst
		s.laid = s.laid[:0]
		for _, p := range panes {
			s.laid = append(s.laid, laid{p.box(), p.Mode})
		}
	}
	s.still++
	for i := range panes {
		p := &panes[i]
		if whole {
			s.write(dst, p, p.Frame.Bounds())
			continue
		}
		for _, r := range p.Damage.Rects() {
			s.write(dst, p, r)
		}
	}
	if s.still >= refreshFrames && len(panes) > 0 {
		s.write(dst, &panes[0], image.Rect(0, 0, 1, 1))
	}
}

func (s *screen) lies(panes []Pane) bool {
	if len(panes) != len(s.laid) {
		return false
	}
	for i, p := range panes {
		if s.laid[i] != (laid{p.box(), p.Mode}) {
			return false
		}
	}
	return true
}

func (p *Pane) box() image.Rectangle { return p.Frame.Bounds().Add(p.Place) }

// write copies the rectangle r of the pane's frame; what lies outside frame or screen is left out.
func (s *screen) write(dst *ebiten.Image, p *Pane, r image.Rectangle) {
	r = r.Intersect(p.Frame.Bounds()).Intersect(dst.Bounds().Sub(p.Place))
	if r.Empty() {
		return
	}
	s.still = 0
	s.pixels = appendMode(s.pixels[:0], p.Frame, r, p.Mode)
	dst.SubImage(r.Add(p.Place)).(*ebiten.Image).WritePixels(s.pixels)
}

// appendMode appends the rectangle r of f, which must lie inside, as the mode shows it.
func appendMode(b []byte, f *frame.Frame, r image.Rectangle, m Mode) []byte {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := f.Row(y, r.Min.X, r.Max.X)
		switch m {
		case Picture:
			b = append(b, row...)
		case Fill:
			for i := 0; i < len(row); i += 4 {
				b = append(b, row[i], row[i+1], row[i+2], 255)
			}
		case Key:
			for i := 3; i < len(row); i += 4 {
				b = append(b, row[i], row[i], row[i], 255)
			}
		}
	}
	return b
}
