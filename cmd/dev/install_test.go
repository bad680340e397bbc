package main

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

func TestInstall(t *testing.T) {
	broken := errors.New("exit status 100")
	for _, c := range []struct {
		name    string
		absent  string // what the machine lacks
		root    bool
		fails   []error // what apt-get answers, call by call
		ran     string
		says    string
		missing string
	}{
		{name: "does_nothing_where_all_is_there", root: true},
		{name: "installs_for_root_and_says_why", absent: "xdotool", root: true, ran: "apt-get install -y --no-install-recommends xdotool\n",
			says: "missing: xdotool (types keys and moves windows) for a hand at the window\ninstalling xdotool\n"},
		{name: "fetches_the_lists_if_that_fails", absent: "xdotool", root: true, fails: []error{broken},
			ran:  "apt-get install -y --no-install-recommends xdotool\napt-get update\napt-get install -y --no-install-recommends xdotool\n",
			says: "missing: xdotool (types keys and moves windows) for a hand at the window\ninstalling xdotool\n"},
		{name: "says_that_it_failed", absent: "xdotool", root: true, fails: []error{broken, broken}, missing: "xdotool",
			ran:  "apt-get install -y --no-install-recommends xdotool\napt-get update\n",
			says: "missing: xdotool (types keys and moves windows) for a hand at the window\ninstalling xdotool\nthat failed: exit status 100\n"},
		{name: "prints_the_line_for_others", absent: "xdotool", missing: "xdotool",
			says: "missing: xdotool (types keys and moves windows) for a hand at the window\nto install them:\n  sudo apt-get install -y --no-install-recommends xdotool\n"},
		{name: "names_the_packages_elsewhere", absent: "xdotool apt-get", root: true, missing: "xdotool",
			says: "missing: xdotool (types keys and moves windows) for a hand at the window\ninstall what carries these on your system; the names above are Debian's\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var ran, says strings.Builder
			absent := strings.Fields(c.absent)
			s := &system{root: c.root,
				has: func(needs string) bool {
					for _, a := range absent {
						if a == needs {
							return false
						}
					}
					return true
				},
				run: func(name string, args ...string) error {
					fmt.Fprintln(&ran, name, strings.Join(args, " "))
					if len(c.fails) > 0 {
						err := c.fails[0]
						c.fails = c.fails[1:]
						return err
					}
					if args[0] == "install" {
						absent = nil
					}
					return nil
				},
				say: func(format string, args ...any) { fmt.Fprintf(&says, format+"\n", args...) },
			}
			missing := debianNames(s.install(keys))
			if ran.String() != c.ran || says.String() != c.says || missing != c.missing {
				t.Errorf("ran %q\nsaid %q\nmissing %q", ran.String(), says.String(), missing)
			}
		})
	}
}

func TestEveryPartSaysWhatItIsFor(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range parts {
		if p.use == "" || p.needs == "" || p.debian == "" || p.because == "" {
			t.Errorf("%+v is incomplete", p)
		}
		if seen[p.debian] {
			t.Errorf("%s is there twice", p.debian)
		}
		seen[p.debian] = true
	}
}
