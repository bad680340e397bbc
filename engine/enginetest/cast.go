package enginetest

import (
	"slices"
	"time"

	"rafter/engine"
	"rafter/engine/rules"
)

// The names of the teams and players of the tales; all are invented, any likeness is chance.
var (
	teams = []engine.TeamSetup{
		{Name: "Larkmoor Herons", Short: "LAR", Colour: engine.Colour{R: 0x0e, G: 0x6b, B: 0x5c}},
		{Name: "Quillgate Foxes", Short: "QUI", Colour: engine.Colour{R: 0xb8, G: 0x47, B: 0x1f}},
		{Name: "Tarnholt Otters", Short: "TAR", Colour: engine.Colour{R: 0x2b, G: 0x4c, B: 0x9b}},
		{Name: "Brackwater Wrens", Short: "BRA", Colour: engine.Colour{R: 0x7a, G: 0x2e, B: 0x68}},
		{Name: "Fennimore Lynxes", Short: "FEN", Colour: engine.Colour{R: 0x8a, G: 0x6a, B: 0x12}},
		{Name: "Oxbarrow Terns", Short: "OXB", Colour: engine.Colour{R: 0x33, G: 0x5f, B: 0x33}},
	}
	names = []string{"Ines Falk", "Odalys Brandt", "Wren Tamblyn", "Maren Osk", "Thea Lindqvarn", "Jola Pereth", "Kit Ashgrove", "Sabine Orrel",
		"Nadia Quist", "Fenna Holloway-Drum", "Rue Castellan", "Imke Varga", "Dessa Moone", "Tuva Brightwell", "Bo Harrowell", "Lise Amberley",
		"Noor Vantage", "Petra Sollow", "Cleo Marchbank", "Runa Tidewell"}
	// Legal in every set.
	shirts = []string{"0", "3", "4", "5", "10", "11", "12", "14", "15", "20", "21", "22", "23", "24", "30", "31", "33", "35", "40", "44", "50", "55"}
)

// Quillons is a setup by nfhs of two invented teams with a player each. Both players are called Quillon, as nothing else is, so
// that a test finds a name wherever one has got out.
func Quillons() engine.Setup {
	set, _ := rules.ByName("nfhs")
	return engine.Setup{
		Rules: set,
		Home:  engine.TeamSetup{Name: "Hollow Creek", Roster: []engine.RosterEntry{{Number: "12", Name: "Quillon Tansy"}}},
		Away:  engine.TeamSetup{Name: "Marrow Hill", Roster: []engine.RosterEntry{{Number: "5", Name: "Quillon Ferr"}}},
	}
}

// cast picks two teams, and for each as many players as the rules allow, ten at most.
func (t *teller) cast() {
	set := &t.Setup.Rules
	size := 10
	if set.Squad > 0 {
		size = min(size, set.Squad)
	}
	who, sides := t.r.Perm(len(names)), t.r.Perm(len(teams))
	for i, team := range []*engine.TeamSetup{&t.Setup.Home, &t.Setup.Away} {
		*team = teams[sides[i]]
		worn := t.r.Perm(len(shirts))[:size]
		for j, s := range worn {
			team.Roster = append(team.Roster, engine.RosterEntry{Number: shirts[s], Name: names[who[i*size+j]]})
		}
	}
}

// incident is what happens once a game. Those of a dead ball say what is done; the others are looked for where they
// can happen.
type incident struct {
	name string
	in   func(*rules.Set) bool                // nil: in every set
	dead func(t *teller, defence engine.Team) // nil: not at a dead ball
}

