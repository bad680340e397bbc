package desk

import (
	"errors"
	"fmt"
	"strings"

	"rafter/engine"
)

// layer says after which stroke a key is read: direct is the first stroke.
type layer uint8

const (
	direct layer = iota
	homeKind
	awayKind
	homeFix
	awayFix
	more
	none // no act is here
)

// Do says what an action asks for.
type Do uint8

// A Command goes to the game; the others are the window's own.
const (
	Command Do = iota
	FullScreen
	HideStrip
	ShowKeys
	ShowCodes
	Close
)

// act is one row: a thing that can be done, its key and how its words are made.
type act struct {
	name  string // in the settings file, home_ or away_ before a team's
	does  string // for people
	team  string // home, away or neither
	layer layer
	key   string
	also  string // a second key, empty for none
	opens layer  // the act is the first of two strokes
	hold  bool   // it clears or jumps: one second
	do    Do
	// lacking: the rule set in force knows no such thing, so that nobody need be told of it.
	lacking bool
	// typed is what is typed before it in the card's example.
	typed string
	words func(moment) (string, error)
}

// moment is what words are made of.
type moment struct {
	entry    entry
	view     *engine.View
	graphics []string
	messages []string
	last     string // the last event's words
	number   int    // and its number
	home     bool   // the act is the home team's
}

func (m moment) team() *engine.TeamView {
	if m.home {
		return &m.view.Home
	}
	return &m.view.Away
}

// The ways to make words. TEAM becomes the act's team.
func plain(words string) func(moment) (string, error) {
	return func(moment) (string, error) { return words, nil }
}

func by(words string) func(moment) (string, error) {
	return func(m moment) (string, error) { return m.entry.by(words) }
}

func number(format, what string) func(moment) (string, error) {
	return func(m moment) (string, error) {
		n, err := m.entry.one(what)
		return fmt.Sprintf(format, n), err
	}
}

func reading(format string, read func(entry) (string, error)) func(moment) (string, error) {
	return func(m moment) (string, error) {
		r, err := read(m.entry)
		return fmt.Sprintf(format, r), err
	}
}

