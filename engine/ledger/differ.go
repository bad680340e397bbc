package ledger

import (
	"fmt"
	"strconv"
	"strings"

	"rafter/engine"
	"rafter/engine/rules"
)

// Difference is two counts that should be one. The official scorebook decides (NFHS Basketball Rules 2025-26,
// r 2-11-11); nothing is put right by itself.
type Difference struct {
	About  string `json:"about"`          // as a line of the book is written: home 12 fouls
	Period string `json:"period"`         // the span that a team's fouls belong to, else empty
	Ours   string `json:"ours"`           // what the board has
	Other  string `json:"other"`          // what the players' sum, or the book, has
	Of     string `json:"of"`             // whose that is: players or book
	Bench  int    `json:"bench"`          // of ours, what rightly lies on the coach or the bench and on no player
	Line   int    `json:"line,omitempty"` // of the book
	// Events are the numbers of the events behind ours, TakenBack of those that would be if they still stood.
	Events    []int  `json:"events"`
	TakenBack []int  `json:"taken_back"`
	Ask       string `json:"ask"` // what to ask the official scorer, and what puts the display right then
}

// listed is how many events a sentence lists, the last ones; JSON has all.
const listed = 12

// String says the difference in one line.
func (d *Difference) String() string {
	b := strings.Builder{}
	b.WriteString(d.About)
	if d.Period != "" {
		fmt.Fprintf(&b, " (%s)", d.Period)
	}
	if d.Of == ofBook {
		fmt.Fprintf(&b, ": %s here, %s in the book", d.Ours, d.Other)
	} else {
		fmt.Fprintf(&b, ": %s on the board, %s by its players", d.Ours, d.Other)
		if d.Bench > 0 {
			fmt.Fprintf(&b, " and %d by coach and bench", d.Bench)
		}
	}
	b.WriteString("; " + numbers("event", d.Events))
	if len(d.TakenBack) > 0 {
		b.WriteString("; " + numbers("taken back: event", d.TakenBack))
	}
	return b.String() + "; " + d.Ask
}

const ofBook, ofPlayers = "book", "players"

func numbers(of string, list []int) string {
	if len(list) == 0 {
		return "no " + of
	}
	if len(list) > 1 {
		of += "s"
	}
	earlier := max(0, len(list)-listed)
	for _, n := range list[earlier:] {
		of += " " + strconv.Itoa(n)
	}
	if earlier > 0 {
		of += fmt.Sprintf(" and %d earlier", earlier)
	}
	return of
}

// Sums lists where a team's own counts do not agree: the score with its scorers' points, and the fouls of each span
// with its players'. Points without a scorer are no mistake, but named. A team for which no player was ever named is not
// compared.
func (l *Ledger) Sums() []Difference {
	var list []Difference
	for _, of := range []engine.Team{engine.Home, engine.Away} {
		list = append(l.scoreSum(list, of), l.foulSums(of)...)
	}
	return list
}

func (l *Ledger) scoreSum(list []Difference, of engine.Team) []Difference {
	i := int(of) - 1
	named := 0
	for _, p := range l.teams[i].players {
		named += p.Points
	}
	score := l.side(of).Score
	if !l.teams[i].namesScorers || named == score {
		return list
	}
	d := Difference{About: of.String() + " score", Ours: strconv.Itoa(score), Other: strconv.Itoa(named), Of: ofPlayers, Events: []int{}, TakenBack: []int{},
		Ask: "ask the official scorer whose points these are; an own goal has no scorer and may stand so"}
	for _, e := range l.Entries {
		by := 0
		if e.Command.Do == engine.Score && e.Command.By != "" && e.Command.Team == of {
			by = e.Command.Points
		}
		d.note(&e, e.Points[i] != by, scores(&e.Event.Command, of))
	}
	return append(list, d)
}

// note puts the event among those behind the difference. touches says whether it does, or as it was keyed would have.
func (d *Difference) note(e *Entry, touches, keyed bool) {
	switch {
	case e.Fate == TakenBack && keyed:
		d.TakenBack = append(d.TakenBack, e.Event.Number)
	case e.Fate != TakenBack && touches:
		d.Events = append(d.Events, e.Event.Number)
	}
}

// within tells whether a foul keyed so belongs to the periods first to last; last 0: to every later one.
func (e *Entry) within(first, last int) bool {
	return e.FoulPeriod >= first && (e.FoulPeriod <= last || last == 0)
}

func (l *Ledger) foulSums(of engine.Team) []Difference {
	i := int(of) - 1
	t := &l.teams[i]
	if !t.namesFoulers {
		return nil
	}
	var list []Difference
	for first := 1; ; {
		_, last := l.Rules.SpanOf(l.Rules.FoulSpan, first)
		sum := func(counts *[periods]int) int { return t.sum(counts, &l.Rules, first) }
		if team, named, bench := sum(&t.fouls), sum(&t.named), sum(&t.bench); team != named+bench {
			d := Difference{About: of.String() + " fouls", Period: l.spanName(first, last), Ours: strconv.Itoa(team),
				Other: strconv.Itoa(named), Of: ofPlayers, Bench: bench, Events: []int{}, TakenBack: []int{}}
			for _, e := range l.Entries {
				within := e.within(first, last)
				set := e.Command.Do == engine.FoulsSet && e.Command.By != "" && e.Named[i] != 0
				c := &e.Event.Command
				d.note(&e, set || within && e.Fouls[i] != e.Named[i]+e.Bench[i], within && c.Team == of && (c.Do == engine.Foul || c.Do == engine.FoulsSet))
			}
			d.Ask = l.askFoul(of, team-named-bench, d.Events)
			list = append(list, d)
		}
		if first = last + 1; last == 0 {
			return list
		}
	}
}

// askFoul says how a difference in fouls is put right: a command given now would count in the present period, so an
// event of an earlier one is amended; a player's count that is set finds its period itself.
func (l *Ledger) askFoul(of engine.Team, open int, events []int) string {
	if open < 0 {
		return "ask the official scorer whether the foul counts for the team; then void or amend the event that is wrong"
	}
	if len(events) == 1 {
		if c := l.Entries[events[0]-1].Command; c.Do == engine.Foul && c.Only == engine.BothCounts {
			kind := ""
			if c.Kind != "" {
				kind = " " + c.Kind
			}
			return fmt.Sprintf("ask the official scorer whose foul it was; then: amend %d foul %s%s by NUMBER", events[0], of, kind)
		}
	}
	return fmt.Sprintf("ask the official scorer whose fouls these were; then, for each: fouls %s by NUMBER = COUNT", of)
}

// spanName names the periods first to last; last 0: with every overtime that was played.
func (l *Ledger) spanName(first, last int) string {
	set, end := &l.Rules, last
	if last == 0 {
		end = set.Periods
	}
	name := PeriodName(set, first)
	if end > first {
		name += " to " + PeriodName(set, end)
	}
	if last == 0 && l.last() > set.Periods {
		name += " and overtime"
	}
	return name
}

// PeriodName returns what is shown for a period: 1st, 2nd, OT, 2OT.
func PeriodName(set *rules.Set, n int) string {
	switch over := n - set.Periods; {
	case over == 1:
		return "OT"
	case over > 1:
		return strconv.Itoa(over) + "OT"
	case n > 3:
		return strconv.Itoa(n) + "th"
	}
	return [...]string{"1st", "2nd", "3rd"}[max(n, 1)-1]
}
