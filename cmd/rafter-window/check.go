package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"io"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/windowcli"
	"rafter/engine/script"
	"rafter/golden"
	"rafter/overlay/frame"
	"rafter/overlay/output/window"
)

// checkLine is a case as --json prints it. Frame and Hash are the SHA-256 of width and height (32-bit, big-endian) and
// of the premultiplied RGBA: as drawn, and as the screen has it.
type checkLine struct {
	Case      string `json:"case"`
	Graphic   string `json:"graphic"`
	Width     int    `json:"width"`
	Height    int    `json:"height"`
	Frame     string `json:"frame"`
	Hash      string `json:"hash"`
	Differing int    `json:"bytes_differing"`
	*heldCase
}

// heldCase is what --hold adds: what another program needs to draw the case too, as its command line takes it.
type heldCase struct {
	Theme  string `json:"theme"` // from the root of the repository
	Size   string `json:"size"`
	At     string `json:"at"`
	Motion string `json:"motion"`
	Script string `json:"script"`
}

func heldOf(g *golden.Case) *heldCase {
	motion := "reduced"
	if g.Moves {
		motion = "full"
	}
	return &heldCase{g.ThemePath(), fmt.Sprintf("%dx%d", g.Size.X, g.Size.Y), script.FormatTime(g.At), motion, g.Script()}
}

// checker shows one golden case after the other in a window of its size, and reads the pixels back: in one piece, or
// in tiles where the desktop gives a smaller window.
type checker struct {
	stage *golden.Stage
	cases []golden.Case
	say   func(checkLine) error
	hold  func(golden.Case) error // nil: go on at once

	want, got *frame.Frame // of cases[frames], as drawn and as far as it is read back; nil before the first
	tile      image.Point  // the place in the case that the window shows from
	seen      image.Point  // the window's size
	waits     int          // updates since that case's size was asked for
	settled   int          // updates since that tile was shown at that size

	frames, differing int
}

// A case waits for its window size, and a tile stands before it is read, for so many updates: the library swaps a
// changed screen for four frames before it rests, and another program may look at the screen too.
const (
	patience = 60
	settle   = 5
)

// check is `rafter-window check`.
func check(asked windowcli.Options, in io.Reader, out, say io.Writer) int {
	c, err := newChecker(asked, in, out)
	if err == nil {
		// A window larger than the display is cut by some desktops; it begins with the first case's size.
		err = window.Run(window.Config{Title: checkTitle, Size: c.cases[0].Size, Transparent: true}, window.Loop{Update: c.update})
	}
	if err != nil {
		return cli.Report(windowcli.Program, err, say)
	}
	if !asked.JSON && !asked.Hold {
		fmt.Fprintf(out, "frames=%d bytes_differing=%d\n", c.frames, c.differing)
	}
	if c.differing > 0 || c.frames != len(c.cases) {
		return cli.Failed
	}
	return cli.Done
}

// checkTitle is by what another program finds the window.
const checkTitle = "rafter check"

func newChecker(asked windowcli.Options, in io.Reader, out io.Writer) (*checker, error) {
	cases, err := golden.Cases()
	if err != nil {
		return nil, err
	}
	if len(cases) == 0 {
		return nil, errors.New("there is no golden case")
	}
	stage, err := golden.NewStage()
	if err != nil {
		return nil, err
	}
	c := &checker{stage: stage, cases: cases, say: func(checkLine) error { return nil }}
	if asked.JSON {
		to := json.NewEncoder(out)
		c.say = func(l checkLine) error { return to.Encode(l) }
	}
	if asked.Hold {
		lines := bufio.NewReader(in)
		c.hold = func(g golden.Case) error {
			if _, err := fmt.Fprintf(out, "%s %dx%d %s\n", g.Name, g.Size.X, g.Size.Y, checkTitle); err != nil {
				return err
			}
			_, err := lines.ReadString('\n')
			return err
		}
	}
	return c, nil
}

func (c *checker) update(in window.Input) (window.Scene, error) {
	if in.Close {
		return window.Scene{}, fmt.Errorf("the window was closed after %d of %d cases", c.frames, len(c.cases))
	}
	if c.want == nil {
		if err := c.begin(); err != nil {
			return window.Scene{}, err
		}
	}
	c.waits++
	c.settled++
	if in.Size != c.seen || in.Size != c.size() && c.waits < patience {
		c.seen, c.settled = in.Size, 0
	}
	if c.settled >= settle {
		c.read(in)
		if c.settled = 0; c.tile.Y >= c.want.H {
			if err := c.done(); err != nil {
				return window.Scene{}, err
			}
			if c.frames == len(c.cases) {
				return window.Scene{Close: true}, nil
			}
		}
	}
	var all frame.Damage
	all.Add(c.want.Bounds())
	pane := window.Pane{Frame: c.want, Damage: all, Place: image.Point{}.Sub(c.tile)}
	return window.Scene{Panes: []window.Pane{pane}, Size: c.size()}, nil
}

func (c *checker) size() image.Point { return image.Pt(c.want.W, c.want.H) }

// begin draws the case whose turn it is.
func (c *checker) begin() error {
	g := c.cases[c.frames]
	f, err := c.stage.Render(g)
	if err != nil {
		return fmt.Errorf("%s: %w", g.Name, err)
	}
	c.want, c.got = f, frame.New(f.W, f.H)
	c.tile, c.waits, c.settled = image.Point{}, 0, 0
	return nil
}

// read takes the tile that is shown, and goes on to the next.
func (c *checker) read(in window.Input) {
	area := image.Rectangle{Max: c.seen}.Intersect(c.want.Bounds().Sub(c.tile))
	part := in.ReadBack(area)
	for y := range part.H {
		copy(c.got.Row(c.tile.Y+y, c.tile.X, c.tile.X+part.W), part.Row(y, 0, part.W))
	}
	if c.tile.X += part.W; c.tile.X >= c.want.W {
		c.tile = image.Pt(0, c.tile.Y+part.H)
	}
}

// done compares the case that has been read, reports it and begins the next.
func (c *checker) done() error {
	g := c.cases[c.frames]
	differing := 0
	for i, v := range c.want.Pix {
		if c.got.Pix[i] != v {
			differing++
		}
	}
	c.frames++
	c.differing += differing
	line := checkLine{Case: g.Name, Graphic: g.Graphic, Width: c.got.W, Height: c.got.H,
		Frame: fmt.Sprintf("%x", c.want.Hash()), Hash: fmt.Sprintf("%x", c.got.Hash()), Differing: differing}
	if c.hold != nil {
		line.heldCase = heldOf(&g)
	}
	if err := c.say(line); err != nil {
		return err
	}
	if c.hold != nil {
		if err := c.hold(g); err != nil {
			return err
		}
	}
	if c.frames == len(c.cases) {
		return nil
	}
	return c.begin()
}
