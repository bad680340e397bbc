package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"net"
	"net/netip"
	"os"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/demo"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/journalfile"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
	"rafter/cmd/internal/settings"
	"rafter/engine/clock"
	"rafter/engine/script"
)

// defaultListen is this computer alone.
const defaultListen = "127.0.0.1:28150"

func hostCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "host", Short: "serve the game: what is on air as pages, the score to read, and the feed",
		Long: "Prints its addresses, and who can reach them: this computer alone unless --listen says otherwise. Players are\n" +
			"shown by number unless public_names in the settings allows more. It ends with Ctrl-C, and the game is kept.\n" +
			"Without --log, --script or --demo it goes on with the unfinished game, or begins one.",
		Example: "  rafter host --demo\n  rafter host --log friday.jsonl --listen 0.0.0.0:28150",
		Args:    cobracli.Args(0, 0, ""),
	}
	var at netip.AddrPort
	cobracli.Checked(c, "listen", defaultListen, func(s string) (err error) {
		at, err = parseListen(s)
		return err
	})
	at, _ = parseListen(defaultListen)
	log, file, plays := cobracli.Text(c, "log", ""), cobracli.Text(c, "script", ""), cobracli.Switch(c, "demo")
	theme, size := cobracli.Text(c, "theme", ""), cobracli.Size(c, "1920x1080")
	var delay, length time.Duration
	cobracli.Checked(c, "delay", "0", func(s string) (err error) {
		delay, err = parseDelay(s)
		return err
	})
	cobracli.Checked(c, "seconds", "", func(s string) (err error) {
		length, err = cli.ParseSeconds(s)
		return err
	})
	c.RunE = func(c *cobra.Command, _ []string) error {
		named := 0
		for _, given := range []bool{*log != "", *file != "", *plays} {
			if given {
				named++
			}
		}
		if named > 1 {
			return cli.Wrong("name one of --log, --script and --demo, or none", "a host holds one game")
		}
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
		defer stop()
		if length > 0 {
			ended, cancel := context.WithTimeout(ctx, length)
			defer cancel()
			ctx = ended
		}
		return runHost(ctx, c, hosting{at: at, log: *log, script: *file, demo: *plays, theme: *theme, size: *size, delay: delay})
	}
	return c
}

// hosting is what the flags ask of a host.
type hosting struct {
	at          netip.AddrPort
	log, script string
	demo        bool
	theme       string // empty: the settings'
	size        image.Point
	delay       time.Duration
}

func parseListen(s string) (netip.AddrPort, error) {
	at, err := netip.ParseAddrPort(strings.Replace(s, "localhost:", "127.0.0.1:", 1))
	if err != nil {
		return at, fmt.Errorf("%q is not an address and a port like %s; 0.0.0.0:28150 is all of this computer's", s, defaultListen)
	}
	return at, nil
}

func parseDelay(s string) (time.Duration, error) {
	n, err := strconv.Atoi(s)
	if err != nil || n < 0 || time.Duration(n)*time.Millisecond > serve.MaxDelay {
		return 0, fmt.Errorf("%q is not a number of milliseconds from 0 to %d", s, serve.MaxDelay/time.Millisecond)
	}
	return time.Duration(n) * time.Millisecond, nil
}

