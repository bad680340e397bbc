package check

import (
	"image"
	"math"
	"strconv"
	"strings"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/part"
	"rafter/overlay/theme"
)

const wcag = "WCAG 2.2"

// look measures what is to be seen at rest, in every graphic, size and state.
func look(m *measurer) ([]Measure, error) {
	words, shapes := worst{}, worst{}
	outside, edge := worst{atMost: true}, worst{atMost: true}
	main, least := worst{}, worst{}
	whole, cost, pictures := worst{atMost: true}, worst{atMost: true}, worst{atMost: true}
	err := m.each(func(c *canvas, s *State, spans []part.Span) {
		where := func(span *part.Span) (string, image.Point, string, string) {
			return c.graphic.Name, c.size, s.Name, span.Part.Name
		}
		for _, grey := range []uint8{0, 255} { // the darkest and the brightest video that may lie under it
			c.over(grey)
			next := 0
			for i := range spans {
				span := &spans[i]
				end := 0 // of the run of letters that is being drawn
				for ; next < span.To; next++ {
					is := kindOf(&c.list.Ops[next], span, next)
					if is == ground || next < span.From {
						c.draw(next)
						continue
					}
					if next >= end { // letters may lie over one another: what counts is what lies under them all
						for end = next + 1; end < span.To && kindOf(&c.list.Ops[end], span, end) == is; end++ {
						}
						c.remember(next, end)
					}
					ratio, seen := c.contrast(next)
					switch {
					case !seen:
					case is == letter:
						g, size, st, p := where(span)
						words.see(ratio, "%s %dx%d %s: %s", g, size.X, size.Y, st, p)
					case is == mark:
						g, size, st, p := where(span)
						shapes.see(ratio, "%s %dx%d %s: %s", g, size.X, size.Y, st, p)
					}
				}
			}
		}
		title, action := layout.Safe(c.size, layout.TitleSafe), layout.Safe(c.size, layout.ActionSafe)
		if c.graphic.Name == "wall" { // a projector shows all of its picture
			title, action = c.frame.Bounds(), c.frame.Bounds()
		}
		for i := range spans {
			span := &spans[i]
			g, size, st, p := where(span)
			for k := span.From; k < span.To; k++ {
				op := &c.list.Ops[k]
				if is := kindOf(op, span, k); is != ground {
					outside.see(float64(beyond(op.Bounds(), title)), "%s %dx%d %s: %s", g, size.X, size.Y, st, p)
				} else if op.Shape != paint.Shadow {
					edge.see(float64(beyond(op.Bounds(), action)), "%s %dx%d %s: %s", g, size.X, size.Y, st, p)
				}
			}
			if height := c.letters(span); height > 0 {
				thousandths := 1000 * height / float64(min(size.X, size.Y))
				if mainField(span.Part) {
					main.see(thousandths, "%s %dx%d %s: %s", g, size.X, size.Y, st, p)
				} else {
					least.see(thousandths, "%s %dx%d %s: %s", g, size.X, size.Y, st, p)
				}
			}
			whole.see(float64(c.lacks(span, &s.Content)), "%s %dx%d %s: %s", g, size.X, size.Y, st, p)
		}
		unshown := c.painter.Unshown(c.graphic)
		pictures.see(float64(len(unshown)), "%s %dx%d: %s", c.graphic.Name, c.size.X, c.size.Y, strings.Join(unshown, ", "))
		ms, budget := c.milliseconds(), budgetOf(c.graphic.Name)
		cost.see(100*ms/budget, "%s %dx%d %s: %.1f of %.0f ms", c.graphic.Name, 3*c.size.X, 3*c.size.Y, s.Name, ms, budget)
	})
	if err != nil {
		return nil, err
	}
	return []Measure{
		words.into(Measure{Name: "contrast-text", About: "every letter against what lies under it, over black and white video", Limit: 4.5, Unit: "to 1", Source: wcag + ", SC 1.4.3"}),
		shapes.into(Measure{Name: "contrast-marks", About: "fouls, timeouts and the arrow against what lies under them", Limit: 3, Unit: "to 1", Source: wcag + ", SC 1.4.11"}),
		outside.into(Measure{Name: "title-safe", About: "words and marks outside the middle 90 %", Unit: "px", Source: "SMPTE ST 2046-1:2009; EBU R 95"}),
		edge.into(Measure{Name: "action-safe", About: "grounds outside the middle 93 %", Unit: "px", Source: "SMPTE ST 2046-1:2009; EBU R 95"}),
		main.into(Measure{Name: "height-main", About: "the clock's and the scores' digits on a phone: 16 minutes of arc at 30 cm", Limit: arcOnPhone(16), Unit: "thousandths of the short side", Source: "ISO 9241-303:2011 (second-hand): at least 16'"}),
		least.into(Measure{Name: "height-least", About: "every other word on a phone: 10 minutes of arc at 30 cm", Limit: arcOnPhone(10), Unit: "thousandths of the short side", Source: "ISO 9241-303:2011 (second-hand): 10' where legibility is incidental"}),
		whole.into(Measure{Name: "whole", About: "letters that are cut off or covered, and digits of clocks and scores that are not there, with the longest names and scores of three digits among them", Unit: "letters", Source: "this program"}),
		pictures.into(Measure{Name: "pictures", About: "pictures that are not shown: what a graphic shows of them has more pixels than four whole pictures; make them smaller, or show fewer", Unit: "pictures", Source: "this program"}),
		cost.into(Measure{Name: "cost", About: "the price of a whole redraw at 2160 lines, reckoned from what is painted, of 4 ms for the bug and 12 ms for any other", Limit: 100, Unit: "% of its budget", Source: "this program: one core, 2.5 ms for an opaque fill of 3840x2160"}),
	}, nil
}

