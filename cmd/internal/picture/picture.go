// Package picture makes pictures from names: a theme, a graphic and a size on one side, a view of the game on
// the other, a frame out. It decides nothing about looks and writes no file; outputs take its frames.
//
//	looks, err := picture.Load("maple")
//	bug, err := looks.New(picture.Options{Graphic: "bug", Size: image.Pt(1920, 1080)})
//	f, damage := bug.Show(&view)
package picture

import (
	"image"

	"rafter/engine"
	"rafter/overlay"
	"rafter/overlay/air"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/paint"
	"rafter/overlay/text"
)

// Options say what is drawn.
type Options struct {
	Graphic string // a graphic's name, or OnAir
	Size    image.Point
	// Background lies under the graphic over the whole frame; the zero value leaves it transparent.
	Background paint.Colour
	// Reduced has nothing move.
	Reduced bool
}

// Picture is one graphic at a time at one size, drawn again and again; only what changes is done anew. It is not safe for
// concurrent use.
type Picture struct {
	looks    *Looks
	fonts    *text.Fonts // of the looks, this picture's own
	options  Options
	renderer *overlay.Renderer
	director *air.Director
	content  content.Content
}

// New makes a picture. An unknown graphic, one that the theme does not draw, a size out of range or a font that is not
// there is an error.
func (l *Looks) New(o Options) (*Picture, error) {
	p := &Picture{}
	if err := p.make(l, o); err != nil {
		return nil, err
	}
	return p, nil
}

// make goes over to other looks and options, or says why not and leaves all as it is.
func (p *Picture) make(l *Looks, o Options) error {
	first := o.Graphic
	if first == OnAir {
		first = air.Blank
	}
	fonts := p.fonts
	if l != p.looks {
		fonts = l.fonts.Clone()
	}
	r, err := overlay.New(overlay.Options{
		Theme: l.theme, Fonts: fonts, Graphic: first, Size: o.Size, Background: o.Background, Reduced: o.Reduced,
	})
	if err != nil {
		return err
	}
	p.looks, p.fonts, p.options, p.renderer = l, fonts, o, r
	p.director = air.New(l.theme, r.Leaves)
	return nil
}

// Show draws the game as v has it, and returns the frame with what changed since the last. The frame is the
// picture's own and stays valid until the next call. Its pixels depend on the view alone.
func (p *Picture) Show(v *engine.View) (*frame.Frame, frame.Damage) {
	p.content.From(v)
	if p.options.Graphic == OnAir {
		var name string
		name, p.content.Air = p.director.At(v)
		p.change(name)
	}
	return p.renderer.Render(&p.content, content.Instant(v.At))
}

// Alternative is what the picture shows of a view, in words, for whoever does not see it: what is on air as in the last Show.
func (p *Picture) Alternative(v *engine.View) string {
	if p.renderer.Graphic() == air.Blank {
		return "Nothing is on air."
	}
	var c content.Content
	c.From(v)
	return c.Alternative()
}

// change goes over to another graphic; one that the theme does not draw is nothing.
func (p *Picture) change(name string) {
	if err := p.renderer.Show(name); err != nil {
		_ = p.renderer.Show(air.Blank) // which every theme has
	}
}

// Draw is Show of contents that are made already, such as the operator's strip.
func (p *Picture) Draw(c *content.Content) (*frame.Frame, frame.Damage) {
	return p.renderer.Render(c, 0)
}

// Resize goes over to another size; where it is out of range the error says so and nothing has changed.
func (p *Picture) Resize(size image.Point) error {
	o := p.options
	if o.Size = size; o == p.options {
		return nil
	}
	return p.make(p.looks, o)
}

// Use goes over to other looks; where they do not draw what is shown the error says so and nothing has changed.
func (p *Picture) Use(l *Looks) error { return p.make(l, p.options) }

// Missing returns the characters that no font had, in the order in which they were met.
func (p *Picture) Missing() []rune { return p.fonts.Missing() }

// Size returns the frame's size in pixels.
func (p *Picture) Size() image.Point { return p.options.Size }

// Box returns all that the graphic now shown can ever touch; outside it there is only the background.
func (p *Picture) Box() image.Rectangle { return p.renderer.Box() }
