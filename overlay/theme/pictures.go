package theme

import (
	"bytes"
	"encoding/binary"
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

// pictures reads all that is wanted, of at most area pixels together.
func (p *parser) pictures(area int) {
	for _, w := range p.wanted {
		data, err := w.v.from.file(w.name, MaxPictureFile)
		var f *frame.Frame
		if err == nil {
			f, err = decode(w.name, data, area)
		}
		if err != nil {
			w.v.refuse("%s", err)
			continue
		}
		area -= f.W * f.H
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

// premultiplied returns the picture as a frame.
func premultiplied(img image.Image) *frame.Frame {
	r := img.Bounds()
	f := frame.New(r.Dx(), r.Dy())
	table := palette(img)
	for y := range f.H {
		row := f.Row(y, 0, f.W)
		straight(row, img, r.Min.Y+y, table)
		for i := 0; i < len(row); i += 4 {
			if a := row[i+3]; a != 255 {
				row[i], row[i+1], row[i+2] = frame.Premultiply(row[i], a), frame.Premultiply(row[i+1], a), frame.Premultiply(row[i+2], a)
			}
		}
	}
	return f
}

func palette(img image.Image) *[256][4]uint8 {
	p, ok := img.(*image.Paletted)
	if !ok {
		return nil
	}
	var table [256][4]uint8
	for i, c := range p.Palette {
		n := color.NRGBAModel.Convert(c).(color.NRGBA)
		table[i] = [4]uint8{n.R, n.G, n.B, n.A}
	}
	return &table
}

// straight writes row y of a picture of the kinds that the decoder makes, straight. Depths of 16 bits become the nearest
// of 8.
func straight(row []byte, img image.Image, y int, table *[256][4]uint8) {
	at := func(stride int) int { return (y - img.Bounds().Min.Y) * stride }
	switch img := img.(type) {
	case *image.NRGBA:
		copy(row, img.Pix[at(img.Stride):])
	case *image.RGBA: // opaque
		copy(row, img.Pix[at(img.Stride):])
	case *image.Gray:
		for i, g := range img.Pix[at(img.Stride):][:len(row)/4] {
			copy(row[4*i:], []byte{g, g, g, 255})
		}
	case *image.Paletted:
		for i, c := range img.Pix[at(img.Stride):][:len(row)/4] {
			copy(row[4*i:], table[c][:])
		}
	case *image.Gray16:
		for i := 0; i < len(row); i += 4 {
			g := nearest(img.Pix[at(img.Stride)+i/2:])
			copy(row[i:], []byte{g, g, g, 255})
		}
	case *image.NRGBA64:
		for i := range row {
			row[i] = nearest(img.Pix[at(img.Stride)+2*i:])
		}
	case *image.RGBA64: // opaque
		for i := range row {
			row[i] = nearest(img.Pix[at(img.Stride)+2*i:])
		}
	default:
		for i := 0; i < len(row); i += 4 {
			n := color.NRGBAModel.Convert(img.At(img.Bounds().Min.X+i/4, y)).(color.NRGBA)
			copy(row[i:], []byte{n.R, n.G, n.B, n.A})
		}
	}
}

// nearest returns the 16 bits at the head of b as 8.
func nearest(b []byte) uint8 {
	return uint8((uint32(binary.BigEndian.Uint16(b))*255 + 32767) / 65535)
}
