package main

import (
	"bufio"
	"fmt"
	"image"
	"strings"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/overlay/graphic"
	"rafter/overlay/output/rawvideo"
	"rafter/overlay/output/still"
	"rafter/overlay/paint"
	"rafter/overlay/tick"
	"rafter/overlay/toml"
)

func stillCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "still", Short: "one frame of a game as a PNG picture",
		Long:    "What is drawn is one of these, or " + picture.OnAir + " for what the game has on air:\n\n" + graphics(),
		Example: "  rafter still --script game.game --at 12.4 --graphic bug -o bug.png",
		Args:    cobracli.Args(0, 0, ""),
	}
	which, look := gameFlags(c), lookFlags(c)
	at := timeFlag(c, "at")
	out := cobracli.Text(c, "out", "")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if *out == "" {
			return cli.Wrong("usage: "+c.CommandPath()+" … -o out.png", "-o is missing: the picture's file")
		}
		game, err := which.open(c, at)
		if err != nil {
			return err
		}
		p, err := look.picture(c)
		if err != nil {
			return err
		}
		var v engine.View
		game.ViewInto(&v, at.or(game.end))
		if *out == "-" { // standard output, as - is standard input elsewhere
			f, _ := p.Show(&v)
			tellMissing(c, p)
			return still.Encode(c.OutOrStdout(), f)
		}
		return write(c, still.New(*out), p, &v)
	}
	return c
}

// graphics lists those that go on air, a line each.
func graphics() string {
	var b strings.Builder
	for _, g := range graphic.All() {
		if g.OnAir {
			fmt.Fprintf(&b, "  %-9s %s\n", g.Name, g.About)
		}
	}
	return strings.TrimRight(b.String(), "\n")
}

// write puts one view out as one picture and finishes it.
func write(c *cobra.Command, file *still.File, p *picture.Picture, v *engine.View) error {
	err := file.Show(p.Show(v))
	tellMissing(c, p)
	return finish(file, err)
}

// finish makes the file of a picture that was shown, unless there was an error.
func finish(file *still.File, err error) error {
	if err == nil {
		err = file.Close()
	}
	if err != nil {
		return cli.Fail("name a file that can be written", err)
	}
	return nil
}

// look is what the flags say about a picture.
type look struct {
	theme, graphic *string
	size           *image.Point
	background     *paint.Colour
	reduced        *bool
}

func lookFlags(c *cobra.Command) look {
	return look{
		theme: cobracli.Text(c, "theme", cli.Theme), graphic: cobracli.Text(c, "graphic", picture.First),
		size: cobracli.Size(c, "1920x1080"), background: cobracli.Background(c),
		reduced: cobracli.Motion(c),
	}
}

func (l look) picture(c *cobra.Command) (*picture.Picture, error) {
	names := append(graphic.Names(true), picture.OnAir)
	if _, ok := graphic.ByName(*l.graphic); !ok && *l.graphic != picture.OnAir {
		return nil, cli.Wrong("use one of: "+join(names), "there is no graphic %q%s", *l.graphic, toml.DidYouMean(*l.graphic, names))
	}
	looks, err := loadTheme(c, *l.theme)
	if err != nil {
		return nil, err
	}
	p, err := looks.New(picture.Options{Graphic: *l.graphic, Size: *l.size, Background: *l.background, Reduced: *l.reduced})
	if err != nil {
		return nil, cli.Fail("", err)
	}
	return p, nil
}

// when is a flag that holds an instant.
type when struct {
	given bool
	at    clock.Instant
}

func (w *when) or(fallback clock.Instant) clock.Instant {
	if w.given {
		return w.at
	}
	return fallback
}

func timeFlag(c *cobra.Command, name string) *when {
	w := &when{}
	cobracli.Checked(c, name, "", func(s string) error {
		at, err := parseTime(s)
		*w = when{err == nil, at}
		return err
	})
	return w
}

func rawCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "raw", Short: "frames of a game as straight-alpha RGBA on standard output",
		Long: "Rows from the top, four bytes a pixel, no header. --to is exclusive; at least one frame is written. With --box the\n" +
			"bounding box of the graphic alone, its place as JSON on standard error.",
		Example: "  rafter raw --script game.game --from 10 --to 12 --fps 30000/1001 --box | encoder",
		Args:    cobracli.Args(0, 0, ""),
	}
	which, look := gameFlags(c), lookFlags(c)
	from, to := timeFlag(c, "from"), timeFlag(c, "to")
	rate := tick.Rate{Num: 60, Den: 1}
	cobracli.Checked(c, "fps", "60", func(s string) (err error) {
		rate, err = tick.ParseRate(s)
		return err
	})
	box := cobracli.Switch(c, "box")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if *box && *look.graphic == picture.OnAir {
			return cli.Wrong("name the graphic: --graphic bug", "--box does not go with --graphic %s: its box would change", picture.OnAir)
		}
		game, err := which.open(c, to)
		if err != nil {
			return err
		}
		first, end := from.or(0), to.or(game.end)
		if end < first {
			return cli.Wrong("", "--to is before --from")
		}
		p, err := look.picture(c)
		if err != nil {
			return err
		}
		part := image.Rectangle{}
		if *box {
			if part = p.Box(); part.Empty() {
				return cli.Wrong("leave --box out", "%s draws nothing and has no box", *look.graphic)
			}
			if err := printJSON(c.ErrOrStderr(), placeOf(part, p.Size())); err != nil {
				return err
			}
		}
		w := bufio.NewWriterSize(c.OutOrStdout(), 1<<16)
		if err := frames(rawvideo.New(w, part), p, game, span{first, end, rate}); err != nil {
			return err
		}
		tellMissing(c, p)
		return w.Flush()
	}
	return c
}

type span struct {
	from, to clock.Instant
	rate     tick.Rate
}

func frames(out *rawvideo.Stream, p *picture.Picture, game *account, s span) error {
	var v engine.View
	count := max(s.rate.Count(int64(s.to-s.from)), 1)
	for n := range count {
		game.ViewInto(&v, s.from+clock.Instant(s.rate.Start(n)))
		if err := out.Show(p.Show(&v)); err != nil {
			return err
		}
	}
	return out.Close()
}

// place is where the box lies in the frame, for who lays it over a picture.
type place struct {
	X      int `json:"x"`
	Y      int `json:"y"`
	Width  int `json:"width"`
	Height int `json:"height"`
	// FrameWidth and FrameHeight are the whole frame's size.
	FrameWidth  int `json:"frame_width"`
	FrameHeight int `json:"frame_height"`
}

func placeOf(r image.Rectangle, frame image.Point) place {
	return place{r.Min.X, r.Min.Y, r.Dx(), r.Dy(), frame.X, frame.Y}
}
