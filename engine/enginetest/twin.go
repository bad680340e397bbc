package enginetest

import (
	"sort"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// Twin is the second model: it knows the rule sets by heart, keeps no anchors and no running totals beyond plain
// sums, and is slow. What it says of a game must be what the engine says.
type Twin struct {
	Score, Points     [2]int // Points: the players'
	Phase             string
	Period            int
	Clock             time.Duration
	Running           bool
	PlayerFouls       [2]map[string]int
	PlayerTechnicals  [2]map[string]int
	Out               [2]map[string]bool
	TeamFouls         [2]map[int]int // by period
	Early             [2]int
	Arrow             string
	at                clock.Instant
	book              book
	points, ejections [2]map[string]int
	minor, grave      [2]map[string]int
	history           []then
}

// then is a period in force from an instant on.
type then struct {
	from   clock.Instant
	period int
}

// Reckon works a game out from the name of its rule set and its list of events.
func Reckon(set string, events []engine.Event) *Twin {
	t := &Twin{Phase: "before", Period: 1, Arrow: "off", book: books[set]}
	t.Clock = t.book.length
	for i := range 2 {
		t.PlayerFouls[i], t.PlayerTechnicals[i], t.Out[i] = map[string]int{}, map[string]int{}, map[string]bool{}
		t.minor[i], t.grave[i] = map[string]int{}, map[string]int{}
		t.TeamFouls[i], t.points[i], t.ejections[i] = map[int]int{}, map[string]int{}, map[string]int{}
	}
	for i, e := range events {
		if !alive(events, i) {
			continue
		}
		c := e.Command
		switch c.Do {
		case engine.Undo, engine.Redo, engine.Void, engine.Amend:
			continue
		}
		if a := amended(events, i); a != nil {
			c = *a
			c.Do, c.Amended, c.Event = a.Amended, engine.NoVerb, 0
		}
		t.pass(e.At)
		was := e.At
		if e.Was.OK {
			was = e.Was.Value
		}
		t.do(&c, was)
	}
	return t
}

// alive asks whether a live event takes this one back.
func alive(events []engine.Event, i int) bool {
	for j := i + 1; j < len(events); j++ {
		switch c := events[j].Command; c.Do {
		case engine.Undo, engine.Redo, engine.Void:
			if c.Event == i+1 && alive(events, j) {
				return false
			}
		}
	}
	return true
}

func amended(events []engine.Event, i int) *engine.Command {
	for j := len(events) - 1; j > i; j-- {
		if c := &events[j].Command; c.Do == engine.Amend && c.Event == i+1 && alive(events, j) {
			return c
		}
	}
	return nil
}

// pass lets time go by.
func (t *Twin) pass(at clock.Instant) {
	if t.Running {
		t.Clock -= at.Sub(t.at)
		if t.Clock <= 0 {
			t.Clock, t.Running = 0, false
		}
	}
	t.at = at
}

// foulPeriod is the period that a foul belongs to now.
func (t *Twin) foulPeriod() int {
	if t.Phase == "interval" {
		return t.Period + 1
	}
	return t.Period
}

func (t *Twin) enter(period int, was clock.Instant) {
	if t.Phase != "before" || period != t.Period {
		t.Clock = t.book.lengthOf(period)
	}
	if period > t.book.periods && period != t.Period && !t.book.arrowGoesOn {
		t.Arrow = "off"
	}
	t.Phase, t.Period, t.Running, t.Early = "play", period, false, [2]int{}
	t.note(was)
}

func (t *Twin) note(was clock.Instant) {
	t.history = append(t.history, then{was, t.foulPeriod()})
	sort.SliceStable(t.history, func(i, j int) bool { return t.history[i].from < t.history[j].from })
}

func (t *Twin) do(c *engine.Command, was clock.Instant) {
	i := int(c.Team) - 1
	switch c.Do {
	case engine.ClockStart:
		if t.Phase != "play" {
			next := t.Period + 1
			if t.Phase == "before" {
				next = 1
			}
			t.enter(next, was)
		}
		t.Running = t.Clock > 0
	case engine.ClockStop, engine.Timeout, engine.TimeoutBoth, engine.TimeoutOfficial, engine.TimeoutMedia:
		t.Running = false
	case engine.ClockSet:
		t.Clock = c.Time.Value
		t.Running = t.Running && t.Clock > 0
	case engine.ClockNudge:
		t.Clock += c.Time.Value
		t.Running = t.Running && t.Clock > 0
	case engine.PeriodNext:
		switch {
		case t.Phase == "before":
			t.enter(1, was)
		case t.Phase == "interval":
			t.enter(t.Period+1, was)
		case t.Period >= t.book.periods && t.Score[0] != t.Score[1]:
			t.over(was)
		default:
			t.Phase, t.Running = "interval", false
			t.note(was)
		}
	case engine.PeriodSet:
		n := c.Period
		if c.Overtime {
			n += t.book.periods
		}
		t.Clock = t.book.lengthOf(n)
		t.enter(n, was)
	case engine.GameOver:
		if t.Phase != "over" {
			t.over(was)
		}
	case engine.Score:
		t.Score[i] += c.Points
		if c.By != "" {
			t.points[i][c.By] += c.Points
			t.Points[i] += c.Points
		}
	case engine.ScoreSet:
		t.Score[i] = c.Count
	case engine.Foul:
		t.foul(c, i, was)
	case engine.FoulsSet:
		t.setFouls(c, i)
	case engine.Control:
		t.Arrow = c.Team.Other().String()
	case engine.Arrow:
		t.Arrow = c.Team.String()
	case engine.ArrowOff:
		t.Arrow = "off"
	case engine.ArrowFlip:
		t.Arrow = map[string]string{"home": "away", "away": "home"}[t.Arrow]
	case engine.Take:
		n := c.Period
		if n == 0 {
			n = t.Period
		}
		if t.Phase == "before" || c.Period > 0 && (t.Phase != "play" || n != t.Period) {
			t.enter(n, was)
		}
		t.Score = c.Scores
		for k := range 2 {
			if c.Fouls.OK {
				t.TeamFouls[k][t.Period] += c.Fouls.Value[k] - t.Shown(k)
			}
		}
	}
}

func (t *Twin) over(was clock.Instant) {
	t.Phase, t.Running = "over", false
	t.note(was)
}

func (t *Twin) foul(c *engine.Command, i int, was clock.Instant) {
	period := t.foulPeriod()
	if was != t.at {
		period = 1
		for _, h := range t.history {
			if h.from <= was {
				period = h.period
			}
		}
	}
	kind := t.book.kinds["personal"]
	if c.Kind != "" {
		kind = t.book.kinds[c.Kind]
	}
	if c.Only != engine.PlayerOnly && (c.By != "coach" || t.book.coachCounts) {
		t.TeamFouls[i][period] += kind.team
		if t.Phase != "play" && t.Phase != "over" && period == t.foulPeriod() {
			t.Early[i] += kind.team
		}
	}
	if c.Only == engine.TeamOnly || c.By == "" || c.By == "coach" {
		return
	}
	t.PlayerFouls[i][c.By] += kind.player
	t.PlayerTechnicals[i][c.By] += kind.first
	t.minor[i][c.By] += kind.second
	t.grave[i][c.By] += kind.grave
	if kind.out {
		t.ejections[i][c.By]++
	}
	t.judge(i, c.By)
}

func (t *Twin) judge(i int, by string) {
	b := &t.book
	first, grave := t.PlayerTechnicals[i][by], t.grave[i][by]
	out := t.ejections[i][by] > 0
	for _, limit := range [][2]int{{t.PlayerFouls[i][by], b.fouls}, {first, b.technicals}, {first + t.minor[i][by], b.classes}, {grave, b.grave}, {first + grave, b.both}} {
		out = out || limit[1] > 0 && limit[0] >= limit[1]
	}
	t.Out[i][by] = out
}

func (t *Twin) setFouls(c *engine.Command, i int) {
	if c.By == "" {
		if t.Phase == "before" {
			t.Early[i] = 0
		}
		t.TeamFouls[i][t.Period] += c.Count - t.Shown(i)
		return
	}
	t.PlayerFouls[i][c.By] = c.Count
	for _, kept := range []map[string]int{t.PlayerTechnicals[i], t.minor[i], t.grave[i], t.ejections[i]} {
		kept[c.By] = min(kept[c.By], c.Count)
	}
	t.judge(i, c.By)
}

// Shown is a team's count as the board shows it: of the present span, the last going on through overtime.
func (t *Twin) Shown(i int) int {
	sum := 0
	for period := 1; period <= 20; period++ {
		if t.book.spanOf(period) == t.book.spanOf(t.Period) {
			sum += t.TeamFouls[i][period]
		}
	}
	if t.Phase == "before" || t.Phase == "interval" && t.book.spanOf(t.Period+1) == t.book.spanOf(t.Period) {
		sum -= t.Early[i]
	}
	return sum
}

// Differences compares the twin with what the engine shows at an instant.
func (t *Twin) Differences(v *engine.View, at clock.Instant) []string {
	t.pass(at)
	var list []string
	is := func(what string, got, want any) {
		if got != want {
			list = append(list, difference(what, got, want))
		}
	}
	phase := v.Period.Phase.String()
	if phase == "halftime" {
		phase = "interval"
	}
	is("phase", phase, t.Phase)
	is("period", v.Period.Number, t.Period)
	is("clock", v.Clock.RemainingMS, int64(t.Clock/time.Millisecond))
	is("running", v.Clock.Running, t.Running)
	is("arrow", v.Arrow.String(), t.Arrow)
	for i, team := range []*engine.TeamView{&v.Home, &v.Away} {
		is("score", team.Score, t.Score[i])
		is("team fouls", team.Fouls, t.Shown(i))
		for _, p := range team.Players {
			is("points of "+p.Number, p.Points, t.points[i][p.Number])
			is("fouls of "+p.Number, p.Fouls, t.PlayerFouls[i][p.Number])
			is("technicals of "+p.Number, p.Technicals, t.PlayerTechnicals[i][p.Number]+t.minor[i][p.Number])
			is("out "+p.Number, p.Out, t.Out[i][p.Number])
		}
	}
	return list
}
