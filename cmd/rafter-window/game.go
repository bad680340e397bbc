package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"rafter/cmd/internal/demo"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/journalfile"
	"rafter/cmd/internal/windowcli"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/script"
)

// open opens the game that was asked for and says which it is.
func (a *app) open(kept engine.Setup) (err error) {
	c := host.Config{Log: a.asked.Log, Folder: host.DefaultFolder(), Setup: kept}
	switch {
	case a.asked.Demo:
		a.player, err = newPlayer("the demo", demo.Game)
	case a.asked.Script != "":
		a.player, err = readPlayer(a.asked.Script)
	}
	if err != nil {
		return err
	}
	if a.player != nil {
		c = host.Config{Setup: a.player.setup} // in memory alone
	}
	var notice host.Notice
	a.host, notice, err = host.Open(c)
	if errors.Is(err, journalfile.ErrLocked) {
		return &failure{err, "close the other window first, or keep this game elsewhere with --log FILE"}
	}
	if err != nil {
		return &failure{err, "keep the game elsewhere with --log FILE; nothing was changed"}
	}
	fmt.Fprintf(a.say, "%s: %s\n", windowcli.Program, notice.Text)
	return nil
}

// maxScript bounds a script's file in bytes, as package script does.
const maxScript = 4 << 20

func readPlayer(path string) (*player, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, &failure{err, "name a script with --script; --demo needs none"}
	}
	if info.Size() > maxScript {
		return nil, &failure{fmt.Errorf("%s: %d bytes are too many for a script", path, info.Size()), "a script has at most 4 MiB"}
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, &failure{err, ""}
	}
	return newPlayer(path, string(text))
}

// player plays a script's lines as their time comes, as a second desk at the table.
type player struct {
	setup engine.Setup
	lines []script.Line // to come
}

func newPlayer(name, text string) (*player, error) {
	s, err := script.Parse(strings.NewReader(text))
	if err != nil {
		return nil, &failure{fmt.Errorf("%s: %w", name, err), "see which lines pass with: rafter run --keep-going " + name}
	}
	begun, err := s.Begin(script.Published, "")
	if err != nil {
		return nil, &failure{fmt.Errorf("%s: %w", name, err), "see: rafter run " + name}
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
