package cli

import (
	"errors"
	"fmt"
	"strings"
)

// Game is which game is asked for, and who keeps it. The zero value asks for the user's own: the one that is unfinished, else a
// new one.
type Game struct {
	Log, Script string // files
	Demo        bool
	Source      string // a mapping file: a feed keeps the game beside the desks
	Join        string // the address of the host that has the game
	Fingerprint string // of that host's certificate
}

// Check says what of it does not go together, and what not with how it is served.
func (g Game) Check(s Serving) error {
	var named []string
	for _, f := range [...]struct {
		name  string
		given bool
	}{{"--demo", g.Demo}, {"--script", g.Script != ""}, {"--log", g.Log != ""}, {"--join", g.Join != ""}} {
		if f.given {
			named = append(named, f.name)
		}
	}
	switch {
	case len(named) > 1:
		return fmt.Errorf("%s name different games: use one of them", strings.Join(named, " and "))
	case g.Source != "" && len(named) > 0 && g.Log == "":
		return fmt.Errorf("--source does not go with %s: a game that plays itself, or elsewhere, is not kept by a feed", named[0])
	case g.Fingerprint != "" && g.Join == "":
		return errors.New("--fingerprint is that of the host that is joined: name it with --join")
	case s.TokenFile != "" && g.Join != "":
		return errors.New("--token-file does not go with --join: commands are given where the game is played")
	}
	return nil
}
