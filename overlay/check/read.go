package check

import (
	"cmp"
	"fmt"
	"image"
	"strconv"
	"strings"
	"time"

	"rafter/engine/clock"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/paint"
	"rafter/overlay/part"
	"rafter/overlay/theme"
)

// Reader stands for the eye at the other end: it returns what stands in each picture, a line of digits, colons and points.
type Reader interface {
	Read(pictures []*frame.Frame) ([]string, error)
}

// Streamer stands for the way to it: n frames of a size, 30 a second, through H.264 at so many kbit/s. draw is asked for
// each in turn, and seen gets each as it arrives; a frame is good until the next call.
type Streamer interface {
	Stream(size image.Point, kbit, n int, draw func(i int) *frame.Frame, seen func(i int, f *frame.Frame)) error
}

// way is one way of the bug's digits to the eye.
type way struct {
	name, how, source string
	size              image.Point // that is drawn
	part              int         // of the size it is looked at in: 2 is half of it
	kbit              int         // of the stream; 0: none
	limit             float64     // percent of the fields
}

var ways = [...]way{
	{name: "digits-plain", how: "1920x1080", size: image.Pt(1920, 1080), part: 1, limit: 99, source: "this program"},
	{name: "digits-half", how: "1920x1080 at half size", size: image.Pt(1920, 1080), part: 2, limit: 95, source: "this program"},
	{name: "digits-stream", how: "1280x720 after H.264 at 600 kbit/s, over a moving picture", size: image.Pt(1280, 720), part: 1, kbit: 600, limit: 95, source: "this program; ITU-T H.264"},
}

// Of how many moments the digits are read unless told, and how many frames a moment of the stream lasts: the tenths of
// a running clock change as often.
const (
	readMoments = 60
	momentLasts = 3
)

// Digits takes the measures of reading alone: the clock and both scores of the bug, on every way.
func Digits(o Options) ([]Measure, error) { return read(&measurer{Options: o, steps: 1}) }

func read(m *measurer) ([]Measure, error) {
	bug, _ := graphic.ByName("bug")
	var found []Measure
	for i := range ways {
		w := &ways[i]
		share := worst{}
		measure := Measure{
			Name: w.name, About: "clock and scores of the bug, read field by field by a text reader, " + w.how, Limit: w.limit, Unit: "% read",
			Source: w.source, Unmeasured: m.Unread,
		}
		if m.Read != nil && (w.kbit == 0 || m.Stream != nil) && bug.DrawnBy(m.Theme) {
			got, err := m.along(w, bug)
			if err != nil {
				return nil, err
			}
			if got.all > 0 {
				share.see(got.percent(), "%s", got.worst())
			}
			measure.Note = got.note()
		}
		found = append(found, share.into(measure))
		m.done(1000 * (i + 1) / len(ways))
	}
	return found, nil
}

// along draws every moment, sends it its way and has it read.
func (m *measurer) along(w *way, bug graphic.Graphic) (*reading, error) {
	c, err := m.canvas(bug, w.size)
	if err != nil {
		return nil, err
	}
	moments := cmp.Or(m.Moments, readMoments)
	var fields []field
	take := func(f *frame.Frame, i int, spots []field) {
		for _, s := range spots {
			s.seen, s.moment = cut(f, s.at, w.part), i
			fields = append(fields, s)
		}
	}
	if w.kbit == 0 {
		for i := range moments {
			s := Moment(i)
			take(c.frame, i, c.moment(&s, i))
		}
	} else {
		court := newCourt(w.size)
		spots := make([][]field, moments)
		draw := func(i int) *frame.Frame {
			s := Moment(i / momentLasts)
			court.put(c.frame, i)
			spots[i/momentLasts] = c.moment(&s, -1)
			return c.frame
		}
		seen := func(i int, f *frame.Frame) {
			if i%momentLasts == momentLasts-1 {
				take(f, i/momentLasts, spots[i/momentLasts])
			}
		}
		if err := m.Stream.Stream(w.size, w.kbit, moments*momentLasts, draw, seen); err != nil {
			return nil, err
		}
	}
	unread, err := m.readAll(fields)
	if err != nil {
		return nil, err
	}
	got := &reading{all: len(fields)}
	for _, f := range unread {
		if weak(f.says) && c.nearest(f, w.part) {
			got.byPixels = append(got.byPixels, f.says)
		} else {
			got.wrong = append(got.wrong, f.says)
		}
	}
	return got, nil
}

