package engine

import "rafter/engine/rules"

// Setup is what a game begins with and what the next one keeps: the log's first line and the settings carry it.
type Setup struct {
	Rules rules.Set `json:"rules"`
	Home  TeamSetup `json:"home"`
	Away  TeamSetup `json:"away"`
}

// TeamSetup is a team before the game. An empty name stands for HOME or AWAY, an empty short name for the first
// letters of the name.
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
