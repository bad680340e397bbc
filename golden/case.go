// Package golden keeps what the graphics look like: each case is a file that names a moment of a game and what the one
// picture of it proves. It draws cases, for the tests that compare them with the accepted frames and for the window's
// check; it must not decide that a frame may change, and no part of the program depends on it.
package golden

import (
	"embed"
	"fmt"
	"image"
	"io/fs"
	"path"
	"strings"

	"rafter/engine/clock"
	"rafter/engine/script"
	"rafter/overlay/content"
)

//go:embed cases
var files embed.FS

// Case is one picture: a game at an instant, as one graphic at one size.
type Case struct {
	Name    string // graphic/thing, after its file
	About   string // what the picture proves
	Theme   string
	Graphic string
	Size    image.Point
	At      clock.Instant
	// Moves lets motions be as far as they are at At; else the picture is the one in which nothing moves.
	Moves bool
	Air   content.Air
	// Box is where the accepted frame has its ink; empty until one is accepted.
	Box image.Rectangle

	script string
	skip   int // lines of the file before the script
}

// Cases returns all cases, sorted by name. An error names the file and what is wrong in it.
func Cases() ([]Case, error) {
	var all []Case
	err := fs.WalkDir(files, "cases", func(file string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		text, err := files.ReadFile(file)
		if err != nil {
			return err
		}
		c, err := parse(strings.TrimPrefix(file, "cases/"), string(text))
		if err != nil {
			return fmt.Errorf("%s: %w", file, err)
		}
		all = append(all, c)
		return nil
	})
	return all, err
}

// parse reads a case: comments that say what it proves, a line a setting, a blank line, and the game as a script.
func parse(file, text string) (Case, error) {
	name, ok := strings.CutSuffix(file, ".txt")
	head, game, cut := strings.Cut(text, "\n\n")
	if !ok || !cut {
		return Case{}, fmt.Errorf("want a .txt file: settings, a blank line, the script")
	}
	c := Case{Name: name, script: game, skip: strings.Count(head, "\n") + 2}
	for line := range strings.Lines(head) {
		key, value, _ := strings.Cut(strings.TrimSpace(line), " ")
		var err error
		switch key {
		case "#":
			c.About = strings.TrimSpace(c.About + " " + value)
		case "theme":
			c.Theme = value
		case "graphic":
			c.Graphic = value
		case "size":
			_, err = fmt.Sscanf(value, "%dx%d", &c.Size.X, &c.Size.Y)
		case "at":
			c.At, err = instant(value)
		case "motion":
			if c.Moves = value == "full"; !c.Moves {
				err = fmt.Errorf("want full, or no such line")
			}
		case "opened":
			c.Air.Opening = true
			c.Air.Opened, err = instant(value)
		case "closed":
			c.Air.Closing = true
			c.Air.Closed, err = instant(value)
		case "box":
			var x, y, w, h int
			_, err = fmt.Sscanf(value, "%d,%d,%d,%d", &x, &y, &w, &h)
			c.Box = image.Rect(x, y, x+w, y+h)
		default:
			err = fmt.Errorf("want theme, graphic, size, at, motion, opened, closed or box")
		}
		if err != nil {
			return Case{}, fmt.Errorf("%q: %w", strings.TrimSpace(line), err)
		}
	}
	switch {
	case c.About == "":
		return Case{}, fmt.Errorf("no comment says what the picture proves")
	case c.Graphic != path.Dir(name):
		return Case{}, fmt.Errorf("graphic %q lies in the folder of %q", c.Graphic, path.Dir(name))
	case c.Theme == "" || c.Size.X <= 0 || c.Size.Y <= 0:
		return Case{}, fmt.Errorf("theme and size are needed")
	}
	return c, nil
}

func instant(s string) (clock.Instant, error) {
	at, refused := script.ParseTime(s)
	if refused != nil {
		return 0, refused
	}
	return at, nil
}

// withBox returns a case's text with its box line set to r, as the last of the settings.
func withBox(text string, r image.Rectangle) string {
	head, game, _ := strings.Cut(text, "\n\n")
	var b strings.Builder
	for line := range strings.Lines(head) {
		if !strings.HasPrefix(line, "box ") {
			b.WriteString(strings.TrimSuffix(line, "\n") + "\n")
		}
	}
	fmt.Fprintf(&b, "box %d,%d,%d,%d\n\n%s", r.Min.X, r.Min.Y, r.Dx(), r.Dy(), game)
	return b.String()
}
