package engine

import (
	"fmt"
	"strings"
	"unicode"
)

// Names is how much of a player's name is shown to the public: school players are minors.
type Names uint8

// From the least to all of it.
const (
	NumbersOnly Names = iota // the jersey number alone
	Initials                 // A. Q.
	FullNames
)

var namesWords = [...]string{"numbers", "initials", "full"}

// String returns numbers, initials or full.
func (n Names) String() string { return word(namesWords[:], int(n)) }

// ParseNames reads numbers, initials or full.
func ParseNames(s string) (Names, error) {
	for n, w := range namesWords {
		if s == w {
			return Names(n), nil
		}
	}
	return 0, fmt.Errorf("%q says not how much of a name is shown; use one of %s", s, strings.Join(namesWords[:], ", "))
}

// Of returns what may be shown of a name.
func (n Names) Of(name string) string {
	switch n {
	case FullNames:
		return name
	case Initials:
		var b strings.Builder
		for _, part := range strings.Fields(name) {
			if b.Len() > 0 {
				b.WriteByte(' ')
			}
			for _, r := range part {
				b.WriteRune(unicode.ToUpper(r))
				break
			}
			b.WriteByte('.')
		}
		return b.String()
	}
	return ""
}

// Publish takes out of the view what the public may not see.
func (v *View) Publish(n Names) {
	for _, players := range [2][]PlayerView{v.Home.Players, v.Away.Players} {
		for i := range players {
			players[i].Name = n.Of(players[i].Name)
		}
	}
	if l := &v.Lower.Value; l.Number != "" {
		l.Name = n.Of(l.Name)
	}
}

// Published returns the setup without what the public may not see.
func (s Setup) Published(n Names) Setup {
	for _, t := range []*TeamSetup{&s.Home, &s.Away} {
		roster := make([]RosterEntry, len(t.Roster))
		for i, p := range t.Roster {
			roster[i] = RosterEntry{p.Number, n.Of(p.Name)}
		}
		t.Roster = roster
	}
	return s
}

// Published returns the command without what the public may not see: the name in a roster line.
func (c Command) Published(n Names) Command {
	if c.Do == Roster || c.Do == Amend && c.Amended == Roster {
		c.Text = n.Of(c.Text)
	}
	return c
}