// teamActs are the home team's rows; the away team's are the same at the mirrored keys.
var teamActs = [...]act{
	{name: "score_2", does: "2 points", key: "KeyF", typed: "12", words: by("score TEAM 2")},
	{name: "score_3", does: "3 points", key: "KeyD", typed: "12", words: by("score TEAM 3")},
	{name: "score_1", does: "1 point", key: "KeyG", typed: "12", words: by("score TEAM 1")},
	{name: "score_less", does: "take away 1 point", key: "KeyS", words: by("score TEAM -1")},
	{name: "foul", does: "foul", key: "KeyR", typed: "12", words: by("foul TEAM")},
	{name: "foul_shooting", does: "shooting foul", key: "KeyE", typed: "12", words: by("foul TEAM shooting")},
	{name: "foul_kind", does: "foul of another kind …", key: "KeyT", opens: homeKind},
	{name: "timeout_full", does: "full timeout", key: "KeyV", words: plain("timeout TEAM full")},
	{name: "timeout_short", does: "short timeout", key: "KeyC", words: plain("timeout TEAM short")},
	{name: "control", does: "first control after a jump ball", key: "KeyA", words: plain("control TEAM")},
	{name: "arrow", does: "possession arrow to this team", key: "KeyX", words: plain("arrow TEAM")},
	{name: "bonus", does: "hold the bonus lamp: next state", key: "KeyZ", words: bonus},
	{name: "floor", does: "on the floor: five numbers, or in-out", key: "KeyW", typed: "12-5", words: floor},
	{name: "lower", does: "lower third: a number, or off", key: "KeyQ", typed: "12", words: lower},
	{name: "fix", does: "put right …", key: "KeyB", opens: homeFix},

	{name: "kind_shooting", does: "shooting", layer: homeKind, key: "KeyF", words: by("foul TEAM shooting")},
	{name: "kind_offensive", does: "offensive", layer: homeKind, key: "KeyD", typed: "12", words: by("foul TEAM offensive")},
	{name: "kind_double", does: "double: key it for each side", layer: homeKind, key: "KeyT", typed: "12", words: by("foul TEAM double")},
	{name: "kind_technical", does: "technical (= for the coach)", layer: homeKind, key: "KeyS", typed: coach, words: by("foul TEAM technical")},
	{name: "kind_intentional", does: "intentional", layer: homeKind, key: "KeyA", words: by("foul TEAM intentional")},
	{name: "kind_bench", does: "bench technical", layer: homeKind, key: "KeyG", words: by("foul TEAM bench")},
	{name: "kind_indirect", does: "indirect, on the coach", layer: homeKind, key: "KeyB", words: plain("foul TEAM indirect by coach")},
	{name: "kind_unsportsmanlike", does: "unsportsmanlike", layer: homeKind, key: "KeyR", words: by("foul TEAM unsportsmanlike")},
	{name: "kind_disruptive", does: "disruptive", layer: homeKind, key: "KeyE", words: by("foul TEAM disruptive")},
	{name: "kind_flagrant", does: "flagrant", layer: homeKind, key: "KeyW", words: by("foul TEAM flagrant")},
	{name: "kind_disqualifying", does: "disqualifying", layer: homeKind, key: "KeyQ", words: by("foul TEAM disqualifying")},
	{name: "kind_technical1", does: "technical, first class", layer: homeKind, key: "KeyV", words: by("foul TEAM technical1")},
	{name: "kind_technical2", does: "technical, second class", layer: homeKind, key: "KeyC", words: by("foul TEAM technical2")},
	{name: "kind_flagrant1", does: "flagrant 1", layer: homeKind, key: "KeyX", words: by("foul TEAM flagrant1")},
	{name: "kind_flagrant2", does: "flagrant 2", layer: homeKind, key: "KeyZ", words: by("foul TEAM flagrant2")},

	{name: "fix_score", does: "score is …", layer: homeFix, key: "KeyF", typed: "45", words: number("score TEAM = %s", "the score")},
	{name: "fix_fouls", does: "fouls are …, or number-fouls", layer: homeFix, key: "KeyR", typed: "12-3", words: fouls},
	{name: "fix_timeouts_full", does: "full timeouts left", layer: homeFix, key: "KeyV", typed: "2", words: number("timeouts TEAM full = %s", "how many are left")},
	{name: "fix_timeouts_short", does: "short timeouts left", layer: homeFix, key: "KeyC", typed: "1", words: number("timeouts TEAM short = %s", "how many are left")},
	{name: "fix_player_only", does: "foul on the player alone", layer: homeFix, key: "KeyS", typed: "12", words: number("foul TEAM by %s player-only", "the player's number")},
	{name: "fix_team_only", does: "foul on the team alone", layer: homeFix, key: "KeyD", words: plain("foul TEAM team-only")},
	{name: "forfeit", does: "this team forfeits", layer: homeFix, key: "KeyA", hold: true, words: plain("forfeit TEAM")},
	{name: "default", does: "this team loses by default", layer: homeFix, key: "KeyQ", hold: true, words: plain("default TEAM")},
}

// onAir begins what an act does that shows a graphic; there is little room for it in the strip.
const onAir = "on air: "

