package golden

import (
	"fmt"
	"image"
	"io/fs"

	"rafter/assets"
	"rafter/overlay"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/text"
	"rafter/overlay/theme"
	"rafter/themes"
)

// Stage draws cases. It reads the fonts once; each frame is drawn from nothing by a renderer of its own.
type Stage struct {
	fonts *text.Fonts
}

// NewStage reads the fonts that the themes use.
func NewStage() (*Stage, error) {
	fonts, err := text.Load(assets.FS)
	return &Stage{fonts}, err
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

// draw draws what there is to show as the case would be.
func (s *Stage) draw(c Case, size image.Point, shown *content.Content) (*frame.Frame, error) {
	folder, err := fs.Sub(themes.FS, c.Theme)
	if err != nil {
		return nil, err
	}
	look, err := theme.Parse(folder, themes.FS)
	if err != nil {
		return nil, fmt.Errorf("theme %s: %w", c.Theme, err)
	}
	r, err := overlay.New(overlay.Options{Theme: look, Fonts: s.fonts.Clone(), Graphic: c.Graphic, Size: size, Reduced: !c.Moves})
	if err != nil {
		return nil, err
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
