// Package settings keeps what outlives a game: rule set, teams, rosters, colours, keys, outputs. It lives in one
// TOML file in the user's configuration folder, apart from every log, and must know nothing of a game under way.
package settings

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/netip"
	"os"
	"path/filepath"
	"slices"

	"github.com/adrg/xdg"

	"rafter/engine/public"
	"rafter/engine/rules"
	"rafter/overlay/toml"
)

// Settings is the file's content; Default returns what holds where it says nothing.
type Settings struct {
	Rules string    // the name of a published set, or a file of house rules
	House rules.Set // what that file holds; the zero value for a published set
	// Set holds the league's own values of the rule set, as `set KEY VALUE` of a script does.
	Set        []rules.Pair
	Home, Away Team
	Output     Output
	Network    Network
	Horn       Horn
	// PublicNames is how much of a player's name leaves the scorers' table: minors are numbers unless the school allows more.
	PublicNames public.Names
	Messages    []string // sent by their number, from 1
	// Keys binds acts to keys, act name → KeyboardEvent.code; what is not named keeps its default.
	Keys map[string]string
}

// Team is one team as it begins each game.
type Team struct {
	Name, Short string // Short may be empty
	Colour      string // #rrggbb
	Roster      []Player
}

// Player is one line of a roster. Number is text: 0 and 00 are two players.
type Player struct{ Number, Name string }

// Output is what the window shows unless the command line says otherwise. Empty: the program's own default.
type Output struct{ Theme, Graphic, Size, Background, Motion string }

// Network is who may reach the pages and how often. What is zero is the program's own default.
type Network struct {
	Listen     string         // an address and a port, or off
	PerAddress int            // connections from one address at once
	Shared     []netip.Prefix // addresses behind which are many, as a school's proxy: they may have all connections
}

// Horn is the horn from this computer's loudspeakers.
type Horn struct {
	On     bool
	Volume int // per cent, 0 to 100
}

// DefaultPath returns where the file of this user is.
func DefaultPath() string { return filepath.Join(xdg.ConfigHome, "rafter", "settings.toml") }

// Default returns the settings of somebody who has set nothing.
func Default() Settings {
	return Settings{Rules: "nfhs", Home: Team{Name: "HOME", Colour: "#b3262e"}, Away: Team{Name: "AWAY", Colour: "#2456a6"}, Network: Network{PerAddress: 256}, Horn: Horn{Volume: 50}}
}

// Check is what only the caller can judge: which acts there are, whether their keys go together, and what can be
// shown. Keys returns the act at fault and why; an empty act is none. Output has a check for keys of [output], and for
// listen of [network]. The zero value accepts any.
type Check struct {
	Acts   []string
	Keys   func(map[string]string) (act, why string)
	Output map[string]func(string) error
	Dir    string // where a relative name of a file of house rules starts; Load takes the file's own folder
}

// output returns the check for one key of [output], where empty is always right.
func (c Check) output(key string) func(string) error {
	return func(s string) error {
		check := c.Output[key]
		switch {
		case len(s) > maxName:
			return fmt.Errorf("longer than %d bytes", maxName)
		case s == "" || check == nil:
			return nil
		}
		return check(s)
	}
}

// Load reads the file at path. No file is the default settings and no error. With mistakes in it, the error holds
// each with its row and column (toml.Errors), and the settings are those parts that are right: a game can be
// played, and the caller says what is wrong.
func Load(path string, check Check) (Settings, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Default(), nil
	}
	if err != nil {
		return Default(), err
	}
	defer func() { _ = f.Close() }()                           // only read
	data, err := io.ReadAll(io.LimitReader(f, toml.MaxSize+1)) // one more, so that too long is seen
	if err != nil {
		return Default(), err
	}
	check.Dir = filepath.Dir(path)
	return Parse(filepath.Base(path), data, check)
}

