package check

import (
	"fmt"
	"image"
	"time"

	"rafter/engine/clock"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/part"
	"rafter/overlay/theme"
)

// Reader stands for the eye at the other end: a text reader, and the way of a stream to it.
type Reader interface {
	// Read returns what stands in each picture, one line of digits, colons and points.
	Read(pictures []*frame.Frame) ([]string, error)
	// Stream sends frames of one size, scaled to another, through H.264 at so many kbit/s and returns them as they arrive.
	Stream(frames []*frame.Frame, to image.Point, kbit int) ([]*frame.Frame, error)
}

// Of how many moments the digits are read, and what share must be.
const (
	readMoments = 60
	readPlain   = 99
	readStream  = 95
)

// read reads the clock and both scores of the bug, plain, at half size, and after the way of a poor stream.
func read(m *measurer) ([]Measure, error) {
	const says = "clock and scores of the bug, read field by field by a text reader"
	reason := "no text reader: it needs tesseract and ffmpeg"
	plain, half, stream := worst{}, worst{}, worst{}
	result := func() []Measure {
		measure := func(w *worst, name, how string, limit float64, source string) Measure {
			return w.into(Measure{Name: name, About: says + how, Limit: limit, Unit: "% read", Source: source, Unmeasured: reason})
		}
		return []Measure{
			measure(&plain, "digits-plain", ", 1920x1080", readPlain, "this program"),
			measure(&half, "digits-half", ", at half size", readStream, "this program"),
			measure(&stream, "digits-stream", ", after H.264 at 600 kbit/s, 1280x720", readStream, "this program; ITU-T H.264"),
		}
	}
	bug, _ := graphic.ByName("bug")
	if m.Read == nil || !bug.DrawnBy(m.Theme) {
		return result(), nil
	}
	c, err := m.canvas(bug, image.Pt(1920, 1080))
	if err != nil {
		return nil, err
	}
	var frames []*frame.Frame
	var fields []field3
	for i := range readMoments {
		s := Moment(i)
		spans := c.lay(&s)
		c.over(uint8(40 + 170*(i%2)))
		for k := range c.list.Ops {
			c.draw(k)
		}
		copied := frame.New(c.size.X, c.size.Y)
		copy(copied.Pix, c.frame.Pix)
		frames = append(frames, copied)
		fields = append(fields, fieldsOf(spans, &s.Content))
	}
	for _, way := range []struct {
		into *worst
		to   image.Point
		kbit int
	}{{&plain, c.size, 0}, {&half, c.size.Div(2), 0}, {&stream, image.Pt(1280, 720), 600}} {
		arrived := frames
		switch {
		case way.kbit > 0:
			if arrived, err = m.Read.Stream(frames, way.to, way.kbit); err != nil {
				return nil, err
			}
		case way.to != c.size:
			arrived = nil
			for _, f := range frames {
				arrived = append(arrived, frame.Resample(f, f.Bounds(), way.to.X, way.to.Y))
			}
		}
		good, wrong, err := readAll(m.Read, arrived, fields, c.size)
		if err != nil {
			return nil, err
		}
		way.into.see(100*float64(good)/float64(3*len(frames)), "%s", wrong)
	}
	return result(), nil
}

// field3 is where the clock and the scores stand, and what they say.
type field3 [3]struct {
	at   image.Rectangle
	says string
}

func fieldsOf(spans []part.Span, c *content.Content) (f field3) {
	for i := range spans {
		s := &spans[i]
		switch {
		case s.Part.Content != theme.Says:
		case s.Part.Field == theme.Clock:
			f[0].at, f[0].says = s.Box, c.Clock.String()
		case s.Part.Field == theme.Score:
			n := 1
			if f[1].says != "" {
				n = 2
			}
			f[n].at, f[n].says = s.Box, fmt.Sprint(c.Teams[n-1].Score)
		}
	}
	return f
}

