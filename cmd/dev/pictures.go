package main

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"time"

	"rafter/cmd/dev/screen"
)

// golden compares the golden frames, or accepts those that are drawn now. Accepting never passes: somebody
// has to look first.
func golden(d *dev, args []string) error {
	accept := false
	err := noWords(parse(d, args, func(f *flag.FlagSet) { f.BoolVar(&accept, "accept", false, "rewrite the frames that differ") }))
	if err != nil {
		return err
	}
	words := []string{"test", "./golden", "-count=1", "-run", "TestFramesAreAsAccepted", "-args", "-page"}
	if accept {
		words = append(words, "-accept")
	}
	err = d.run(nil, "go", words...)
	fmt.Fprintln(d.say, "the page with old, new and difference: "+filepath.Join(buildDir, "golden"))
	if accept {
		return errors.New("look, then run test")
	}
	return err
}

// link is one golden case on all its ways out: the hash of the premultiplied pixels of each.
type link struct {
	Case   string `json:"case"`
	Frame  string `json:"frame"`
	PNG    string `json:"png"`
	Raw    string `json:"raw"`
	Window string `json:"window"` // read back after the blit
	Canvas string `json:"canvas"` // as a browser's page shows it over black and over white
	Screen bool   `json:"screen"` // the X server's copy is the frame over black
	Same   bool   `json:"same"`
}

// chain prints a line for every golden case and fails if one does not look the same on all its ways out.
func chain(d *dev, args []string) error {
	asJSON := false
	if err := noWords(parse(d, args, func(f *flag.FlagSet) { f.BoolVar(&asJSON, "json", false, "one JSON object a line") })); err != nil {
		return err
	}
	if missing := thisSystem(d).install(window, xserver, keys, browser); len(missing) > 0 {
		return fmt.Errorf("the chain needs %s", debianNames(missing))
	}
	return d.chain(func(l link) error {
		if asJSON {
			return json.NewEncoder(d.out).Encode(l)
		}
		_, err := fmt.Fprintln(d.out, l)
		return err
	})
}

// checkChain is the chain as a part of test: only what differs is worth a line.
func checkChain(d *dev) error {
	return d.chain(func(l link) error {
		if !l.Same {
			fmt.Fprintln(d.say, l)
		}
		return nil
	})
}

