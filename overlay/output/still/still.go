// Package still writes a frame as a PNG file and reads one back, exactly. It writes nothing but the picture
// it was given, and never leaves a half-written file.
package still

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io"
	"os"
	"path/filepath"

	"rafter/overlay/frame"
)

// Encode writes f as a PNG of straight-alpha 8-bit RGBA, tagged as sRGB. The colours are un-premultiplied to
// the nearest value, so that Decode gives f back. The same frame gives the same bytes (from one release of
// the compressor to the next they may differ: compare pixels).
func Encode(w io.Writer, f *frame.Frame) error {
	straight := image.NRGBA{Pix: f.AppendStraight(make([]byte, 0, len(f.Pix)), f.Bounds()), Stride: 4 * f.W, Rect: f.Bounds()}
	var body bytes.Buffer
	// The standard encoder converts nothing when it is given NRGBA; given RGBA it would un-premultiply by truncation.
	if err := png.Encode(&body, &straight); err != nil {
		return err
	}
	// It writes no colour chunk, and they belong between the header and the pixels.
	head := body.Next(headerSize)
	for _, part := range [][]byte{head, colourChunks(), body.Bytes()} {
		if _, err := w.Write(part); err != nil {
			return err
		}
	}
	return nil
}

// headerSize is the signature (8) and the IHDR chunk (4+4+13+4). Source: W3C PNG, third edition, 5.2 and 11.2.1.
const headerSize = 33

// colourChunks says that the picture is sRGB, perceptual intent, with the gAMA and cHRM that go along for
// readers that do not know the chunk. Values: W3C PNG, third edition, 11.3.2.5.
func colourChunks() []byte {
	b := appendChunk(nil, "gAMA", 45455)
	b = appendChunk(b, "cHRM", 31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)
	size := binary.BigEndian.AppendUint32(b, 1)
	return appendCRC(append(size, "sRGB\x00"...), len(size))
}

func appendChunk(b []byte, kind string, values ...uint32) []byte {
	b = binary.BigEndian.AppendUint32(b, uint32(4*len(values)))
	start := len(b)
	b = append(b, kind...)
	for _, v := range values {
		b = binary.BigEndian.AppendUint32(b, v)
	}
	return appendCRC(b, start)
}

func appendCRC(b []byte, start int) []byte {
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[start:]))
}

// Decode reads a PNG of 8 bits a channel with no side longer than frame.MaxSize's longest; others are an error.
func Decode(r io.Reader) (*frame.Frame, error) {
	var head bytes.Buffer
	config, err := png.DecodeConfig(io.TeeReader(r, &head))
	if err != nil {
		return nil, fmt.Errorf("not a PNG picture: %w", err)
	}
	if most := frame.MaxSize.X; config.Width > most || config.Height > most {
		return nil, fmt.Errorf("the picture is %d×%d pixels; at most %d×%d are read", config.Width, config.Height, most, most)
	}
	picture, err := png.Decode(io.MultiReader(&head, r))
	if err != nil {
		return nil, fmt.Errorf("not a whole PNG picture: %w", err)
	}
	b := picture.Bounds()
	f := frame.New(b.Dx(), b.Dy())
	switch p := picture.(type) {
	case *image.NRGBA:
		for y := range f.H {
			for x, row := 0, p.Pix[y*p.Stride:]; x < f.W; x++ {
				put(f, x, y, color.NRGBA{row[4*x], row[4*x+1], row[4*x+2], row[4*x+3]})
			}
		}
	case *image.RGBA, *image.Gray, *image.Paletted: // opaque, or straight alpha in the palette: both convert exactly
		for y := range f.H {
			for x := range f.W {
				put(f, x, y, color.NRGBAModel.Convert(picture.At(x, y)).(color.NRGBA))
			}
		}
	default:
		return nil, fmt.Errorf("the picture has a pixel format that is not read (%T); save it with 8 bits a channel", picture)
	}
	return f, nil
}

func put(f *frame.Frame, x, y int, c color.NRGBA) {
	p := f.Pix[4*(y*f.W+x):]
	p[0], p[1], p[2], p[3] = frame.Premultiply(c.R, c.A), frame.Premultiply(c.G, c.A), frame.Premultiply(c.B, c.A), c.A
}

// File is an output.Sink that keeps the frame shown last and makes the file when it is closed.
type File struct {
	path string
	last *frame.Frame
}

// New returns a sink for the file at path. Nothing is written before Close.
func New(path string) *File { return &File{path: path} }

// Show keeps a copy of f.
func (s *File) Show(f *frame.Frame, damage frame.Damage) error {
	if s.last == nil {
		s.last = frame.New(f.W, f.H)
		copy(s.last.Pix, f.Pix)
		return nil
	}
	if s.last.W != f.W || s.last.H != f.H {
		return fmt.Errorf("a frame of %d×%d pixels cannot follow one of %d×%d in one picture", f.W, f.H, s.last.W, s.last.H)
	}
	for _, r := range damage.Rects() {
		r = r.Intersect(f.Bounds())
		for y := r.Min.Y; y < r.Max.Y; y++ {
			copy(s.last.Row(y, r.Min.X, r.Max.X), f.Row(y, r.Min.X, r.Max.X))
		}
	}
	return nil
}

// Close writes the file beside its place and renames it when it is whole and on the disk; after an error there
// is no new file, and an old one is as it was. Without a frame there is nothing to write, an error.
func (s *File) Close() error {
	if s.last == nil {
		return fmt.Errorf("%s is not written: no frame was shown", s.path)
	}
	return WriteFile(s.path, s.last)
}

// WriteFile makes the PNG file at path as File.Close does. A path that is a device or a pipe is written to.
func WriteFile(path string, f *frame.Frame) error {
	if to, err := filepath.EvalSymlinks(path); err == nil {
		path = to // the file that a link names is replaced, not the link
	}
	if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
		w, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		return errors.Join(Encode(w, f), w.Close())
	}
	return replace(path, func(w io.Writer) error { return Encode(w, f) })
}

func replace(path string, write func(io.Writer) error) (err error) {
	beside, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*.part")
	if err != nil {
		return fmt.Errorf("%s cannot be made: %w", path, err)
	}
	defer func() {
		if err != nil {
			beside.Close()
			os.Remove(beside.Name())
		}
	}()
	if err := write(beside); err != nil {
		return err
	}
	if err := beside.Chmod(0o644); err != nil {
		return err
	}
	if err := beside.Sync(); err != nil {
		return err
	}
	if err := beside.Close(); err != nil {
		return err
	}
	return os.Rename(beside.Name(), path)
}
