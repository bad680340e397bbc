package main

import (
	"bufio"
	"image"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/overlay/output/rawvideo"
	"rafter/overlay/tick"
)

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