// The phone on which a picture must be readable, in millimetres: lying, 6.1 inches, at so far from the eye; upright, the
// short side is as long.
const phoneAt, phoneHigh = 300, 64.93

// arcOnPhone returns the height of so many minutes of arc there, in thousandths of the picture's short side.
func arcOnPhone(minutes float64) float64 { return 1000 * arc(minutes, phoneAt) / phoneHigh }

// arc returns the height that spans so many minutes of arc at a distance, in its unit.
func arc(minutes, distance float64) float64 { return 2 * distance * math.Tan(minutes/60*math.Pi/180/2) }

// kind is what an operation is to the eye.
type kind uint8

const (
	ground kind = iota
	letter
	mark
)

func kindOf(op *paint.Op, span *part.Span, i int) kind {
	switch {
	case i < span.From || i >= span.To || op.Colour.A == 0:
		return ground
	case op.Shape == paint.Glyph:
		return letter
	case span.Part.Content == theme.Marked && span.Part.Marks != theme.SwatchMark && op.Stroke == 0 && span.Part.Fill.Of == theme.NoColour:
		return mark // empty places are strokes, and say nothing that the full ones do not
	}
	return ground
}

// remember keeps what lies under operations from to to.
func (c *canvas) remember(from, to int) {
	c.under = image.Rectangle{}
	for k := from; k < to; k++ {
		c.under = c.under.Union(c.list.Ops[k].Bounds())
	}
	c.under = c.under.Intersect(c.frame.Bounds())
	c.before = c.before[:0]
	for y := c.under.Min.Y; y < c.under.Max.Y; y++ {
		c.before = append(c.before, c.frame.Row(y, c.under.Min.X, c.under.Max.X)...)
	}
}

// contrast draws an operation and returns the least contrast of its colour with what was remembered under the pixels that
// it wholly covers; seen is false where it covers none.
func (c *canvas) contrast(i int) (least float64, seen bool) {
	op := &c.list.Ops[i]
	at := c.draw(i).Intersect(c.under)
	a := int(op.Colour.A)
	least = math.Inf(1)
	var lastUnder [3]uint8
	for y := at.Min.Y; y < at.Max.Y; y++ {
		row := c.frame.Row(y, at.Min.X, at.Max.X)
		before := c.before[4*((y-c.under.Min.Y)*c.under.Dx()+at.Min.X-c.under.Min.X):]
		for x := 0; x < len(row); x += 4 {
			below := [3]uint8(before[x : x+3])
			if seen && below == lastUnder {
				continue
			}
			var full [3]uint8
			for k, own := range [3]uint8{op.Colour.R, op.Colour.G, op.Colour.B} {
				full[k] = uint8((int(own)*a + int(below[k])*(255-a) + 127) / 255)
			}
			if !near(full, row[x:]) { // an edge of the shape, or outside it
				continue
			}
			seen, lastUnder = true, below
			least = min(least, ratio(full, below))
		}
	}
	return least, seen
}

