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

// Code names one way a command can be refused. It is an error itself, so that errors.Is(err, engine.NoTimeoutsLeft) works.
type Code string

// Error returns the code.
func (c Code) Error() string { return string(c) }

// The codes. They are part of what `rafter run --json` prints and only grow.
const (
	AboveLimit       Code = "above_limit"        // a count or reading above what there can be
	BelowZero        Code = "below_zero"         // a count or reading would fall below zero
	BadValue         Code = "bad_value"          // not of the form that is expected there
	BadWas           Code = "bad_was"            // a `was` after its event, before the game, or where none may stand
	NotNow           Code = "not_now"            // the command does not fit the phase of the game
	GameIsOver       Code = "game_over"          // only undo, redo, void, amend and what is shown are left
	PeriodIsOver     Code = "period_over"        // the clock is at 0:00
	UnknownCommand   Code = "unknown_command"    // no such command
	UnknownField     Code = "unknown_field"      // a field that this command does not have
	MissingField     Code = "missing_field"      // a field that this command needs
	UnknownRules     Code = "unknown_rules"      // no such rule set
	UnknownKey       Code = "unknown_key"        // no such value in a rule set
	UnknownKind      Code = "unknown_kind"       // a kind of foul or timeout that the rule set lacks
	UnknownPlayer    Code = "unknown_player"     // not on this team's roster
	UnknownEvent     Code = "unknown_event"      // no event of that number
	NumberNotLegal   Code = "number_not_legal"   // the rule set does not allow the jersey number
	TooManyPlayers   Code = "too_many_players"   // more than a team, or the floor, may have
	AlreadyOnFloor   Code = "already_on_floor"   // the substitute plays already
	NotOnFloor       Code = "not_on_floor"       // the player to be replaced does not play
	NoTimeoutsLeft   Code = "no_timeouts_left"   // and the rules, or the moment, forbid one more
	SuccessiveTime   Code = "successive_timeout" // a second one after time has run out
	NoArrow          Code = "no_arrow"           // the rule set has no possession arrow, or it is off
	NoShotClock      Code = "no_shot_clock"      // the rule set has no shot clock, or not this reset
	NothingToUndo    Code = "nothing_to_undo"    // no live event of this desk
	NothingToRedo    Code = "nothing_to_redo"    // nothing was undone since the last command
	CannotAmend      Code = "cannot_amend"       // only what happened in the game can be amended
	WouldBreak       Code = "would_break"        // a later event would no longer be possible
	OutOfOrder       Code = "out_of_order"       // an event number or time that does not follow
	TooLate          Code = "too_late"           // a desk's command that was under way for too long
	Stale            Code = "stale"              // a desk's command given without knowing what another had just done
	RuleContradicted Code = "rule_contradicted"  // rule values that do not go together
)

// Error is a refused command: nothing has changed. Message is a sentence that says what was wrong and what to do
// next; Value is what offended, Expected what would have done.
type Error struct {
	Code     Code   `json:"code"`
	Value    string `json:"value"`
	Expected string `json:"expected"`
	Message  string `json:"message"`
}

// Error returns the message.
func (e *Error) Error() string { return e.Message }

// Is matches a Code, or another Error of the same code.
func (e *Error) Is(target error) bool {
	switch t := target.(type) {
	case Code:
		return e.Code == t
	case *Error:
		return e.Code == t.Code
	}
	return false
}

// Refuse makes an Error; script uses it for what it cannot read.
func Refuse(code Code, value, expected, message string) *Error {
	return &Error{Code: code, Value: value, Expected: expected, Message: message}
}
