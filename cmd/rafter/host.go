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
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/demo"
	"rafter/cmd/internal/follow"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/hosting"
	"rafter/cmd/internal/journalfile"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
	"rafter/cmd/internal/settings"
	"rafter/cmd/internal/source"
	"rafter/engine/clock"
	"rafter/engine/public"
	"rafter/engine/script"
)

func hostCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "host", Short: "serve the game: what is on air as pages, the score to read, and the feed",
		Long: "Prints its addresses, and who can reach them: this computer alone unless --listen or the settings say otherwise.\n" +
			"A phone or tablet becomes a desk that commands the game by the code that is shown; Enter shows another. Players are\n" +
			"shown by number unless public_names in the settings allows more. It ends with Ctrl-C, and the game is kept.\n" +
			"Without --log, --script or --demo it goes on with the unfinished game, or begins one. With --join another host has\n" +
			"the game: this one waits for it where it must, shows what it publishes, and commands nothing.",
		Example: "  rafter host --demo\n  rafter host --log friday.jsonl --listen 0.0.0.0:28150\n  rafter host --join http://192.168.1.20:28150 --listen 0.0.0.0:28150",
		Args:    cobracli.Args(0, 0, ""),
	}
	serving := cobracli.Serving(c, cli.Listen)
	asked := hostAsked{}
	for name, at := range map[string]*string{"log": &asked.Log, "script": &asked.Script, "source": &asked.Source, "join": &asked.Join, "fingerprint": &asked.Fingerprint} {
		cobracli.Checked(c, name, "", func(s string) error { *at = s; return nil })
	}
	plays, theme, size := cobracli.Switch(c, "demo"), cobracli.Text(c, "theme", ""), cobracli.Size(c, "1920x1080")
	cobracli.Checked(c, "delay", "0", func(s string) (err error) {
		serving.Delay, err = cli.ParseDelay(s)
		return err
	})
	cobracli.Checked(c, "motion", "", func(s string) error {
		asked.motion = s
		_, err := cli.ParseMotion(s)
		return err
	})
	var length time.Duration
	cobracli.Checked(c, "seconds", "", func(s string) (err error) {
		length, err = cli.ParseSeconds(s)
		return err
	})
	c.RunE = func(c *cobra.Command, _ []string) error {
		asked.Demo, asked.serving, asked.told, asked.theme, asked.size = *plays, *serving, c.Flags().Changed("listen"), *theme, *size
		if err := asked.Game.Check(*serving); err != nil {
			return cli.Wrong("see: "+c.CommandPath()+" --help", "%w", err)
		}
		if asked.Join != "" {
			if err := follow.Check(asked.Join, asked.Fingerprint); err != nil {
				return cli.Wrong("give --join and --fingerprint as the other host prints them", "%w", err)
			}
		}
		ctx, stop := signal.NotifyContext(context.Background(), cli.Ends()...)
		defer stop()
		if length > 0 {
			ended, cancel := context.WithTimeout(ctx, length)
			defer cancel()
			ctx = ended
		}
		return runHost(ctx, c, asked)
	}
	return c
}

// hostAsked is what the flags ask of a host.
type hostAsked struct {
	cli.Game
	serving cli.Serving
	told    bool   // where to listen, by a flag
	theme   string // empty: the settings'
	motion  string // likewise
	size    image.Point
}

func runHost(ctx context.Context, c *cobra.Command, asked hostAsked) (err error) {
	cli.Lean()
	kept, err := settings.Load(settings.DefaultPath(), checkSettings())
	if err != nil {
		cli.Report(c.Root().Name(), cli.Fail("the game goes on without it; put it right in "+settings.DefaultPath(), err), c.ErrOrStderr())
	}
	name := cmp.Or(asked.theme, kept.Output.Theme, cli.Theme)
	load := func() (*picture.Looks, error) { return loadTheme(c, name) }
	edits := hosting.Follow(name, load) // before it is read, so that no change is missed
	defer func() { err = errors.Join(err, edits.Close()) }()
	looks, err := load()
	if err != nil {
		return err
	}
	var plan source.Plan // before a log is begun
	if asked.Source != "" {
		if plan, err = source.Load(asked.Source); err != nil {
			return err
		}
	}
	config, lines, err := asked.game(c)
	if err != nil {
		return err
	}
	if lines == nil {
		config.Setup = kept.Setup()
	}
	if at := kept.Network.Listen; !asked.told && at != "" && at != cli.Off { // a host without pages is none
		asked.serving.Listen = at
	}
	now := host.SystemTime()
	config.Time = now
	// The port first: where it is taken, no log is begun.
	site, err := hosting.Open(hosting.Config{
		Serving: asked.serving, Desks: access.DefaultPath(), Time: now, Relay: asked.Join != "",
		Bounds: serve.Bounds{PerAddress: kept.Network.PerAddress, Shared: kept.Network.Shared},
	})
	if err != nil {
		return err
	}
	defer func() { _ = site.Close() }() // the server closes it; this is for the returns before
	var said host.Said
	h, closeGame, err := asked.hold(ctx, c, config, site, &said)
	if err != nil || h == nil {
		return err
	}
	defer func() { err = errors.Join(err, closeGame()) }()
	if asked.Join != "" {
		kept.PublicNames = public.FullNames // as the other host shows them
	}
	shown := serve.Config{Host: h, Looks: looks, Size: asked.size, Delay: asked.serving.Delay, Names: kept.PublicNames, Messages: kept.Messages,
		Reduced: cmp.Or(asked.motion, kept.Output.Motion) == cli.Reduced}
	if asked.Source != "" {
		feed := source.New(plan, h, now, func(text string) { tell(c, "%s", text) })
		shown.Counters = feed.Counters
		defer feed.Start(ctx)()
	}
	done, end, err := serveGame(ctx, c, c.OutOrStdout(), site, edits, shown, &said)
	if err != nil {
		return err
	}
	playLines(done, c, h, lines)
	<-done.Done()
	return end()
}