// gameActs belong to neither team.
var gameActs = [...]act{
	{name: "clock", does: "start or stop the clock, always", key: SpaceKey, words: toggle},
	{name: "next", does: "end a timeout, run an interval, number the last", key: "Enter", also: "NumpadEnter", typed: "12", words: next},
	{name: "undo", does: "take back the last, erase what is typed", key: "Backspace", words: plain("undo")},
	{name: "period_next", does: "next period or interval", key: "Tab", hold: true, words: plain("period next")},
	{name: "clock_set", does: "set the clock", key: "Backquote", typed: "432-1", words: reading("clock set %s", entry.reading)},
	{name: "nudge_up", does: "clock 1 second up", key: "ArrowUp", words: plain("clock nudge 1")},
	{name: "nudge_down", does: "clock 1 second down", key: "ArrowDown", words: plain("clock nudge -1")},
	{name: "nudge_right", does: "clock a tenth up", key: "ArrowRight", words: plain("clock nudge 0.1")},
	{name: "nudge_left", does: "clock a tenth down", key: "ArrowLeft", words: plain("clock nudge -0.1")},
	{name: "horn", does: "horn", key: "Quote", words: plain("horn")},
	{name: "shot_reset", does: "shot clock: reset, or to what is typed", key: "BracketLeft", typed: "11-3", words: shot},
	{name: "shot_short", does: "shot clock: the short reset", key: "BracketRight", words: plain("shot reset short")},
	{name: "more", does: "more …", key: "Backslash", opens: more},
	{name: "show_keys", does: "show these keys", key: "F1", do: ShowKeys},
	{name: "full_screen", does: "full screen", key: "F11", do: FullScreen},

	{name: "redo", does: "do again what was taken back", layer: more, key: "Backspace", words: plain("redo")},
	{name: "timeout_official", does: "officials' timeout", layer: more, key: "KeyA", words: plain("timeout official")},
	{name: "timeout_media", does: "media timeout", layer: more, key: "KeyS", words: plain("timeout media")},
	{name: "timeout_both", does: "both teams' timeout", layer: more, key: "KeyD", words: plain("timeout both home full away full")},
	{name: "message", does: "message of that number, or off", layer: more, key: "KeyF", words: message},
	{name: "show_next", does: "next graphic on air", layer: more, key: "KeyQ", words: show},
	{name: "show_bug", does: onAir + "the bug", layer: more, key: "KeyB", words: plain("show bug")},
	{name: "show_wall", does: onAir + "the wall", layer: more, key: "KeyV", words: plain("show wall")},
	{name: "show_interval", does: onAir + "the interval", layer: more, key: "KeyI", words: plain("show interval")},
	{name: "show_timeout", does: onAir + "the timeout", layer: more, key: "KeyT", words: plain("show timeout")},
	{name: "show_lineup", does: onAir + "the line-ups", layer: more, key: "KeyL", words: plain("show lineup")},
	{name: "show_periods", does: onAir + "points by period", layer: more, key: "KeyH", words: plain("show periods")},
	{name: "show_final", does: onAir + "the final score", layer: more, key: "KeyG", words: plain("show final")},
	{name: "show_lower", does: onAir + "lower third or message", layer: more, key: "KeyM", words: plain("show lower")},
	{name: "show_blank", does: onAir + "nothing", layer: more, key: "KeyN", words: plain("show blank")},
	{name: "hide_strip", does: "hide or show this strip", layer: more, key: "KeyW", do: HideStrip},
	{name: "more_full_screen", does: "full screen", layer: more, key: "KeyE", do: FullScreen},
	{name: "more_keys", does: "show these keys", layer: more, key: "KeyR", do: ShowKeys},
	{name: "show_codes", does: "codes for phones: to watch, to run it", layer: more, key: "KeyC", do: ShowCodes},
	{name: "void", does: "void the event of that number", layer: more, key: "KeyZ", typed: "17", words: number("void %s", "the event's number")},
	{name: "arrow_off", does: "possession arrow off", layer: more, key: "KeyX", words: plain("arrow off")},
	{name: "shot_stop", does: "shot clock stop", layer: more, key: "BracketLeft", words: plain("shot stop")},
	{name: "shot_start", does: "shot clock start", layer: more, key: "BracketRight", words: plain("shot start")},
	{name: "shot_off", does: "shot clock off", layer: more, key: "Quote", words: plain("shot off")},
	{name: "join", does: "join a game: scores, and fouls", layer: more, key: "KeyY", typed: "43-38-7-5", words: join},
	{name: "period_set", does: "go to that period", layer: more, key: "KeyU", typed: "3", hold: true, words: number("period set %s", "the period")},
	{name: "game_over", does: "end the game", layer: more, key: "KeyO", hold: true, words: plain("game over")},
	{name: "game_new", does: "clear for the next game", layer: more, key: "KeyP", hold: true, words: plain("game new")},
}

