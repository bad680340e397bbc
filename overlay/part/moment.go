package part

import (
	"rafter/overlay/content"
	"rafter/overlay/theme"
)

// millisecond is one, in a game's instants.
const millisecond content.Instant = 1_000_000

// moment is what there was to say just before something changed.
type moment struct {
	at   content.Instant // of the change
	shot bool            // there was a shot clock
	said content.Content
}

// maxMoments bounds the changes that motions are still shown for; earlier ones stand still.
const maxMoments = 6

// moments are the latest changes, the last first.
type moments struct {
	list  [maxMoments]moment
	count int
}

// find looks for changes from which a motion may still be on at an instant, and says what there was before each. It
// returns the instant until which a change to come can be seen.
func (m *moments) find(c *content.Content, at content.Instant) (still content.Instant) {
	m.count = 0
	p := &c.Past
	note := func(changed bool, when content.Instant) {
		switch {
		case changed && when > at: // known before it is seen
			still = max(still, when+theme.MaxMotion*millisecond)
		case changed && at-when < theme.MaxMotion*millisecond:
			m.add(when)
		}
	}
	note(p.Phase.Changed, p.Phase.At)
	note(p.Label.Changed, p.Label.At)
	note(p.Running.Changed, p.Running.At)
	note(p.Ended.Changed, p.Ended.At)
	note(p.LastMin.Changed, p.LastMin.At)
	note(p.Shot.Changed, p.Shot.At)
	note(p.Arrow.Changed, p.Arrow.At)
	note(p.Timeout.Changed, p.Timeout.At)
	note(p.Lower.Changed, p.Lower.At)
	note(p.Message.Changed, p.Message.At)
	note(p.Winner.Changed, p.Winner.At)
	for i := range c.Teams {
		note(p.Score[i].Changed, p.Score[i].At)
		note(p.Fouls[i].Changed, p.Fouls[i].At)
		note(p.Bonus[i].Changed, p.Bonus[i].At)
		note(p.Timeouts[i].Changed, p.Timeouts[i].At)
	}
	note(c.Air.Closing, c.Air.Closed)
	for i := range m.count {
		m.list[i].before(c)
	}
	return still
}

// add puts an instant in its place, the latest first.
func (m *moments) add(at content.Instant) {
	i := 0
	for i < m.count && m.list[i].at > at {
		i++
	}
	if i == maxMoments || i < m.count && m.list[i].at == at {
		return
	}
	m.count = min(m.count+1, maxMoments)
	for j := m.count - 1; j > i; j-- {
		m.list[j].at = m.list[j-1].at
	}
	m.list[i].at = at
}

// at returns what there was before the change at an instant; nil if it is not among those kept.
func (m *moments) before(at content.Instant) *moment {
	for i := range m.count {
		if m.list[i].at == at {
			return &m.list[i]
		}
	}
	return nil
}

// before makes what was said just before the moment out of what is said now.
func (m *moment) before(c *content.Content) {
	p, t := &c.Past, m.at
	m.said = *c
	s := &m.said
	back(&s.Phase, &p.Phase, t)
	back(&s.Label, &p.Label, t)
	back(&s.Clock, &p.Clock, t)
	back(&s.Next, &p.Next, t)
	back(&s.FoulsClear, &p.FoulsClear, t)
	back(&s.Clock, &p.Clock, t)
	back(&s.Next, &p.Next, t)
	back(&s.FoulsClear, &p.FoulsClear, t)
	back(&s.Running, &p.Running, t)
	back(&s.Ended, &p.Ended, t)
	back(&s.LastMinute, &p.LastMin, t)
	back(&s.Arrow, &p.Arrow, t)
	back(&s.Timeout, &p.Timeout, t)
	back(&s.Lower, &p.Lower, t)
	back(&s.Message, &p.Message, t)
	back(&s.Winner, &p.Winner, t)
	m.shot = c.Shot.Len() > 0
	back(&m.shot, &p.Shot, t)
	if !m.shot {
		s.Shot = content.Text{}
	}
	for i := range s.Teams {
		back(&s.Teams[i].Score, &p.Score[i], t)
		back(&s.Teams[i].Fouls, &p.Fouls[i], t)
		back(&s.Teams[i].Bonus, &p.Bonus[i], t)
		back(&s.Teams[i].Timeouts, &p.Timeouts[i], t)
	}
}

// back puts v back to what it was if it has changed since just before t.
func back[T comparable](v *T, was *content.Was[T], t content.Instant) {
	if was.Changed && was.At >= t {
		*v = was.Value
	}
}

