package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/demo"
	joined "rafter/cmd/internal/follow"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/journalfile"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/settings"
	"rafter/cmd/internal/windowcli"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/public"
	"rafter/engine/script"
)

// open opens the game that was asked for and says which it is. close closes it.
func (a *app) open(kept engine.Setup) (end func() error, err error) {
	if a.asked.Join != "" {
		return a.join()
	}
	c := host.Config{Log: a.asked.Log, Spare: os.TempDir(), Setup: kept}
	switch {
	case a.asked.Demo:
		a.player, err = newPlayer("the demo", strings.NewReader(demo.Game))
	case a.asked.Script != "":
		a.player, err = readPlayer(a.asked.Script)
	case a.asked.Log == "":
		c.Folder, err = host.DefaultFolder()
	}
	if err != nil {
		return nil, err
	}
	if a.player != nil {
		c = host.Config{Setup: a.player.setup} // in memory alone
	}
	c.Time = a.time
	var notice host.Notice
	a.host, notice, err = host.Open(c)
	if errors.Is(err, journalfile.ErrLocked) {
		return nil, cli.Fail("close the other window first, or keep this game elsewhere with --log FILE", err)
	}
	if err != nil {
		return nil, cli.Fail("keep the game elsewhere with --log FILE; nothing was changed", err)
	}
	for _, n := range a.strip.said.News([]host.Notice{notice}) {
		fmt.Fprintf(a.say, "%s: %s\n", windowcli.Program, n.Text)
	}
	return a.host.Close, nil
}

// errEnded is that the program was told to end before there was a game.
var errEnded = errors.New("ended")

// join follows the game of another host, once that answers. Its players' names are shown as it shows them.
func (a *app) join() (end func() error, err error) {
	ctx, stop := signal.NotifyContext(context.Background(), cli.Ends()...)
	defer stop()
	c := joined.Config{
		URL: a.asked.Join, Fingerprint: a.asked.Fingerprint, Time: a.time,
		Waits: func(why string) { fmt.Fprintf(a.say, "%s: waiting for the game: %s\n", windowcli.Program, why) },
		Back:  func() { fmt.Fprintf(a.say, "%s: current again: %s is heard\n", windowcli.Program, a.asked.Join) }, // the strip has told of its loss
	}
	if a.asked.Serving.Listen != cli.Off {
		c.Own, _ = cli.ParseListen(a.asked.Serving.Listen) // what is wrong with it the pages say
	}
	f, err := joined.Open(ctx, c)
	switch {
	case ctx.Err() != nil:
		return nil, errEnded
	case err != nil:
		return nil, cli.Fail("give --join the address that the other host prints as its pages'", err)
	}
	a.host, a.names = f.Host(), public.FullNames
	fmt.Fprintf(a.say, "%s: Following the game at %s.\n", windowcli.Program, a.asked.Join)
	return f.Close, nil
}

// unkept says why nothing of this game is kept; empty where it is.
func (a *app) unkept() string {
	switch {
	case a.asked.Demo:
		return "demo, not kept"
	case a.asked.Script != "":
		return "script, not kept"
	case a.asked.Join != "":
		return "joined, kept there"
	}
	return ""
}

func readPlayer(path string) (*player, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, cli.Fail("name a script with --script; --demo needs none", err)
	}
	defer func() { _ = f.Close() }() // only read
	return newPlayer(path, f)
}

// player plays a script's lines as their time comes, as a second desk at the table.
type player struct {
	setup engine.Setup
	lines []script.Line // to come
}

func newPlayer(name string, text io.Reader) (*player, error) {
	s, err := script.Watch{Check: picture.Check}.Parse(text)
	if err != nil {
		return nil, cli.Fail("see which lines pass with: rafter run --keep-going "+name, fmt.Errorf("%s: %w", name, err))
	}
	begun, err := s.Begin(settings.FindRules(filepath.Dir(name)), "")
	if err != nil {
		return nil, cli.Fail("see: rafter run "+name, fmt.Errorf("%s: %w", name, err))
	}
	return &player{setup: begun.Game().Setup(), lines: s.Lines}, nil
}

// play does every line whose time has come by at. What the game refuses is left out, as rafter run --keep-going does.
func (p *player) play(a *app, at clock.Instant) {
	for p != nil && len(p.lines) > 0 && p.lines[0].At <= at {
		l := p.lines[0]
		p.lines = p.lines[1:]
		a.desk.Did(a.host.DoWas("script", l.Command, l.Was))
	}
}
