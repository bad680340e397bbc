package part

import (
	"image"

	"rafter/overlay/frame"
	"rafter/overlay/layout"
	"rafter/overlay/paint"
	"rafter/overlay/pen"
	"rafter/overlay/theme"
)

// scaled is a theme's picture as a part shows it.
type scaled struct {
	of, w, h int
	cover    bool
	frame    *frame.Frame
}

// Picture satisfies paint.Pictures.
func (p *Painter) Picture(id paint.PictureID) (rgba []byte, w, h int) {
	if int(id) >= len(p.pictures) {
		return nil, 0, 0
	}
	f := p.pictures[id].frame
	return f.Pix, f.W, f.H
}

// maxScaled bounds the pixels of all that a graphic shows of pictures, in those of the whole picture: what would be more
// is not shown. Else a theme could take gigabytes.
const maxScaled = 4

// scalePictures makes the pictures of a plan at the sizes that it shows them in.
func (p *Painter) scalePictures(made *plan) {
	room := maxScaled * p.Size.X * p.Size.Y
	for i := range made.items {
		it := &made.items[i]
		if t := it.part; t.Picture >= 0 && t.Picture < len(p.Theme.Pictures) && !it.inner.Empty() {
			if it.image = p.scale(it, p.Theme.Pictures[t.Picture].Frame, &room); room < 0 {
				made.unshown = append(made.unshown, p.Theme.Pictures[t.Picture].Name+" in "+t.Name)
			}
		}
	}
}

// Unshown returns which pictures of a graphic are not shown, each as "crest.png in half", since all that it shows of
// pictures has at most the pixels of four whole ones.
func (p *Painter) Unshown(name string) []string { return p.plan(name).unshown }

// scale returns the operation that shows a picture in an item: all of it within the item's inset, or covering its ground;
// one without a shape where there is no room for its pixels.
func (p *Painter) scale(it *item, f *frame.Frame, room *int) paint.Op {
	s := scaled{of: it.part.Picture, cover: it.part.Fit == theme.Cover}
	from, at, radius := f.Bounds(), it.outer, it.roundness()
	if w, h := f.W, f.H; s.cover {
		s.w, s.h = at.Dx(), at.Dy()
		from = layout.Place(from, within(w, h, at.Dx(), at.Dy()), layout.Centre)
	} else {
		size := within(it.inner.Dx(), it.inner.Dy(), w, h)
		s.w, s.h = size.X, size.Y
		at, radius = layout.Place(it.inner, size, it.place(it.mirrored)), 0
	}
	if *room -= s.w * s.h; *room < 0 {
		return paint.Op{}
	}
	id := -1
	for i := range p.pictures {
		if q := p.pictures[i]; q.of == s.of && q.w == s.w && q.h == s.h && q.cover == s.cover {
			id = i
		}
	}
	if id < 0 {
		id, s.frame = len(p.pictures), frame.Resample(f, from, s.w, s.h)
		p.pictures = append(p.pictures, s)
	}
	return paint.Op{Shape: paint.Image, Picture: paint.PictureID(id), Box: paint.BoxPx(at), Radius: radius, Colour: paint.Colour{A: 255}}
}

// place is where in its room stands what does not fill it.
func (it *item) place(right bool) layout.Anchor {
	return [...]layout.Anchor{pen.Left: layout.Left, pen.Centre: layout.Centre, pen.Right: layout.Right}[it.align(right)]
}

// within returns the largest size of the shape w to h that fits into wide by high; at least one pixel.
func within(wide, high, w, h int) image.Point {
	if wide*h <= high*w {
		return image.Pt(max(1, wide), max(1, (2*wide*h+w)/(2*w)))
	}
	return image.Pt(max(1, (2*high*w+h)/(2*h)), max(1, high))
}