// Moment is the i-th moment at which digits are read: a clock and scores that between them have every digit in every place.
func Moment(i int) State {
	s := State{Name: fmt.Sprint("moment ", i), Content: state("quiet", "bug"), Since: changeAt}
	c := &s.Content
	tenths := (i*7919 + 13) % 6000 // of a second; below a minute shown as such
	if i%4 == 0 {
		tenths %= 600
	}
	display := clock.Display{TenthsBelow: 60e9}
	c.Clock = display.Text(time.Duration(tenths) * 100 * time.Millisecond)
	c.Teams[0].Score, c.Teams[1].Score = (i*37+8)%130, (i*53+71)%130
	return s
}

// readAll reads every field of every frame, by the best of the preparations, and counts those that are right.
func readAll(r Reader, frames []*frame.Frame, fields []field3, size image.Point) (good int, wrong string, err error) {
	right := make([]bool, 3*len(frames))
	for _, prepare := range preparations {
		var crops []*frame.Frame
		var which []int
		for i, f := range frames {
			for k := range fields[i] {
				if !right[3*i+k] {
					crops, which = append(crops, prepare(crop(f, fields[i][k].at, size))), append(which, 3*i+k)
				}
			}
		}
		if len(crops) == 0 {
			break
		}
		texts, err := r.Read(crops)
		if err != nil {
			return 0, "", err
		}
		for j, n := range which {
			if n < len(right) && j < len(texts) && texts[j] == fields[n/3][n%3].says {
				right[n] = true
			}
		}
	}
	for n, ok := range right {
		if ok {
			good++
		} else if wrong == "" {
			wrong = "not read: " + fields[n/3][n%3].says
		}
	}
	return good, wrong, nil
}

// crop cuts out what stood at r in a picture of that size, which may have become smaller.
func crop(f *frame.Frame, r image.Rectangle, size image.Point) *frame.Frame {
	r = image.Rect(r.Min.X*f.W/size.X, r.Min.Y*f.H/size.Y, r.Max.X*f.W/size.X, r.Max.Y*f.H/size.Y).Intersect(f.Bounds())
	out := frame.New(max(r.Dx(), 1), max(r.Dy(), 1))
	for y := range r.Dy() {
		copy(out.Row(y, 0, r.Dx()), f.Row(r.Min.Y+y, r.Min.X, r.Max.X))
	}
	return out
}

// preparations are what may be done to a crop before it is read, at most three: dark on light at three heights, since a
// reader of printed pages has a size that it likes.
var preparations = []func(*frame.Frame) *frame.Frame{
	func(f *frame.Frame) *frame.Frame { return inked(f, 60) },
	func(f *frame.Frame) *frame.Frame { return inked(f, 100) },
	func(f *frame.Frame) *frame.Frame { return inked(f, 40) },
}

// inked returns the crop in grey, dark on light, scaled to a height, with a margin of a third of it around.
func inked(f *frame.Frame, high int) *frame.Frame {
	f = frame.Resample(f, f.Bounds(), max(1, f.W*high/f.H), high)
	margin := high / 3
	out := frame.New(f.W+2*margin, f.H+2*margin)
	low, top, ground := 255, 0, 0
	var often [256]int
	for i := 0; i < len(f.Pix); i += 4 {
		g := grey(f.Pix[i:])
		low, top = min(low, g), max(top, g)
		if often[g]++; often[g] > often[ground] {
			ground = g
		}
	}
	dark := ground-low < top-ground // light on dark
	put := func(p []byte, g int) {
		g = (g - low) * 255 / max(1, top-low)
		if dark {
			g = 255 - g
		}
		p[0], p[1], p[2], p[3] = uint8(g), uint8(g), uint8(g), 255
	}
	for y := range out.H {
		for x := range out.W {
			p, g := out.Row(y, x, x+1), ground
			if at := image.Pt(x-margin, y-margin); at.In(f.Bounds()) {
				g = grey(f.Row(at.Y, at.X, at.X+1))
			}
			put(p, g)
		}
	}
	return out
}

func grey(p []byte) int { return (int(p[0])*54 + int(p[1])*183 + int(p[2])*19) >> 8 }
