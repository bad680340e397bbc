package main

import (
	"context"
	"fmt"
	"image"
	"os/signal"
	"strings"
	"sync/atomic"
	"time"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/demo"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/hosting"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/public"
	"rafter/engine/script"
	"rafter/overlay/output/still"
)

// demoStep is how often the demo looks at its game: the tenths of the clock go by in it.
const demoStep = 100 * time.Millisecond

// demoSize is a stream's, in pixels.
var demoSize = image.Pt(1920, 1080)

func demoCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "demo", Short: "an invented game that plays itself through every state",
		Long: "A line an event on standard output; with --picture what was on air at the end, with --listen its pages meanwhile,\n" +
			"as rafter host serves them. Teams and players are invented, and no game is kept.",
		Example: "  rafter demo --seconds 20 --picture demo.png",
		Args:    cobracli.Args(0, 0, ""),
	}
	var seconds time.Duration
	cobracli.Checked(c, "seconds", "", func(s string) (err error) {
		seconds, err = cli.ParseSeconds(s)
		return err
	})
	serving := cobracli.Serving(c, "")
	file, fast := cobracli.Text(c, "picture", ""), cobracli.Switch(c, "fast")
	c.RunE = func(c *cobra.Command, _ []string) error {
		ctx, stop := signal.NotifyContext(context.Background(), cli.Ends()...)
		defer stop()
		if *fast && serving.Listen != "" {
			return cli.Wrong("leave one of them out", "--fast does not go with --listen: pages show a game as it goes")
		}
		return playDemo(c, newPace(ctx, *fast), seconds, *file, *serving)
	}
	return c
}

func playDemo(c *cobra.Command, p *pace, length time.Duration, file string, serving cli.Serving) (err error) {
	game, err := script.Parse(strings.NewReader(demo.Game))
	if err != nil {
		return err
	}
	run, err := game.Begin(script.Published, "")
	if err != nil {
		return err
	}
	h, _, err := host.Open(host.Config{Setup: run.Game().Opening(), Time: p.time})
	if err != nil {
		return err
	}
	defer func() { _ = h.Close() }() // in memory alone: there is nothing to lose
	d := &demoGame{c: c, host: h, pace: p, end: game.Last().Add(2 * time.Second)}
	if length > 0 {
		d.end = clock.Instant(length)
	}
	var looks *picture.Looks
	if file != "" || serving.Listen != "" {
		if looks, err = loadTheme(c, cli.Theme); err != nil {
			return err
		}
	}
	if serving.Listen != "" {
		site, err := hosting.Open(hosting.Config{Serving: serving, Desks: access.DefaultPath(), Time: p.time})
		if err != nil {
			return err
		}
		_, end, err := serveGame(p.ctx, c, c.ErrOrStderr(), site, hosting.Edits{}, serve.Config{Host: h, Looks: looks, Size: demoSize, Names: public.FullNames}, &host.Said{}) // nobody's names
		if err != nil {
			return err
		}
		defer func() { _ = end() }() // the demo is over either way
	}
	if file != "" {
		if d.picture, err = looks.New(picture.Options{Graphic: picture.OnAir, Size: demoSize}); err != nil {
			return err
		}
	}
	if err := d.play(game.Lines); err != nil || file == "" {
		return err
	}
	if err := write(c, still.New(file), d.picture, &d.view); err != nil {
		return err
	}
	tell(c, "the picture is %s", file)
	return nil
}

// demoGame is the demo under way, in a host as every game is.
type demoGame struct {
	c       *cobra.Command
	host    *host.Host
	pace    *pace
	picture *picture.Picture // nil: none is asked for
	end     clock.Instant
	view    engine.View
	ended   bool // the horn of this period was told
}

func (d *demoGame) play(lines []script.Line) error {
	for _, l := range lines {
		if goesOn, err := d.until(l.At); !goesOn {
			return err
		}
		ev, changed, err := d.host.DoWas("demo", l.Command, l.Was)
		if err != nil {
			return fmt.Errorf("the demo's line %d: %w", l.Number, err)
		}
		d.look()
		if changed {
			if err := d.print(script.Format(ev.Command)); err != nil {
				return err
			}
		}
	}
	_, err := d.until(d.end)
	return err
}

// until lets time pass up to an instant; false where the demo ends before.
func (d *demoGame) until(at clock.Instant) (goesOn bool, err error) {
	for {
		now := d.host.Now()
		d.look()
		if d.view.PeriodEnded != d.ended {
			if d.ended = d.view.PeriodEnded; d.ended {
				if err := d.print("(the horn)"); err != nil {
					return false, err
				}
			}
		}
		if now >= at || now >= d.end {
			return now < d.end, nil
		}
		if !d.pace.wait(min(min(at, d.end).Sub(now), demoStep)) {
			return false, nil
		}
	}
}

// look takes the view as it is now, and puts it on air.
func (d *demoGame) look() {
	d.host.ViewInto(&d.view, d.host.Now())
	if d.picture != nil {
		d.picture.Show(&d.view)
	}
}

func (d *demoGame) print(what string) error {
	v := &d.view
	seconds := time.Duration(v.At) / time.Second
	label, reading := v.Period.Label, v.Clock.Text
	switch {
	case v.Timeout.OK && v.Timeout.Value.Text.OK:
		label, reading = "TO", v.Timeout.Value.Text.Value
	case v.Interval.OK:
		label, reading = "INT", v.Interval.Value.Text
	}
	return say(d.c, "%d:%02d  %-4s %6s  %s %d  %s %d  %s\n", seconds/60, seconds%60, label, reading,
		v.Home.Short, v.Home.Score, v.Away.Short, v.Away.Score, what)
}

// pace lets time pass: the machine's own, or as fast as it goes.
type pace struct {
	ctx  context.Context
	time host.Time
	fast *atomic.Int64 // the time of a demo that does not wait; nil for one that does
}

func newPace(ctx context.Context, fast bool) *pace {
	p := &pace{ctx: ctx, time: host.SystemTime()}
	if fast {
		p.fast = &atomic.Int64{}
		p.time.Now = func() time.Duration { return time.Duration(p.fast.Load()) }
		p.time.Slept = func() time.Duration { return 0 }
	}
	return p
}

// wait returns after d, or false as soon as somebody ends the program.
func (p *pace) wait(d time.Duration) bool {
	if p.fast != nil {
		p.fast.Add(int64(d))
		return p.ctx.Err() == nil
	}
	ctx, cancel := context.WithTimeout(p.ctx, d)
	defer cancel()
	<-ctx.Done()
	return p.ctx.Err() == nil
}
