package engine

import (
	"fmt"
	"strconv"
	"time"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// enter begins play in period n, its clocks standing at full length; what was set before the game is kept.
func (s *State) enter(n int, m moment) {
	if s.phase != Before || n != s.period {
		s.clock = clock.New(s.rules.Length(n))
		s.resetShot()
	}
	if n != s.period {
		s.teams[0].owed, s.teams[1].owed = 0, 0
		if !s.rules.Regulation(n) && !s.rules.ArrowOpens(n) {
			s.arrow = Off // overtime's jump ball sets it afresh
		}
	}
	if s.award.given && s.award.period != n {
		s.award = award{}
	}
	s.phase, s.period = Play, n
	s.teams[0].ahead, s.teams[1].ahead = 0, 0
	s.interval, s.timeout = clock.Clock{}, timeout{}
	s.early, s.basket, s.late = false, basket{}, false
	s.judge()
	s.mark(m)
}

// halt stops game and shot clock.
func (s *State) halt(at clock.Instant) {
	if s.timeless() {
		s.shot, s.shotWanted = s.shot.Stop(at), false // nothing would set it going again
	}
	if !s.running(at) {
		return
	}
	s.clock, s.shot = s.clock.Stop(at), s.shot.Stop(at)
	s.early, s.basket = false, basket{}
}

func decideClockStart(s *State, _ *Command, m moment) *Error {
	n := s.period
	if s.between() {
		n = s.next()
	}
	switch {
	case n > maxPeriods:
		return noMorePeriods()
	case s.rules.Length(n) == 0:
		what := "period next"
		if s.rules.ShotClock {
			what += ", or shot start for the shot clock alone"
		}
		return Refuse(NotNow, "clock start", what, "this overtime has no clock; it begins and ends with "+what)
	case n == s.period && s.clock.Remaining(m.at) == 0:
		return Refuse(PeriodIsOver, "0:00", s.afterPeriod(), "the clock stands at 0:00; next comes "+s.afterPeriod())
	}
	return nil
}

func applyClockStart(s *State, _ *Command, m moment) {
	if s.phase != Play {
		left := s.interval.Remaining(m.at) > 0 && (s.phase != Before || s.interval.Started())
		s.enter(s.next(), m)
		s.early = left
	}
	s.timeout, s.endTimeout, s.basket = timeout{}, 0, basket{}
	s.clock = s.clock.Start(m.at)
	s.runShot(m.at)
}

// afterPeriod names the command that comes next when a period has run out.
func (s *State) afterPeriod() string {
	switch {
	case s.rules.Last(s.period) && s.teams[0].score != s.teams[1].score:
		return "period next (the game is over) or clock set"
	case s.rules.Last(s.period):
		return "period next (the interval before overtime) or clock set"
	case s.rules.HalfAfter(s.period):
		return "period next (half-time) or clock set"
	}
	return "period next (the interval) or clock set"
}

func noMorePeriods() *Error {
	return Refuse(AboveLimit, "period", fmt.Sprintf("at most %d periods", maxPeriods), fmt.Sprintf("a game has at most %d periods with its overtimes", maxPeriods))
}

func applyClockStop(s *State, _ *Command, m moment) { s.halt(m.at) }

func decideClockSet(s *State, c *Command, _ moment) *Error { return s.checkReading(c.Time.Value) }

func (s *State) checkReading(d time.Duration) *Error {
	length := s.rules.Length(s.period)
	if d >= 0 && d <= length {
		return nil
	}
	want := "0:00 to " + clock.Format(length)
	if d < 0 {
		return Refuse(BelowZero, clock.FormatSeconds(d), want, "the clock would go below 0:00; use clock set for an exact reading")
	}
	return Refuse(AboveLimit, clock.Format(d), want, fmt.Sprintf("%s is more than this period's %s; use period set, or set period_length", clock.Format(d), clock.Format(length)))
}

func applyClockSet(s *State, c *Command, m moment) { s.setClock(c.Time.Value, m.at) }

func (s *State) setClock(d time.Duration, at clock.Instant) {
	if d != s.clock.Remaining(at) { // the anchor stays where nothing changes
		s.clock = s.clock.Set(at, d)
	}
}

func decideClockNudge(s *State, c *Command, m moment) *Error {
	return s.checkReading(s.clock.Remaining(m.at) + c.Time.Value)
}

func applyClockNudge(s *State, c *Command, m moment) {
	s.setClock(s.clock.Remaining(m.at)+c.Time.Value, m.at)
}

func decidePeriodNext(s *State, _ *Command, _ moment) *Error {
	if s.between() && s.next() > maxPeriods {
		return noMorePeriods()
	}
	return nil
}

func applyPeriodNext(s *State, _ *Command, m moment) {
	if s.phase != Play {
		s.enter(s.next(), m)
		return
	}
	s.halt(m.at)
	if s.rules.Last(s.period) && s.teams[0].score != s.teams[1].score {
		s.finish(m)
		return
	}
	s.phase = Interval
	if s.rules.HalfAfter(s.period) {
		s.phase = Halftime
	}
	s.interval, s.timeout = clock.New(s.rules.IntervalAfter(s.period)), timeout{}
	s.mark(m)
}

// finish ends the game as it stands.
func (s *State) finish(m moment) {
	s.halt(m.at)
	s.phase, s.timeout, s.interval = Over, timeout{}, clock.Clock{}
	s.shotShown, s.shotWanted = false, false
	s.teams[0].ahead, s.teams[1].ahead = 0, 0
	s.mark(m)
}

func decidePeriodSet(s *State, c *Command, _ moment) *Error {
	if s.numbered(c) > maxPeriods {
		return noMorePeriods()
	}
	return nil
}

// numbered returns the period that a command names, overtimes counted on.
func (s *State) numbered(c *Command) int {
	if c.Overtime {
		return s.rules.Periods + c.Period
	}
	return c.Period
}

func applyPeriodSet(s *State, c *Command, m moment) {
	n := s.numbered(c)
	s.clock = clock.New(s.rules.Length(n))
	s.resetShot()
	s.enter(n, m)
}

func decideInterval(s *State, c *Command, m moment) *Error {
	if !s.between() && (s.phase != Before || s.rules.Warmup == 0) {
		return Refuse(NotNow, s.phase.String(), "an interval or half-time", "there is no interval now; period next begins one")
	}
	if c.Do == IntervalStart && s.interval.Remaining(m.at) == 0 {
		return Refuse(PeriodIsOver, "0:00", "clock start or period next", "the interval is over; next comes clock start or period next")
	}
	return nil
}

func applyIntervalStart(s *State, _ *Command, m moment) { s.interval = s.interval.Start(m.at) }

func applyIntervalStop(s *State, _ *Command, m moment) {
	if s.interval.Running(m.at) {
		s.interval = s.interval.Stop(m.at)
	}
}

func applyGameOver(s *State, _ *Command, m moment) {
	if s.phase != Over {
		s.finish(m)
	}
}

func decideDefault(s *State, _ *Command, _ moment) *Error {
	if s.rules.Default == rules.NoDefault {
		return Refuse(UnknownKind, "default", "forfeit", "this rule set knows no default; use forfeit")
	}
	return nil
}

// applyForfeit gives the innocent side the game: the score stands if it leads, else the rules' score.
func applyForfeit(s *State, c *Command, m moment) {
	winner, loser := s.team(c.Team.Other()), s.team(c.Team)
	score, stands := s.rules.ForfeitScore, s.rules.ForfeitStands && s.playedEnough(winner, m.at)
	if c.Do == Default {
		score, stands = 2, s.rules.Default == rules.DefaultStands
	}
	if c.Do == Default && s.rules.Default == rules.DefaultKept {
		score = winner.score
	}
	if !stands || winner.score <= loser.score {
		for _, t := range []*side{winner, loser} {
			t.unnamedPoints += score - t.score
			t.score, score = score, 0
		}
	}
	s.loser = c.Team
	s.finish(m)
}

// playedEnough tells whether so much has been played that a forfeit lets the score stand. Where no time has been
// played here at all and the winner's score was put in by hand, how much was played nobody told: it stands.
func (s *State) playedEnough(winner *side, at clock.Instant) bool {
	played := -s.clock.Remaining(at)
	for n := 1; n <= s.period; n++ {
		played += s.rules.Length(n)
	}
	made := 0
	for _, n := range winner.points {
		made += int(n)
	}
	return played >= s.rules.ForfeitFrom || played <= 0 && made != winner.score
}

// resetShot puts the shot clock where a period begins: full and standing, where the rules have one.
func (s *State) resetShot() {
	s.shotShown, s.shotWanted, s.shot = s.rules.ShotClock, false, clock.Clock{}
	if s.shotShown {
		s.shot = clock.New(s.rules.ShotLength)
	}
}

// runShot lets the shot clock run where it is wanted and the game clock runs, or the period has none.
func (s *State) runShot(at clock.Instant) {
	if s.shotWanted && (s.running(at) || s.timeless() && s.timeout.caller == NoCaller) {
		s.shot = s.shot.Start(at)
	}
}

func decideShot(s *State, _ *Command, _ moment) *Error {
	switch {
	case !s.rules.ShotClock:
		return Refuse(NoShotClock, "shot", "set shot_clock on", "no shot clock is played; put it on with: set shot_clock on")
	case s.between():
		return Refuse(NotNow, s.phase.String(), "a period in play", "the shot clock stands until the next period begins")
	}
	return nil
}

func applyShotStart(s *State, _ *Command, m moment) {
	if !s.shotShown {
		s.resetShot()
	}
	s.shotWanted = true
	s.runShot(m.at)
}

func applyShotStop(s *State, _ *Command, m moment) { s.shot, s.shotWanted = s.shot.Stop(m.at), false }

func decideShotSet(s *State, c *Command, m moment) *Error {
	if err := decideShot(s, c, m); err != nil {
		return err
	}
	d, full := c.Time.Value, s.rules.ShotLength
	if d > full || c.Do == ShotReset && c.Time.OK && d == 0 {
		want := "up to " + clock.FormatSeconds(full) + " seconds"
		return Refuse(AboveLimit, clock.FormatSeconds(d), want, "the shot clock takes "+want)
	}
	return nil
}

func applyShotReset(s *State, c *Command, m moment) {
	d := s.rules.ShotLength
	if c.Time.OK {
		d = c.Time.Value
	}
	s.putShot(d, m.at)
}

// putShot shows d and counts on if it was counting; a clock that has run out goes on too.
func (s *State) putShot(d time.Duration, at clock.Instant) {
	if !s.shotShown || d != s.shot.Remaining(at) {
		s.shot = s.shot.Set(at, d)
	}
	s.shotShown = true
}

func decideShotShort(s *State, c *Command, m moment) *Error {
	if err := decideShot(s, c, m); err != nil {
		return err
	}
	if s.rules.ShotShort == 0 {
		return Refuse(NoShotClock, "short", "shot reset, or seconds as shot reset 14", "this rule set has no second value of the shot clock; use shot reset, or give the seconds")
	}
	return nil
}

func applyShotShort(s *State, _ *Command, m moment) { s.putShot(s.rules.ShotShort, m.at) }

func applyShotOff(s *State, _ *Command, _ moment) {
	s.shotShown, s.shotWanted, s.shot = false, false, clock.Clock{}
}

// numerals heads the columns of regulation periods.
var numerals = func() (list [maxPeriods]string) {
	for i := range list {
		list[i] = strconv.Itoa(i + 1)
	}
	return list
}()

func (s *State) byPeriod(v *ByPeriod) {
	if s.phase != Before {
		v.Begun = s.period
	}
	for i := range v.Points {
		for n := 1; n <= maxPeriods; n++ {
			v.Points[i][n-1] = int(s.teams[i].points[n])
			if s.teams[i].points[n] != 0 {
				v.Begun = max(v.Begun, n) // the period was set back
			}
		}
	}
	v.Count = max(v.Begun, s.rules.Periods)
	for n := range v.Count {
		v.Labels[n] = numerals[n]
		if !s.rules.Regulation(n + 1) {
			v.Labels[n] = label(&s.rules, n+1)
		}
	}
}

// nextView is none while the last period is played and until it has ended level.
func (s *State) nextView(at clock.Instant) NextView {
	n := s.next()
	over, _ := s.decided(at)
	if over || n > maxPeriods || s.phase == Play && s.rules.Last(s.period) && !s.runOut(at) {
		return NextView{}
	}
	v := NextView{Label: label(&s.rules, n)}
	if s.phase != Before {
		now, _ := s.rules.SpanOf(s.rules.FoulSpan, s.period)
		then, _ := s.rules.SpanOf(s.rules.FoulSpan, n)
		v.FoulsClear = now != then
	}
	return v
}
