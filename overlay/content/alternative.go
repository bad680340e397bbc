package content

import (
	"fmt"
	"strings"
)

// Alternative is the picture in words, for whoever does not see it: a few sentences in the order in which an
// eye would take them.
func (c *Content) Alternative() string {
	home, away := &c.Teams[0], &c.Teams[1]
	says := []string{fmt.Sprintf("%s %d, %s %d", home.Name, home.Score, away.Name, away.Score)}
	add := func(format string, args ...any) { says = append(says, fmt.Sprintf(format, args...)) }
	switch {
	case c.Phase == Over && c.Winner != None:
		add("Final: %s won", c.Teams[c.Winner.Index()].Name)
	case c.Phase == Over:
		add("Final")
	case c.Phase == Halftime:
		add("Half-time, %s left", c.Clock)
	case c.Phase == Interval:
		add("Interval, %s left", c.Clock)
	default:
		add("%s, %s left", c.Label, c.Clock)
	}
	if c.Ended {
		add("The period's time has run out")
	}
	if c.Shot.Len() > 0 {
		add("Shot clock %s", c.Shot)
	}
	if t := &c.Timeout; t.On && t.Text.Len() > 0 {
		add("Timeout %s, %s left", t.By, t.Text)
	} else if t.On {
		add("Timeout %s", t.By)
	}
	add("Team fouls: %s %d, %s %d", home.Name, home.Fouls, away.Name, away.Fouls)
	for i := range c.Teams {
		if t := &c.Teams[i]; t.Bonus != NoThrows && c.Phase != Over {
			add("%s shoots the bonus: %s", t.Name, [...]string{"", "one and one", "two throws", "two throws and the ball"}[t.Bonus])
		}
	}
	add("Timeouts left: %s %s, %s %s", home.Name, home.Timeouts, away.Name, away.Timeouts)
	if c.Arrow != None {
		add("Possession arrow: %s", c.Teams[c.Arrow.Index()].Name)
	}
	switch {
	case !c.Lower.Empty():
		add("%s", strings.TrimSpace(c.Lower.Number+" "+c.Lower.Name))
	case c.Message != "":
		add("%s", c.Message)
	}
	return strings.Join(says, ". ") + "."
}

// String writes the timeouts as "2 full and 1 short".
func (t Timeouts) String() string {
	switch {
	case t.Short == 0:
		return fmt.Sprintf("%d full", t.Full)
	case t.Full == 0:
		return fmt.Sprintf("%d short", t.Short)
	}
	return fmt.Sprintf("%d full and %d short", t.Full, t.Short)
}