func toggle(m moment) (string, error) {
	if m.view.Clock.Running {
		return "clock stop", nil
	}
	return "clock start", nil
}

// next is the sensible thing at a dead ball; with a number typed it is the number of the last score or foul,
// for a table that keys the basket first and learns the number after.
func next(m moment) (string, error) {
	switch {
	case m.entry != "":
		counts := strings.HasPrefix(m.last, "score ") || strings.HasPrefix(m.last, "foul ")
		if !counts || strings.Contains(m.last, " by ") || strings.Contains(m.last, "=") {
			return "", errors.New("the last event takes no number: type it before the act's key")
		}
		words, err := m.entry.by(m.last)
		return fmt.Sprintf("amend %d %s", m.number, words), err
	case m.view.Timeout.OK:
		return "timeout end", nil
	case m.view.Interval.OK && m.view.Interval.Value.Running:
		return "interval stop", nil
	case m.view.Interval.OK:
		return "interval start", nil
	}
	return "", errors.New("there is no timeout to end and no interval")
}

func bonus(m moment) (string, error) {
	states := [...]string{"auto", "none", "one_and_one", "two", "two_and_ball"}
	at, team := 0, m.team()
	if team.BonusHeld {
		for i, s := range states {
			if s == fmt.Sprint(team.Bonus) {
				at = i
			}
		}
	}
	return "bonus TEAM " + states[(at+1)%len(states)], nil
}

func floor(m moment) (string, error) {
	n := m.entry.numbers()
	switch {
	case m.entry == coach:
	case len(n) == 2:
		return fmt.Sprintf("sub TEAM %s for %s", n[0], n[1]), nil
	case len(n) >= 3 && len(n) <= 5:
		return "floor TEAM " + strings.Join(n, " "), nil
	}
	return "", errors.New("type who is on the floor first: 4 - 5 - 1 0 - 1 2 - 2 3, or who comes in and who goes out: 1 2 - 5")
}

func lower(m moment) (string, error) {
	if m.entry == "" {
		return "lower off", nil
	}
	return number("lower TEAM %s", "the player's number")(m)
}

func fouls(m moment) (string, error) {
	if n := m.entry.numbers(); len(n) == 2 {
		return fmt.Sprintf("fouls TEAM by %s = %s", n[0], n[1]), nil
	}
	return number("fouls TEAM = %s", "the count, or the player's number - the count,")(m)
}

func shot(m moment) (string, error) {
	if m.entry == "" {
		return "shot reset", nil
	}
	return reading("shot set %s", entry.seconds)(m)
}

func join(m moment) (string, error) {
	n := m.entry.numbers()
	switch {
	case m.entry == coach:
	case len(n) == 2:
		return fmt.Sprintf("take score %s %s", n[0], n[1]), nil
	case len(n) == 4:
		return fmt.Sprintf("take score %s %s fouls %s %s", n[0], n[1], n[2], n[3]), nil
	}
	return "", errors.New("type the scores first: 4 3 - 3 8, or with the fouls: 4 3 - 3 8 - 7 - 5")
}

func show(m moment) (string, error) {
	if len(m.graphics) == 0 {
		return "", errors.New("there is no other graphic")
	}
	at := 1 // where none was chosen, the first is on air
	for i, g := range m.graphics {
		if g == m.view.Show {
			at = i + 1
		}
	}
	return "show " + m.graphics[at%len(m.graphics)], nil
}

func message(m moment) (string, error) {
	if m.entry == "" {
		return "message off", nil
	}
	n, err := m.entry.one("the message's number")
	if err != nil {
		return "", err
	}
	for i, text := range m.messages {
		if fmt.Sprint(i+1) == n {
			return "message " + quote(text), nil
		}
	}
	return "", fmt.Errorf("there is no message %s: the settings file holds %d", n, len(m.messages))
}
