package main

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// display is an X server of our own without a monitor. Its screen lies in a file, so that what the server
// holds is read without asking the program that drew it.
type display struct {
	name   string // :7
	dir    string
	server *exec.Cmd
}

// openDisplay starts Xvfb on a free display with one screen of 24-bit pixels.
func (d *dev) openDisplay(size image.Point) (*display, error) {
	dir, err := os.MkdirTemp("", "rafter-screen-")
	if err != nil {
		return nil, err
	}
	ready, number, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	defer ready.Close()
	x := &display{dir: dir}
	x.server = d.command(nil, "Xvfb", "-displayfd", "3", "-screen", "0", fmt.Sprintf("%dx%dx24", size.X, size.Y), "-fbdir", dir, "-nolisten", "tcp", "-noreset")
	x.server.ExtraFiles = []*os.File{number} // descriptor 3 of the child
	err = x.server.Start()
	number.Close()
	if err != nil {
		os.RemoveAll(dir)
		return nil, fmt.Errorf("starting Xvfb: %w", err)
	}
	line, err := bufio.NewReader(ready).ReadString('\n')
	if err != nil {
		x.close()
		return nil, errors.New("no display: Xvfb ended at once")
	}
	x.name = ":" + strings.TrimSpace(line)
	return x, nil
}

// env is what a program needs to draw there, by the processor alone.
func (x *display) env() []string {
	return []string{"DISPLAY=" + x.name, "WAYLAND_DISPLAY=", "LIBGL_ALWAYS_SOFTWARE=1"}
}

func (x *display) close() {
	x.server.Process.Kill()
	x.server.Wait()
	os.RemoveAll(x.dir)
}

// screen reads what the server shows now.
func (x *display) screen() (*screenshot, error) {
	data, err := os.ReadFile(filepath.Join(x.dir, "Xvfb_screen0"))
	if err != nil {
		return nil, err
	}
	return parseXWD(data)
}

// screenshot is a picture without alpha: three bytes a pixel, rows top down without padding.
type screenshot struct {
	w, h int
	rgb  []byte
}

// crop returns the bytes of a rectangle of the picture; nil if it reaches outside.
func (s *screenshot) crop(r image.Rectangle) []byte {
	if !r.In(image.Rect(0, 0, s.w, s.h)) {
		return nil
	}
	out := make([]byte, 0, 3*r.Dx()*r.Dy())
	for y := r.Min.Y; y < r.Max.Y; y++ {
		out = append(out, s.rgb[3*(y*s.w+r.Min.X):3*(y*s.w+r.Max.X)]...)
	}
	return out
}

// parseXWD reads an X window dump, version 7, of 32-bit true-colour pixels. Layout: X11/XWDFile.h; the
// header's words are big-endian, the pixels have the byte order that it names.
func parseXWD(data []byte) (*screenshot, error) {
	const (
		headerSize, version, pixelWidth, pixelHeight = 0, 1, 4, 5
		byteOrder, bitsPerPixel, bytesPerLine        = 7, 11, 12
		redMask, greenMask, blueMask, colours        = 14, 15, 16, 19
		words                                        = 25
	)
	if len(data) < 4*words {
		return nil, errors.New("window dump: shorter than its header")
	}
	word := func(i int) int { return int(binary.BigEndian.Uint32(data[4*i:])) }
	if word(version) != 7 || word(bitsPerPixel) != 32 || word(redMask) != 0xff0000 || word(greenMask) != 0xff00 || word(blueMask) != 0xff {
		return nil, fmt.Errorf("window dump: version %d, %d bits a pixel; want version 7, 32 bits, 8 a colour", word(version), word(bitsPerPixel))
	}
	s := &screenshot{w: word(pixelWidth), h: word(pixelHeight)}
	start, stride := word(headerSize)+12*word(colours), word(bytesPerLine)
	const limit = 1 << 14 // pixels a side; also keeps the products below from overflowing
	if s.w > limit || s.h > limit || stride < 4*s.w || stride > 5*limit || start < 4*words || start > len(data) || len(data)-start < stride*s.h {
		return nil, errors.New("window dump: shorter than its header says")
	}
	s.rgb = make([]byte, 0, 3*s.w*s.h)
	for y := range s.h {
		row := data[start+y*stride:][:4*s.w]
		for i := 0; i < len(row); i += 4 {
			if word(byteOrder) == 0 { // least significant first: B G R x
				s.rgb = append(s.rgb, row[i+2], row[i+1], row[i])
			} else {
				s.rgb = append(s.rgb, row[i+1], row[i+2], row[i+3])
			}
		}
	}
	return s, nil
}
