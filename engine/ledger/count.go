package ledger

import (
	"strings"

	"rafter/engine"
	"rafter/engine/rules"
)

// player returns the team's player of that number, made if there was none; numbers keep the order of their values.
func (t *team) player(number string) *Player {
	i := 0
	for i < len(t.players) && numberLess(t.players[i].Number, number) {
		i++
	}
	if i == len(t.players) || t.players[i].Number != number {
		t.players = append(t.players, Player{})
		copy(t.players[i+1:], t.players[i:])
		t.players[i] = Player{Number: number}
	}
	return &t.players[i]
}

// numberLess orders jersey numbers by value; 0 comes before 00.
func numberLess(a, b string) bool {
	x, y := strings.TrimLeft(a, "0"), strings.TrimLeft(b, "0")
	switch {
	case len(x) != len(y):
		return len(x) < len(y)
	case x != y:
		return x < y
	}
	return len(a) < len(b)
}

// count puts an event into the sums of its team; e has the score already.
func (r *reader) count(e *Entry, before *engine.View) {
	c := &e.Command
	if c.Do == engine.Take {
		if c.Fouls.OK {
			r.correct(e, 0, r.view.Home.Fouls)
			r.correct(e, 1, r.view.Away.Fouls)
		}
		return
	}
	if c.Team == engine.NoTeam {
		return
	}
	i := int(c.Team) - 1
	t := &r.l.teams[i]
	switch c.Do {
	case engine.Score:
		if c.By != "" {
			t.namesScorers = true
			t.player(c.By).Points += c.Points
		}
	case engine.Foul:
		r.foul(e, i, before.Period.Phase)
	case engine.FoulsSet:
		if c.By == "" {
			r.correct(e, i, c.Count)
			return
		}
		t.namesFoulers = true
		p := t.player(c.By)
		e.Named[i] = c.Count - p.Fouls
		p.Fouls = c.Count
		t.lay(e.Named[i], e.FoulPeriod)
	case engine.Roster:
		t.player(c.By).Name = c.Text
	case engine.Floor:
		for n := range strings.SplitSeq(c.Numbers, " ") {
			p := t.player(n)
			p.Starter = p.Starter || e.Phase == engine.Before
		}
	}
}

// foul counts a foul as the rule set weighs it. A coach's own and the bench's technicals count for the team alone,
// an indirect one for neither.
func (r *reader) foul(e *Entry, i int, phase engine.Phase) {
	c, t := &e.Command, &r.l.teams[i]
	kind := rules.Personal
	if c.Kind != "" {
		kind, _ = rules.KindNamed(c.Kind)
	}
	f, _ := r.rules.Foul(kind)
	if counts, ok := r.rules.Get("coach_counts"); ok && counts == "no" && c.By == "coach" {
		f.Team = 0
	}
	period := e.FoulPeriod
	if c.Only != engine.PlayerOnly {
		e.Fouls[i] = f.Team
		t.fouls[period] += f.Team
		if phase != engine.Play && period == foulPeriod(r.view.Period.Number, r.view.Period.Phase) {
			t.ahead += f.Team
		}
	}
	switch {
	case c.By == "coach", c.By == "" && f.Coach == rules.Indirect:
		e.Bench[i] = e.Fouls[i]
		t.bench[period] += e.Bench[i]
	case c.By != "":
		t.namesFoulers = true
		if c.Only == engine.TeamOnly {
			return // the player's half is keyed alone
		}
		if f.Player {
			t.player(c.By).Fouls++
		}
		e.Named[i] = f.Team
		t.named[period] += f.Team
	}
}

// correct counts a team's fouls that were set: what is shown now, of which those keyed ahead of their period are no part.
func (r *reader) correct(e *Entry, i, count int) {
	t := &r.l.teams[i]
	if e.Phase == engine.Before {
		t.ahead = 0
	}
	e.FoulPeriod = e.Period
	e.Fouls[i] = count - t.shown(&r.rules, e.Period, e.Phase)
	t.fouls[e.Period] += e.Fouls[i]
}

// shown returns the fouls in the span of a period, without those that belong to a period yet to begin.
func (t *team) shown(set *rules.Set, period int, phase engine.Phase) int {
	n := t.sum(&t.fouls, set, period)
	now, _ := set.SpanOf(set.FoulSpan, period)
	if next, _ := set.SpanOf(set.FoulSpan, foulPeriod(period, phase)); next == now {
		n -= t.ahead
	}
	return n
}

// lay counts fouls that were set for a player. When they were made is not said: they go where the team has fouls that
// lie on nobody, or too few for its players, else into the period that they were keyed in.
func (t *team) lay(n, period int) {
	step := 1
	if n < 0 {
		step = -1
	}
	for ; n != 0; n -= step {
		to := period
		for p := range t.fouls {
			if open := t.fouls[p] - t.named[p] - t.bench[p]; open*step > 0 {
				to = p
				break
			}
		}
		t.named[to] += step
	}
}

// sum adds up the counts of the span that a period belongs to.
func (t *team) sum(counts *[periods]int, set *rules.Set, period int) int {
	first, last := set.SpanOf(set.FoulSpan, period)
	if last == 0 {
		last = periods - 1
	}
	sum := 0
	for _, n := range counts[first : last+1] {
		sum += n
	}
	return sum
}

// Players lists a team's players in the order of their numbers, those taken off the roster with counts among them.
func (l *Ledger) Players(of engine.Team) []Player {
	var list []Player
	for _, p := range l.teams[of-1].players {
		if p.Points != 0 || p.Fouls != 0 || p.Starter || l.onRoster(of, p.Number) {
			list = append(list, p)
		}
	}
	return list
}

func (l *Ledger) onRoster(of engine.Team, number string) bool {
	for _, p := range l.side(of).Players {
		if p.Number == number {
			return true
		}
	}
	return false
}

func (l *Ledger) side(of engine.Team) *engine.TeamView {
	if of == engine.Home {
		return &l.End.Home
	}
	return &l.End.Away
}
