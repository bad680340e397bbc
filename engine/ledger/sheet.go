package ledger

import (
	"fmt"
	"strconv"
	"strings"

	"rafter/engine"
	"rafter/engine/rules"
)

// Column is one column of a table.
type Column struct {
	Head  string
	Right bool // numbers stand right
	Wide  int  // its share of the table's width
}

// Table is a part of the sheet: rows under heads, and lines below them.
type Table struct {
	Title   string
	Columns []Column
	Rows    [][]string // as many cells as there are columns
	Notes   []string
}

// Sheet is a running score sheet: what the scorer must keep (NFHS Basketball Rules 2025-26, r 2-11: names and numbers,
// goals and throws with a running total, fouls, timeouts with who and when, the arrow), in an order of our own.
type Sheet struct {
	Title   string
	Notes   []string
	Teams   [2]Table
	Running Table
}

// Sheet makes the score sheet of the game; what was taken back is not on it.
func (l *Ledger) Sheet() *Sheet {
	v := &l.End
	s := &Sheet{
		Title: "Running score sheet",
		Notes: []string{
			fmt.Sprintf("home %s %d, away %s %d: %s", v.Home.Name, v.Home.Score, v.Away.Name, v.Away.Score, l.stand()),
			fmt.Sprintf("%d events; rules %s. The official scorebook stands above this sheet.", len(l.Entries), v.Rules),
			"arrow: " + l.arrows(),
		},
		Teams:   [2]Table{l.teamTable(engine.Home), l.teamTable(engine.Away)},
		Running: l.running(),
	}
	return s
}

// stand says where the game stands.
func (l *Ledger) stand() string {
	p := &l.End.Period
	switch p.Phase {
	case engine.Before:
		return "not begun"
	case engine.Over:
		return "over"
	case engine.Play:
		return p.Label + " " + l.End.Clock.Text.String()
	}
	return "after the " + p.Label
}

// when says when an event was true by the game clock.
func (e *Entry) when() string {
	switch e.Phase {
	case engine.Before:
		return "before the game"
	case engine.Over:
		return "after the game"
	case engine.Play:
		return e.Label + " " + e.Clock
	}
	return "after the " + e.Label
}

// arrows lists the arrow's changes.
func (l *Ledger) arrows() string {
	list, now := "", engine.Off
	for i := range l.Entries {
		if e := &l.Entries[i]; e.Arrow != now {
			now = e.Arrow
			list += fmt.Sprintf(", %s (%s)", now, e.when())
		}
	}
	if list == "" {
		return "off"
	}
	return list[2:]
}

func (l *Ledger) teamTable(of engine.Team) Table {
	v := l.side(of)
	t := Table{
		Title:   fmt.Sprintf("%s: %s", of, v.Name),
		Columns: []Column{{"no.", true, 5}, {"name", false, 26}, {"fouls", false, 31}, {"goals and throws", false, 30}, {"points", true, 8}},
	}
	starters := false
	for _, p := range l.Players(of) {
		name := p.Name
		if p.Starter {
			name, starters = strings.TrimPrefix(name+" *", " "), true
		}
		t.Rows = append(t.Rows, []string{p.Number, name, l.foulsOf(of, p.Number), l.goalsOf(of, p.Number), strconv.Itoa(p.Points)})
	}
	if goals, points := l.unnamed(of); goals != "" {
		t.Rows = append(t.Rows, []string{"", "no scorer", "", goals, strconv.Itoa(points)})
	}
	if coach := l.foulsOf(of, "coach"); coach != "" {
		t.Rows = append(t.Rows, []string{"", "coach", coach, "", ""})
	}
	if others := l.foulsOf(of, ""); others != "" {
		t.Rows = append(t.Rows, []string{"", "nobody named", others, "", ""})
	}
	if starters {
		t.Notes = append(t.Notes, "* began the game")
	}
	t.Notes = append(t.Notes, "points by period: "+l.pointsByPeriod(of), "team fouls: "+l.foulsBySpan(of), "timeouts: "+l.timeouts(of))
	return t
}

// fouls of one person, by period; kinds other than the common ones are named.
func (l *Ledger) foulsOf(of engine.Team, by string) string {
	var list []string
	for i := range l.Entries {
		e := &l.Entries[i]
		c := &e.Command
		if c.Team != of || c.By != by {
			continue
		}
		switch {
		case c.Do == engine.Foul && c.Only == engine.TeamOnly && by != "":
		case c.Do == engine.Foul:
			text := PeriodName(&l.Rules, e.FoulPeriod)
			if c.Kind != "" && c.Kind != rules.Personal.String() && c.Kind != rules.Shooting.String() && c.Kind != rules.Offensive.String() {
				text += " " + c.Kind
			}
			list = append(list, text)
		case c.Do == engine.FoulsSet && by != "":
			list = append(list, fmt.Sprintf("set to %d", c.Count))
		}
	}
	return strings.Join(list, ", ")
}

