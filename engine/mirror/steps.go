package mirror

import (
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// step is one thing that may have to be done for a field; command tells what, and whether.
type step struct {
	field   Field
	command func(*take, Field) (c engine.Command, differs bool)
}

// steps are in their order: a clock is stopped before it is set and set before it is started, so that nothing passes meanwhile;
// and the game ends last, since nothing more is taken then and the last basket comes with its end.
var steps = [...]step{
	{PeriodField, toPeriod},
	{ClockRuns, toStop}, {ClockReading, toReading}, {ClockRuns, toStart},
	{ShotRuns, toStop}, {ShotReading, toReading}, {ShotRuns, toStart},
	{HomeScore, toScore}, {AwayScore, toScore},
	{HomeFouls, counted(engine.FoulsSet)}, {AwayFouls, counted(engine.FoulsSet)},
	{HomeFull, toTimeouts}, {HomeShort, toTimeouts}, {AwayFull, toTimeouts}, {AwayShort, toTimeouts},
	{ArrowField, toArrow},
	{PeriodField, toOver},
}

// agree tells whether both have the same in a field.
func (t *take) agree(f Field) bool {
	theirs, ours := t.theirs[f], t.ours(f)
	switch f {
	case PeriodField:
		return t.samePeriod()
	case ClockRuns, ShotRuns:
		return theirs.Runs == ours.Runs
	case ClockReading, ShotReading:
		_, off := t.off(f)
		return theirs.Off == ours.Off && (theirs.Off || !off)
	}
	return theirs.Value == ours.Value
}

func toPeriod(t *take, f Field) (c engine.Command, differs bool) {
	theirs, ours := t.theirs[f], t.ours(f)
	switch theirs.Phase {
	case engine.Play:
		c.Do, c.Period = engine.PeriodSet, theirs.Count
	case engine.Interval:
		if ours.Phase != engine.Play { // there is no way there but by playing
			return c, false
		}
		c.Do = engine.PeriodNext
	default: // nor back to before the game; its end is toOver's
		return c, false
	}
	return c, !t.samePeriod()
}

func toOver(t *take, f Field) (c engine.Command, differs bool) {
	c.Do = engine.GameOver
	return c, t.theirs[f].Phase == engine.Over && !t.samePeriod()
}

// samePeriod compares periods as far as the feed tells them apart: one that has no word for the interval says the number of
// the period before it.
func (t *take) samePeriod() bool {
	theirs, ours := t.theirs[PeriodField], t.ours(PeriodField)
	between := ours.Phase == engine.Interval || ours.Phase == engine.Halftime
	if theirs.Phase != engine.Play {
		return theirs.Phase == ours.Phase || theirs.Phase == engine.Interval && between
	}
	return theirs.Count == ours.Count && (ours.Phase == engine.Play || ours.Phase == engine.Before || between && !t.m.intervals || ours.Phase == engine.Over && !t.m.over)
}

// clockOf returns the fields of the clock that a field belongs to, and its commands.
func (t *take) clockOf(f Field) (reading, runs Field, start, stop, set engine.Verb) {
	if f == ClockReading || f == ClockRuns {
		return ClockReading, ClockRuns, engine.ClockStart, engine.ClockStop, engine.ClockSet
	}
	return ShotReading, ShotRuns, engine.ShotStart, engine.ShotStop, engine.ShotSet
}

// live tells whether the clocks are those of a period: between two the feed's may show anything.
func (t *take) live(f Field) bool {
	phase := t.v.Period.Phase
	return phase == engine.Play || phase == engine.Before && (f == ClockReading || f == ClockRuns)
}

func toStop(t *take, f Field) (engine.Command, bool) {
	_, _, _, stop, _ := t.clockOf(f)
	return engine.Command{Do: stop}, t.live(f) && t.ours(f).Runs && !t.theirs[f].Runs
}

func toStart(t *take, f Field) (engine.Command, bool) {
	_, _, start, _, _ := t.clockOf(f)
	ours := t.ours(f)
	// The shot clock goes with the game clock.
	may := t.live(f) && ours.Low > 0 && (f == ClockRuns || t.v.Clock.Running && !ours.Off)
	return engine.Command{Do: start}, may && t.theirs[f].Runs && !ours.Runs
}

func toReading(t *take, f Field) (engine.Command, bool) {
	_, runs, _, _, set := t.clockOf(f)
	theirs, ours := t.theirs[f], t.ours(f)
	switch {
	case !t.live(f), theirs.Off && ours.Off:
		return engine.Command{}, false
	case theirs.Off:
		return engine.Command{Do: engine.ShotOff}, true
	case !ours.Off && theirs.Runs != ours.Runs && !(theirs.Runs && t.has[runs] && t.may(runs)):
		return engine.Command{}, false // one stands by a desk's will, or until more is known
	}
	reading, off := t.off(f)
	return engine.Command{Do: set, Time: engine.Some(reading)}, off || ours.Off
}

// off returns what a reading of ours is to be, and whether it is off. A standing clock is to show what theirs shows; of a
// running one only that much is known between which ends it lies.
func (t *take) off(f Field) (reading time.Duration, off bool) {
	theirs, ours := t.theirs[f], t.ours(f).Low
	written, within := t.m.at.Shot, t.m.policy.Within
	if f == ClockReading {
		written = t.m.at.Clock
	}
	reading = (theirs.Low + theirs.High) / 2 / time.Millisecond * time.Millisecond
	if !theirs.Runs {
		within, reading = 0, theirs.Low
		if written.Up != (written.Rounding == clock.Ceil) {
			reading = theirs.High
		}
	}
	return reading, ours < theirs.Low-within || ours > theirs.High+within
}

// toScore makes a basket of what grew by as much since both were last the same, so that the points belong to the period;
// all else is a score put right.
func toScore(t *take, f Field) (engine.Command, bool) {
	st, more := &t.m.fields[f], t.theirs[f].Count-t.ours(f).Count
	if more >= 1 && more <= aBasket && st.agreed && !st.keyed && t.v.Period.Phase == engine.Play {
		return engine.Command{Do: engine.Score, Team: fields[f].team, Points: more}, true
	}
	return counted(engine.ScoreSet)(t, f)
}

func counted(verb engine.Verb) func(*take, Field) (engine.Command, bool) {
	return func(t *take, f Field) (engine.Command, bool) {
		return engine.Command{Do: verb, Team: fields[f].team, Count: t.theirs[f].Count}, !t.agree(f)
	}
}

func toTimeouts(t *take, f Field) (engine.Command, bool) {
	c, differs := counted(engine.TimeoutsSet)(t, f)
	c.Kind = fields[f].kind.String()
	return c, differs
}

func toArrow(t *take, f Field) (engine.Command, bool) {
	c := engine.Command{Do: engine.ArrowOff}
	if side := t.theirs[f].Side; side != engine.Off {
		c = engine.Command{Do: engine.Arrow, Team: side.Team()}
	}
	return c, !t.agree(f)
}
