package content

import (
	"fmt"
	"strings"
)

// Alternative is the picture in words, for whoever does not see it: a few sentences in the order in which an eye would take
// them. They change with what happens, and not with time: of a clock that runs they have no reading, which would be wrong
// before it is read out.
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
		add("Half-time, %s", c.left())
	case c.Phase == Interval:
		add("Interval, %s", c.left())
	default:
		add("%s, %s", c.Label, c.left())
	}
	switch {
	case c.Ended:
		add("The period's time has run out")
	case c.LastMinute:
		add("The last minute of the period")
	}
	if c.Phase == Interval || c.Phase == Halftime {
		switch {
		case c.Next != "" && c.FoulsClear:
			add("Next comes the %s, with team fouls from none", c.Next)
		case c.Next != "":
			add("Next comes the %s", c.Next)
		}
	}
	if c.Phase > Play && c.Periods.Begun > 1 {
		add("By period: %s %s, %s %s", home.Name, home.byPeriodText(&c.Periods), away.Name, away.byPeriodText(&c.Periods))
	}
	if c.Shot.Len() > 0 && !c.Running {
		add("Shot clock %s", c.Shot)
	}
	if t := &c.Timeout; t.On {
		words := strings.TrimSpace(strings.ToLower(t.Kind) + " timeout " + t.By)
		add("%s%s", strings.ToUpper(words[:1]), words[1:])
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
		l := &c.Lower
		add("%s: %d points, %d fouls", strings.TrimSpace(c.Teams[l.Team.Index()].Short+" "+l.Number+" "+l.Name), l.Points, l.Fouls)
	case c.Message != "":
		add("%s", c.Message)
	}
	return strings.Join(says, ". ") + "."
}

// left says what the clock does.
func (c *Content) left() string {
	if c.Running {
		return "the clock runs"
	}
	return fmt.Sprintf("%s left", c.Clock)
}

// byPeriodText writes the points made in each period: "12 10 8".
func (t *Team) byPeriodText(p *Periods) string {
	var list []string
	for _, n := range t.ByPeriod[:p.Begun] {
		list = append(list, fmt.Sprint(n))
	}
	return strings.Join(list, " ")
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
