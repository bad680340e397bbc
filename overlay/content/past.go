package content

import (
	"rafter/engine"
	"rafter/engine/clock"
)

// Instant is a time of the game's own, in nanoseconds.
type Instant = clock.Instant

// Past is how things were before they last changed, as far as a motion can still show it: what changed engine.Memory ago
// or earlier is zero. It is a function of the events alone, never of what was drawn.
type Past struct {
	// Clock is the last reading of the interval's clock, as play begins, or of the game clock, as an interval does.
	Clock      Was[Text]
	Phase      Was[Phase]
	Label      Was[string]
	Next       Was[string]
	FoulsClear Was[bool]
	Running    Was[bool]
	Ended      Was[bool]
	LastMin    Was[bool]
	Shot       Was[bool] // whether there was one
	Arrow      Was[Side]
	Timeout    Was[Timeout] // with the time that was left
	Lower      Was[Lower]
	Message    Was[string]
	Winner     Was[Side]
	Score      [2]Was[int]
	Fouls      [2]Was[int]
	Bonus      [2]Was[Throws]
	Timeouts   [2]Was[Timeouts]
}

// Was is a value that is no longer, and when it changed last; Changed is false where it did not lately.
type Was[T comparable] struct {
	Value   T
	At      Instant // of the change from Value to what is now
	Before  Instant // of the change to Value, 0 where that is not known: how calm it has been; At for a cut
	Changed bool
}

// Air is when the graphic that is drawn came on air and, while it goes, when it went off. In the zero value it has
// been there for long and stays.
type Air struct {
	Opened, Closed   Instant
	Opening, Closing bool // whether the instant is known
}

// past finds what changed lately, from the present back. It comes last: the present is what c says.
func (c *Content) past(v *engine.View) {
	if len(v.Past) == 0 {
		return
	}
	p, oldest := &c.Past, Instant(v.At)-Instant(engine.Memory)
	timed := v.Past[len(v.Past)-1].Timed
	for i := len(v.Past) - 1; i > 0; i-- {
		g, phase := &v.Past[i-1], phaseOf(v.Past[i-1].Phase)
		s := step{v.Past[i].At, v.Past[i].At > oldest, v.Past[i].Cut}
		if g.Timed != timed && s.lately && !p.Clock.Changed {
			p.Clock = Was[Text]{Value: g.Clock, At: s.at, Changed: true}
		}
		p.Phase.look(c.Phase, phase, s)
		p.Label.look(c.Label, labelOf(phase, g.Label, g.Timed), s)
		p.Next.look(c.Next, g.Next.Label, s)
		p.FoulsClear.look(c.FoulsClear, g.Next.FoulsClear, s)
		p.Running.look(c.Running, g.Running, s)
		p.Ended.look(c.Ended, g.Ended, s)
		p.LastMin.look(c.LastMinute, g.LastMin, s)
		p.Shot.look(c.Shot.Len() > 0, g.Shot, s)
		p.Arrow.look(c.Arrow, sideOf(g.Arrow), s)
		p.Message.look(c.Message, g.Message, s)
		p.Winner.look(c.Winner, sideOf(g.Winner.Side()), s)
		lookBare(&p.Timeout, c.Timeout, c.timeoutOf(&g.Timeout, v.Home.Timeouts.Count > 1), s, Timeout.bare)
		lookBare(&p.Lower, c.Lower, lowerOf(&g.Lower), s, Lower.bare)
		for k := range g.Teams {
			t, now := &g.Teams[k], &c.Teams[k]
			p.Score[k].look(now.Score, t.Score, s)
			p.Fouls[k].look(now.Fouls, t.Fouls, s)
			p.Bonus[k].look(now.Bonus, throwsOf(t.Bonus), s)
			p.Timeouts[k].look(now.Timeouts, timeoutsOf(t), s)
		}
	}
}

// step is the change from one glance to the next.
type step struct {
	at     Instant
	lately bool // it is not forgotten
	cut    bool
}

// look goes back over one change of all there is: to what there was then from what there is now.
func (w *Was[T]) look(now, then T, s step) {
	switch {
	case !w.Changed && s.lately && then != now:
		w.Value, w.At, w.Changed = then, s.at, true
		if s.cut {
			w.Before = s.at
		}
	case w.Changed && w.Before == 0 && then != w.Value:
		w.Before = s.at
	}
}

// lookBare is look for what differs only where its bare form does.
func lookBare[T comparable](w *Was[T], now, then T, s step, bare func(T) T) {
	value := w.Value
	w.Value = bare(value)
	changed := w.Changed
	w.look(bare(now), bare(then), s)
	w.Value = value
	if w.Changed != changed {
		w.Value = then
	}
}

// bare is the timeout whatever is left of it.
func (t Timeout) bare() Timeout {
	t.Text = Text{}
	return t
}

// bare is the player whatever the counts.
func (l Lower) bare() Lower {
	l.Points, l.Fouls = 0, 0
	return l
}
