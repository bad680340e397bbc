package check

import (
	"cmp"
	"fmt"
	"image"

	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/paint"
	"rafter/overlay/part"
	"rafter/overlay/raster"
	"rafter/overlay/text"
	"rafter/overlay/theme"
)

// Measure is one finding: a value, the limit that it must keep, and who set the limit.
type Measure struct {
	Name   string  `json:"name"`
	About  string  `json:"about"`
	Value  float64 `json:"value"`
	Limit  float64 `json:"limit"`
	Unit   string  `json:"unit"`
	AtMost bool    `json:"at_most"` // the value may not be above the limit; else not below
	Worst  string  `json:"worst"`   // where: graphic, size, state, part
	Source string  `json:"source"`
	Pass   bool    `json:"pass"`
	// Unmeasured says why there is no value; it is then neither passed nor failed.
	Unmeasured string `json:"unmeasured,omitempty"`
}

// worst keeps the value that is farthest from being good, and where it is.
type worst struct {
	value  float64
	where  string
	any    bool
	atMost bool
}

func (w *worst) see(value float64, format string, args ...any) {
	if !w.any || w.atMost && value > w.value || !w.atMost && value < w.value {
		w.value, w.where, w.any = value, fmt.Sprintf(format, args...), true
	}
}

// into fills a measure in; a value that was never seen is not measured.
func (w *worst) into(m Measure) Measure {
	m.Value, m.Worst, m.AtMost = w.value, w.where, w.atMost
	if !w.any {
		m.Unmeasured = cmp.Or(m.Unmeasured, "there was nothing to measure")
		return m
	}
	m.Unmeasured = ""
	m.Pass = w.value >= m.Limit
	if w.atMost {
		m.Pass = w.value <= m.Limit
	}
	return m
}

// Options is what a theme is measured with.
type Options struct {
	Theme *theme.Theme
	Fonts *text.Fonts // not used elsewhere meanwhile
	// Game is a game to be watched for flashes: what there is to show at an instant, up to Length. Nil: not measured.
	Game   func(at content.Instant, c *content.Content)
	Length content.Instant
	// Read reads the digits in pictures, as an eye would after the way to a phone. Nil: not measured.
	Read Reader
	// Progress is told how much is done, in thousandths; nil for nobody.
	Progress func(thousandths int)
}

// sizes are the pictures that a theme is measured at: lying, standing, square.
var sizes = []image.Point{{X: 1280, Y: 720}, {X: 720, Y: 1280}, {X: 720, Y: 720}}

// Theme takes every measure of a theme, in their order. The error is that of a theme that cannot be drawn.
func Theme(o Options) ([]Measure, error) {
	steps := [...]func(*measurer) ([]Measure, error){complete, look, apart, flashing, read}
	m := measurer{Options: o, steps: len(steps)}
	for _, step := range steps {
		m.done(0)
		found, err := step(&m)
		if err != nil {
			return nil, err
		}
		m.found = append(m.found, found...)
		m.step++
	}
	m.done(1000)
	return m.found, nil
}

type measurer struct {
	Options
	found []Measure
	step  int
	steps int
}

// done tells how far the present step is, in thousandths.
func (m *measurer) done(thousandths int) {
	if m.Progress != nil {
		m.Progress(min(1000, (1000*m.step+thousandths)/m.steps))
	}
}

var shapeNames = [theme.Shapes]string{theme.Wide: "wide", theme.Square: "square", theme.Tall: "tall"}

// complete counts what the graphics lack.
func complete(m *measurer) ([]Measure, error) {
	w := worst{atMost: true}
	w.see(0, "")
	total := 0
	for _, g := range graphic.All() {
		for shape := range theme.Shapes {
			if lacks := g.Missing(m.Theme, shape); len(lacks) > 0 {
				total += len(lacks)
				w.see(float64(total), "%s, %s: %s", g.Name, shapeNames[shape], lacks[0])
			}
		}
	}
	return []Measure{w.into(Measure{
		Name: "complete", About: "what graphics must show and do not", Unit: "missing", Source: "this program: graphics and what they are for",
	})}, nil
}

// canvas draws one graphic of the theme at one size, operation by operation.
type canvas struct {
	graphic graphic.Graphic
	size    image.Point
	painter *graphic.Painter
	raster  *raster.Rasteriser
	frame   *frame.Frame
	before  []byte // what was under some operations, in under
	under   image.Rectangle
	list    paint.List
	one     paint.List
}

func (m *measurer) canvas(g graphic.Graphic, size image.Point) (*canvas, error) {
	painter, err := graphic.NewPainter(m.Theme, m.Fonts, size, false)
	if err != nil {
		return nil, err
	}
	return &canvas{graphic: g, size: size, painter: painter, raster: raster.New(m.Fonts, painter), frame: frame.New(size.X, size.Y)}, nil
}

// lay makes the display list of a content at rest and returns what each part has painted.
func (c *canvas) lay(s *State) []part.Span {
	c.list.Reset()
	c.painter.Draw(c.graphic, &s.Content, s.Since+2*theme.MaxMotion*1e6, &c.list)
	return c.painter.Spans(c.graphic)
}

// over fills the graphic's box with a grey.
func (c *canvas) over(grey uint8) {
	box := c.painter.Box(c.graphic)
	c.one.Reset()
	c.one.Rect(paint.BoxPx(box), 0, paint.Colour{R: grey, G: grey, B: grey, A: 255})
	c.raster.Draw(c.frame, &c.one, box)
}

// draw draws one operation of the list, and returns where.
func (c *canvas) draw(i int) image.Rectangle {
	op := c.list.Ops[i]
	at := op.Bounds().Intersect(c.frame.Bounds())
	c.one.Ops = append(c.one.Ops[:0], op)
	c.raster.Draw(c.frame, &c.one, at)
	return at
}

// each calls f for every graphic on air, size and state.
func (m *measurer) each(f func(c *canvas, s *State, spans []part.Span)) error {
	var onAir []graphic.Graphic
	for _, g := range graphic.All() {
		if g.OnAir && len(g.Needs) > 0 && g.DrawnBy(m.Theme) {
			onAir = append(onAir, g)
		}
	}
	for i, g := range onAir {
		for j, size := range sizes {
			c, err := m.canvas(g, size)
			if err != nil {
				return err
			}
			for _, s := range States(g.Name) {
				f(c, &s, c.lay(&s))
			}
			m.done(1000 * (i*len(sizes) + j + 1) / (len(onAir) * len(sizes)))
		}
	}
	return nil
}