// field is one of the clock and the scores at a moment: where it stands, what it says, and how it arrives at the eye.
type field struct {
	at     image.Rectangle
	says   string
	team   int // -1: the clock
	moment int
	seen   *frame.Frame
}

// moment draws a moment and returns its fields. What lies under the bug is dark at even moments and light at odd ones; below
// 0 it is there already.
func (c *canvas) moment(s *State, number int) []field {
	spans := c.lay(s)
	if number >= 0 {
		c.over(uint8(40 + 170*(number%2)))
	}
	for k := range c.list.Ops {
		c.draw(k)
	}
	var found []field
	scores := 0
	for k := range spans {
		span := &spans[k]
		if !mainField(span.Part) {
			continue
		}
		f := field{at: c.ink(span), says: s.Content.Clock.String(), team: -1}
		if span.Part.Field == theme.Score {
			f.team = scores % 2
			f.says = strconv.Itoa(s.Content.Teams[f.team].Score)
			scores++
		}
		found = append(found, f)
	}
	return found
}

// ink returns where a part's letters are, and a little around them.
func (c *canvas) ink(span *part.Span) image.Rectangle {
	var r image.Rectangle
	for k := span.From; k < span.To; k++ {
		if op := &c.list.Ops[k]; op.Shape == paint.Glyph {
			r = r.Union(op.Bounds())
		}
	}
	return r.Inset(-r.Dy() / 8).Intersect(c.frame.Bounds())
}

// readAll returns the fields that no preparation makes readable.
func (m *measurer) readAll(fields []field) (unread []field, err error) {
	unread = fields
	for _, p := range preparations {
		var pictures []*frame.Frame
		which := make([]int, len(unread))
		same := map[string]int{} // as a score's digits from one moment to another
		for i := range unread {
			f := p.prepare(unread[i].seen)
			key := fmt.Sprint(f.W, " ", string(f.Pix))
			at, known := same[key]
			if !known {
				at = len(pictures)
				pictures, same[key] = append(pictures, f), at
			}
			which[i] = at
		}
		if len(pictures) == 0 {
			break
		}
		texts, err := m.Read.Read(pictures)
		if err != nil {
			return nil, err
		}
		var still []field
		for i, f := range unread {
			if texts[which[i]] != f.says {
				still = append(still, f)
			}
		}
		unread = still
	}
	return unread, nil
}

// weak tells whether a reader that was made for words is known to be weak at a text, however it looks: a score of one
// digit, or of one digit twice. There pixels decide.
func weak(says string) bool {
	_, err := strconv.Atoi(says)
	return err == nil && (len(says) == 1 || len(says) == 2 && says[0] == says[1])
}

// nearest tells whether of all scores that differ in one digit, each drawn as it leaves, the field is nearest to what it
// says.
func (c *canvas) nearest(f field, part int) bool {
	far := func(score string) int {
		s := Moment(f.moment)
		s.Content.Teams[f.team].Score, _ = strconv.Atoi(score)
		c.moment(&s, f.moment)
		sum := 0
		sent := cut(c.frame, f.at, part)
		for i, v := range f.seen.Pix {
			d := int(v) - int(sent.Pix[i])
			sum += d * d
		}
		return sum
	}
	own := far(f.says)
	for i := range f.says {
		for digit := '0'; digit <= '9'; digit++ {
			other := f.says[:i] + string(digit) + f.says[i+1:]
			if other != f.says && far(other) <= own {
				return false
			}
		}
	}
	return true
}

// reading is what came of reading fields.
type reading struct {
	all             int
	byPixels, wrong []string
}

func (r *reading) percent() float64 { return 100 * float64(r.all-len(r.wrong)) / float64(r.all) }

func (r *reading) worst() string {
	if len(r.wrong) == 0 {
		return ""
	}
	const most = 8
	return "not read: " + strings.Join(r.wrong[:min(most, len(r.wrong))], " ")
}

