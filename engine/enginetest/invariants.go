package enginetest

import (
	"encoding/json"
	"fmt"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

func difference(what string, got, want any) string {
	return fmt.Sprintf("%s is %v, the plain model says %v", what, got, want)
}

// Invariants lists what does not hold of a game at an instant: counts below zero, a clock outside its period, more
// than is allowed on the floor, a view that cannot be written.
func Invariants(g *engine.Game, at clock.Instant) []string {
	var list []string
	must := func(ok bool, format string, args ...any) {
		if !ok {
			list = append(list, fmt.Sprintf(format, args...))
		}
	}
	v := g.View(at)
	set := g.Setup().Rules
	must(v.LastEvent == len(g.Events()), "last event %d of %d", v.LastEvent, len(g.Events()))
	must(v.Clock.RemainingMS >= 0 && v.Clock.RemainingMS <= set.Length(v.Period.Number).Milliseconds(), "clock %d ms", v.Clock.RemainingMS)
	must(!v.Clock.Running || v.Period.Phase == engine.Play && v.Clock.RemainingMS >= 0 && !v.Timeout.OK, "the clock runs in %v", v.Period.Phase)
	warmup := v.Period.Phase == engine.Before && set.Warmup > 0
	must(v.Interval.OK == (warmup || v.Period.Phase == engine.Interval || v.Period.Phase == engine.Halftime), "an interval in %v", v.Period.Phase)
	must(set.Arrow || v.Arrow == engine.Off, "an arrow to %v in a set that has none", v.Arrow)
	must(set.ShotClock || !v.ShotClock.OK, "a shot clock in a set that has none")
	apart := !set.Fouls[rules.Technical2].Player // technicals of the second class are none of a player's fouls
	must(!v.Winner.OK || v.Final, "a winner before the end")
	for _, t := range []*engine.TeamView{&v.Home, &v.Away} {
		must(t.Score >= 0 && t.Score <= 999, "score %d", t.Score)
		must(t.Fouls >= 0 && t.FoulsShown >= 0 && t.FoulsShown <= t.Fouls && (set.FoulsShown == 0 || t.FoulsShown <= set.FoulsShown), "fouls %d, %d shown", t.Fouls, t.FoulsShown)
		floor := 0
		for i, p := range t.Players {
			must(p.Points >= 0 && p.Fouls >= 0 && p.Technicals >= 0 && (p.Technicals <= p.Fouls || apart && set.Fouls[rules.Technical2].Has), "player %+v", p)
			must(i == 0 || t.Players[i-1].Number != p.Number, "two players have the number %s", p.Number)
			if p.OnFloor {
				floor++
			}
		}
		must(floor <= set.Lineup, "%d on the floor", floor)
		must(t.Coach.Technicals >= 0 && t.Coach.Indirect >= 0, "coach %+v", t.Coach)
		must(t.Timeouts.Count > 0, "no kind of timeout")
		for _, k := range t.Timeouts.Kinds[:t.Timeouts.Count] {
			must(k.Left >= 0 && k.Left <= 30, "%s timeouts left %d", k.Kind, k.Left)
		}
	}
	_, err := json.Marshal(v)
	must(err == nil, "the view cannot be written: %v", err)
	return list
}
