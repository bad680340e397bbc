package engine

import (
	"fmt"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// checkPlayer refuses a number that the team may not have: with a roster it must be on it, without one the rules
// must allow it.
func (s *State) checkPlayer(team Team, number string) *Error {
	t := s.team(team)
	if t.find(number) != nil {
		return nil
	}
	if t.rostered() > 0 {
		return Refuse(UnknownPlayer, number, t.numbers(), fmt.Sprintf("%s has no %s on its roster; put the player on it with: roster %s %s \"NAME\"", team, number, team, number))
	}
	return s.checkNumber(team, number)
}

// checkNumber refuses a number that cannot join the team.
func (s *State) checkNumber(team Team, number string) *Error {
	t := s.team(team)
	if !s.rules.Legal(number) {
		return Refuse(NumberNotLegal, number, s.rules.NumberList(), fmt.Sprintf("the rules do not allow the jersey number %s; any number is allowed with: set numbers any", number))
	}
	other := ""
	switch number {
	case "0":
		other = "00"
	case "00":
		other = "0"
	}
	if other != "" && !s.rules.BothZeros && !s.rules.AnyNumber && t.find(other) != nil {
		return Refuse(NumberNotLegal, number, "not both 0 and 00 on one team", fmt.Sprintf("%s has %s already, and the rules do not allow both 0 and 00 on one team", team, other))
	}
	known := false
	for i := range t.players[:t.count] {
		known = known || t.players[i].number == number
	}
	if !known && t.count == maxPlayers {
		return Refuse(TooManyPlayers, number, fmt.Sprintf("at most %d players", maxPlayers), fmt.Sprintf("%s has %d players already, the most a team can have here", team, maxPlayers))
	}
	return nil
}

// numbers lists the team's jersey numbers, for a refusal.
func (t *side) numbers() string {
	list := ""
	for i := range t.players[:t.count] {
		if p := &t.players[i]; !p.gone {
			list += ", " + p.number
		}
	}
	if list == "" {
		return "a player"
	}
	return list[2:]
}

func inRange(what string, n, high int) *Error {
	if n >= 0 && n <= high {
		return nil
	}
	want := fmt.Sprintf("0 to %d", high)
	if n < 0 {
		return Refuse(BelowZero, fmt.Sprint(n), want, fmt.Sprintf("%s would fall below zero", what))
	}
	return Refuse(AboveLimit, fmt.Sprint(n), want, fmt.Sprintf("%s can be %d at most", what, high))
}

func decideScore(s *State, c *Command, _ moment) *Error {
	t := s.team(c.Team)
	if err := inRange("the score", t.score+c.Points, maxScore); err != nil {
		return err
	}
	if c.By == "" {
		return nil
	}
	if err := s.checkPlayer(c.Team, c.By); err != nil {
		return err
	}
	points := c.Points
	if p := t.find(c.By); p != nil {
		points += int(p.points)
	}
	return inRange("the player's points", points, maxScore)
}

func applyScore(s *State, c *Command, m moment) {
	t := s.team(c.Team)
	t.score += c.Points
	_, period := s.belongs(m)
	t.points[period] += int16(c.Points)
	if c.By == "" {
		t.unnamedPoints += c.Points
	} else {
		t.make(c.By).points += int16(c.Points)
	}
	if c.Points >= s.rules.Inside && s.basketStops(m.at) {
		s.basket = basket{c.Team, m.at}
	}
	if c.Points != 0 {
		s.judge()
	}
}

// basketStops tells whether a basket made now stops the clock: judged by the reading that is shown (FIBA 2024, Art. 49;
// NCAA, r 5-10).
func (s *State) basketStops(at clock.Instant) bool {
	left := s.clock.Remaining(at)
	return s.phase == Play && s.rules.Last(s.period) && left > 0 && s.rules.BasketStops > 0 && s.rules.Clock.Shown(left) <= s.rules.BasketStops
}

func applyScoreSet(s *State, c *Command, _ moment) {
	if s.team(c.Team).correct(c.Count) {
		s.judge()
	}
}

// correct sets a score, and tells whether it was another. Where no player's points are kept it stands for points
// that nobody was named for.
func (t *side) correct(score int) bool {
	if t.score == score {
		return false
	}
	t.score = score
	if t.playersPoints() == 0 {
		t.unnamedPoints = score
	}
	return true
}

func (t *side) playersPoints() int {
	sum := 0
	for i := range t.players[:t.count] {
		sum += int(t.players[i].points)
	}
	return sum
}

// foulAsked returns the kind that a command names or means, as the rule set counts it.
func (s *State) foulAsked(name string) (rules.Foul, *Error) {
	k, ok := rules.Personal, true
	if name != "" {
		k, ok = rules.KindNamed(name)
	}
	f, has := s.rules.Foul(k)
	if !ok || !has {
		return f, Refuse(UnknownKind, name, s.rules.KindList(), fmt.Sprintf("this rule set has no %s foul; it has %s", name, s.rules.KindList()))
	}
	return f, nil
}

// onCoach tells whether the foul is laid on the head coach: named so, or a kind that falls on nobody else.
func onCoach(f *rules.Foul, c *Command) bool {
	return c.By == "coach" || c.By == "" && f.Team == 0 && !f.Player && !f.Minor && f.Coach == rules.Indirect
}

func decideFoul(s *State, c *Command, m moment) *Error {
	f, err := s.foulAsked(c.Kind)
	if err != nil {
		return err
	}
	switch {
	case c.Only == PlayerOnly && c.By == "":
		return Refuse(MissingField, "player-only", "by and a jersey number, or by coach", "a foul that counts for the player alone needs the player: by and a number")
	case onCoach(&f, c):
		if f.Coach == rules.NotCoach {
			return Refuse(UnknownKind, c.Kind, s.coachKinds(), "a coach cannot commit that kind of foul; a coach's are "+s.coachKinds())
		}
	case c.By != "" && !f.Player && !f.Minor:
		return Refuse(UnknownKind, c.Kind, "by coach", fmt.Sprintf("a player cannot commit the kind %s; it is laid on the coach", c.Kind))
	case c.By != "":
		if err := s.checkPlayer(c.Team, c.By); err != nil {
			return err
		}
	}
	period, _ := s.belongs(m)
	if p := s.team(c.Team).find(c.By); p != nil && p.fouls >= maxFouls {
		return inRange("a player's fouls", maxFouls+1, maxFouls)
	}
	if coach := &s.team(c.Team).coach; coach.technicals >= maxFouls || coach.indirect >= maxFouls {
		return inRange("a coach's technicals", maxFouls+1, maxFouls)
	}
	return inRange("team fouls", s.team(c.Team).spanFouls(&s.rules, period)+s.teamWeight(&f, c), maxFouls)
}

// teamWeight returns what the foul adds to the team's count.
func (s *State) teamWeight(f *rules.Foul, c *Command) int {
	if onCoach(f, c) && !s.rules.CoachCounts {
		return 0
	}
	return f.Team
}

func (s *State) coachKinds() string {
	list := ""
	for k := range rules.KindCount {
		if f, has := s.rules.Foul(k); has && f.Coach != rules.NotCoach {
			list += ", " + k.String()
		}
	}
	if list == "" {
		return "none"
	}
	return list[2:]
}

func applyFoul(s *State, c *Command, m moment) {
	f, _ := s.foulAsked(c.Kind) // decided before
	t := s.team(c.Team)
	period, _ := s.belongs(m)
	coach := onCoach(&f, c)
	f.Team = s.teamWeight(&f, c)
	if c.Only != PlayerOnly {
		t.fouls[period] += int16(f.Team)
		if (s.between() || s.phase == Before) && period == s.next() {
			t.ahead += f.Team
		}
		if period == s.foulPeriod() {
			s.give(c.Team, &f, period, m)
		}
	}
	if f.Technical && t.owed > 0 {
		t.owed--
	}
	switch {
	case c.Only == TeamOnly: // the player's half was, or will be, keyed alone
	case coach:
		t.coach.lay(&f, true)
		if c.Only == BothCounts {
			t.unnamedFouls += f.Team
		}
	case c.By != "":
		t.make(c.By).lay(&f, false)
		t.namedFouls += f.Team
		if c.Only == PlayerOnly {
			t.unnamedFouls -= min(f.Team, t.unnamedFouls) // a foul that was keyed without its player
		}
	default:
		t.unnamedFouls += f.Team
	}
}

// lay counts a foul for a person.
func (p *person) lay(f *rules.Foul, coach bool) {
	one := func(n *int16, counts bool) {
		if counts {
			*n++
		}
	}
	one(&p.technicals, !coach && f.Technical || coach && f.Coach == rules.Direct)
	one(&p.minor, !coach && f.Minor)
	one(&p.indirect, coach && f.Coach == rules.Indirect)
	one(&p.fouls, f.Player)
	one(&p.grave, f.Grave)
	one(&p.ejected, f.Out)
}

// give notes what the foul gave. After a shooting foul only the official can say, so there is no award.
func (s *State) give(team Team, f *rules.Foul, period int, m moment) {
	if f.Award == rules.Open {
		s.award = award{}
		return
	}
	s.award = award{to: team.Other(), period: period, given: true,
		throws: s.matters(team, s.throws(f, s.team(team).spanFouls(&s.rules, period)), m.at)}
}

func (s *State) throws(f *rules.Foul, count int) Throws {
	if f.Award == rules.ByCount {
		return s.rules.ThrowsAt(count)
	}
	return f.Throws
}

// matters returns the throws, or none where time has run out in the last period and they cannot change the winner
// (NFHS 2025-26, r 5-6-2 exception 3).
func (s *State) matters(team Team, throws Throws, at clock.Instant) Throws {
	if s.phase != Play || !s.rules.Last(s.period) || !s.runOut(at) {
		return throws
	}
	behind := s.team(team).score - s.team(team.Other()).score
	if behind < 0 || behind > throws.Most() {
		return NoThrows
	}
	return throws
}

// nextFoul returns what a common foul by that team would now give the others.
func (s *State) nextFoul(team Team, at clock.Instant) Throws {
	f := &s.rules.Fouls[rules.Personal]
	return s.matters(team, s.throws(f, s.team(team).spanFouls(&s.rules, s.foulPeriod())+f.Team), at)
}

// lamp returns the lamp beside that team: what it shoots, by the other side's fouls.
func (s *State) lamp(team Team) Throws {
	if t := s.team(team); t.held {
		return t.heldLamp
	}
	count := s.shownFouls(s.team(team.Other()))
	if s.rules.LampNext {
		count++
	}
	return s.rules.ThrowsAt(count)
}

func decideFoulsSet(s *State, c *Command, _ moment) *Error {
	if err := inRange("fouls", c.Count, maxFouls); err != nil || c.By == "" {
		return err
	}
	return s.checkPlayer(c.Team, c.By)
}

func applyFoulsSet(s *State, c *Command, _ moment) {
	t := s.team(c.Team)
	if c.By == "" {
		s.correctFouls(t, c.Count)
		return
	}
	n := int16(c.Count)
	p := t.make(c.By)
	more := int(n - p.fouls)
	p.fouls, p.technicals, p.minor, p.grave, p.ejected = n, min(p.technicals, n), min(p.minor, n), min(p.grave, n), min(p.ejected, n)
	t.namedFouls += more
	t.unnamedFouls -= max(0, min(more, t.unnamedFouls))
}

// correctFouls sets the count that is shown. Where no player's fouls are kept it stands for fouls that nobody was
// named for.
func (s *State) correctFouls(t *side, count int) {
	if s.phase == Before {
		t.ahead = 0 // what was keyed before the game is part of what is set
	}
	more := count - s.shownFouls(t)
	t.fouls[s.period] += int16(more)
	if t.namedFouls == 0 {
		t.unnamedFouls += more
	}
}

func applyBonus(s *State, c *Command, _ moment) {
	t := s.team(c.Team)
	t.held, t.heldLamp = true, c.Throws
}

func applyBonusAuto(s *State, c *Command, _ moment) {
	t := s.team(c.Team)
	t.held, t.heldLamp = false, NoThrows
}

func decideArrow(s *State, _ *Command, _ moment) *Error {
	if !s.rules.Arrow {
		return Refuse(NoArrow, "arrow", "set arrow on", "this rule set has no possession arrow")
	}
	return nil
}

// applyControl points the arrow to the side that did not gain control (NFHS 2025-26, r 4-3).
func applyControl(s *State, c *Command, _ moment) { s.arrow = c.Team.Other().Side() }

func applyArrow(s *State, c *Command, _ moment) { s.arrow = c.Team.Side() }

func applyArrowOff(s *State, _ *Command, _ moment) { s.arrow = Off }

func decideArrowFlip(s *State, c *Command, m moment) *Error {
	if err := decideArrow(s, c, m); err != nil {
		return err
	}
	if s.arrow == Off {
		return Refuse(NoArrow, "off", "arrow home, arrow away or control", "the arrow is off; set it with arrow home or arrow away, or control after a jump ball")
	}
	return nil
}

func applyArrowFlip(s *State, _ *Command, _ moment) { s.arrow = s.arrow.Team().Other().Side() }