func (r *reading) note() string {
	text := fmt.Sprintf("%d of %d fields read", r.all-len(r.wrong)-len(r.byPixels), r.all)
	if len(r.byPixels) > 0 {
		text += fmt.Sprintf(", %d decided by pixels: %s", len(r.byPixels), strings.Join(r.byPixels, " "))
	}
	return text
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

// cut returns what stands at r, at one part-th of its size.
func cut(f *frame.Frame, r image.Rectangle, part int) *frame.Frame {
	r.Min = r.Min.Div(part).Mul(part) // the pixels that all of the picture would have at that size
	w, h := max(1, r.Dx()/part), max(1, r.Dy()/part)
	return frame.Resample(f, image.Rectangle{r.Min, r.Min.Add(image.Pt(w*part, h*part))}, w, h)
}

// court is an invented picture that moves behind what a stream shows: soft spots, some of them small.
type court struct{ picture *frame.Frame }

// courtSteps is after how many frames it comes back to where it began.
const courtSteps = 64

func newCourt(size image.Point) *court {
	across := size.X + 4*courtSteps
	spots := func(wide, low, high int, seed uint32) *frame.Frame {
		f := frame.New(across/wide, size.Y/wide)
		for i := range f.Pix {
			seed = seed*1664525 + 1013904223
			if f.Pix[i] = uint8(low + int(seed>>24)*(high-low)>>8); i%4 == 3 {
				f.Pix[i] = 255
			}
		}
		return frame.Resample(f, f.Bounds(), across, size.Y)
	}
	large, small := spots(40, 40, 170, 1), spots(6, 0, 60, 2)
	for i := range large.Pix {
		if i%4 != 3 {
			large.Pix[i] += small.Pix[i]
		}
	}
	return &court{large}
}

// put fills a frame with the picture as it is at frame i of the film.
func (c *court) put(f *frame.Frame, i int) {
	x := i % courtSteps
	if i/courtSteps%2 == 1 { // there and back
		x = courtSteps - 1 - x
	}
	x *= 4
	for y := range f.H {
		copy(f.Row(y, 0, f.W), c.picture.Row(y, x, x+f.W))
	}
}

// preparation makes a crop ready for a reader of printed pages: dark on light, at a size that it likes.
type preparation struct {
	high   int // pixels
	margin int // around it, in hundredths of the height
}

// preparations are all there are, at most three. A field is read if it is with any of them. The sizes are those at which
// this reader misses least, tried on 10,800 crops; large digits it takes apart.
var preparations = [...]preparation{{28, 50}, {36, 30}, {24, 30}}

// prepare returns the crop in grey, dark on light from black to white, scaled to a height, with a margin of its ground around.
func (p preparation) prepare(f *frame.Frame) *frame.Frame {
	f = frame.Resample(f, f.Bounds(), max(1, f.W*p.high/f.H), p.high)
	low, top, ground := levels(f)
	turned := 2*ground < low+top // light on dark
	put := func(p []byte, g int) {
		g = (g - low) * 255 / max(1, top-low)
		if turned {
			g = 255 - g
		}
		p[0], p[1], p[2], p[3] = uint8(g), uint8(g), uint8(g), 255
	}
	margin := p.high * p.margin / 100
	out := frame.New(f.W+2*margin, f.H+2*margin)
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

// levels returns the darkest and the lightest grey of a crop, and that of its ground: the one met most often in the half,
// dark or light, that has more of the pixels.
func levels(f *frame.Frame) (low, top, ground int) {
	low = 255
	var often [256]int
	for i := 0; i < len(f.Pix); i += 4 {
		g := grey(f.Pix[i:])
		low, top = min(low, g), max(top, g)
		often[g]++
	}
	middle, dark := (low+top)/2, 0
	for _, n := range often[:middle+1] {
		dark += n
	}
	from, to := low, middle
	if 2*dark < f.W*f.H {
		from, to = middle, top
	}
	ground = from
	for g := from; g <= to; g++ {
		if often[g] > often[ground] {
			ground = g
		}
	}
	return low, top, ground
}

func grey(p []byte) int { return (int(p[0])*54 + int(p[1])*183 + int(p[2])*19) >> 8 }
