package golden

import (
	"fmt"
	"image"
	"io/fs"
	"sync"

	"rafter/assets"
	"rafter/overlay"
	"rafter/overlay/air"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/text"
	"rafter/overlay/theme"
	"rafter/themes"
)

// Stage draws cases. It reads fonts and themes once; each frame is drawn from nothing by a renderer of its own. It is
// safe for concurrent use.
type Stage struct {
	fonts *text.Fonts
	lock  sync.Mutex
	looks map[string]*theme.Theme
}

// NewStage reads the fonts that the themes use.
func NewStage() (*Stage, error) {
	fonts, err := text.Load(assets.FS)
	return &Stage{fonts: fonts, looks: map[string]*theme.Theme{}}, err
}

// look returns a theme by its name.
func (s *Stage) look(name string) (*theme.Theme, error) {
	s.lock.Lock()
	defer s.lock.Unlock()
	if known := s.looks[name]; known != nil {
		return known, nil
	}
	all, folder := fs.FS(themes.FS), name
	if _, err := fs.Stat(all, name); err != nil {
		all, folder = files, "themes/"+name
	}
	sub, err := fs.Sub(all, folder)
	if err != nil {
		return nil, err
	}
	look, err := theme.Parse(sub, themes.FS)
	if err != nil {
		return nil, fmt.Errorf("theme %s: %w", name, err)
	}
	s.looks[name] = look
	return look, nil
}

// Render draws the case at its own size.
func (s *Stage) Render(c Case) (*frame.Frame, error) { return s.RenderAt(c, c.Size) }

// RenderAt draws the case at another size in pixels.
func (s *Stage) RenderAt(c Case, size image.Point) (*frame.Frame, error) {
	shown, err := c.content()
	if err != nil {
		return nil, err
	}
	return s.draw(c, size, &shown)
}

// content returns what there is to show, but for what is on air.
func (c *Case) content() (content.Content, error) {
	var shown content.Content
	view, err := c.view()
	if err == nil {
		shown.From(&view)
	}
	return shown, err
}

// draw draws what there is to show as the case would be.
func (s *Stage) draw(c Case, size image.Point, shown *content.Content) (*frame.Frame, error) {
	look, err := s.look(c.Theme)
	if err != nil {
		return nil, err
	}
	o := overlay.Options{Theme: look, Fonts: s.fonts.Clone(), Graphic: c.Graphic, Size: size, Reduced: !c.Moves}
	if c.Graphic == air.OnAir {
		o.Graphic = air.Blank
	}
	r, err := overlay.New(o)
	if err != nil {
		return nil, err
	}
	if c.Graphic == air.OnAir {
		view, err := c.view()
		if err != nil {
			return nil, err
		}
		var name string
		if name, shown.Air = air.New(look, r.Leaves).At(&view); name != air.Blank {
			err = r.Show(name)
		}
		if err != nil {
			return nil, err
		}
	}
	f, _ := r.Render(shown, c.At)
	return f, nil
}

// crop returns the part r of a frame as a frame of its own.
func crop(f *frame.Frame, r image.Rectangle) *frame.Frame {
	out := frame.New(r.Dx(), r.Dy())
	for y := range out.H {
		copy(out.Row(y, 0, out.W), f.Row(r.Min.Y+y, r.Min.X, r.Max.X))
	}
	return out
}

// place returns a transparent frame of that size with the picture at r.
func place(picture *frame.Frame, size image.Point, r image.Rectangle) *frame.Frame {
	out := frame.New(size.X, size.Y)
	for y := range picture.H {
		copy(out.Row(r.Min.Y+y, r.Min.X, r.Max.X), picture.Row(y, 0, picture.W))
	}
	return out
}
