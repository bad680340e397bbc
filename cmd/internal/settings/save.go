package settings

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// Save writes s to path, folders made where they are missing. The old file is whole until the new one is: a
// temporary file beside it, synced, renamed over it, and the folder synced (POSIX.1-2024 rename, fsync).
func Save(path string, s Settings) error {
	folder := filepath.Dir(path)
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	temp, err := os.CreateTemp(folder, ".settings-*.toml")
	if err != nil {
		return err
	}
	defer os.Remove(temp.Name()) // what is left after a failure; after the rename there is none
	_, err = temp.WriteString(Format(s))
	err = cmp.Or(err, temp.Sync(), temp.Close())
	if err == nil {
		err = os.Rename(temp.Name(), path)
	}
	if err != nil {
		return err
	}
	return syncFolder(folder)
}

func syncFolder(folder string) error {
	if runtime.GOOS == "windows" { // a folder's handle cannot be synced there
		return nil
	}
	d, err := os.Open(folder)
	if err != nil {
		return err
	}
	return cmp.Or(d.Sync(), d.Close())
}

// Format writes s as the file's text, with what a reader of the file should know.
func Format(s Settings) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# rafter's settings. `rafter setup` asks for these and writes this file anew; it may be edited by hand too.")
	line("# Local rules stand above every table of ours: see `rafter rules`.")
	line("rules = %s", quoted(s.Rules))
	line("")
	line("# What of a player's name the public sees, in pages, in the feed and on air: numbers (the jersey number alone),")
	line("# initials or full. Players are minors: more than numbers only where the school allows it.")
	line("public_names = %s", quoted(s.PublicNames.String()))
	if len(s.Messages) > 0 {
		line("")
		line("# Free lines for the lower third, sent by their number.")
		line("messages = [")
		for _, m := range s.Messages {
			line("  %s,", quoted(m))
		}
		line("]")
	}
	if len(s.Set) > 0 {
		line("")
		line("# The league's own values of the rule set; `rafter rules show %s` names them all.", s.Rules)
		line("[set]")
		for _, v := range s.Set {
			line("%s = %s", v.Key, quoted(v.Value))
		}
	}
	for _, t := range [...]struct {
		name string
		team Team
	}{{"home", s.Home}, {"away", s.Away}} {
		line("")
		line("[%s]", t.name)
		line("name = %s", quoted(t.team.Name))
		line("short = %s", quoted(t.team.Short))
		line("color = %s", quoted(t.team.Colour))
		if len(t.team.Roster) > 0 {
			line("")
			line("# number = name. Leave a name empty where the school does not show names.")
			line("[%s.roster]", t.name)
		}
		for _, p := range t.team.Roster {
			line("%s = %s", p.Number, quoted(p.Name))
		}
	}
	line("")
	line("[output] # empty: the program's own")
	line("theme = %s", quoted(s.Output.Theme))
	line("graphic = %s", quoted(s.Output.Graphic))
	line("size = %s", quoted(s.Output.Size))
	line("background = %s", quoted(s.Output.Background))
	line("motion = %s # full, or reduced: nothing moves", quoted(s.Output.Motion))
	line("")
	line("# Where the pages are: an address and a port, off, or empty for this computer alone. per_address is how many connections")
	line("# one address may have; shared names those behind which are many, as a school's proxy: they may have all there are.")
	line("[network]")
	line("listen = %s", quoted(s.Network.Listen))
	line("per_address = %d", s.Network.PerAddress)
	shared := make([]string, len(s.Network.Shared))
	for i, p := range s.Network.Shared {
		shared[i] = quoted(p.String())
	}
	line("shared = [%s]", strings.Join(shared, ", "))
	line("")
	line("# Hearing: a horn through loudspeakers is loud. NIOSH allows 85 dB(A) for 8 hours, and half the time for")
	line("# each 3 dB more. Keep people away from the loudspeaker and test it short and low. Volume is per cent.")
	line("[horn]")
	line("on = %t", s.Horn.On)
	line("volume = %d", s.Horn.Volume)
	line("")
	line("# act = \"key\", keys by their place (KeyF, Semicolon, F9). Space is the clock, always.")
	line("[keys]")
	acts := make([]string, 0, len(s.Keys))
	for act := range s.Keys {
		acts = append(acts, act)
	}
	slices.Sort(acts)
	for _, act := range acts {
		line("%s = %s", keyed(act), quoted(s.Keys[act]))
	}
	return b.String()
}

// keyed writes a key, bare where it can be.
func keyed(s string) string {
	const bare = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-"
	if s != "" && strings.Trim(s, bare) == "" {
		return s
	}
	return quoted(s)
}

// quoted writes a TOML basic string.
func quoted(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < 0x20 || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
