// Package engine is a game of basketball as the scorers' table keeps it: commands are decided against a state,
// become events, and events fold into the next state; a View is all of it that can be shown at one instant.
// It must not ask what time it is, read or write anything, start a goroutine, or know which rule set it plays.
//
//	g, _ := engine.NewGame(engine.Setup{Rules: set})
//	g.Do("table", engine.Command{Do: engine.Score, Team: engine.Home, Points: 2, By: "12"}, at, engine.None)
//	g.View(at).Home.Score // 2
package engine

import "rafter/engine/clock"

// Team is one of the two; the zero value names neither.
type Team uint8

// The two teams.
const (
	NoTeam Team = iota
	Home
	Away
)

var teamNames = [...]string{"", "home", "away"}

// Other returns the opponents.
func (t Team) Other() Team { return (3 - t) % 3 }

// String returns home, away or nothing.
func (t Team) String() string { return word(teamNames[:], int(t)) }

// MarshalText writes the team's word.
func (t Team) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// Side is a team or neither, as the arrow points; the zero value is off.
type Side uint8

// The ways the arrow may point.
const (
	Off Side = iota
	HomeSide
	AwaySide
)

var sideNames = [...]string{"off", "home", "away"}

// String returns off, home or away.
func (s Side) String() string { return word(sideNames[:], int(s)) }

// MarshalText writes the side's word.
func (s Side) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Team returns the team of that side; NoTeam when off.
func (s Side) Team() Team { return Team(s) }

// Side returns the side of that team.
func (t Team) Side() Side { return Side(t) }

// Caller is whose timeout it is.
type Caller uint8

// The callers; the first three are charged.
const (
	NoCaller Caller = iota
	HomeCaller
	AwayCaller
	BothCallers
	OfficialCaller
	MediaCaller
)

var callerNames = [...]string{"", "home", "away", "both", "official", "media"}

// String returns home, away, both, official or media.
func (c Caller) String() string { return word(callerNames[:], int(c)) }

// MarshalText writes the caller's word.
func (c Caller) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// Phase is where in the game's order we are.
type Phase uint8

// The phases in their order; an interval or half-time lies between two periods of play.
const (
	Before Phase = iota
	Play
	Interval
	Halftime
	Over
)

var phaseNames = [...]string{"before", "play", "interval", "halftime", "over"}

// String returns the phase's word.
func (p Phase) String() string { return word(phaseNames[:], int(p)) }

// MarshalText writes the phase's word.
func (p Phase) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// Only narrows a foul to one of its two counts.
type Only uint8

// A foul counts to team and person, or to one of the two alone.
const (
	BothCounts Only = iota
	PlayerOnly
	TeamOnly
)

var onlyNames = [...]string{"", "player-only", "team-only"}

// String returns nothing, player-only or team-only.
func (o Only) String() string { return word(onlyNames[:], int(o)) }

// None is no instant: the event was keyed when it happened.
var None Maybe[clock.Instant]

// word returns names[i], or nothing where i is no index.
func word(names []string, i int) string {
	if i < 0 || i >= len(names) {
		return ""
	}
	return names[i]
}
