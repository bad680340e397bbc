package content

import (
	"rafter/engine"
	"rafter/engine/rules"
)

// From says what the view shows; Air and Desk stay as they are. It allocates nothing. Of a roster beyond MaxPlayers those
// on the floor are shown, then the first.
func (c *Content) From(v *engine.View) {
	air, desk := c.Air, c.Desk
	phase := phaseOf(v.Period.Phase)
	*c = Content{
		Clock: v.Clock.Text, Running: v.Clock.Running, Label: labelOf(phase, v.Period.Label, v.Interval.OK), Phase: phase,
		Next: v.Next.Label, FoulsClear: v.Next.FoulsClear, Arrow: sideOf(v.Arrow), Lower: lowerOf(&v.Lower), Message: v.Message.Value,
		PlayerLimit: v.PlayerFoulLimit, Ended: v.PeriodEnded, LastMinute: v.LastMinute,
		Air: air, Desk: desk,
	}
	c.Periods = Periods{v.ByPeriod.Labels, v.ByPeriod.Count, v.ByPeriod.Begun}
	for i, t := range [2]*engine.TeamView{&v.Home, &v.Away} {
		c.Teams[i].from(t)
		c.Teams[i].byPeriod(&v.ByPeriod.Points[i])
	}
	if v.Interval.OK {
		c.Clock, c.Running = v.Interval.Value.Text, v.Interval.Value.Running
	}
	if c.Phase == Over && v.Winner.OK {
		c.Winner = sideOf(v.Winner.Value.Side())
	}
	if v.ShotClock.OK {
		c.Shot = v.ShotClock.Value.Text
	}
	c.Timeout = c.timeoutOf(&v.Timeout, v.Home.Timeouts.Count > 1)
	if n := len(v.Past); n > 0 {
		c.is(&v.Past[n-1], v.Home.Timeouts.Count > 1)
	}
	c.past(v)
}

// is has the content be what a glance shows: what the view is, where nothing waits; both is whether teams have
// timeouts of both kinds.
func (c *Content) is(g *engine.Glance, both bool) {
	c.Phase = phaseOf(g.Phase)
	c.Label, c.Next, c.FoulsClear = labelOf(c.Phase, g.Label, g.Timed), g.Next.Label, g.Next.FoulsClear
	c.Clock, c.Running, c.Ended, c.LastMinute = g.Clock, g.Running, g.Ended, g.LastMin
	c.Arrow, c.Lower, c.Message, c.Winner = sideOf(g.Arrow), lowerOf(&g.Lower), g.Message, sideOf(g.Winner.Side())
	c.Timeout = c.timeoutOf(&g.Timeout, both)
	if !g.Shot {
		c.Shot = Text{}
	}
	for i := range g.Teams {
		t, from := &c.Teams[i], &g.Teams[i]
		t.Score, t.Fouls, t.Bonus = from.Score, from.Fouls, throwsOf(from.Bonus)
		t.Timeouts = timeoutsOf(from)
		t.Colour = Colour{from.Colour.R, from.Colour.G, from.Colour.B}
	}
}

func timeoutsOf(c *engine.Counts) Timeouts {
	return Timeouts{c.Timeouts[rules.Full], c.Timeouts[rules.Short]}
}

func (t *Team) from(v *engine.TeamView) {
	t.Name, t.Short, t.Colour = v.Name, v.Short, Colour{v.Colour.R, v.Colour.G, v.Colour.B}
	if t.Short == "" {
		t.Short = t.Name
	}
	t.Score, t.Fouls, t.Limit, t.Bonus = v.Score, v.FoulsShown, v.FoulsLimit, throwsOf(v.Bonus)
	for _, k := range v.Timeouts.Kinds[:v.Timeouts.Count] {
		if k.Kind == "short" {
			t.Timeouts.Short += k.Left
		} else {
			t.Timeouts.Full += k.Left
		}
	}
	t.players(v.Players)
}

// players takes those that there is room for, in their order.
func (t *Team) players(list []engine.PlayerView) {
	floor := 0
	for i := range list {
		if list[i].OnFloor {
			floor++
		}
	}
	t.Floor = min(floor, MaxPlayers)
	for i := range list {
		p := &list[i]
		if p.OnFloor {
			floor--
		} else if t.Count+floor >= MaxPlayers {
			continue
		}
		if t.Count < MaxPlayers {
			t.Players[t.Count] = Player{p.Number, p.Name, p.Points, p.Fouls, p.Out, p.OnFloor}
			t.Count++
		}
	}
}

func (t *Team) byPeriod(made *[MaxPeriods]int) {
	t.ByPeriod, t.Elsewhere = *made, t.Score
	for _, n := range made {
		t.Elsewhere -= n
	}
}

// labelOf returns what is shown for a period; timed is whether a warm-up is timed.
func labelOf(phase Phase, period string, timed bool) string {
	switch {
	case phase == Before && timed:
		return "WARM-UP"
	case phase == Interval:
		return "INT"
	case phase == Halftime:
		return "HALF"
	case phase == Over:
		return "FINAL"
	}
	return period
}

// timeoutOf names the teams by c; both is whether they have timeouts of both kinds.
func (c *Content) timeoutOf(v *engine.Maybe[engine.TimeoutView], both bool) Timeout {
	if !v.OK {
		return Timeout{}
	}
	t := Timeout{On: true, Text: v.Value.Text.Value}
	switch v.Value.Team {
	case engine.HomeCaller:
		t.Team = Home
	case engine.AwayCaller:
		t.Team = Away
	case engine.BothCallers:
		t.By = "BOTH TEAMS"
	case engine.OfficialCaller:
		t.By = "OFFICIAL"
	case engine.MediaCaller:
		t.By = "MEDIA"
	}
	if t.Team == None {
		return t
	}
	t.By = c.Teams[t.Team.Index()].Short
	switch {
	case !both:
	case v.Value.Kind == "short":
		t.Kind = "SHORT"
	case v.Value.Kind == "full":
		t.Kind = "FULL"
	}
	return t
}

// lowerOf is empty for a message: it stands in Content.Message.
func lowerOf(v *engine.Maybe[engine.Lower]) Lower {
	if !v.OK || v.Value.Team == engine.Off {
		return Lower{}
	}
	return Lower{sideOf(v.Value.Team), v.Value.Number, v.Value.Name, v.Value.Points, v.Value.Fouls}
}

func phaseOf(p engine.Phase) Phase {
	switch p {
	case engine.Play:
		return Play
	case engine.Interval:
		return Interval
	case engine.Halftime:
		return Halftime
	case engine.Over:
		return Over
	}
	return Before
}

func sideOf(s engine.Side) Side {
	switch s {
	case engine.HomeSide:
		return Home
	case engine.AwaySide:
		return Away
	}
	return None
}

// throwsOf returns what a lamp can stand for; none for what only an award can be.
func throwsOf(t engine.Throws) Throws {
	switch t {
	case engine.OneAndOne:
		return OneAndOne
	case engine.Two:
		return Two
	case engine.TwoAndBall:
		return TwoAndBall
	}
	return NoThrows
}