// hold opens the game, or follows the host that has it, and says so; no host and no error: it was ended before there was one.
func (a hostAsked) hold(ctx context.Context, c *cobra.Command, config host.Config, site *hosting.Site, said *host.Said) (h *host.Host, end func() error, err error) {
	if a.Join != "" {
		f, err := follow.Open(ctx, follow.Config{
			URL: a.Join, Fingerprint: a.Fingerprint, Own: site.At(), Time: config.Time,
			Waits: func(why string) { tell(c, "waiting for the game: %s", why) },
			Lost:  func(why string) { tell(c, "%s; trying again", why) },
			Back:  func() { tell(c, "current again: %s is heard", a.Join) },
		})
		switch {
		case ctx.Err() != nil:
			return nil, nil, nil
		case err != nil:
			return nil, nil, cli.Fail("give --join the address that the other host prints as its pages'", err)
		}
		tell(c, "Following the game at %s.", a.Join)
		return f.Host(), f.Close, nil
	}
	h, notice, err := host.Open(config)
	if err != nil {
		hint := "keep the game elsewhere with --log FILE; nothing was changed"
		if errors.Is(err, journalfile.ErrLocked) {
			hint = "close the other program first, or keep this game elsewhere with --log FILE"
		}
		return nil, nil, cli.Fail(hint, err)
	}
	for _, n := range said.News([]host.Notice{notice}) {
		tell(c, "%s", n.Text)
	}
	return h, h.Close, nil
}

// serveGame serves a game at a site until the context ends, having written where, and says what its operator should know; said
// was said before. done ends when nothing is served any more; end waits for that, having asked for it, and returns why.
func serveGame(ctx context.Context, c *cobra.Command, out io.Writer, site *hosting.Site, edits hosting.Edits, config serve.Config, said *host.Said) (done context.Context, end func() error, err error) {
	for _, a := range site.Addresses() {
		if _, err := fmt.Fprintf(out, "%-7s %s\n", a.Name, a.URL); err != nil {
			return nil, nil, err
		}
	}
	done, cancel := context.WithCancel(ctx)
	var served error
	var all sync.WaitGroup
	all.Go(func() {
		defer cancel()
		served = site.Serve(done, config)
	})
	say := func(format string, args ...any) { tell(c, format, args...) }
	all.Go(func() { site.Attend(done, terminal(c, say)) })
	all.Go(func() { edits.Run(done, site, say) })
	all.Go(func() { report(done, config, said, say) })
	return done, func() error { cancel(); all.Wait(); return served }, nil
}

// lookEvery is how often the host's notices are looked at.
const lookEvery = 250 * time.Millisecond

// report says each of the host's notices once for as long as it stands.
func report(ctx context.Context, config serve.Config, said *host.Said, say func(string, ...any)) {
	tick := config.Time.Every(lookEvery)
	defer tick.Stop()
	for {
		for _, n := range said.News(config.Host.Notices()) {
			say("%s", n.Text)
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
	}
}

// terminal is what of this program's streams a person sees and types at.
func terminal(c *cobra.Command, say func(string, ...any)) hosting.Terminal {
	t := hosting.Terminal{Say: say}
	if cli.IsTerminal(c.ErrOrStderr()) && os.Getenv("TERM") != "dumb" {
		t.Squares = c.ErrOrStderr()
	}
	if cli.IsTerminal(c.InOrStdin()) {
		t.Typed = c.InOrStdin()
	}
	return t
}

// game says where the game is kept, and what is played in it.
func (a hostAsked) game(c *cobra.Command) (config host.Config, lines []script.Line, err error) {
	var game *script.Script
	switch {
	case a.Demo:
		game, err = script.Parse(strings.NewReader(demo.Game))
	case a.Script != "":
		if game, _, err = readScript(c, a.Script, script.Watch{}); err != nil {
			return config, nil, scriptError(a.Script, err)
		}
	default:
		config = host.Config{Log: a.Log, Spare: os.TempDir()}
		if a.Log == "" && a.Join == "" {
			config.Folder, err = host.DefaultFolder()
		}
		return config, nil, err
	}
	if err != nil {
		return config, nil, err
	}
	run, err := game.Begin(settings.FindRules(filepath.Dir(a.Script)), "")
	if err != nil {
		return config, nil, scriptError(a.Script, err)
	}
	return host.Config{Setup: run.Game().Setup()}, game.Lines, nil // in memory alone
}

// playLines does each line of a script when its time has come. What the game refuses is left out, and said.
func playLines(ctx context.Context, c *cobra.Command, h *host.Host, lines []script.Line) {
	var shift clock.Instant // what the present game's instants are behind the script's
	for _, l := range lines {
		wait, cancel := context.WithTimeout(ctx, max(l.At.Sub(h.Now()+shift), 0))
		<-wait.Done()
		cancel()
		if ctx.Err() != nil {
			return
		}
		was := l.Was
		if was.OK {
			was.Value -= shift
		}
		now := h.Now()
		if _, _, err := h.DoWas("script", l.Command, was); err != nil {
			tell(c, "line %d is left out: %v", l.Number, err)
		} else if after := h.Now(); after < now { // another game has begun
			shift += now
		}
	}
}
