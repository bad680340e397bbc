package check

import (
	"fmt"
	"image"

	"rafter/overlay/content"
	"rafter/overlay/graphic"
	"rafter/overlay/paint"
	"rafter/overlay/theme"
)

// pairs are teams that are hard to tell apart: a school's colours are what they are. All are invented.
var pairs = [...]struct {
	name string
	a, b content.Colour
}{
	{"the same blue twice", content.Colour{R: 0x1f, G: 0x4e, B: 0x8c}, content.Colour{R: 0x1f, G: 0x4e, B: 0x8c}},
	{"white twice", content.Colour{R: 255, G: 255, B: 255}, content.Colour{R: 255, G: 255, B: 255}},
	{"black twice", content.Colour{}, content.Colour{}},
	{"two reds", content.Colour{R: 0xa8, G: 0x32, B: 0x2b}, content.Colour{R: 0x98, G: 0x28, B: 0x22}},
	{"red and green", content.Colour{R: 0xb0, G: 0x30, B: 0x20}, content.Colour{R: 0x4a, G: 0x6a, B: 0x10}},
	{"navy and purple", content.Colour{R: 0x1c, G: 0x24, B: 0x60}, content.Colour{R: 0x3c, G: 0x1c, B: 0x62}},
	{"gold and lime", content.Colour{R: 0xe8, G: 0xb8, B: 0x20}, content.Colour{R: 0xa8, G: 0xd0, B: 0x30}},
	{"blue and teal", content.Colour{R: 0x20, G: 0x60, B: 0xa0}, content.Colour{R: 0x18, G: 0x78, B: 0x80}},
}

// apartFrom is the CIEDE2000 difference from which two flat colours side by side are taken for two at a glance. Common
// practice, no source: 10 is five times what is just to be seen.
const apartFrom = 10

// apart measures how much of what is coloured by team tells the teams apart, in each sight: over the twin panels of
// the bug, the share of pixels that differ.
func apart(m *measurer) ([]Measure, error) {
	w := worst{}
	bug, _ := graphic.ByName("bug")
	if !bug.DrawnBy(m.Theme) {
		return []Measure{w.into(apartMeasure())}, nil
	}
	for _, size := range sizes {
		c, err := m.canvas(bug, size)
		if err != nil {
			return nil, err
		}
		for _, pair := range pairs {
			s := State{Content: state("quiet", "bug"), Since: changeAt}
			for t, own := range [2]content.Colour{pair.a, pair.b} {
				team := &s.Content.Teams[t]
				team.Colour, team.Name, team.Short = own, "", ""
			}
			panels := c.panels(&s)
			for sight := range Sights {
				for _, p := range panels {
					w.see(100*c.differ(p[0], p[1], sight), "%s to %s sight, bug %dx%d", pair.name, sight, size.X, size.Y)
				}
			}
		}
	}
	return []Measure{w.into(apartMeasure())}, nil
}

func apartMeasure() Measure {
	return Measure{
		Name: "teams-apart", About: fmt.Sprintf("how much of the teams' panels differs by ΔE2000 %d or more, whatever the schools' colours", apartFrom),
		Limit: 4, Unit: "% of the panel", Source: "ISO/CIE 11664-6; Machado, Oliveira, Fernandes 2009; limits: common practice, no source",
		Unmeasured: "the bug has no part that is filled with each team's colour",
	}
}

// panels draws a state and returns the places of what is filled with each team's colour, home's and away's.
func (c *canvas) panels(s *State) [][2]image.Rectangle {
	spans := c.lay(s)
	c.over(128)
	for i := range c.list.Ops {
		c.draw(i)
	}
	var found [][2]image.Rectangle
	for i := range spans {
		for j := range spans[:i] {
			a, b := &spans[j], &spans[i]
			if a.Part.Name == b.Part.Name && a.Part.Fill.Of == theme.OfTeam && a.Box.Size() == b.Box.Size() && !a.Box.Empty() {
				found = append(found, [2]image.Rectangle{a.Box, b.Box})
			}
		}
	}
	return found
}

// differ returns the share of pixels in which two panels look different to a sight: each with its mirror image and with
// the same place, whichever is more alike.
func (c *canvas) differ(a, b image.Rectangle, s Sight) float64 {
	straight, mirrored := 0, 0
	known := map[[2]paint.Colour]bool{} // panels have few colours
	apart := func(p, q paint.Colour) bool {
		key := [2]paint.Colour{p, q}
		is, ok := known[key]
		if !ok {
			is = p != q && s.Apart(p, q) >= apartFrom
			known[key] = is
		}
		return is
	}
	for y := range a.Dy() {
		for x := range a.Dx() {
			p := c.pixel(a.Min.X+x, a.Min.Y+y)
			if apart(p, c.pixel(b.Min.X+x, b.Min.Y+y)) {
				straight++
			}
			if apart(p, c.pixel(b.Max.X-1-x, b.Min.Y+y)) {
				mirrored++
			}
		}
	}
	return float64(min(straight, mirrored)) / float64(a.Dx()*a.Dy())
}

func (c *canvas) pixel(x, y int) paint.Colour {
	if !(image.Point{X: x, Y: y}).In(c.frame.Bounds()) {
		return paint.Colour{}
	}
	p := c.frame.Row(y, x, x+1)
	return paint.Colour{R: p[0], G: p[1], B: p[2], A: 255}
}
