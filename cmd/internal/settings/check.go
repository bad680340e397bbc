package settings

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"rafter/engine"
	"rafter/engine/rules"
)

// The bounds of what a file may hold; a roster and a name longer than any real one.
const (
	maxName    = 60 // bytes
	maxShort   = 12
	maxRoster  = 60
	maxMessage = 120
	maxList    = 20

	maxPerAddress = 4096
)

// CheckName says what is wrong with a team's or player's name: at most 60 bytes on one line.
func CheckName(s string) error { return checkText(s, maxName) }

// CheckShort says what is wrong with a team's short name: at most 12 bytes on one line.
func CheckShort(s string) error { return checkText(s, maxShort) }

func checkText(s string, most int) error {
	if len(s) > most {
		return fmt.Errorf("longer than %d bytes", most)
	}
	if strings.ContainsFunc(s, unicode.IsControl) {
		return fmt.Errorf("%q holds a control character", s)
	}
	return nil
}

// CheckPlayer says why p cannot join the roster under that rule set.
func CheckPlayer(p Player, roster []Player, set rules.Set) error {
	switch {
	case !set.Legal(p.Number):
		return fmt.Errorf("%s does not allow the number %q: it allows %s", set.Name, p.Number, set.NumberList())
	case len(roster) >= maxRoster:
		return fmt.Errorf("more than %d players", maxRoster)
	case slices.ContainsFunc(roster, func(q Player) bool { return q.Number == p.Number }):
		return fmt.Errorf("%s is on the roster already", p.Number)
	case !set.BothZeros && (p.Number == "0" || p.Number == "00") &&
		slices.ContainsFunc(roster, func(q Player) bool { return q.Number == "0" || q.Number == "00" }):
		return fmt.Errorf("%s does not allow both 0 and 00 on one team", set.Name)
	}
	return CheckName(p.Name)
}

// ParseColour checks a colour like #1a2b3c and returns it.
func ParseColour(s string) (string, error) {
	var c engine.Colour
	if err := c.UnmarshalText([]byte(s)); err != nil || s == "" {
		return "", fmt.Errorf("%q is not a colour like #1a2b3c", s)
	}
	return strings.ToLower(s), nil
}