// changed tells when what a field says last changed, and when before that; ok is false where it did not lately.
type changed struct {
	at, before content.Instant
	ok         bool
}

func change[T comparable](w *content.Was[T]) changed { return changed{w.At, w.Before, w.Changed} }

// later returns the later of two changes.
func later(a, b changed) changed {
	if !a.ok || b.ok && b.at > a.at {
		return b
	}
	return a
}

// lastChange returns the last change of what a part says or counts of a team.
func lastChange(t *theme.Part, c *content.Content, side content.Side) changed {
	p, i := &c.Past, side.Index()
	switch t.Content {
	case theme.Says:
		if t.Field >= theme.TeamName && side == content.None {
			return changed{}
		}
		switch t.Field {
		case theme.Clock: // when its last minute begins, and when it has run out
			minute, ended := change(&p.LastMin), change(&p.Ended)
			minute.ok, ended.ok = minute.ok && c.LastMinute, ended.ok && c.Ended
			return later(minute, ended)
		case theme.Period:
			return change(&p.Label)
		case theme.TimeoutBy, theme.TimeoutKind:
			return change(&p.Timeout)
		case theme.LowerNumber, theme.LowerName, theme.LowerPoints, theme.LowerFouls:
			return change(&p.Lower)
		case theme.Message:
			return change(&p.Message)
		case theme.Score:
			return change(&p.Score[i])
		case theme.Fouls:
			return change(&p.Fouls[i])
		case theme.TimeoutsLeft:
			return change(&p.Timeouts[i])
		case theme.Bonus:
			return change(&p.Bonus[i])
		}
	case theme.Marked:
		switch {
		case t.Marks == theme.ArrowMark:
			return change(&p.Arrow)
		case side == content.None:
			return changed{}
		case t.Marks == theme.FoulMarks:
			return change(&p.Fouls[i])
		case t.Marks == theme.TimeoutMarks:
			return change(&p.Timeouts[i])
		}
	}
	return changed{}
}

// holds tells whether all conditions of a part hold for a side.
func holds(t *theme.Part, c *content.Content, shot bool, side content.Side) bool {
	for _, k := range t.When {
		if k == theme.Always {
			continue
		}
		if condition(k&^theme.Not, c, shot, side) == (k&theme.Not != 0) {
			return false
		}
	}
	return true
}

func condition(k theme.Condition, c *content.Content, shot bool, side content.Side) bool {
	own := &c.Teams[side.Index()]
	some := side != content.None
	switch k {
	case theme.Before:
		return c.Phase == content.Before
	case theme.Play:
		return c.Phase == content.Play
	case theme.Interval:
		return c.Phase == content.Interval || c.Phase == content.Halftime
	case theme.Halftime:
		return c.Phase == content.Halftime
	case theme.Over:
		return c.Phase == content.Over
	case theme.Running:
		return c.Running
	case theme.Ended:
		return c.Ended
	case theme.LastMinute:
		return c.LastMinute
	case theme.Shot:
		return shot
	case theme.Timeout:
		return c.Timeout.On
	case theme.TimeoutClock:
		return c.Timeout.On && c.Timeout.Text.Len() > 0
	case theme.LowerOn:
		return !c.Lower.Empty()
	case theme.MessageOn:
		return c.Message != ""
	case theme.ArrowOn:
		return c.Arrow != content.None
	case theme.Won:
		return c.Winner != content.None
	case theme.HasRoster:
		return c.Teams[0].Count+c.Teams[1].Count > 0
	case theme.NextPeriod:
		return c.Next != ""
	case theme.FoulsClear:
		return c.FoulsClear
	case theme.HasTeam:
		return some
	case theme.OwnBonus:
		return some && own.Bonus != content.NoThrows
	case theme.AtLimit:
		return some && own.Limit > 0 && own.Fouls >= own.Limit
	case theme.OwnArrow:
		return some && c.Arrow == side
	case theme.OwnTimeout:
		return some && c.Timeout.On && c.Timeout.Team == side
	case theme.Winner:
		return some && c.Winner == side
	}
	return false
}

// sideOf returns whose an item is in what is said.
func sideOf(who theme.TeamOf, c *content.Content) content.Side {
	switch who {
	case theme.HomeTeam:
		return content.Home
	case theme.AwayTeam:
		return content.Away
	case theme.Caller:
		return c.Timeout.Team
	case theme.WinnerTeam:
		return c.Winner
	case theme.LowerTeam:
		return c.Lower.Team
	case theme.ArrowTeam:
		return c.Arrow
	}
	return content.None
}