func (l *Ledger) goalsOf(of engine.Team, by string) string {
	var list []string
	for i := range l.Entries {
		if c := &l.Entries[i].Command; c.Do == engine.Score && c.Team == of && c.By == by {
			list = append(list, strconv.Itoa(c.Points))
		}
	}
	return strings.Join(list, " ")
}

// unnamed lists what changed the score and has no scorer, corrections among it.
func (l *Ledger) unnamed(of engine.Team) (goals string, points int) {
	var list []string
	for i := range l.Entries {
		e := &l.Entries[i]
		n := e.Points[of-1]
		switch {
		case n == 0 || e.Command.Do == engine.Score && e.Command.By != "":
			continue
		case e.Command.Do == engine.Score:
			list = append(list, strconv.Itoa(n))
		default:
			list = append(list, fmt.Sprintf("%+d corrected", n))
		}
		points += n
	}
	return strings.Join(list, " "), points
}

// last returns the period that the game has come to.
func (l *Ledger) last() int {
	last := l.End.Period.Number
	for i := range l.Entries {
		last = max(last, l.Entries[i].Period)
	}
	return last
}

func (l *Ledger) pointsByPeriod(of engine.Team) string {
	var list []string
	for n := 1; n <= l.last(); n++ {
		made := 0
		for i := range l.Entries {
			if e := &l.Entries[i]; e.Command.Do == engine.Score && e.Period == n {
				made += e.Points[of-1]
			}
		}
		list = append(list, fmt.Sprintf("%s %d", PeriodName(&l.Rules, n), made))
	}
	return strings.Join(list, ", ")
}

func (l *Ledger) foulsBySpan(of engine.Team) string {
	var list []string
	reached := l.last()
	for i := range l.Entries {
		if e := &l.Entries[i]; e.Fouls[of-1] != 0 { // in an interval it counts ahead
			reached = max(reached, e.FoulPeriod)
		}
	}
	for first := 1; first <= reached; {
		_, last := l.Rules.SpanOf(l.Rules.FoulSpan, first)
		t := &l.teams[of-1]
		list = append(list, fmt.Sprintf("%s %d", l.spanName(first, last), t.sum(&t.fouls, &l.Rules, first)))
		if first = last + 1; last == 0 {
			break
		}
	}
	return strings.Join(list, ", ")
}

// timeouts lists who took which timeouts when, and those left.
func (l *Ledger) timeouts(of engine.Team) string {
	var list []string
	for i := range l.Entries {
		e := &l.Entries[i]
		c := &e.Command
		if c.Do != engine.TimeoutBoth && (c.Do != engine.Timeout || c.Team != of) {
			continue
		}
		kind := "beyond the allowance"
		charged := &e.Charged[of-1]
		for _, k := range charged.Kinds[:charged.Count] {
			if k.Left > 0 {
				kind = k.Kind
			}
		}
		list = append(list, e.when()+" "+kind)
	}
	taken := "none"
	if list != nil {
		taken = strings.Join(list, ", ")
	}
	left := &l.side(of).Timeouts
	list = nil
	for _, k := range left.Kinds[:left.Count] {
		list = append(list, fmt.Sprintf("%s %d", k.Kind, k.Left))
	}
	return taken + "; left: " + strings.Join(list, ", ")
}

// running is the running score, one change a row.
func (l *Ledger) running() Table {
	t := Table{
		Title: "running score",
		Columns: []Column{{"period", false, 11}, {"clock", true, 9}, {"home by", true, 12}, {"made", true, 10}, {"home", true, 9},
			{"away", true, 9}, {"made", true, 10}, {"away by", true, 12}},
	}
	for i := range l.Entries {
		e := &l.Entries[i]
		if e.Points == [2]int{} {
			continue
		}
		row := []string{e.Label, e.Clock, "", "", strconv.Itoa(e.Score[0]), strconv.Itoa(e.Score[1]), "", ""}
		by := e.Command.By
		if e.Command.Do != engine.Score {
			by = "set"
		}
		if n := e.Points[0]; n != 0 {
			row[2], row[3] = by, fmt.Sprintf("%+d", n)
		}
		if n := e.Points[1]; n != 0 {
			row[6], row[7] = fmt.Sprintf("%+d", n), by
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