func runHost(ctx context.Context, c *cobra.Command, asked hosting) (err error) {
	kept, err := settings.Load(settings.DefaultPath(), checkSettings())
	if err != nil {
		cli.Report(c.Root().Name(), cli.Fail("the game goes on without it; put it right in "+settings.DefaultPath(), err), c.ErrOrStderr())
	}
	looks, err := loadTheme(c, cmp.Or(asked.theme, kept.Output.Theme, cli.Theme))
	if err != nil {
		return err
	}
	config, lines, err := asked.game(c)
	if err != nil {
		return err
	}
	if lines == nil {
		config.Setup = kept.Setup()
	}
	now := host.SystemTime()
	config.Time = now
	// The port first: where it is taken, no log is begun.
	l, err := listen(asked.at)
	if err != nil {
		return err
	}
	defer func() { _ = l.Close() }() // the server closes it; this is for the returns before
	h, notice, err := host.Open(config)
	if err != nil {
		hint := "keep the game elsewhere with --log FILE; nothing was changed"
		if errors.Is(err, journalfile.ErrLocked) {
			hint = "close the other program first, or keep this game elsewhere with --log FILE"
		}
		return cli.Fail(hint, err)
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	tell(c, "%s", notice.Text)
	done, end, err := serveGame(ctx, c, c.OutOrStdout(), l, serve.Config{Host: h, Time: now, Looks: looks, Size: asked.size, Delay: asked.delay, Names: kept.PublicNames})
	if err != nil {
		return err
	}
	playLines(done, c, h, lines)
	<-done.Done()
	return end()
}

// serveGame serves a game on a listener until the context ends, having written where. done ends when nothing is served any
// more; end waits for that, having asked for it, and returns why.
func serveGame(ctx context.Context, c *cobra.Command, out io.Writer, l net.Listener, config serve.Config) (done context.Context, end func() error, err error) {
	config.Program = "rafter " + cli.Version()
	s, err := serve.New(config)
	if err == nil {
		err = printAddresses(c, out, l.Addr())
	}
	if err != nil {
		_ = l.Close() // nobody was served
		return nil, nil, err
	}
	done, cancel := context.WithCancel(ctx)
	served := make(chan error, 1)
	go func() {
		defer cancel()
		served <- s.Serve(done, l)
	}()
	return done, func() error { cancel(); return <-served }, nil
}

// listen takes a port.
func listen(at netip.AddrPort) (net.Listener, error) {
	l, err := net.Listen("tcp", at.String())
	if err != nil {
		return nil, cli.Fail("another program has it, or it is not this computer's: name another with --listen", err)
	}
	return l, nil
}

// game says where the game is kept, and what is played in it.
func (a hosting) game(c *cobra.Command) (config host.Config, lines []script.Line, err error) {
	var game *script.Script
	switch {
	case a.demo:
		game, err = script.Parse(strings.NewReader(demo.Game))
	case a.script != "":
		if game, _, err = readScript(c, a.script, script.Watch{}); err != nil {
			return config, nil, scriptError(a.script, err)
		}
	default:
		return host.Config{Log: a.log, Folder: host.DefaultFolder(), Spare: os.TempDir()}, nil, nil
	}
	if err != nil {
		return config, nil, err
	}
	run, err := game.Begin(settings.FindRules(filepath.Dir(a.script)), "")
	if err != nil {
		return config, nil, scriptError(a.script, err)
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

// printAddresses lists where the host is, and says who can reach it.
func printAddresses(c *cobra.Command, out io.Writer, l net.Addr) error {
	at, err := netip.ParseAddrPort(l.String())
	if err != nil {
		return err
	}
	at = netip.AddrPortFrom(at.Addr().Unmap(), at.Port())
	list := []netip.Addr{at.Addr()}
	switch {
	case at.Addr().IsLoopback():
		tell(c, "only this computer can reach these pages; others can with: --listen 0.0.0.0:%d", at.Port())
	case at.Addr().IsUnspecified():
		list = ownAddresses(at.Addr().Is4())
		fallthrough
	default:
		tell(c, "everybody on the networks that this computer is on can see these pages; nobody can change the game through them")
		tell(c, "show players by number unless the school allows names, and stream only what school and league allow")
	}
	for _, a := range list {
		base := netip.AddrPortFrom(a, at.Port())
		for _, row := range [...]struct{ name, address string }{
			{"pages", fmt.Sprintf("http://%s/", base)},
			{"on-air", fmt.Sprintf("http://%s/onair/%s", base, picture.OnAir)},
			{"scores", fmt.Sprintf("http://%s/scores", base)},
			{"feed", fmt.Sprintf("ws://%s/feed", base)},
		} {
			if _, err := fmt.Fprintf(out, "%-6s %s\n", row.name, row.address); err != nil {
				return err
			}
		}
	}
	return nil
}

// ownAddresses lists this computer's, loopback first; what is for the own wire alone is left out.
func ownAddresses(only4 bool) (list []netip.Addr) {
	found, _ := net.InterfaceAddrs() // none where the system does not tell
	for _, f := range found {
		p, err := netip.ParsePrefix(f.String())
		if err != nil || p.Addr().IsLinkLocalUnicast() || only4 && !p.Addr().Is4() {
			continue
		}
		list = append(list, p.Addr())
	}
	return list
}
