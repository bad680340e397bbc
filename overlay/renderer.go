// Package overlay renders: content to a display list to pixels, doing again only what changed. It reads no
// clock and no file, starts no goroutine, and a frame depends on nothing but the options and the content.
//
//	r, err := overlay.New(overlay.Options{Theme: maple, Fonts: fonts, Graphic: "bug", Size: image.Pt(1920, 1080)})
//	…
//	f, damage := r.Render(&c, at) // f is the renderer's; damage covers all that differs from the frame before
package overlay

import (
	"fmt"
	"image"
	"strings"

	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/graphic"
	"rafter/overlay/paint"
	"rafter/overlay/raster"
	"rafter/overlay/text"
	"rafter/overlay/theme"
)

// Options say what is drawn. Fonts belong to this renderer alone: they are not safe to share.
type Options struct {
	Theme   *theme.Theme
	Fonts   *text.Fonts
	Graphic string
	Size    image.Point // pixels
	// Background lies under the graphic over the whole frame; the zero value leaves it transparent.
	Background paint.Colour
	// Reduced has nothing move: what comes or goes is there or gone at once.
	Reduced bool
}

// Renderer draws one graphic at a time, all at one size into one frame. It is not safe for concurrent use.
type Renderer struct {
	theme      *theme.Theme
	graphic    graphic.Graphic
	painter    *graphic.Painter
	raster     *raster.Rasteriser
	box        image.Rectangle
	background paint.Colour
	frame      *frame.Frame
	content    content.Content // of the frame
	at, still  content.Instant // of the frame; from when on nothing in it moves
	list, next paint.List      // of the frame; of the one to come
	visible    paint.List      // what of the list shows in what is being painted
	left       image.Rectangle // what the frame still has of another graphic
	drawn      bool
}

// New returns a renderer. An unknown graphic, one that the theme does not draw, a size out of range or a font that is
// not there is an error.
func New(o Options) (*Renderer, error) {
	most := frame.MaxSize
	if g, ok := graphic.ByName(o.Graphic); ok &&
		(o.Size.X < g.Least.X || o.Size.Y < g.Least.Y || max(o.Size.X, o.Size.Y) > most.X || min(o.Size.X, o.Size.Y) > most.Y) {
		return nil, fmt.Errorf("size %dx%d: %s is drawn from %dx%d to %dx%d, lying or standing",
			o.Size.X, o.Size.Y, g.Name, g.Least.X, g.Least.Y, most.X, most.Y)
	}
	r := &Renderer{theme: o.Theme, background: o.Background}
	g, err := r.find(o.Graphic)
	if err != nil {
		return nil, err
	}
	if r.painter, err = graphic.NewPainter(o.Theme, o.Fonts, o.Size, o.Reduced); err != nil {
		return nil, err
	}
	r.raster = raster.New(o.Fonts, r.painter)
	r.frame = frame.New(o.Size.X, o.Size.Y)
	r.graphic, r.box = g, r.painter.Box(g)
	if o.Background.A > 0 { // else it is clear, and rows that nothing is drawn on take no memory
		r.clear(r.frame.Bounds())
	}
	return r, nil
}

// find returns the graphic of that name, if the theme draws it.
func (r *Renderer) find(name string) (graphic.Graphic, error) {
	g, ok := graphic.ByName(name)
	if !ok {
		return g, fmt.Errorf("there is no graphic %q: use one of %s", name, strings.Join(graphic.Names(false), ", "))
	}
	if !g.DrawnBy(r.theme) {
		return g, fmt.Errorf("the theme %s does not draw the graphic %q: add a table [%s] to it, or choose another theme", r.theme.Name, name, name)
	}
	return g, nil
}

// Show goes over to another graphic, from the next frame on. One that is not there or that the theme does not draw is an
// error, and nothing has changed.
func (r *Renderer) Show(name string) error {
	if name == r.graphic.Name {
		return nil
	}
	g, err := r.find(name)
	if err != nil {
		return err
	}
	if r.drawn {
		r.left = r.left.Union(r.box)
	}
	r.graphic, r.box, r.drawn = g, r.painter.Box(g), false
	return nil
}

// Graphic returns the name of the graphic that is drawn.
func (r *Renderer) Graphic() string { return r.graphic.Name }

// Leaves returns how long a graphic takes to go off air, in nanoseconds; 0 for one that is not drawn.
func (r *Renderer) Leaves(name string) content.Instant {
	g, err := r.find(name)
	if err != nil {
		return 0
	}
	return r.painter.Leaves(g)
}

