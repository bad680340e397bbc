package check

import (
	"image"

	"rafter/overlay"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/paint"
)

// What a game is watched with: frames a second, and a picture small enough to watch all of one, whose cells of so many
// pixels are what flashes.
const (
	watchFPS = 30
	cell     = 8
)

var watched = image.Pt(640, 360)

// flashing watches a game, in the bug and on the wall, for places that flash: what lights up and goes dark again more than
// three times in a second, together on more than a quarter of what the eye sees sharply.
func flashing(m *measurer) ([]Measure, error) {
	general, red := worst{atMost: true}, worst{atMost: true}
	result := func() []Measure {
		return []Measure{
			general.into(Measure{Name: "flashes", About: "flashes in any one second of a whole game, on more than a quarter of a 10 degree field", Limit: maxFlashes, Unit: "flashes", Source: wcag + ", SC 2.3.1", Unmeasured: "no game was given"}),
			red.into(Measure{Name: "red-flashes", About: "red flashes in any one second of a whole game", Limit: maxFlashes, Unit: "flashes", Source: wcag + ", SC 2.3.1, red flash", Unmeasured: "no game was given"}),
		}
	}
	if m.Game == nil {
		return result(), nil
	}
	for i, name := range []string{"bug", "wall"} {
		g, _ := graphic.ByName(name)
		if !g.DrawnBy(m.Theme) {
			continue
		}
		most, mostRed, err := m.watch(name, func(part float64) { m.done((1000*i + int(1000*part)) / 2) })
		if err != nil {
			return nil, err
		}
		general.see(float64(most), "%s %dx%d", name, watched.X, watched.Y)
		red.see(float64(mostRed), "%s %dx%d", name, watched.X, watched.Y)
	}
	return result(), nil
}

// watch plays the game in one graphic and returns the most flashes, general and red, that any second has in a field.
func (m *measurer) watch(name string, progress func(float64)) (general, red int, err error) {
	r, err := overlay.New(overlay.Options{Theme: m.Theme, Fonts: m.Fonts, Graphic: name, Size: watched, Background: paint.Colour{R: 64, G: 64, B: 64, A: 255}})
	if err != nil {
		return 0, 0, err
	}
	e := newEye(watched)
	var c content.Content
	const step = content.Instant(1_000_000_000 / watchFPS)
	for at, n := content.Instant(0), 0; at <= m.Length; at, n = at+step, n+1 {
		m.Game(at, &c)
		f, damage := r.Render(&c, at)
		e.see(f, damage.Rects(), n)
		if n%watchFPS == 0 {
			progress(float64(at) / float64(max(m.Length, 1)))
		}
	}
	return e.general.most, e.red.most, nil
}

// eye follows the brightness of every cell of a picture.
type eye struct {
	across, down int
	cells        []place
	general, red field
}

// place is one cell: what it was at the last extreme, and which way it goes.
type place struct {
	light, reds follower
}

// follower finds the changes of one value that count. After one up it waits for one down, and the other way round.
type follower struct {
	low, high float64 // since the last change that counted
	colour    linear  // then; of a red flash
	up, seen  bool
	any       bool // there has been one
}

func newEye(size image.Point) *eye {
	e := &eye{across: size.X / cell, down: size.Y / cell}
	e.cells = make([]place, e.across*e.down)
	e.general.init(e.across, e.down)
	e.red.init(e.across, e.down)
	return e
}

// see takes frame number n, of which only damage can have changed.
func (e *eye) see(f *frame.Frame, damage []image.Rectangle, n int) {
	for _, d := range damage {
		for y := d.Min.Y / cell; y < min((d.Max.Y+cell-1)/cell, e.down); y++ {
			for x := d.Min.X / cell; x < min((d.Max.X+cell-1)/cell, e.across); x++ {
				l := mean(f, x, y)
				p := &e.cells[y*e.across+x]
				if up, counts := p.light.general(l); counts {
					e.general.change(x, y, n, up)
				}
				if up, counts := p.reds.red(l); counts {
					e.red.change(x, y, n, up)
				}
			}
		}
	}
}

// mean returns the mean light of a cell.
func mean(f *frame.Frame, x, y int) linear {
	var sum linear
	for dy := range cell {
		row := f.Row(y*cell+dy, x*cell, (x+1)*cell)
		for i := 0; i < len(row); i += 4 {
			sum.r, sum.g, sum.b = sum.r+light[row[i]], sum.g+light[row[i+1]], sum.b+light[row[i+2]]
		}
	}
	const n = cell * cell
	return linear{sum.r / n, sum.g / n, sum.b / n}
}

// light is the decoding of each code.
var light = func() (t [256]float64) {
	for i := range t {
		t[i] = decode(uint8(i))
	}
	return t
}()

// general takes the next value and tells whether with it a change is complete that can be half of a flash.
func (w *follower) general(l linear) (up, counts bool) {
	v := l.luminance()
	if !w.seen {
		w.low, w.high, w.seen = v, v, true
	}
	w.low, w.high = min(w.low, v), max(w.high, v)
	switch {
	case (!w.any || !w.up) && v-w.low >= flashChange && w.low < flashDark:
		w.up = true
	case (!w.any || w.up) && w.high-v >= flashChange && v < flashDark:
		w.up = false
	default:
		return false, false
	}
	w.low, w.high, w.any = v, v, true
	return w.up, true
}

// red takes the next value and tells whether it is half of a red flash, after what was there at the last one.
func (w *follower) red(l linear) (up, counts bool) {
	if !w.seen {
		w.colour, w.seen = l, true
		return false, false
	}
	if is, known := isRed(w.colour, l); !is || !known {
		return false, false
	}
	w.colour, w.up = l, !w.up
	return w.up, true
}

// field counts flashes of all cells, and how many cells flash together.
type field struct {
	across, down int
	changes      [][]transition // of each cell, those of the last second
	flashing     []int          // of each cell, the most in a second that is not over
	most         int
}

func (f *field) init(across, down int) {
	f.across, f.down = across, down
	f.changes, f.flashing = make([][]transition, across*down), make([]int, across*down)
}

// change notes a change of a cell, and counts the flashes that now stand in the last second around it.
func (f *field) change(x, y, n int, up bool) {
	i := y*f.across + x
	list := append(f.changes[i], transition{n, up})
	for len(list) > 0 && n-list[0].frame >= watchFPS {
		list = list[1:]
	}
	f.changes[i] = list
	if count := flashes(list, watchFPS); count > f.most && f.together(x, y, n, count) > flashArea {
		f.most = count
	}
}

// together returns how much of a 10 degree field around a cell has flashed at least count times in the last second. The
// field is a third of the picture's width and height, as WCAG has it for a view of 1024x768.
func (f *field) together(x, y, n, count int) float64 {
	wide, high := max(1, f.across/3), max(1, f.down/3)
	x0, y0 := min(max(x-wide/2, 0), f.across-wide), min(max(y-high/2, 0), f.down-high)
	flash := 0
	for cy := y0; cy < y0+high; cy++ {
		for cx := x0; cx < x0+wide; cx++ {
			list := f.changes[cy*f.across+cx]
			for len(list) > 0 && n-list[0].frame >= watchFPS {
				list = list[1:]
			}
			if len(list) >= 2*count && flashes(list, watchFPS) >= count {
				flash++
			}
		}
	}
	return float64(flash) / float64(wide*high)
}
