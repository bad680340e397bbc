package check

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/frame"
)

// watchFPS is how many frames a second a game is watched at; what flashes are cells of the picture, so many pixels wide
// and high.
const (
	watchFPS = 30
	cell     = 8
)

// Film is a game that is shown from its first instant to its last.
type Film struct {
	Name   string
	Length content.Instant
	// Frame returns the picture at an instant, never before the last one, and what of it has changed since then. It must be
	// opaque; 640x360 shows as much as the eye needs.
	Frame func(at content.Instant) (*frame.Frame, frame.Damage)
}

// flashing watches films for places that flash: what lights up and goes dark again more than three times in a second,
// together on more than a quarter of what the eye sees sharply.
func flashing(m *measurer) ([]Measure, error) {
	general, red := worst{atMost: true}, worst{atMost: true}
	for i, f := range m.Films {
		most, mostRed := f.Watch(func(thousandths int) { m.done((1000*i + thousandths) / len(m.Films)) })
		general.see(float64(most), "%s", f.Name)
		red.see(float64(mostRed), "%s", f.Name)
	}
	return []Measure{
		general.into(Measure{Name: "flashes", About: "flashes in any one second of a whole game, on more than a quarter of a 10 degree field", Limit: maxFlashes, Unit: "flashes", Source: wcag + ", SC 2.3.1, general flash", Unmeasured: "no game was given"}),
		red.into(Measure{Name: "red-flashes", About: "the same, of saturated red", Limit: maxFlashes, Unit: "flashes", Source: wcag + ", SC 2.3.1, red flash", Unmeasured: "no game was given"}),
	}, nil
}

// Watch returns the most flashes, general and red, that any second of the film has in a field.
func (f *Film) Watch(progress func(thousandths int)) (general, red int) {
	var e *eye
	for n := range int(f.Length*watchFPS/second) + 1 {
		picture, damage := f.Frame(content.Instant(n) * second / watchFPS)
		if e == nil {
			e = newEye(picture.Bounds().Max)
		}
		e.see(picture, damage.Rects(), n)
		if n%watchFPS == 0 {
			progress(int(1000 * content.Instant(n) * second / watchFPS / max(f.Length, 1)))
		}
	}
	return e.general.most, e.red.most
}

const second = content.Instant(1_000_000_000)

// eye follows the brightness of every cell of a picture.
type eye struct {
	across, down int
	cells        []place
	general, red sharp
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
			sum.r, sum.g, sum.b = sum.r+decoded[row[i]], sum.g+decoded[row[i+1]], sum.b+decoded[row[i+2]]
		}
	}
	const n = cell * cell
	return linear{sum.r / n, sum.g / n, sum.b / n}
}

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

// sharp counts flashes of all cells, and how many cells flash together where the eye sees sharply.
type sharp struct {
	across, down int
	changes      [][]transition // of each cell, those of the last second
	most         int
}

func (f *sharp) init(across, down int) {
	f.across, f.down = across, down
	f.changes = make([][]transition, across*down)
}

// change notes a change of a cell, and counts the flashes that now stand in the last second around it.
func (f *sharp) change(x, y, n int, up bool) {
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
func (f *sharp) together(x, y, n, count int) float64 {
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
