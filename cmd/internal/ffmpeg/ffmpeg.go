// Package ffmpeg runs ffmpeg: frames go in and come out as bytes, a process is bounded by its context, and what it says
// is kept for the error. It decides nothing about pictures.
package ffmpeg

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"rafter/overlay/frame"
)

// ErrMissing tells that the program is not on this machine, and what to install.
var ErrMissing = errors.New("needs ffmpeg with libx264: install ffmpeg")

// Program is an ffmpeg that is there.
type Program struct {
	ctx  context.Context
	path string
}

// New finds the program. What it starts ends with ctx.
func New(ctx context.Context) (*Program, error) {
	path, err := exec.LookPath("ffmpeg")
	if err != nil {
		return nil, ErrMissing
	}
	p := &Program{ctx, path}
	if said, err := p.command("-encoders").Output(); err != nil || !bytes.Contains(said, []byte("libx264")) {
		return nil, ErrMissing
	}
	return p, nil
}

func (p *Program) command(args ...string) *exec.Cmd {
	return exec.CommandContext(p.ctx, p.path, append([]string{"-hide_banner", "-nostdin", "-v", "error"}, args...)...)
}

// Stream sends n opaque frames of one even size, 30 a second, through H.264 at so many kbit/s. draw is asked for each in
// turn, and seen gets each as it arrives; a frame is good until the next call. An error is of the program or its
// temporary file.
func (p *Program) Stream(size image.Point, kbit, n int, draw func(i int) *frame.Frame, seen func(i int, f *frame.Frame)) (err error) {
	dir, err := os.MkdirTemp("", "rafter-film-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	film := filepath.Join(dir, "film.mp4")
	raw := []string{"-f", "rawvideo", "-pix_fmt", "rgba", "-video_size", fmt.Sprintf("%dx%d", size.X, size.Y), "-framerate", "30"}
	rate := fmt.Sprintf("%dk", kbit)
	// A live stream's settings: the rate holds over each second, and no frame waits for later ones.
	err = p.write(append(raw, "-i", "pipe:0", "-vf", "scale=out_color_matrix=bt709:out_range=tv,format=yuv420p",
		"-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", "bt709", "-color_range", "tv",
		"-c:v", "libx264", "-preset", "veryfast", "-tune", "zerolatency", "-g", "60", "-b:v", rate, "-maxrate", rate, "-bufsize", rate, film), size, n, draw)
	if err != nil {
		return err
	}
	return p.read([]string{"-i", film, "-vf", "scale=in_color_matrix=bt709:in_range=tv,format=rgba", "-f", "rawvideo", "pipe:1"}, size, n, seen)
}

// write starts the program and gives it frames.
func (p *Program) write(args []string, size image.Point, n int, draw func(i int) *frame.Frame) error {
	c, says := p.command(args...), &tail{}
	c.Stderr = says
	in, err := c.StdinPipe()
	if err != nil {
		return err
	}
	if err := c.Start(); err != nil {
		return err
	}
	for i := 0; i < n && err == nil; i++ {
		f := draw(i)
		if f.Bounds().Max != size {
			err = fmt.Errorf("frame %d is %dx%d in a film of %dx%d", i, f.W, f.H, size.X, size.Y)
			break
		}
		_, err = in.Write(f.Pix)
	}
	return says.failed(errors.Join(err, in.Close(), c.Wait()))
}

// read starts the program and takes frames from it: exactly n.
func (p *Program) read(args []string, size image.Point, n int, seen func(i int, f *frame.Frame)) error {
	c, says := p.command(args...), &tail{}
	c.Stderr = says
	out, err := c.StdoutPipe()
	if err != nil {
		return err
	}
	if err := c.Start(); err != nil {
		return err
	}
	f := frame.New(size.X, size.Y)
	from := bufio.NewReaderSize(out, 1<<20)
	got := 0
	for ; got < n && err == nil; got++ {
		if _, err = io.ReadFull(from, f.Pix); err == nil {
			seen(got, f)
		}
	}
	more, _ := io.Copy(io.Discard, from)
	err = errors.Join(err, c.Wait())
	if err == nil && more > 0 {
		err = fmt.Errorf("%d bytes more than the %d frames that went in", more, n)
	}
	return says.failed(err)
}

// tail keeps the end of what a program says.
type tail struct{ text []byte }

const tailMost = 2000

func (t *tail) Write(b []byte) (int, error) {
	t.text = append(t.text, b...)
	t.text = t.text[max(0, len(t.text)-tailMost):]
	return len(b), nil
}

func (t *tail) failed(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("ffmpeg: %w: %s", err, strings.TrimSpace(string(t.text)))
}
