package engine

import (
	"errors"
	"fmt"
	"strings"
	"unicode"

	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Setup is what a game begins with and what the next one keeps: the log's first line and the settings carry it.
type Setup struct {
	Rules rules.Set `json:"rules"`
	Home  TeamSetup `json:"home"`
	Away  TeamSetup `json:"away"`
}

// TeamSetup is a team before the game. An empty name stands for HOME or AWAY, an empty short name for the first
// letters of the name, the zero colour for a quiet one of ours.
type TeamSetup struct {
	Name   string        `json:"name"`
	Short  string        `json:"short"`
	Colour Colour        `json:"color"`
	Roster []RosterEntry `json:"roster"`
}

// RosterEntry is one player; the name may be empty, since some schools show minors by number only.
type RosterEntry struct {
	Number string `json:"number"`
	Name   string `json:"name"`
}

// The names and colours of teams that have none; the colours are invented.
const (
	DefaultHome = "HOME"
	DefaultAway = "AWAY"
)

var defaultColours = [2]Colour{{R: 0xb3, G: 0x26, B: 0x2e}, {R: 0x24, G: 0x56, B: 0xa6}}

// commands returns the commands that make the setup, so that it is checked as any other input.
func (s *Setup) commands() []Command {
	var list []Command
	for i, t := range []*TeamSetup{&s.Home, &s.Away} {
		team := Team(i + 1)
		c := Command{Do: SetTeam, Team: team, Text: t.Name, Short: t.Short}
		if t.Colour != (Colour{}) {
			c.Colour = Some(t.Colour)
		}
		if c != (Command{Do: SetTeam, Team: team}) {
			list = append(list, c)
		}
		for _, p := range t.Roster {
			list = append(list, Command{Do: Roster, Team: team, By: p.Number, Text: p.Name})
		}
	}
	return list
}

// setup returns what the next game keeps: players made by a `by` belong to this game only.
func (s *State) setup() Setup {
	made := Setup{Rules: s.rules}
	for i, t := range []*TeamSetup{&made.Home, &made.Away} {
		from := &s.teams[i]
		*t = TeamSetup{Name: from.name, Short: from.short, Colour: from.colour}
		for _, p := range from.players[:from.count] {
			if p.rostered && !p.gone {
				t.Roster = append(t.Roster, RosterEntry{p.number, p.name})
			}
		}
	}
	return made
}

func decideTeam(_ *State, c *Command, _ moment) *Error {
	if c.Text == "" && c.Short == "" && !c.Colour.OK {
		return Refuse(MissingField, "team", "name, short or color", "team needs a name, a short name or a color")
	}
	return nil
}

func applyTeam(s *State, c *Command, _ moment) {
	t := s.team(c.Team)
	if c.Text != "" {
		t.name = c.Text
	}
	if c.Short != "" {
		t.short = c.Short
	}
	if c.Colour.OK {
		t.colour = c.Colour.Value
	}
}

func decideRoster(s *State, c *Command, _ moment) *Error {
	if s.team(c.Team).find(c.By) != nil {
		return nil
	}
	return s.checkNumber(c.Team, c.By)
}

func applyRoster(s *State, c *Command, _ moment) {
	p := s.team(c.Team).make(c.By)
	p.rostered, p.name = true, c.Text
}

func decideRosterOff(s *State, c *Command, _ moment) *Error {
	if t := s.team(c.Team); t.find(c.By) == nil {
		return Refuse(UnknownPlayer, c.By, t.numbers(), fmt.Sprintf("%s has no %s", c.Team, c.By))
	}
	return nil
}

// applyRosterOff takes a player off. Points and fouls that were keyed stay with the number, so that the team's sums
// hold, and come back if the number does.
func applyRosterOff(s *State, c *Command, _ moment) {
	t := s.team(c.Team)
	p := t.find(c.By)
	p.gone, p.rostered, p.onFloor = true, false, false
	if p.points != 0 || p.person != (person{}) {
		return
	}
	for i := range t.players[:t.count] {
		if t.players[i].number == c.By {
			copy(t.players[i:], t.players[i+1:t.count])
			t.count--
			t.players[t.count] = player{}
			return
		}
	}
}

func decideSet(s *State, c *Command, m moment) *Error {
	changed := s.rules
	if err := changed.PutAll([]rules.Pair{{Key: c.Key, Value: c.Text}})[0]; err != nil {
		return RefuseRule(err)
	}
	next := *s
	applySet(&next, c, m)
	return next.checkFit(&s.rules, c, m.at)
}

// checkFit refuses a rule value with which what stands now could not be.
func (s *State) checkFit(old *rules.Set, c *Command, at clock.Instant) *Error {
	refuse := func(code Code, want string) *Error {
		return Refuse(code, c.Text, want, fmt.Sprintf("%s cannot become %s now; expected %s", c.Key, clip(c.Text), want))
	}
	if was, is := old.Regulation(s.period), s.rules.Regulation(s.period); was != is {
		return refuse(NotNow, fmt.Sprintf("a count with which period %d stays what it is", s.period))
	}
	if left := s.clock.Remaining(at); left > s.rules.Length(s.period) {
		return refuse(AboveLimit, fmt.Sprintf("at least the %s that the clock shows; set the clock first", clock.Format(left)))
	}
	for i := range s.teams {
		if n := s.teams[i].onFloor(); n > s.rules.Lineup {
			return refuse(TooManyPlayers, fmt.Sprintf("at least the %d whom %s has on the floor; say with floor who stays", n, Team(i+1)))
		}
	}
	return nil
}

// RefuseRule makes the refusal of a rule value of what package rules returned.
func RefuseRule(err error) *Error {
	var bad *rules.Error
	switch {
	case !errors.As(err, &bad):
		return Refuse(BadValue, "", "another value", err.Error())
	case errors.Is(err, rules.ErrUnknownKey):
		return Refuse(UnknownKey, bad.Key, bad.Expected, bad.Error())
	case errors.Is(err, rules.ErrContradict):
		return Refuse(RuleContradicted, bad.Value, bad.Expected, bad.Error())
	}
	return Refuse(BadValue, bad.Value, bad.Expected, bad.Error())
}

// applySet changes a rule value of this game. A clock that stands untouched at its old full length takes the new; a shot
// clock never shows more than a full one, and without an arrow none points anywhere.
func applySet(s *State, c *Command, m moment) {
	old := s.rules
	if s.rules.Put(c.Key, c.Text) != nil {
		return // decided before
	}
	if s.phase == Before || s.phase == Play {
		was, now := old.Length(s.period), s.rules.Length(s.period)
		if was != now && !s.clock.Started() && s.clock.Remaining(m.at) == was {
			s.clock = clock.New(now)
		}
		if s.rules.ShotClock != old.ShotClock ||
			s.rules.ShotLength != old.ShotLength && !s.shot.Started() && s.shot.Remaining(m.at) == old.ShotLength {
			s.resetShot()
		}
		if s.shot.Remaining(m.at) > s.rules.ShotLength {
			s.shot = s.shot.Set(m.at, s.rules.ShotLength)
		}
	}
	if !s.rules.Arrow {
		s.arrow = Off
	}
	was, now := old.Warmup, s.rules.Warmup
	if s.between() {
		was, now = old.IntervalAfter(s.period), s.rules.IntervalAfter(s.period)
	}
	if was != now && s.phase != Play && s.phase != Over && !s.interval.Started() && s.interval.Remaining(m.at) == was {
		s.interval = clock.New(now)
	}
}

// applyShow puts a graphic on air, over what the present occasion opens by itself.
func applyShow(s *State, c *Command, _ moment) {
	s.show = c.Text
	s.chosen, s.timeout.chosen = s.between() || s.phase == Over, s.timeout.caller != NoCaller
}

func applyMessage(s *State, c *Command, _ moment) { s.message = c.Text }

func applyMessageOff(s *State, _ *Command, _ moment) { s.message = "" }

func applyHorn(s *State, _ *Command, m moment) { s.horn = Some(m.at) }

func decideLower(s *State, c *Command, _ moment) *Error { return s.checkPlayer(c.Team, c.By) }

func applyLower(s *State, c *Command, _ moment) { s.lower = lower{c.Team, c.By} }

func applyLowerOff(s *State, _ *Command, _ moment) { s.lower = lower{} }

// onFloor counts the team's players on the floor.
func (t *side) onFloor() int {
	n := 0
	for i := range t.players[:t.count] {
		if t.players[i].onFloor {
			n++
		}
	}
	return n
}

func decideFloor(s *State, c *Command, _ moment) *Error {
	if n := strings.Count(c.Numbers, " ") + 1; n > s.rules.Lineup {
		return Refuse(TooManyPlayers, fmt.Sprint(n), fmt.Sprintf("at most %d", s.rules.Lineup), fmt.Sprintf("a team has at most %d on the floor", s.rules.Lineup))
	}
	// Decided on a copy, since each number that a team without a roster makes takes a place.
	next := *s
	for number := range strings.SplitSeq(c.Numbers, " ") {
		if err := next.checkPlayer(c.Team, number); err != nil {
			return err
		}
		next.team(c.Team).make(number)
	}
	return nil
}

func applyFloor(s *State, c *Command, _ moment) {
	t := s.team(c.Team)
	for i := range t.players[:t.count] {
		t.players[i].onFloor = false
	}
	for number := range strings.SplitSeq(c.Numbers, " ") {
		t.make(number).onFloor = true
	}
}

func decideSub(s *State, c *Command, _ moment) *Error {
	t := s.team(c.Team)
	if s.phase == Before {
		return Refuse(NotNow, "before", "a game under way", "no substitution before the game begins; name the five with floor")
	}
	if p := t.find(c.For); p == nil || !p.onFloor {
		return Refuse(NotOnFloor, c.For, "a player on the floor", fmt.Sprintf("%s %s is not on the floor; say who is with floor", c.Team, c.For))
	}
	if p := t.find(c.By); p != nil && p.onFloor {
		return Refuse(AlreadyOnFloor, c.By, "a player on the bench", fmt.Sprintf("%s %s is on the floor already", c.Team, c.By))
	}
	return s.checkPlayer(c.Team, c.By)
}

func applySub(s *State, c *Command, _ moment) {
	t := s.team(c.Team)
	t.find(c.For).onFloor = false
	t.make(c.By).onFloor = true
}

// taken returns the period that take is about: the one it names, else the present one.
func (s *State) taken(c *Command) int {
	if c.Period > 0 {
		return s.numbered(c)
	}
	return s.period
}

func decideTake(s *State, c *Command, m moment) *Error {
	n := s.taken(c)
	if n > maxPeriods {
		return noMorePeriods()
	}
	if length := s.rules.Length(n); c.Time.OK && c.Time.Value > length {
		return Refuse(AboveLimit, clock.Format(c.Time.Value), "0:00 to "+clock.Format(length), fmt.Sprintf("%s is more than that period's %s", clock.Format(c.Time.Value), clock.Format(length)))
	}
	if c.Arrow.OK && c.Arrow.Value != Off {
		return decideArrow(s, c, m)
	}
	return nil
}

// applyTake joins a game that is under way: what is given stands from now, and nothing of it was made in a period.
func applyTake(s *State, c *Command, m moment) {
	n := s.taken(c)
	entered := s.phase == Before || c.Period > 0 && (s.phase != Play || n != s.period)
	// Both scores are put in before the lead is judged.
	moved := s.teams[0].correct(c.Scores[0])
	moved = s.teams[1].correct(c.Scores[1]) || moved
	switch {
	case entered:
		s.enter(n, m)
	case moved:
		s.judge()
	}
	if c.Time.OK {
		s.setClock(c.Time.Value, m.at)
	}
	for i := range s.teams {
		if c.Fouls.OK {
			s.correctFouls(&s.teams[i], c.Fouls.Value[i])
		}
	}
	if c.Arrow.OK {
		s.arrow = c.Arrow.Value
	}
}

// shortName returns the first letters of a name, the marks on them included, for a board that has no room.
func shortName(name string) string {
	letters := 0
	for i, r := range name {
		if unicode.IsMark(r) {
			continue
		}
		if letters == 4 || letters > 0 && unicode.IsSpace(r) {
			return name[:i]
		}
		letters++
	}
	return name
}
