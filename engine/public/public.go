// Package public takes out of a game what the public may not see: school players are minors, and are shown by their
// numbers unless the school allows more. It must not be asked whether it may.
package public

import (
	"fmt"
	"strings"
	"unicode"

	"rafter/engine"
)

// Names is how much of a player's name is shown.
type Names uint8

// From the least to all of it.
const (
	Numbers  Names = iota // the jersey number alone
	Initials              // A. Q.
	FullNames
)

var namesWords = [...]string{"numbers", "initials", "full"}

// String returns numbers, initials or full.
func (n Names) String() string { return namesWords[min(n, FullNames)] }

// Parse reads numbers, initials or full.
func Parse(s string) (Names, error) {
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

// View takes the names out of v.
func (n Names) View(v *engine.View) {
	for _, players := range [2][]engine.PlayerView{v.Home.Players, v.Away.Players} {
		for i := range players {
			players[i].Name = n.Of(players[i].Name)
		}
	}
	n.lower(&v.Lower.Value)
	for i := range v.Past {
		n.lower(&v.Past[i].Lower.Value)
	}
}

// lower takes the name out of a player's lower third; a free line stays as the operator wrote it.
func (n Names) lower(l *engine.Lower) {
	if l.Number != "" {
		l.Name = n.Of(l.Name)
	}
}

// Setup returns s without the names.
func (n Names) Setup(s engine.Setup) engine.Setup {
	for _, t := range []*engine.TeamSetup{&s.Home, &s.Away} {
		roster := make([]engine.RosterEntry, len(t.Roster))
		for i, p := range t.Roster {
			roster[i] = engine.RosterEntry{Number: p.Number, Name: n.Of(p.Name)}
		}
		t.Roster = roster
	}
	return s
}

// Command returns c without the name of a roster line.
func (n Names) Command(c engine.Command) engine.Command {
	if c.Do == engine.Roster || c.Do == engine.Amend && c.Amended == engine.Roster {
		c.Text = n.Of(c.Text)
	}
	return c
}
