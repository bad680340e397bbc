package settings

import (
	"rafter/engine"
	"rafter/engine/rules"
)

// Setup returns what a new game begins with.
func (s Settings) Setup() engine.Setup {
	set := s.base()
	_ = set.PutAll(s.Set) // what could not be put was reported by Parse, and is not in s
	return engine.Setup{Rules: set, Home: s.Home.setup(), Away: s.Away.setup()}
}

// UseRules takes the rule set of that name, or of a file of house rules whose relative name starts at dir.
func (s *Settings) UseRules(name, dir string) error {
	set, err := FindRules(dir)(name)
	if err != nil {
		return err
	}
	s.Rules, s.House = name, rules.Set{}
	if _, published := rules.ByName(name); !published {
		s.House = set
	}
	return nil
}

// base returns the rule set before the league's own values.
func (s *Settings) base() rules.Set {
	if s.House != (rules.Set{}) {
		return s.House
	}
	set, _ := rules.ByName(s.Rules)
	return set
}

func (t Team) setup() engine.TeamSetup {
	e := engine.TeamSetup{Name: t.Name, Short: t.Short}
	_ = e.Colour.UnmarshalText([]byte(t.Colour)) // what is no colour was reported by Parse, and is not in t
	for _, p := range t.Roster {
		e.Roster = append(e.Roster, engine.RosterEntry{Number: p.Number, Name: p.Name})
	}
	return e
}
