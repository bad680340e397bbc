// Package screen is an X server of our own without a monitor, whose pixels can be read. It must not know what is
// shown there: programs are given its environment, and the pixels are read from the server, not from them.
//
//	s, err := screen.Open(ctx, image.Pt(1600, 900))
//	cmd.Env = append(os.Environ(), s.Env()...)
//	shot, err := s.Shot()
package screen

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// Screen is a running Xvfb. Its screen lies in a file, which is how Shot reads it.
type Screen struct {
	name   string // :7
	dir    string
	server *exec.Cmd
	stop   context.CancelFunc
}

// Open starts Xvfb on a free display with one screen of that many pixels, 24 bits each. It ends with ctx, or by
// Close.
func Open(ctx context.Context, size image.Point) (*Screen, error) {
	dir, err := os.MkdirTemp("", "rafter-screen-")
	if err != nil {
		return nil, err
	}
	ready, number, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	defer ready.Close()
	ctx, stop := context.WithCancel(ctx)
	s := &Screen{dir: dir, stop: stop}
	s.server = exec.CommandContext(ctx, "Xvfb", "-displayfd", "3", "-screen", "0", fmt.Sprintf("%dx%dx24", size.X, size.Y), "-fbdir", dir, "-nolisten", "tcp", "-noreset")
	// An interrupt first: the server then gives its display number back.
	s.server.Cancel = func() error { return s.server.Process.Signal(os.Interrupt) }
	s.server.WaitDelay = 3 * time.Second
	s.server.ExtraFiles = []*os.File{number} // descriptor 3 of the child
	err = s.server.Start()
	number.Close()
	if err != nil {
		stop()
		os.RemoveAll(dir)
		return nil, fmt.Errorf("starting Xvfb: %w", err)
	}
	line, err := bufio.NewReader(ready).ReadString('\n')
	if err != nil {
		s.Close()
		return nil, errors.New("no display: Xvfb ended at once")
	}
	s.name = ":" + strings.TrimSpace(line)
	return s, nil
}

// Env is what a program needs to draw there, by the processor alone.
func (s *Screen) Env() []string {
	return []string{"DISPLAY=" + s.name, "WAYLAND_DISPLAY=", "LIBGL_ALWAYS_SOFTWARE=1"}
}

// Close ends the server.
func (s *Screen) Close() {
	s.stop()
	_ = s.server.Wait() // ended by us
	_ = os.RemoveAll(s.dir)
}

// Shot reads what the server shows now.
func (s *Screen) Shot() (*Shot, error) { return s.ShotOf(image.Rectangle{}) }

// ShotOf reads a rectangle of what the server shows now; all of it, for an empty one. What reaches outside is an error.
func (s *Screen) ShotOf(r image.Rectangle) (*Shot, error) {
	data, err := os.ReadFile(filepath.Join(s.dir, "Xvfb_screen0"))
	if err != nil {
		return nil, err
	}
	return parseXWD(data, r)
}