// Parse reads the file's bytes; name stands in its messages.
func Parse(name string, data []byte, check Check) (Settings, error) {
	s := Default()
	t, err := toml.Parse(name, data)
	if err != nil {
		return s, err
	}
	s.Rules = toml.As(t, "rules", s.Rules, func(name string) (string, error) { return name, s.UseRules(name, check.Dir) })
	s.PublicNames = toml.As(t, "public_names", s.PublicNames, public.Parse)
	set := s.base()
	s.Set = putSet(t.Table("set"), &set, true)
	s.Home = readTeam(t.Table("home"), s.Home, set)
	s.Away = readTeam(t.Table("away"), s.Away, set)
	out := t.Table("output")
	shown := func(key string) string { return toml.As(out, key, "", checked(check.output(key))) }
	s.Output = Output{Theme: shown("theme"), Graphic: shown("graphic"), Size: shown("size"), Background: shown("background"), Motion: shown("motion")}
	net := t.Table("network")
	s.Network = Network{Listen: toml.As(net, "listen", "", checked(check.output("listen"))), PerAddress: net.Int("per_address", 1, maxPerAddress, s.Network.PerAddress), Shared: readShared(net)}
	horn := t.Table("horn")
	s.Horn = Horn{On: horn.Bool("on", false), Volume: horn.Int("volume", 0, 100, s.Horn.Volume)}
	s.Messages = readMessages(t)
	s.Keys = readKeys(t.Table("keys"), check)
	return s, t.Done()
}

func readTeam(t *toml.Table, fallback Team, set rules.Set) Team {
	team := Team{
		Name:   toml.As(t, "name", fallback.Name, checked(CheckName)),
		Short:  toml.As(t, "short", fallback.Short, checked(CheckShort)),
		Colour: toml.As(t, "color", fallback.Colour, ParseColour),
	}
	roster := t.Table("roster")
	for _, number := range roster.Keys() {
		p := Player{number, toml.As(roster, number, "", checked(CheckName))}
		if err := CheckPlayer(p, team.Roster, set); err != nil {
			roster.RefuseKey(number, "%v", err)
			continue
		}
		team.Roster = append(team.Roster, p)
	}
	return team
}

func checked(check func(string) error) func(string) (string, error) {
	return func(s string) (string, error) { return s, check(s) }
}

func readMessages(t *toml.Table) []string {
	list := t.Strings("messages", maxMessage)
	if len(list) > maxList {
		t.Refuse("messages", "messages: %d are more than %d", len(list), maxList)
		return nil
	}
	return list
}

func readShared(t *toml.Table) (list []netip.Prefix) {
	for i, text := range t.Strings("shared", maxName) {
		p, err := parseRange(text)
		switch {
		case err != nil:
			t.RefuseItem("shared", i, "%q is neither an address nor a range of them like 10.1.0.0/16", text)
		case len(list) == maxList:
			t.RefuseItem("shared", i, "more than %d addresses", maxList)
			return list
		default:
			list = append(list, p)
		}
	}
	return list
}

// parseRange reads an address or a range of addresses; IPv4 that is written as IPv6 is IPv4 (RFC 4291 section 2.5.5.2).
func parseRange(text string) (netip.Prefix, error) {
	a, err := netip.ParseAddr(text)
	if err == nil && a.Zone() == "" {
		return a.Unmap().Prefix(a.Unmap().BitLen())
	}
	p, err := netip.ParsePrefix(text)
	if err == nil && p.Addr().Is4In6() {
		p, err = p.Addr().Unmap().Prefix(p.Bits() - 96)
	}
	return p.Masked(), err
}

// readKeys drops a binding that cannot be, until the rest go together.
func readKeys(t *toml.Table, check Check) map[string]string {
	keys := map[string]string{}
	for _, act := range t.Keys() {
		code := t.String(act, maxName, "")
		if check.Acts != nil && !slices.Contains(check.Acts, act) {
			t.RefuseKey(act, "there is no act %q to bind%s", act, toml.DidYouMean(act, check.Acts))
			continue
		}
		if code != "" {
			keys[act] = code
		}
	}
	for check.Keys != nil {
		act, why := check.Keys(keys)
		if act == "" {
			break
		}
		t.Refuse(act, "%s", why)
		if _, bound := keys[act]; !bound {
			return map[string]string{} // cannot be repaired one by one: the defaults go together
		}
		delete(keys, act)
	}
	return keys
}
