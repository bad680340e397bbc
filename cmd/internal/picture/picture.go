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
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/paint"
)

// OnAir is the graphic's name that follows the game: what the operator has put on air, First until then.
const OnAir = "on-air"

// First is the graphic that is on air in a new game.
const First = "bug"

// Options say what is drawn.
type Options struct {
	Graphic string // a graphic's name, or OnAir
	Size    image.Point
	// Background lies under the graphic over the whole frame; the zero value leaves it transparent.
	Background paint.Colour
}

// Picture is one graphic at one size, drawn again and again; only what changes is done anew. It is not safe for
// concurrent use.
type Picture struct {
	looks   *Looks
	options Options
	made    map[string]*overlay.Renderer // by graphic, at the present size
	shown   *overlay.Renderer            // that of the last frame
	name    string                       // its graphic
	content content.Content
}

// New makes a picture. An unknown graphic, a size out of range or a font that is not there is an error.
func (l *Looks) New(o Options) (*Picture, error) {
	p := &Picture{looks: l, options: o, made: map[string]*overlay.Renderer{}}
	first := o.Graphic
	if first == OnAir {
		first = First
	}
	if _, err := p.renderer(first); err != nil {
		return nil, err
	}
	p.name = first
	return p, nil
}

func (p *Picture) renderer(name string) (*overlay.Renderer, error) {
	if r := p.made[name]; r != nil {
		return r, nil
	}
	r, err := overlay.New(overlay.Options{
		Theme: p.looks.theme, Fonts: p.looks.fonts.Clone(), Graphic: name, Size: p.options.Size, Background: p.options.Background,
	})
	if err == nil {
		p.made[name] = r
	}
	return r, err
}

// Show draws the game as v has it, and returns the frame with what changed since the last. The frame is the
// picture's own and stays valid until the next call.
func (p *Picture) Show(v *engine.View) (*frame.Frame, frame.Damage) {
	if p.options.Graphic == OnAir && v.Show != "" && v.Show != p.name {
		p.change(v.Show)
	}
	p.content.From(v)
	return p.Draw(&p.content)
}

// change goes over to another graphic; one that is not there or not for the air leaves the one that is.
func (p *Picture) change(name string) {
	if g, ok := graphic.ByName(name); !ok || !g.OnAir {
		return
	}
	if _, err := p.renderer(name); err == nil {
		p.name = name
	}
}

// Draw is Show of contents that are made already, such as the operator's strip.
func (p *Picture) Draw(c *content.Content) (*frame.Frame, frame.Damage) {
	r := p.made[p.name]
	f, damage := r.Render(c)
	if r != p.shown {
		damage.Add(f.Bounds()) // what was shown before is another frame
		p.shown = r
	}
	return f, damage
}

// Resize goes over to another size; where it is out of range the error says so and nothing has changed.
func (p *Picture) Resize(size image.Point) error {
	if size == p.options.Size {
		return nil
	}
	before, made := p.options, p.made
	p.options.Size, p.made = size, map[string]*overlay.Renderer{}
	if _, err := p.renderer(p.name); err != nil {
		p.options, p.made = before, made
		return err
	}
	return nil
}

// Size returns the frame's size in pixels.
func (p *Picture) Size() image.Point { return p.options.Size }

// Box returns all that the graphic now shown can ever touch; outside it there is only the background.
func (p *Picture) Box() image.Rectangle { return p.made[p.name].Box() }