// chain draws every golden case as frame, PNG, raw, on a page and in a real window, compares the pixels, and tells each.
func (d *dev) chain(tell func(link) error) error {
	rafter, err := d.compile("rafter")
	if err != nil {
		return err
	}
	program, err := d.compile("rafter-window")
	if err != nil {
		return err
	}
	scratch, err := os.MkdirTemp("", "rafter-chain-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	canvases, failure := d.canvases(scratch)
	links, differ := 0, 0
	err = d.onScreen(image.Pt(3840, 2400), func(x *screen.Screen) error {
		if err := d.elsewhere(x); err != nil {
			return err
		}
		return d.hold(x, program, func(c held) error {
			l, err := d.follow(x, rafter, scratch, c)
			if err != nil {
				return fmt.Errorf("%s: %w", c.Case, err)
			}
			l.Canvas = canvases[c.Case]
			l.Same = l.Same && l.Canvas == l.Frame
			links++
			if !l.Same {
				differ++
			}
			return tell(l)
		})
	})
	switch err = errors.Join(failure, err); {
	case err != nil:
		return err
	case links < 250:
		return fmt.Errorf("only %d golden cases", links)
	case differ > 0:
		return fmt.Errorf("%d of %d cases differ on their way", differ, links)
	}
	fmt.Fprintf(d.say, "%d cases, each the same as frame, PNG, raw, on the page, in the window and on the screen\n", links)
	return nil
}

// elsewhere compares what other computers show of a game that is played: pages, a window that joined, a still picture.
func (d *dev) elsewhere(x *screen.Screen) error {
	const name = "TestPagesAWindowThatJoinedAndAStillAreTheSame"
	if err := d.quietly(x.Env(), "go", "test", "./cmd/rafter-window", "-count=1", "-run", "^"+name+"$"); err != nil {
		return err
	}
	fmt.Fprintln(d.say, "two pages in browsers, a window that joined and a still picture of the same second: the same pixels")
	return nil
}

// canvases shows every case on a page in a browser, and returns the hash of each that it came to. The error is that of the
// cases that are not on the page as they are in the frame.
func (d *dev) canvases(scratch string) (hashes map[string]string, err error) {
	file := filepath.Join(scratch, "canvas.json")
	err = d.quietly(nil, "go", "test", "./golden", "-count=1", "-run", "TestCanvasesHaveTheSamePixels", "-args", "-canvas", file)
	f, opened := os.Open(file)
	if opened != nil {
		return nil, errors.Join(err, opened)
	}
	defer f.Close()
	hashes = map[string]string{}
	for lines := json.NewDecoder(f); ; {
		var l link
		if read := lines.Decode(&l); errors.Is(read, io.EOF) {
			return hashes, err
		} else if read != nil {
			return hashes, errors.Join(err, read)
		}
		hashes[l.Case] = l.Canvas
	}
}

// String writes the line for people; a hash is told by its first 16 digits.
func (l link) String() string {
	short := func(hash string) string { return hash[:min(16, len(hash))] }
	same := map[bool]string{true: "same", false: "differs"}
	return fmt.Sprintf("%-36s frame=%s png=%s raw=%s window=%s canvas=%s screen=%s %s", l.Case,
		short(l.Frame), short(l.PNG), short(l.Raw), short(l.Window), short(l.Canvas), same[l.Screen], same[l.Same])
}

// held is a case that rafter-window check shows now, as its --json tells it: what it found, and how to draw the same.
type held struct {
	Case    string `json:"case"`
	Graphic string `json:"graphic"`
	Width   int    `json:"width"`
	Height  int    `json:"height"`
	Frame   string `json:"frame"` // as composed
	Window  string `json:"hash"`  // as read back
	Theme   string `json:"theme"`
	Size    string `json:"size"`
	At      string `json:"at"`
	Motion  string `json:"motion"`
	Script  string `json:"script"`
}

// hold shows one case after the other in a window, at the screen's corner, calling f while each stands. The
// window program prints a case as JSON, then a line with its title, and waits for a line.
func (d *dev) hold(x *screen.Screen, program string, f func(held) error) error {
	cmd := d.command(x.Env(), program, "check", "--json", "--hold")
	cmd.Stderr = d.say
	next, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	var c held
	for lines := bufio.NewScanner(out); err == nil && lines.Scan(); {
		if bytes.HasPrefix(lines.Bytes(), []byte("{")) {
			c = held{}
			err = json.Unmarshal(lines.Bytes(), &c)
			continue
		}
		if err = d.quietly(x.Env(), "xdotool", "search", "--name", "^rafter check$", "windowmove", "--sync", "0", "0"); err != nil {
			break
		}
		if err = f(c); err == nil {
			_, err = io.WriteString(next, "\n")
		}
	}
	next.Close()
	if ended := failed(cmd, cmd.Wait()); err == nil {
		err = ended
	}
	return err
}

// follow takes a case through the headless program's ways out, all at the same time, and reads the X server's copy of it.
func (d *dev) follow(x *screen.Screen, rafter, scratch string, c held) (link, error) {
	l := link{Case: c.Case, Frame: c.Frame, Window: c.Window}
	script, picture := filepath.Join(scratch, "case.game"), filepath.Join(scratch, "case.png")
	if err := os.WriteFile(script, []byte(c.Script), 0o666); err != nil {
		return l, err
	}
	run := func(words ...string) ([]byte, error) {
		words = append(words, "--script", script, "--theme", c.Theme, "--graphic", c.Graphic, "--size", c.Size, "--motion", c.Motion)
		out, err := d.output(nil, rafter, words...)
		return []byte(out), err
	}
	var raw pixels
	streamed := make(chan error, 1)
	go func() {
		out, err := run("raw", "--from", c.At, "--to", c.At, "--fps", "30")
		raw = premultiplied(c.Width, c.Height, out)
		streamed <- err
	}()
	var still pixels
	_, err := run("still", "--at", c.At, "-o", picture)
	if err == nil {
		var decoded *image.NRGBA
		if decoded, err = readPNG(picture); err == nil {
			still = premultiplied(decoded.Rect.Dx(), decoded.Rect.Dy(), decoded.Pix)
			l.Screen, err = stands(x, still)
		}
	}
	if err = errors.Join(err, <-streamed); err != nil {
		return l, err
	}
	l.PNG, l.Raw = still.hash(), raw.hash()
	l.Same = l.PNG == l.Frame && l.Raw == l.Frame && l.Window == l.Frame && l.Screen
	return l, nil
}

// stands tells whether the screen's corner has the picture over black. The server may be a moment behind what
// the program has handed to it, so a difference counts when it stays.
func stands(x *screen.Screen, p pixels) (bool, error) {
	want := p.overBlack()
	for end := time.Now().Add(2 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		shot, err := x.ShotOf(image.Rect(0, 0, p.w, p.h))
		if err != nil {
			return false, err
		}
		same := bytes.Equal(want, shot.RGB)
		if same || time.Now().After(end) {
			return same, nil
		}
	}
}

// readPNG decodes a PNG of 8-bit RGBA, or of 8-bit RGB, with Go's decoder, to straight alpha.
func readPNG(place string) (*image.NRGBA, error) {
	f, err := os.Open(place)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	decoded, err := png.Decode(f)
	if err != nil {
		return nil, err
	}
	switch p := decoded.(type) {
	case *image.NRGBA:
		return p, nil
	case *image.RGBA: // of a PNG without alpha, so every pixel is opaque
		return &image.NRGBA{Pix: p.Pix, Stride: p.Stride, Rect: p.Rect}, nil
	}
	return nil, fmt.Errorf("%s: %T, want 8-bit RGB or RGBA", place, decoded)
}

// pixels is a premultiplied picture.
type pixels struct {
	w, h int
	rgba []byte
}

// premultiplied converts straight alpha exactly: c·a/255 to the nearest integer; there is no tie.
func premultiplied(w, h int, straight []byte) pixels {
	p := pixels{w, h, make([]byte, len(straight))}
	for i := 0; i+3 < len(straight); i += 4 {
		a := int(straight[i+3])
		for c := range 3 {
			p.rgba[i+c] = uint8((int(straight[i+c])*a + 127) / 255)
		}
		p.rgba[i+3] = straight[i+3]
	}
	return p
}

// hash is the one that the frames use: SHA-256 of width and height as big-endian 32-bit integers, then the bytes.
func (p pixels) hash() string {
	sum := sha256.New()
	_ = binary.Write(sum, binary.BigEndian, [2]uint32{uint32(p.w), uint32(p.h)}) // a hash takes all
	sum.Write(p.rgba)
	return hex.EncodeToString(sum.Sum(nil))
}

// overBlack returns the picture's colours over black, three bytes a pixel: premultiplied, they are that already.
func (p pixels) overBlack() []byte {
	rgb := make([]byte, 0, 3*p.w*p.h)
	for i := 0; i+3 < len(p.rgba); i += 4 {
		rgb = append(rgb, p.rgba[i:i+3]...)
	}
	return rgb
}