// Box returns all that is ever drawn into, whatever the content: outside it there is only the background, or
// zero.
func (r *Renderer) Box() image.Rectangle { return r.box }

// Render brings the frame up to the content at an instant and says what changed since the last call; all of it, the
// first time. The frame is the renderer's own and stays valid until the next call.
func (r *Renderer) Render(c *content.Content, at content.Instant) (*frame.Frame, frame.Damage) {
	var damage frame.Damage
	if !r.drawn {
		if damage.Add(r.left.Union(r.box)); r.left.Empty() { // the first frame of all
			damage.Add(r.frame.Bounds())
		}
		r.Repaint(c, at)
		return r.frame, damage
	}
	calm := at >= r.at && r.at >= r.still
	if calm && *c == r.content {
		r.at = at
		return r.frame, damage
	}
	if !calm || !r.retell(c, &damage) {
		r.next.Reset()
		r.still = r.painter.Draw(r.graphic, c, at, &r.next)
		r.content = *c
		damage = differ(r.list.Ops, r.next.Ops, r.box)
		r.list, r.next = r.next, r.list
	}
	r.at = at
	for _, d := range damage.Rects() {
		r.paint(d)
	}
	return r.frame, damage
}

// retell brings the list up to a content that has nothing new but readings: what a second of the game clock changes. It
// tells whether that is so.
func (r *Renderer) retell(c *content.Content, damage *frame.Damage) bool {
	was := &r.content
	clock, shot, out := was.Clock, was.Shot, was.Timeout.Text
	was.Clock, was.Shot, was.Timeout.Text = c.Clock, c.Shot, c.Timeout.Text
	same := func(a, b content.Text) bool { return (a.Len() > 0) == (b.Len() > 0) }
	if same(clock, c.Clock) && same(shot, c.Shot) && same(out, c.Timeout.Text) && *was == *c &&
		r.painter.Retell(r.graphic, c, &r.list, damage) {
		return true
	}
	was.Clock, was.Shot, was.Timeout.Text = clock, shot, out
	return false
}

// Repaint draws the whole box anew: the same bytes as Render's, at the price of all of it.
func (r *Renderer) Repaint(c *content.Content, at content.Instant) *frame.Frame {
	r.clear(r.left)
	r.content, r.at, r.left, r.drawn = *c, at, image.Rectangle{}, true
	r.list.Reset()
	r.still = r.painter.Draw(r.graphic, c, at, &r.list)
	r.paint(r.box)
	return r.frame
}

// band is how many pixels are drawn at a time, in whole rows: they stay in the processor's near cache while background
// and panels are laid over one another. In one piece a full screen at 2160p takes twice as long.
const band = 64 * 3840

// paint draws the list inside d.
func (r *Renderer) paint(d image.Rectangle) {
	r.visible.Reset()
	for i := range r.list.Ops {
		if o := &r.list.Ops[i]; o.Bounds().Overlaps(d) {
			r.visible.Ops = append(r.visible.Ops, *o)
		}
	}
	all, rows := r.visible.Ops, max(1, band/max(1, d.Dx()))
	for y := d.Min.Y; y < d.Max.Y; y += rows {
		r.paintBand(all, image.Rect(d.Min.X, y, d.Max.X, min(y+rows, d.Max.Y)))
	}
	r.visible.Ops = all
}

// paintBand begins with the last operation that hides all of d: nothing below it shows.
func (r *Renderer) paintBand(all []paint.Op, d image.Rectangle) {
	first := len(all) - 1
	for first >= 0 && !hides(&all[first], d) {
		first--
	}
	if first < 0 {
		r.clear(d)
		first = 0
	}
	r.visible.Ops = all[first:]
	r.raster.Draw(r.frame, &r.visible, d)
}

// hides tells whether an operation fills all of d, opaquely and without its rounded corners.
func hides(o *paint.Op, d image.Rectangle) bool {
	solid := o.Solid()
	return d.In(solid[0]) || d.In(solid[1])
}

// clear fills d with the background.
func (r *Renderer) clear(d image.Rectangle) {
	b := r.background
	pixel := [4]byte{frame.Premultiply(b.R, b.A), frame.Premultiply(b.G, b.A), frame.Premultiply(b.B, b.A), b.A}
	for y := d.Min.Y; y < d.Max.Y; y++ {
		row := r.frame.Row(y, d.Min.X, d.Max.X)
		if b.A == 0 {
			clear(row)
			continue
		}
		for i := copy(row, pixel[:]); i < len(row); i *= 2 { // what is filled doubles
			copy(row[i:], row[:i])
		}
	}
}