// near tells whether a pixel is of a colour, give or take the rounding of one blend.
func near(c [3]uint8, pixel []byte) bool {
	for k := range c {
		if d := int(c[k]) - int(pixel[k]); d < -1 || d > 1 {
			return false
		}
	}
	return true
}

func ratio(a, b [3]uint8) float64 {
	l := func(c [3]uint8) float64 { return linearOf(paint.Colour{R: c[0], G: c[1], B: c[2]}).luminance() + 0.05 }
	return max(l(a), l(b)) / min(l(a), l(b))
}

// beyond returns how many pixels r reaches out of within, on the side where it is most.
func beyond(r, within image.Rectangle) int {
	if r.Empty() {
		return 0
	}
	return max(0, within.Min.X-r.Min.X, within.Min.Y-r.Min.Y, r.Max.X-within.Max.X, r.Max.Y-within.Max.Y)
}

// letters returns the height in pixels of a part's tallest letter; 0 for none.
func (c *canvas) letters(span *part.Span) float64 {
	tallest := paint.Fixed(0)
	for _, op := range c.list.Ops[span.From:span.To] {
		if op.Shape == paint.Glyph {
			tallest = max(tallest, op.Box.Max.Y-op.Box.Min.Y)
		}
	}
	return float64(tallest) / 64
}

// mainField tells whether a part says what everybody looks for first.
func mainField(p *theme.Part) bool {
	return p.Content == theme.Says && (p.Field == theme.Clock || p.Field == theme.Score)
}

// lacks counts the letters of a part that are cut off or that a later part's ground covers, and the digits of a clock or
// score that are not drawn at all.
func (c *canvas) lacks(span *part.Span, says *content.Content) int {
	glyphs, lacks := 0, 0
	for k := span.From; k < span.To; k++ {
		op := &c.list.Ops[k]
		if op.Shape != paint.Glyph || op.Box == (paint.Box{}) { // a space has no ink
			continue
		}
		glyphs++
		ink := op.Box.Pixels()
		if !ink.In(op.Bounds()) || !ink.In(c.frame.Bounds()) || c.covered(ink, span.To) {
			lacks++
		}
	}
	want := 0
	switch {
	case !mainField(span.Part):
	case span.Part.Field == theme.Clock:
		want = says.Clock.Len()
	default:
		want = len(strconv.Itoa(min(says.Teams[0].Score, says.Teams[1].Score)))
	}
	return lacks + max(0, want-glyphs)
}

// covered tells whether a ground painted from operation number from on hides all of r.
func (c *canvas) covered(r image.Rectangle, from int) bool {
	for k := from; k < len(c.list.Ops); k++ {
		op := &c.list.Ops[k]
		for _, solid := range op.Solid() {
			if r.In(solid) {
				return true
			}
		}
	}
	return false
}

// milliseconds is the price of a whole redraw in a picture three times as wide and high, whose short side has 2160 pixels.
func (c *canvas) milliseconds() float64 {
	const fill = 2.5 / (3840 * 2160) // of a pixel
	box := c.painter.Box(c.graphic)
	sum := 0.0
	for i := range c.list.Ops {
		op := &c.list.Ops[i]
		r := op.Bounds().Intersect(box)
		sum += float64(r.Dx()) * float64(r.Dy()) * price(op)
	}
	return 9 * sum * fill
}

// budgetOf is what a whole redraw may cost at 2160 lines, in milliseconds.
func budgetOf(graphic string) float64 {
	if graphic == "bug" {
		return 4
	}
	return 12
}

// price is what a pixel of an operation costs, an opaque fill's being 1; as measured by the benchmarks of package raster.
func price(op *paint.Op) float64 {
	flat := op.Axis == paint.Flat
	switch {
	case op.Shape == paint.Glyph, op.Stroke > 0 && op.Shape == paint.Rect:
		return 0.2 // most of the box is empty
	case op.Shape == paint.Image:
		return 2
	case op.Shape == paint.Shadow:
		return 1.5
	case op.Colour.A == 255 && (flat || op.To.A == 255):
		return 1
	case flat:
		return 1.4
	case op.Axis == paint.Down:
		return 1.8
	}
	return 12
}
