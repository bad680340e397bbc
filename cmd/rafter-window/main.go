// Command rafter-window is the game in a native window: the table's keys in, the picture out, the log on disk. It
// is thin: what can be settled without a display is (package launch), and all else lives in other rooms.
package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/desk"
	joined "rafter/cmd/internal/follow"
	"rafter/cmd/internal/horn"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/hosting"
	"rafter/cmd/internal/launch"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
	"rafter/cmd/internal/settings"
	"rafter/cmd/internal/source"
	"rafter/cmd/internal/windowcli"
	"rafter/overlay/graphic"
	"rafter/overlay/output/window"
	"rafter/overlay/paint"
	"rafter/overlay/toml"
)

func main() {
	os.Exit(run(launch.Asked, os.Stdin, os.Stdout, os.Stderr))
}

func run(asked windowcli.Options, in io.Reader, out, say io.Writer) int {
	if asked.Check {
		return check(asked, in, out, say)
	}
	return cli.Report(windowcli.Program, play(asked, say), say)
}

// pageSize is that of what pages show on air, in pixels.
var pageSize = image.Pt(1920, 1080)

// title is the window's, and the name of the picture's source in a capturing program.
const title = "rafter"

// play opens the game and the window and returns when the window is closed.
func play(asked windowcli.Options, say io.Writer) (err error) {
	cli.Lean()
	s, table, standing := kept(say)
	if asked.Join != "" { // the game has its pages where it is played
		s.Network.Listen = cli.Off
	}
	asked.Serving.Listen = cmp.Or(asked.Serving.Listen, s.Network.Listen, cli.Listen)
	if err := asked.Serving.Check(); err != nil {
		return cli.Wrong("see: "+windowcli.Program+" --help", "%w", err)
	}
	asked, err = asked.Or(windowcli.Kept(s.Output))
	if err != nil {
		return cli.Fail("put it right in "+settings.DefaultPath(), fmt.Errorf("settings: [output] %w", err))
	}
	fonts, bad := picture.Fonts(settings.FontsFolder())
	for _, err := range bad {
		cli.Report(windowcli.Program, cli.Fail("the picture does without it", err), say)
	}
	if fonts == nil {
		return errors.Join(bad...)
	}
	edits := follow(asked.Theme, fonts) // before it is read, so that no change is missed
	defer func() { err = errors.Join(err, edits.close()) }()
	looks, err := picture.LoadWith(asked.Theme, fonts)
	if err != nil {
		return cli.Fail("list the themes with: rafter theme list; see what is wrong in one with: rafter theme measure "+asked.Theme, err)
	}
	if err := checkGraphic(asked.Graphic); err != nil {
		return cli.Wrong("see: "+windowcli.Program+" --help", "--graphic: %w", err)
	}
	a := &app{asked: asked, say: say, fullScreen: asked.FullScreen, edits: edits, names: s.PublicNames, time: host.SystemTime()}
	a.stripped = asked.Strip == "" || asked.Strip == windowcli.Below
	if err := a.pictures(looks); err != nil {
		return cli.Fail("see: "+windowcli.Program+" --help", err)
	}
	if a.trace, err = openTrace(asked.Trace); err != nil {
		return cli.Fail("name a file that can be written with --trace", err)
	}
	if asked.Join != "" {
		if err := joined.Check(asked.Join, asked.Fingerprint); err != nil {
			return cli.Wrong("give --join and --fingerprint as the other host prints them", "%w", err)
		}
	}
	var plan source.Plan // before a log is begun
	if asked.Source != "" {
		if plan, err = source.Load(asked.Source); err != nil {
			return err
		}
	}
	closeGame, err := a.open(s.Setup())
	if errors.Is(err, errEnded) {
		return nil
	}
	if err != nil {
		return err
	}
	// What is on disk stays there whatever happens below; this adds the last beat, and says what is not.
	defer func() { err = errors.Join(err, closeGame()) }()
	a.strip.standing = standing
	shown := serve.Config{Host: a.host, Looks: a.panel.looks, Size: pageSize, Delay: asked.Serving.Delay, Reduced: asked.Motion == cli.Reduced, Names: a.names, Messages: s.Messages}
	if asked.Source != "" {
		feed := source.New(plan, a.host, a.time, func(text string) { fmt.Fprintf(say, "%s: %s\n", windowcli.Program, text) })
		shown.Counters = feed.Counters
		defer feed.Start(context.Background())()
	}
	if asked.Serving.Listen != cli.Off {
		a.begin = func() {
			a.pages.serve(hosting.Config{
				Serving: asked.Serving, Desks: access.DefaultPath(), Time: a.time, Relay: asked.Join != "",
				Bounds: serve.Bounds{PerAddress: s.Network.PerAddress, Shared: s.Network.Shared},
			}, shown, say)
		}
	}
	defer a.pages.close()
	table = table.For(a.host.Game().Setup().Rules).Labelled(labels{}.of)
	a.desk = desk.New(desk.Config{Table: table, Game: a.host, Name: "table", Graphics: graphic.Names(true), Messages: s.Messages})
	a.horn = &horn.Horn{}
	if asked.Horn || s.Horn.On {
		fmt.Fprintf(say, "%s: %s\n", windowcli.Program, horn.Caution)
		a.horn = horn.Open(s.Horn.Volume)
	}
	a.signals = ends()
	err = window.Run(window.Config{
		Title: title, Size: windowFor(asked.Size, a.below(), sides(asked.Background)), Transparent: asked.Background == windowcli.Transparent,
	}, window.Loop{Update: a.update, Shown: a.trace.shown})
	if errors.Is(err, window.ErrNone) {
		return cli.Fail("the window needs OpenGL (a software driver such as Mesa's does); without it use: rafter demo, rafter still, rafter run", err)
	}
	return err
}

