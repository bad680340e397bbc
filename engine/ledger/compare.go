package ledger

import (
	"fmt"
	"strconv"
	"strings"

	"rafter/engine"
)

// forms is how each count of the book is written, found among ours, and asked about: the one table of them.
var forms = []form{
	{
		words:  strings.Fields("{team} score {count}"),
		about:  func(c *engine.Command) string { return c.Team.String() + " score" },
		has:    func(l *Ledger, c *engine.Command) (string, string) { return counts(l.side(c.Team).Score, c) },
		behind: func(_ *Ledger, line, c *engine.Command, e *Entry) bool { return scores(c, line.Team) },
		ask: func(c *engine.Command) string {
			return fmt.Sprintf("ask the official scorer for the running total and where it parts from ours; then: score %s = %d", c.Team, c.Count)
		},
	},
	{
		words: strings.Fields("{team} fouls {count}"), spanned: true,
		about: func(c *engine.Command) string { return c.Team.String() + " fouls" },
		has:   func(l *Ledger, c *engine.Command) (string, string) { return counts(l.side(c.Team).Fouls, c) },
		behind: func(l *Ledger, line, c *engine.Command, e *Entry) bool {
			return e.within(l.Rules.SpanOf(l.Rules.FoulSpan, l.End.Period.Number)) && (c.Do == engine.Take && c.Fouls.OK || c.Team == line.Team && c.Only != engine.PlayerOnly &&
				(c.Do == engine.Foul || c.Do == engine.FoulsSet && c.By == ""))
		},
		ask: func(c *engine.Command) string {
			return fmt.Sprintf("ask the official scorer how many team fouls %s has now, and whose; then: fouls %s = %d", c.Team, c.Team, c.Count)
		},
	},
	{
		words: strings.Fields("{team} timeouts {timeout} {count}"),
		about: func(c *engine.Command) string { return c.Team.String() + " timeouts " + c.Kind },
		has: func(l *Ledger, c *engine.Command) (string, string) {
			left := &l.side(c.Team).Timeouts
			for _, k := range left.Kinds[:left.Count] {
				if k.Kind == c.Kind {
					return counts(k.Left, c)
				}
			}
			return "none of that kind", strconv.Itoa(c.Count)
		},
		behind: func(_ *Ledger, line, c *engine.Command, _ *Entry) bool {
			return c.Do == engine.TimeoutBoth || c.Team == line.Team && (c.Do == engine.Timeout || c.Do == engine.TimeoutsSet && c.Kind == line.Kind)
		},
		ask: func(c *engine.Command) string {
			return fmt.Sprintf("ask the official scorer which timeouts %s took and when; then: timeouts %s %s = %d", c.Team, c.Team, c.Kind, c.Count)
		},
	},
	{
		words: strings.Fields("{team} {player} fouls {count}"),
		about: func(c *engine.Command) string { return fmt.Sprintf("%s %s fouls", c.Team, c.By) },
		has:   func(l *Ledger, c *engine.Command) (string, string) { return counts(l.find(c).Fouls, c) },
		behind: func(_ *Ledger, line, c *engine.Command, _ *Entry) bool {
			return (c.Do == engine.Foul || c.Do == engine.FoulsSet) && c.Team == line.Team && c.By == line.By
		},
		ask: func(c *engine.Command) string {
			return fmt.Sprintf("ask the official scorer to read out the fouls of %s %s; then: fouls %s by %s = %d", c.Team, c.By, c.Team, c.By, c.Count)
		},
	},
	{
		words: strings.Fields("{team} {player} points {count}"),
		about: func(c *engine.Command) string { return fmt.Sprintf("%s %s points", c.Team, c.By) },
		has:   func(l *Ledger, c *engine.Command) (string, string) { return counts(l.find(c).Points, c) },
		behind: func(_ *Ledger, line, c *engine.Command, _ *Entry) bool {
			return c.Do == engine.Score && c.Team == line.Team && c.By == line.By
		},
		ask: func(c *engine.Command) string {
			return fmt.Sprintf("ask the official scorer to read out the goals and throws of %s %s; then void or amend the event that is wrong", c.Team, c.By)
		},
	},
	{
		words: strings.Fields("arrow {side}"),
		about: func(*engine.Command) string { return "arrow" },
		has: func(l *Ledger, c *engine.Command) (string, string) {
			return l.End.Arrow.String(), c.Arrow.Value.String()
		},
		behind: func(_ *Ledger, _, c *engine.Command, _ *Entry) bool {
			switch c.Do {
			case engine.Control, engine.Arrow, engine.ArrowOff, engine.ArrowFlip:
				return true
			}
			return c.Do == engine.Take && c.Arrow.OK
		},
		ask: func(c *engine.Command) string {
			return fmt.Sprintf("ask the official scorer whose the next alternating possession is; then: arrow %s", c.Arrow.Value)
		},
	},
	{
		words: strings.Fields("period {period}"),
		about: func(*engine.Command) string { return "period" },
		has: func(l *Ledger, c *engine.Command) (string, string) {
			n := c.Period
			if c.Overtime {
				n += l.Rules.Periods
			}
			return PeriodName(&l.Rules, l.End.Period.Number), PeriodName(&l.Rules, n)
		},
		behind: func(_ *Ledger, _, c *engine.Command, e *Entry) bool {
			return e.Moved || c.Do == engine.PeriodNext || c.Do == engine.PeriodSet
		},
		ask: func(c *engine.Command) string {
			n := strconv.Itoa(c.Period)
			if c.Overtime {
				n = "ot" + n
			}
			return fmt.Sprintf("ask the official scorer which period it is; then: period set %s, and the clock as the referee says", n)
		},
	},
}

func scores(c *engine.Command, of engine.Team) bool {
	return c.Do == engine.Take || c.Team == of && (c.Do == engine.Score || c.Do == engine.ScoreSet)
}

func counts(ours int, c *engine.Command) (string, string) {
	return strconv.Itoa(ours), strconv.Itoa(c.Count)
}

// find returns what we have of a player; a number that we do not know has nothing.
func (l *Ledger) find(c *engine.Command) Player {
	for _, p := range l.teams[c.Team-1].players {
		if p.Number == c.By {
			return p
		}
	}
	return Player{}
}

// Compare lists where the game differs from the book, in the book's order. What the book does not list is not compared.
func (l *Ledger) Compare(b *Book) []Difference {
	var list []Difference
	for i := range b.Lines {
		line := &b.Lines[i]
		f := &forms[line.form]
		ours, book := f.has(l, &line.command)
		if ours == book {
			continue
		}
		d := Difference{About: line.about(), Ours: ours, Other: book, Of: ofBook, Line: line.Number, Events: []int{}, TakenBack: []int{}, Ask: f.ask(&line.command)}
		if f.spanned {
			first, last := l.Rules.SpanOf(l.Rules.FoulSpan, l.End.Period.Number)
			d.Period = l.spanName(first, last)
		}
		for j := range l.Entries {
			e := &l.Entries[j]
			c := &e.Command
			if e.Fate == TakenBack {
				c = &e.Event.Command
			}
			behind := c.Do != engine.NoVerb && f.behind(l, &line.command, c, e)
			d.note(e, behind, behind)
		}
		list = append(list, d)
	}
	return list
}
