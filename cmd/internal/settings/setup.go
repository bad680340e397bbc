package settings

import (
	"rafter/engine"
	"rafter/engine/rules"
)

// Setup returns what a new game begins with.
func (s Settings) Setup() engine.Setup {
	set, _ := rules.ByName(s.Rules)
	for _, v := range s.Set {
		_ = set.Put(v.Key, v.Value) // what could not be put was reported by Parse, and is not in s
	}
	return engine.Setup{Rules: set, Home: s.Home.setup(), Away: s.Away.setup()}
}

func (t Team) setup() engine.TeamSetup {
	e := engine.TeamSetup{Name: t.Name, Short: t.Short}
	_ = e.Colour.UnmarshalText([]byte(t.Colour)) // what is no colour was reported by Parse, and is not in t
	for _, p := range t.Roster {
		e.Roster = append(e.Roster, engine.RosterEntry{Number: p.Number, Name: p.Name})
	}
	return e
}