// kept reads the settings. A mistake in them is told and no reason not to play: what is right in them holds.
func kept(say io.Writer) (s settings.Settings, table desk.Table, standing string) {
	path := settings.DefaultPath()
	s, err := settings.Load(path, settings.Check{Acts: desk.Names(), Keys: desk.CheckKeys, Output: outputs})
	table, errTable := desk.NewTable(s.Keys)
	if errTable != nil {
		table, _ = desk.NewTable(nil)
	}
	if err := errors.Join(err, errTable); err != nil {
		standing = "There is a mistake in the settings file " + path + ": the terminal says which"
		cli.Report(windowcli.Program, cli.Fail("the game goes on without it; put it right in "+path, err), say)
	}
	return s, table, standing
}

// outputs hold what the settings want shown against what there is.
var outputs = map[string]func(string) error{
	"theme":      func(name string) error { _, err := picture.Load(name); return err },
	"graphic":    checkGraphic,
	"size":       func(s string) error { _, err := windowcli.Options{}.Or(windowcli.Kept{Size: s}); return err },
	"background": func(s string) error { _, err := windowcli.Options{}.Or(windowcli.Kept{Background: s}); return err },
	"motion":     func(s string) error { _, err := cli.ParseMotion(s); return err },
	"listen":     cli.CheckListen,
}

// checkGraphic refuses a graphic that is not for the air, such as the strip.
func checkGraphic(name string) error {
	names := append(graphic.Names(true), picture.OnAir)
	if slices.Contains(names, name) {
		return nil
	}
	return fmt.Errorf("there is no graphic %q%s: use one of %s", name, toml.DidYouMean(name, names), strings.Join(names, ", "))
}

// pictures makes what the window shows: on air, and the strip.
func (a *app) pictures(looks *picture.Looks) (err error) {
	on := picture.Options{Graphic: a.asked.Graphic, Size: a.asked.Size, Background: background(a.asked), Reduced: a.asked.Motion == cli.Reduced}
	if a.picture, err = looks.New(on); err != nil {
		return err
	}
	a.strip = &operator{say: a.say}
	if a.asked.Strip == windowcli.Terminal {
		a.strip.terminal = a.say
	}
	n := sides(a.asked.Background)
	l := lay(windowFor(a.asked.Size, theStrip, n), theStrip, n)
	a.panel.looks = looks
	a.strip.picture, err = looks.New(picture.Options{Graphic: "strip", Size: l.strip.Size()})
	return err
}

// background is what the renderer lays under the graphic; the window's modes do the rest.
func background(o windowcli.Options) paint.Colour {
	switch o.Background {
	case windowcli.Opaque:
		return paint.Colour{A: 255}
	case windowcli.KeyColour:
		return o.KeyColour
	}
	return paint.Colour{}
}

// ends is told when the program is asked to end from outside.
func ends() <-chan os.Signal {
	c := make(chan os.Signal, 1)
	signal.Notify(c, cli.Ends()...)
	return c
}
