package engine

import (
	"fmt"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

type kinds [rules.TimeoutKinds]int

// left returns a team's timeouts left in the present period, as if all periods up to it had passed; what was used
// in the same allowance later on, before the period was set back, counts too.
func (s *State) left(t *side) kinds {
	r := &s.rules
	half, now := (r.Periods+1)/2, s.spending()
	var left kinds
	for n := 1; n <= maxPeriods; n++ {
		if n <= now {
			s.allow(&left, n, half)
		} else if r.TimeoutSpan == rules.PerHalf && (n > half) != (now > half) || !r.TimeoutCarry && n > r.Periods {
			break
		}
		for k := range left {
			left[k] -= int(t.used[n][k])
		}
	}
	return left
}

// spending returns the period whose allowance is in force: the present one, or in an interval the overtime to come
// where the rules open its extra so early.
func (s *State) spending() int {
	if s.rules.TimeoutEarly && s.between() && s.rules.Last(s.period) && s.period < maxPeriods {
		return s.period + 1
	}
	return s.period
}

// allow puts in what period n begins with.
func (s *State) allow(left *kinds, n, half int) {
	r := &s.rules
	for k := range left {
		allowed := &r.Timeouts[k]
		switch {
		case allowed.Length == 0:
			left[k] = 0
		case n == 1:
			left[k] = allowed.First
		case n == half+1 && n <= r.Periods && r.TimeoutSpan == rules.PerHalf:
			left[k] = allowed.Second
		case n == half+1 && n <= r.Periods && allowed.Keep > 0:
			left[k] = min(left[k], allowed.Keep)
		case n > r.Periods && r.TimeoutCarry:
			left[k] += allowed.Extra
		case n > r.Periods:
			left[k] = allowed.Extra
		}
	}
	if n == half+1 && n <= r.Periods && r.TimeoutKeep > 0 {
		for k := len(left) - 1; k >= 0; k-- { // the short ones are lost first
			left[k] -= max(0, min(left[k], left.sum()-r.TimeoutKeep))
		}
	}
}

func (k kinds) sum() int {
	sum := 0
	for _, n := range k {
		sum += max(n, 0)
	}
	return sum
}

// shownLeft is left at that instant, the late-game limit put in though no event has written it down yet.
func (s *State) shownLeft(t *side, at clock.Instant) kinds {
	left := s.left(t)
	if !s.late && s.lateNow(at) {
		left[rules.Full] -= max(0, left.sum()-s.rules.LateTimeouts)
	}
	return left
}

func (s *State) lateNow(at clock.Instant) bool {
	r := &s.rules
	return r.LateTimeouts > 0 && s.phase == Play && s.period == r.Periods && r.Clock.Shown(s.clock.Remaining(at)) <= r.LateFrom
}

// strike takes away what the late-game limit leaves unused; it stays struck if the clock is set back.
func (s *State) strike(at clock.Instant) {
	if s.late || !s.lateNow(at) {
		return
	}
	s.late = true
	for i := range s.teams {
		t := &s.teams[i]
		left := s.left(t)
		t.used[s.period][rules.Full] += int16(max(0, left.sum()-s.rules.LateTimeouts))
	}
}

// kindAsked returns the kind that a command names or means.
func (s *State) kindAsked(name string) (rules.TimeoutKind, *Error) {
	k, ok := s.rules.DefaultTimeout()
	if name != "" {
		k, ok = rules.TimeoutNamed(name)
	}
	if !ok || !s.rules.HasTimeout(k) {
		return 0, Refuse(UnknownKind, name, s.rules.TimeoutList(), fmt.Sprintf("this rule set has no %s timeout; it has %s", name, s.rules.TimeoutList()))
	}
	return k, nil
}

// charge returns the kind that is charged when k is asked for: k, or another that is left where the rules say so.
// Beyond the allowance excess is true and k stands.
func (s *State) charge(team Team, k rules.TimeoutKind, at clock.Instant) (_ rules.TimeoutKind, excess bool) {
	left := s.shownLeft(s.team(team), at)
	if left[k] > 0 {
		return k, false
	}
	for other, n := range left {
		if n > 0 && s.rules.TimeoutOther {
			return rules.TimeoutKind(other), false
		}
	}
	return k, true
}

// atEnd tells whether time has run out where the game can end.
func (s *State) atEnd(at clock.Instant) bool {
	return s.rules.Last(s.period) && (s.between() || s.runOut(at))
}

func decideFreeTimeout(s *State, _ *Command, _ moment) *Error {
	if s.phase == Before {
		return Refuse(NotNow, "before", "a game under way", "no timeout before the game begins")
	}
	return nil
}

func (s *State) decideCharge(team Team, name string, m moment) *Error {
	k, err := s.kindAsked(name)
	if err != nil {
		return err
	}
	if err := decideFreeTimeout(s, nil, m); err != nil {
		return err
	}
	if s.rules.TimeoutOnce && s.atEnd(m.at) && s.endTimeout == s.period {
		return Refuse(SuccessiveTime, team.String(), "clock start, period next or timeout official", "after time has run out only one timeout is granted, and it has been")
	}
	k, excess := s.charge(team, k, m.at)
	if excess && (s.between() || !s.rules.TimeoutExcess) {
		return Refuse(NoTimeoutsLeft, team.String()+" "+k.String(), "a team that has one left", fmt.Sprintf("%s has no timeout left now", team))
	}
	return nil
}

func decideTimeout(s *State, c *Command, m moment) *Error { return s.decideCharge(c.Team, c.Kind, m) }

func decideTimeoutBoth(s *State, c *Command, m moment) *Error {
	if err := s.decideCharge(Home, c.Kind, m); err != nil {
		return err
	}
	return s.decideCharge(Away, c.Other, m)
}

func applyTimeout(s *State, c *Command, m moment) {
	s.call(Caller(c.Team), s.take(c.Team, c.Kind, m), m)
}

// applyTimeoutBoth runs both at once: they last as long as the longer (NFHS 2025-26, r 5-11-8).
func applyTimeoutBoth(s *State, c *Command, m moment) {
	home, away := s.take(Home, c.Kind, m), s.take(Away, c.Other, m)
	if s.rules.Timeouts[away].Length > s.rules.Timeouts[home].Length {
		home = away
	}
	s.call(BothCallers, home, m)
}

// take charges a team and returns the kind that it gets.
func (s *State) take(team Team, name string, m moment) rules.TimeoutKind {
	k, _ := s.kindAsked(name) // decided before
	k, excess := s.charge(team, k, m.at)
	if excess {
		s.team(team).owed++
		return k
	}
	s.team(team).used[s.spending()][k]++
	return k
}

func (s *State) call(who Caller, k rules.TimeoutKind, m moment) {
	live := s.running(m.at)
	scored := s.basket.by != NoTeam && Caller(s.basket.by) == who
	if s.atEnd(m.at) {
		s.endTimeout = s.period
	}
	s.halt(m.at)
	s.timeout = timeout{caller: who, kind: k, timed: true, live: live && !s.rules.TimeoutAnyBall, scorer: scored && !s.rules.TimeoutScorer,
		clock: clock.New(s.rules.Timeouts[k].Length).Start(m.at)}
}

func applyFreeTimeout(s *State, c *Command, m moment) {
	s.halt(m.at)
	s.timeout = timeout{caller: OfficialCaller}
	length := s.rules.OfficialLength
	if c.Do == TimeoutMedia {
		s.timeout.caller, length = MediaCaller, s.rules.MediaLength
	}
	if length > 0 {
		s.timeout.timed, s.timeout.clock = true, clock.New(length).Start(m.at)
	}
}

func applyTimeoutEnd(s *State, _ *Command, m moment) {
	s.timeout = timeout{}
	s.runShot(m.at) // asked for meanwhile, in an overtime without a clock
}

func decideTimeoutsSet(s *State, c *Command, _ moment) *Error {
	if _, err := s.kindAsked(c.Kind); err != nil {
		return err
	}
	if c.Count > 9 {
		return Refuse(AboveLimit, fmt.Sprint(c.Count), "0 to 9", "a team has at most 9 timeouts of a kind left")
	}
	return nil
}

func applyTimeoutsSet(s *State, c *Command, _ moment) {
	t := s.team(c.Team)
	k, _ := s.kindAsked(c.Kind) // decided before
	t.used[s.spending()][k] += int16(s.left(t)[k] - c.Count)
}