var incidents = []incident{
	{name: "undo"}, {name: "amend"}, {name: "missed"}, {name: "lower"}, {name: "late"}, {name: "void"}, {name: "redo"},
	{name: "out", in: func(s *rules.Set) bool { return putsOut(s) != "" }},
	{name: "media", dead: func(t *teller, _ engine.Team) { t.do(engine.Command{Do: engine.TimeoutMedia}) }},
	{name: "official", dead: func(t *teller, _ engine.Team) { t.do(engine.Command{Do: engine.TimeoutOfficial}) }},
	{name: "home", dead: func(t *teller, _ engine.Team) { t.timeout(engine.Home, rules.Full) }},
	{name: "away", dead: func(t *teller, _ engine.Team) { t.timeout(engine.Away, rules.Short) }},
	{name: "both", dead: func(t *teller, _ engine.Team) {
		t.said = "Both sides at once."
		t.do(engine.Command{Do: engine.TimeoutBoth, Kind: t.kind(rules.Full), Other: t.kind(rules.Short)})
	}},
	{name: "bench", in: func(s *rules.Set) bool { return s.Fouls[rules.Bench].Has }, dead: func(t *teller, defence engine.Team) {
		t.said = "The bench objects, and its coach has to answer for it."
		t.do(engine.Command{Do: engine.Foul, Team: defence, Kind: "bench"})
		t.do(engine.Command{Do: engine.Foul, Team: defence, Kind: "indirect", By: "coach"})
		t.penalty(defence)
	}},
	{name: "technical", dead: func(t *teller, defence engine.Team) {
		t.do(engine.Command{Do: engine.Foul, Team: defence, Kind: "technical", By: t.one(defence)})
		t.replace(defence)
		t.penalty(defence)
	}},
	{name: "double", dead: func(t *teller, _ engine.Team) {
		t.said = "A double foul: one each, no throws."
		for _, team := range []engine.Team{engine.Home, engine.Away} {
			t.do(engine.Command{Do: engine.Foul, Team: team, Kind: "double", By: t.one(team)})
			t.replace(team)
		}
	}},
	{name: "lamp", dead: func(t *teller, defence engine.Team) {
		t.said = "The lamp beside that team is held by hand, and left to the rules later on."
		t.do(engine.Command{Do: engine.Bonus, Team: defence.Other(), Throws: engine.Two})
	}},
	{name: "message", dead: func(t *teller, _ engine.Team) {
		t.do(engine.Command{Do: engine.Message, Text: "Tonight: drinks and cake at the west door"})
	}},
	{name: "nudge", dead: func(t *teller, _ engine.Team) {
		t.said = "The clock was stopped late; the official has the exact time."
		t.do(engine.Command{Do: engine.ClockNudge, Time: engine.Some(400 * time.Millisecond)})
	}},
	{name: "horn", dead: func(t *teller, _ engine.Team) { t.do(engine.Command{Do: engine.Horn}) }},
}

// deck lists the incidents that the rule set knows.
func deck(set *rules.Set) (names []string) {
	for _, one := range incidents {
		if one.in == nil || one.in(set) {
			names = append(names, one.name)
		}
	}
	return names
}

// putsOut is a kind of foul that puts a player out; empty where the set has none.
func putsOut(set *rules.Set) string {
	for k := range rules.KindCount {
		if f := set.Fouls[k]; f.Has && f.Out && f.Player {
			return k.String()
		}
	}
	return ""
}

// take tells whether an incident is due, which then has happened.
func (t *teller) take(name string) bool {
	i := slices.Index(t.due, name)
	if i >= 0 {
		t.due = slices.Delete(t.due, i, i+1)
	}
	return i >= 0
}

// aside is what may happen while the ball is dead: at most one incident, or a timeout.
func (t *teller) aside() {
	defence := t.ball.Other()
	for _, one := range incidents {
		if one.dead != nil && t.take(one.name) {
			one.dead(t, defence)
			return
		}
	}
	if t.chance(4) {
		t.timeout(defence, rules.Short)
	}
}

// kind is the word for a kind of timeout, or for the only one that the set has.
func (t *teller) kind(k rules.TimeoutKind) string {
	if !t.Setup.Rules.HasTimeout(k) {
		k, _ = t.Setup.Rules.DefaultTimeout()
	}
	return k.String()
}

// timeout is a team's, if it has one left.
func (t *teller) timeout(team engine.Team, k rules.TimeoutKind) {
	left := &t.side(team).Timeouts
	for _, one := range left.Kinds[:left.Count] {
		if one.Kind == t.kind(k) && one.Left > 0 {
			t.do(engine.Command{Do: engine.Timeout, Team: team, Kind: one.Kind})
		}
	}
}

// penalty is the throws that the last foul of a team gave, in the middle of somebody's possession.
func (t *teller) penalty(by engine.Team) {
	ball := t.ball
	t.ball = by.Other()
	if n := t.v.Award.Value.Throws.Most(); n > 0 {
		t.throw(n, false)
	}
	t.ball = ball
}
