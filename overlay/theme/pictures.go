package theme

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"io/fs"
	"path"
	"strings"

	"rafter/overlay/frame"
	"rafter/overlay/toml"
)

// What pictures may be: pixels a side, bytes a file, and pixels in all pictures of a theme.
const (
	MaxPictureSide  = 4096
	MaxPictureFile  = 4 << 20
	MaxPicturesArea = 16 << 20
)

// wanted is a picture that something of the theme shows, and the place that asks for it.
type wanted struct {
	v    value
	name string
}

// want returns the index that the picture will have among the theme's.
func (p *parser) want(v value, name string) int {
	for i, w := range p.wanted {
		if w.v.from == v.from && w.name == name {
			return i
		}
	}
	if len(p.wanted) == MaxPictures {
		v.refuse("%q is picture number %d: a theme has at most %d", name, MaxPictures+1, MaxPictures)
		return -1
	}
	p.wanted = append(p.wanted, wanted{v, name})
	return len(p.wanted) - 1
}

// pictures reads all that is wanted.
func (p *parser) pictures() {
	area := 0
	for _, w := range p.wanted {
		data, err := w.v.from.file(w.name, MaxPictureFile)
		var f *frame.Frame
		if err == nil {
			f, err = decode(w.name, data, MaxPicturesArea-area)
		}
		if err != nil {
			w.v.refuse("%s", err)
			continue
		}
		area += f.W * f.H
		p.look.Pictures = append(p.look.Pictures, Picture{w.name, f})
	}
}

// isFile tells whether s can name a file in the theme's folder; what cannot is refused.
func (v value) isFile(s string, ends []string) bool {
	switch {
	case !hasEnd(s, ends):
		v.refuse("%q is no %s file", s, strings.Join(ends, " or "))
	case !fs.ValidPath(s) || strings.ContainsAny(s, `\:`):
		v.refuse("%q leads out of the theme: name a file beside theme.toml, such as %q", s, path.Base(path.Clean("/"+strings.ReplaceAll(s, `\`, "/"))))
	default:
		return true
	}
	return false
}

// file reads a file of the theme, of at most most bytes.
func (s *source) file(name string, most int) ([]byte, error) {
	info, err := fs.Stat(s.fsys, name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("there is no file %q beside theme.toml%s", name, s.meant(name))
	case err != nil:
		return nil, fmt.Errorf("%q cannot be read: %w", name, err)
	case !info.Mode().IsRegular(): // a pipe would be waited for
		return nil, fmt.Errorf("%q is no ordinary file", name)
	}
	f, err := s.fsys.Open(name)
	if err != nil {
		return nil, fmt.Errorf("%q cannot be read: %w", name, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, int64(most)+1)) // one more, so that too long is seen
	if err != nil {
		return nil, fmt.Errorf("%q cannot be read: %w", name, err)
	}
	if len(data) > most {
		return nil, fmt.Errorf("%q is longer than %d KiB", name, most>>10)
	}
	return data, nil
}

// meant finds a file of a name that is near.
func (s *source) meant(name string) string {
	const most = 1000 // files of a folder that is not a theme's alone
	dir, err := s.fsys.Open(path.Dir(name))
	if err != nil {
		return ""
	}
	defer dir.Close()
	list, ok := dir.(fs.ReadDirFile)
	if !ok {
		return ""
	}
	entries, _ := list.ReadDir(most)
	var names []string
	for _, e := range entries {
		if strings.EqualFold(path.Ext(e.Name()), path.Ext(name)) {
			names = append(names, path.Join(path.Dir(name), e.Name()))
		}
	}
	return toml.DidYouMean(name, names)
}

// decode reads a PNG of at most area pixels: any depth and kind of colour, taken as sRGB. Its size is looked at before
// any memory is taken for it.
func decode(name string, data []byte, area int) (*frame.Frame, error) {
	c, err := png.DecodeConfig(bytes.NewReader(data))
	switch {
	case err != nil:
		return nil, fmt.Errorf("%q is no PNG picture (%w): save it as PNG again", name, err)
	case c.Width > MaxPictureSide || c.Height > MaxPictureSide:
		return nil, fmt.Errorf("%q is %d by %d pixels: make it smaller, at most %d each way", name, c.Width, c.Height, MaxPictureSide)
	case c.Width*c.Height > area:
		return nil, fmt.Errorf("%q has %d by %d pixels: all pictures of a theme have at most %d million together", name, c.Width, c.Height, MaxPicturesArea>>20)
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%q is broken or cut off (%w): save it as PNG again", name, err)
	}
	return premultiplied(img), nil
}

// premultiplied returns the picture as a frame. Depths of 16 bits become the nearest of 8.
func premultiplied(img image.Image) *frame.Frame {
	r := img.Bounds()
	f := frame.New(r.Dx(), r.Dy())
	at := pixels(img)
	for y := range f.H {
		row := f.Row(y, 0, f.W)
		for x := range f.W {
			c := at(r.Min.X+x, r.Min.Y+y)
			copy(row[4*x:], []byte{frame.Premultiply(c.R, c.A), frame.Premultiply(c.G, c.A), frame.Premultiply(c.B, c.A), c.A})
		}
	}
	return f
}

// pixels returns how to read a picture of the kinds that the decoder makes, straight.
func pixels(img image.Image) func(x, y int) color.NRGBA {
	near := func(c uint16) uint8 { return uint8((uint32(c)*255 + 32767) / 65535) }
	switch img := img.(type) {
	case *image.NRGBA:
		return img.NRGBAAt
	case *image.RGBA: // opaque
		return func(x, y int) color.NRGBA { return color.NRGBA(img.RGBAAt(x, y)) }
	case *image.Gray:
		return func(x, y int) color.NRGBA { g := img.GrayAt(x, y).Y; return color.NRGBA{g, g, g, 255} }
	case *image.Paletted:
		var table [256]color.NRGBA
		for i, c := range img.Palette {
			table[i] = color.NRGBAModel.Convert(c).(color.NRGBA)
		}
		return func(x, y int) color.NRGBA { return table[img.ColorIndexAt(x, y)] }
	case *image.NRGBA64:
		return func(x, y int) color.NRGBA {
			c := img.NRGBA64At(x, y)
			return color.NRGBA{near(c.R), near(c.G), near(c.B), near(c.A)}
		}
	case *image.RGBA64: // opaque
		return func(x, y int) color.NRGBA {
			c := img.RGBA64At(x, y)
			return color.NRGBA{near(c.R), near(c.G), near(c.B), near(c.A)}
		}
	case *image.Gray16:
		return func(x, y int) color.NRGBA { g := near(img.Gray16At(x, y).Y); return color.NRGBA{g, g, g, 255} }
	}
	return func(x, y int) color.NRGBA { return color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA) }
}
