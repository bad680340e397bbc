package engine

import (
	"time"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// The bounds that make a State a plain value. A number above them is refused.
const (
	maxPeriods = 20 // overtimes counted on
	maxPlayers = 32 // a team, with those taken off its roster
	maxScore   = 999
	maxFouls   = 99
	maxMarks   = 48 // period changes that `was` can look back over; older ones are forgotten first
)

// State is a game at one moment: what the live events so far come to. It is a comparable value, copied by
// assignment; two states that are equal show the same from then on.
type State struct {
	rules rules.Set
	teams [2]side

	phase  Phase
	period int
	clock  clock.Clock
	// interval runs in an interval, at half-time, and in a warm-up whose length the rules fix; else it is zero.
	interval   clock.Clock
	shot       clock.Clock
	shotShown  bool
	shotWanted bool // runs whenever the game clock does
	timeout    timeout
	endTimeout int // the period after whose end the one timeout was granted

	arrow Side
	award award
	mercy bool // a lead has made the clock run on

	chosen bool // the operator has shown a graphic in this interval, or since the game is over
	early  bool // the clock was started though time was left in the interval
	basket basket
	late   bool // the late-game limit on timeouts has struck

	show, message string
	lower         lower
	horn          Maybe[clock.Instant]
	loser         Team // by forfeit or default

	marks  [maxMarks]mark
	marked int
}

// side is one team.
type side struct {
	name, short string
	colour      Colour
	score       int
	points      [maxPeriods + 1]int16 // made in each period, corrections not among them
	fouls       [maxPeriods + 1]int16 // the team's, by the period they belong to
	used        [maxPeriods + 1][rules.TimeoutKinds]int16
	ahead       int // fouls keyed before their period began
	owed        int // technicals owed for timeouts beyond the allowance
	// unnamed counts points and fouls keyed for the team without a player: with the players' sums they should
	// come to the team's.
	unnamedPoints, unnamedFouls, namedFouls int

	held     bool
	heldLamp Throws
	coach    person
	players  [maxPlayers]player // in the order of their numbers
	count    int
}

// person is what a player's or coach's fouls come to.
type person struct {
	fouls, technicals, minor, indirect, grave, ejected int16
}

type player struct {
	number, name string
	person
	points   int16
	rostered bool // by a roster line, not made by a `by`
	gone     bool // taken off the roster, its counts kept
	onFloor  bool
}

type timeout struct {
	caller Caller
	kind   rules.TimeoutKind
	clock  clock.Clock
	timed  bool // it has a length
	live   bool // called while the game clock ran
	chosen bool // the operator has shown a graphic since
	scorer bool // called by the side that had just scored, where the rules forbid it
}

// basket is one made so late that the rules stop the clock for it; kept until the clock is stopped or started.
type basket struct {
	by Team
	at clock.Instant
}

type award struct {
	to     Team
	throws Throws
	period int
	given  bool
}

type lower struct {
	team   Team
	number string
}

// mark says which period scores and fouls belong to from an instant on.
type mark struct {
	from        clock.Instant
	foul, score int
}

// moment is when a command acts: at, and the instant at which it was true.
type moment struct{ at, was clock.Instant }

func (s *State) team(t Team) *side { return &s.teams[t-1] }

// begin puts the state before the game.
func (s *State) begin() {
	s.phase, s.period = Before, 1
	s.clock = clock.New(s.rules.Length(1))
	s.interval = clock.New(s.rules.Warmup)
	s.resetShot()
}

// settle writes down what has come about by itself up to at: clocks that reached zero, horns that sounded, a limit that struck.
// All of it follows from the clocks, so settling late or twice changes nothing that is shown.
func (s *State) settle(at clock.Instant) {
	s.horn = s.lastHorn(at)
	s.strike(at)
	if zero, running := s.clock.Zero(); running && zero <= at {
		s.clock = clock.New(0)
		s.shot = s.shot.Stop(zero)
	}
}

// running tells whether the game clock counts at that instant.
func (s *State) running(at clock.Instant) bool { return s.clock.Running(at) }

// runOut tells whether the clock stands at 0:00; an overtime without a clock never runs out.
func (s *State) runOut(at clock.Instant) bool {
	return s.clock.Remaining(at) == 0 && s.rules.Length(s.period) > 0
}

// timeless tells whether a period is in play that has no clock; the shot clock runs by itself then.
func (s *State) timeless() bool { return s.phase == Play && s.rules.Length(s.period) == 0 }

// between tells whether the game stands in an interval or at half-time.
func (s *State) between() bool { return s.phase == Interval || s.phase == Halftime }

// next returns the period that is entered next.
func (s *State) next() int {
	if s.phase == Before {
		return 1
	}
	return s.period + 1
}

// foulPeriod returns the period that a foul keyed now belongs to: before a period, that period, if one can follow.
func (s *State) foulPeriod() int {
	if s.between() || s.phase == Before {
		return min(s.next(), maxPeriods)
	}
	return s.period
}

// belongs returns the periods to which a foul and a score belong that were true at m.was.
func (s *State) belongs(m moment) (foul, score int) {
	if m.was == m.at {
		return s.foulPeriod(), s.period
	}
	foul, score = 1, 1
	for _, k := range s.marks[:s.marked] {
		if k.from <= m.was {
			foul, score = k.foul, k.score
		}
	}
	return foul, score
}

// mark notes the period in force from m.was on, in the order of those instants.
func (s *State) mark(m moment) {
	s.chosen = false
	now := mark{m.was, s.foulPeriod(), s.period}
	i := s.marked
	for i > 0 && s.marks[i-1].from > now.from {
		i--
	}
	if s.marked == maxMarks {
		if i == 0 {
			return
		}
		copy(s.marks[:], s.marks[1:])
		s.marked, i = s.marked-1, i-1
	}
	copy(s.marks[i+1:], s.marks[i:s.marked])
	s.marks[i] = now
	s.marked++
}

// lastHorn returns the instant of the latest horn up to at: by hand, at the end of a period, or the warning and
// the end of a timeout or interval (NFHS 2025-26, r 2-12-4; FIBA 2024, Art. 49).
func (s *State) lastHorn(at clock.Instant) Maybe[clock.Instant] {
	last := s.horn
	sounds := func(c clock.Clock, left time.Duration) {
		if t, ok := c.Reaches(left); ok && t <= at && (!last.OK || t > last.Value) {
			last = Some(t)
		}
	}
	sounds(s.clock, 0)
	if s.timeout.timed {
		sounds(s.timeout.clock, 0)
		sounds(s.timeout.clock, s.rules.TimeoutHorn)
	}
	sounds(s.interval, 0)
	if s.phase == Interval {
		sounds(s.interval, s.rules.IntervalHorn)
		return last
	}
	for _, left := range s.rules.HalftimeHorns {
		sounds(s.interval, left)
	}
	return last
}

// find returns the player of that number, those taken off the roster not among them.
func (t *side) find(number string) *player {
	for i := range t.players[:t.count] {
		if p := &t.players[i]; p.number == number && !p.gone {
			return p
		}
	}
	return nil
}

// make returns the player of that number, put in at its place if there was none.
func (t *side) make(number string) *player {
	i := 0
	for i < t.count && numberLess(t.players[i].number, number) {
		i++
	}
	if i < t.count && t.players[i].number == number {
		t.players[i].gone = false
		return &t.players[i]
	}
	copy(t.players[i+1:], t.players[i:t.count])
	t.players[i] = player{number: number}
	t.count++
	return &t.players[i]
}

// numberLess orders jersey numbers by value; 0 comes before 00.
func numberLess(a, b string) bool {
	if x, y := value(a), value(b); x != y {
		return x < y
	}
	return len(a) < len(b)
}

func value(number string) int {
	n := 0
	for i := range len(number) {
		n = n*10 + int(number[i]-'0')
	}
	return n
}

// rostered counts the players whom a roster line has named and who are still on it.
func (t *side) rostered() int {
	n := 0
	for i := range t.players[:t.count] {
		if t.players[i].rostered && !t.players[i].gone {
			n++
		}
	}
	return n
}

// spanFouls returns the team's fouls in the span to which the period belongs.
func (t *side) spanFouls(set *rules.Set, period int) int {
	first, last := set.SpanOf(set.FoulSpan, period)
	if last == 0 {
		last = maxPeriods
	}
	sum := 0
	for _, n := range t.fouls[first : last+1] {
		sum += int(n)
	}
	return sum
}

// shownFouls returns the team's fouls in the present span, without those that belong to a period yet to begin.
func (s *State) shownFouls(t *side) int {
	n := t.spanFouls(&s.rules, s.period)
	if t.ahead > 0 {
		now, _ := s.rules.SpanOf(s.rules.FoulSpan, s.period)
		then, _ := s.rules.SpanOf(s.rules.FoulSpan, s.next())
		if now == then {
			n -= t.ahead
		}
	}
	return n
}

// out tells whether a player may take no further part.
func (s *State) out(p *person) bool {
	r := &s.rules
	at := func(n int16, limit int) bool { return limit > 0 && int(n) >= limit }
	return p.ejected > 0 || at(p.fouls, r.PlayerFouls) || at(p.technicals, r.PlayerTechs) || at(p.technicals+p.minor, r.PlayerClasses) ||
		at(p.grave, r.PlayerGrave) || at(p.technicals+p.grave, r.PlayerMixed)
}

// coachOut tells whether a head coach may take no further part.
func (s *State) coachOut(p *person) bool {
	r := &s.rules
	return p.ejected > 0 || r.CoachDirect > 0 && int(p.technicals) >= r.CoachDirect ||
		r.CoachTotal > 0 && int(p.technicals+p.indirect) >= r.CoachTotal
}

// decided tells whether the rules say that the game is decided, and for whom.
func (s *State) decided(at clock.Instant) (final bool, winner Team) {
	home, away := s.teams[0].score, s.teams[1].score
	switch {
	case home > away:
		winner = Home
	case away > home:
		winner = Away
	}
	if s.loser != NoTeam {
		return true, s.loser.Other()
	}
	ended := s.runOut(at) || s.between()
	switch lead := s.team(max(winner, Home)); {
	case s.phase == Over:
		return true, winner
	case winner == NoTeam || s.phase == Before:
		return false, NoTeam
	case ended && s.rules.Last(s.period),
		s.rules.TargetScore > 0 && s.rules.Regulation(s.period) && lead.score >= s.rules.TargetScore:
		return true, winner
	}
	if s.rules.OvertimeTarget > 0 && !s.rules.Regulation(s.period) {
		for _, t := range []Team{Home, Away} {
			made := 0
			for _, n := range s.team(t).points[s.rules.Periods+1:] {
				made += int(n)
			}
			if made >= s.rules.OvertimeTarget {
				return true, t
			}
		}
	}
	return false, NoTeam
}

// judge decides whether a lead makes the clock run on: at each change of score and when a period begins.
func (s *State) judge() {
	lead := s.teams[0].score - s.teams[1].score
	lead = max(lead, -lead)
	r := &s.rules
	on := r.MercyLead > 0 && s.period >= r.MercyFrom && s.phase != Before
	s.mercy = on && (lead >= r.MercyLead || s.mercy && lead >= r.MercyOff)
}
