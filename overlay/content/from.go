package content

import "rafter/engine"

// From says what the view shows; Desk stays as it is. It allocates nothing. Of a roster beyond MaxPlayers the
// first are shown.
func (c *Content) From(v *engine.View) {
	desk := c.Desk
	*c = Content{
		Clock: v.Clock.Text, Running: v.Clock.Running, Label: v.Period.Label, Phase: phaseOf(v.Period.Phase),
		Arrow: sideOf(v.Arrow), Message: v.Message.Value, PlayerLimit: v.PlayerFoulLimit, Ended: v.PeriodEnded,
		Desk: desk,
	}
	c.Teams[0].from(&v.Home)
	c.Teams[1].from(&v.Away)
	if v.Interval.OK {
		c.Clock, c.Running = v.Interval.Value.Text, v.Interval.Value.Running
	}
	switch c.Phase {
	case Before:
		if v.Interval.OK {
			c.Label = "WARM-UP"
		}
	case Interval:
		c.Label = "INT"
	case Halftime:
		c.Label = "HALF"
	case Over:
		c.Label = "FINAL"
		if v.Winner.OK {
			c.Winner = sideOf(v.Winner.Value.Side())
		}
	}
	if v.ShotClock.OK {
		c.Shot = v.ShotClock.Value.Text
	}
	if v.Timeout.OK {
		c.timeout(&v.Timeout.Value)
	}
	if l := v.Lower.Value; v.Lower.OK {
		c.lower(&l)
	}
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
	t.Count = min(len(v.Players), MaxPlayers)
	for i := range t.Count {
		p := &v.Players[i]
		t.Players[i] = Player{p.Number, p.Name, p.Points, p.Fouls, p.Out, p.OnFloor}
	}
}

func (c *Content) lower(l *engine.Lower) {
	if l.Team == engine.Off {
		return // a message: c.Message has it
	}
	c.Lower = Lower{Team: sideOf(l.Team), Number: l.Number, Name: l.Name}
}

func (c *Content) timeout(v *engine.TimeoutView) {
	c.Timeout = Timeout{On: true, Text: v.Text.Value}
	switch v.Team {
	case engine.HomeCaller:
		c.Timeout.Team, c.Timeout.By = Home, c.Teams[0].Short
	case engine.AwayCaller:
		c.Timeout.Team, c.Timeout.By = Away, c.Teams[1].Short
	case engine.BothCallers:
		c.Timeout.By = "BOTH TEAMS"
	case engine.OfficialCaller:
		c.Timeout.By = "OFFICIAL"
	case engine.MediaCaller:
		c.Timeout.By = "MEDIA"
	}
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
