// Package script is the line language in which games are written down: TIME [was TIME] COMMAND, read and written.
// It must not decide anything about basketball; what a command does is the engine's to say.
//
//	s, err := script.Parse(strings.NewReader("12.4 score home 2 by 12"))
//	run, err := s.Begin(script.Published)
//	err = run.Until(at, script.Watch{})
package script

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"rafter/engine"
	"rafter/engine/clock"
)

// The bounds on a script. A game of two hours has about 2,000 lines.
const (
	maxBytes = 4 << 20
	maxLines = 100_000
	maxLine  = 4096
)

// Line is one line of a script that does something. A directive stands before the game and has no time.
type Line struct {
	Number  int // in the file, from 1
	At      clock.Instant
	Was     engine.Maybe[clock.Instant]
	Command engine.Command
}

// Script is a whole script, read and checked as far as it can be without playing it.
type Script struct {
	Rules      string // what the rules directive names; empty: none
	rulesLine  int
	Directives []Line
	Lines      []Line
}

// Error is a refusal with the line that it is about; 0: the script as a whole.
type Error struct {
	Line    int
	Refusal *engine.Error
}

// Error returns the line and what was wrong with it.
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Refusal.Message
	}
	return fmt.Sprintf("line %d: %s", e.Line, e.Refusal.Message)
}

// Unwrap returns the refusal without its line.
func (e *Error) Unwrap() error { return e.Refusal }

// MarshalJSON writes the object that `rafter run --json` prints under error.
func (e *Error) MarshalJSON() ([]byte, error) {
	r := e.Refusal
	return json.Marshal(struct {
		Code     engine.Code `json:"code"`
		Line     int         `json:"line"`
		Value    string      `json:"value"`
		Expected string      `json:"expected"`
		Message  string      `json:"message"`
	}{r.Code, e.Line, r.Value, r.Expected, r.Message})
}

// Parse reads a whole script. The error is an *Error for the first line that is wrong, or what reading failed with.
func Parse(r io.Reader) (*Script, error) { return Watch{}.Parse(r) }

// Parse reads a whole script; with Refused a line that is wrong is told of and left out.
func (w Watch) Parse(r io.Reader) (*Script, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, err
	}
	if len(text) > maxBytes {
		return nil, &Error{0, engine.Refuse(engine.AboveLimit, "", fmt.Sprintf("at most %d MiB", maxBytes>>20), fmt.Sprintf("the script is longer than %d MiB", maxBytes>>20))}
	}
	s := &Script{}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	for number := 1; len(text) > 0; number++ {
		line, rest, _ := bytes.Cut(text, []byte{'\n'})
		text = rest
		if number > maxLines {
			return nil, &Error{number, engine.Refuse(engine.AboveLimit, fmt.Sprint(number), fmt.Sprintf("at most %d lines", maxLines), fmt.Sprintf("the script has more than %d lines", maxLines))}
		}
		before := len(s.Lines)
		err := s.line(number, string(bytes.TrimSuffix(line, []byte{'\r'})))
		if w.Check != nil && len(s.Lines) > before {
			if err = w.Check(s.Lines[before].Command); err != nil {
				s.Lines = s.Lines[:before]
			}
		}
		if err != nil {
			if err := w.refuse(&Error{number, err}); err != nil {
				return nil, err
			}
		}
	}
	return s, nil
}

func splitLine(text string) ([]word, *engine.Error) {
	if len(text) > maxLine {
		return nil, engine.Refuse(engine.AboveLimit, fmt.Sprint(len(text)), fmt.Sprintf("at most %d bytes", maxLine), fmt.Sprintf("the line is longer than %d bytes", maxLine))
	}
	if !utf8.ValidString(text) || strings.ContainsRune(text, 0) {
		return nil, engine.Refuse(engine.BadValue, "", "UTF-8 text", "the line is not UTF-8 text")
	}
	return split(text)
}

func (s *Script) line(number int, text string) *engine.Error {
	words, err := splitLine(text)
	if err != nil || len(words) == 0 {
		return err
	}
	if first := words[0]; !first.quoted && strings.IndexByte("0123456789.+-", first.text[0]) >= 0 {
		return s.timed(number, words)
	}
	return s.directive(number, words)
}

// timed reads TIME [was TIME] COMMAND.
func (s *Script) timed(number int, words []word) *engine.Error {
	l := Line{Number: number}
	var err *engine.Error
	if l.At, err = ParseTime(words[0].text); err != nil {
		return err
	}
	if n := len(s.Lines); n > 0 && l.At < s.Lines[n-1].At {
		last := FormatTime(s.Lines[n-1].At)
		return engine.Refuse(engine.OutOfOrder, words[0].text, last+" or later", fmt.Sprintf("%s is earlier than the line before it, %s", words[0].text, last))
	}
	words = words[1:]
	if len(words) > 0 && words[0] == (word{text: "was"}) {
		if len(words) == 1 {
			return engine.Refuse(engine.MissingField, "was", wantTime, "was needs a time: "+wantTime)
		}
		was, err := ParseTime(words[1].text)
		if err != nil {
			return engine.Refuse(engine.BadWas, words[1].text, wantTime, err.Message)
		}
		if was > l.At {
			return engine.Refuse(engine.BadWas, words[1].text, "at most "+FormatTime(l.At), fmt.Sprintf("was %s is later than the line's own time %s", words[1].text, FormatTime(l.At)))
		}
		l.Was = engine.Some(was)
		words = words[2:]
	}
	if l.Command, err = parseWords(words); err != nil {
		return err
	}
	switch l.Command.Do {
	case engine.Undo, engine.Redo, engine.Void, engine.Amend, engine.GameNew:
		if l.Was.OK {
			return engine.Refuse(engine.BadWas, FormatTime(l.Was.Value), "no was", "undo, redo, void, amend and game new act when they are keyed and take no was")
		}
	}
	s.Lines = append(s.Lines, l)
	return nil
}

// directive reads rules, team, roster or set before the first timed line.
func (s *Script) directive(number int, words []word) *engine.Error {
	name := words[0].text
	isRules := name == "rules" && !words[0].quoted
	if !isRules {
		c, err := parseWords(words)
		if err != nil {
			if err.Code == engine.UnknownCommand && err.Value == name {
				err.Expected = "a time and a command, or rules, team, roster or set"
			}
			return err
		}
		switch c.Do {
		case engine.SetTeam, engine.Roster, engine.RosterOff, engine.Set:
		default:
			return engine.Refuse(engine.MissingField, name, "a time before the command, as 12.4 "+name, fmt.Sprintf("%s needs the time at which it is keyed before it", name))
		}
		s.Directives = append(s.Directives, Line{Number: number, Command: c})
	}
	switch {
	case len(s.Lines) > 0:
		return engine.Refuse(engine.OutOfOrder, name, "a time, as 12.4 "+name, fmt.Sprintf("%s without a time must stand before the first timed line", name))
	case !isRules:
		return nil
	case len(words) != 2 || words[1].text == "":
		return engine.Refuse(engine.MissingField, name, "one name of a rule set, or a file", "rules needs one name of a rule set, or a file")
	case s.Rules != "":
		return engine.Refuse(engine.UnknownField, words[1].text, "one rules line", "the script names its rules twice")
	}
	s.Rules, s.rulesLine = words[1].text, number
	return nil
}

const wantTime = "seconds as 12.4, or m:ss.fff or h:mm:ss.fff, below 100 hours"

// ParseTime reads a time from the script's start.
func ParseTime(text string) (clock.Instant, *engine.Error) {
	d, ok := clock.Parse(text, 9)
	if !ok || d >= 100*time.Hour {
		return 0, engine.Refuse(engine.BadValue, text, wantTime, fmt.Sprintf("%q is no time; expected %s", short(text), wantTime))
	}
	return clock.Instant(d), nil
}

// FormatTime writes an instant so that ParseTime reads it back exactly.
func FormatTime(t clock.Instant) string {
	if t < clock.Instant(time.Minute) {
		return clock.FormatSeconds(t.Sub(0))
	}
	return clock.Format(t.Sub(0))
}

// FormatEvent writes an event as the timed line that makes it again.
func FormatEvent(e engine.Event) string {
	if e.Was.OK {
		return FormatTime(e.At) + " was " + FormatTime(e.Was.Value) + " " + Format(e.Command)
	}
	return FormatTime(e.At) + " " + Format(e.Command)
}

// FormatEvents writes the events of a game as the lines of a script that makes them again. Undo and redo have a
// number only where that script, which is one desk, would find another event without it.
func FormatEvents(setup engine.Setup, events []engine.Event) []string {
	lines := make([]string, 0, len(events))
	game, err := engine.NewGame(setup)
	for _, e := range events {
		e.Desk = desk
		line := FormatEvent(e)
		if bare := (engine.Command{Do: e.Command.Do}); err == nil && (bare.Do == engine.Undo || bare.Do == engine.Redo) {
			found, _, refused := game.Clone().Do(desk, bare, e.At, e.Was)
			if refused == nil && found.Command == e.Command {
				line = FormatTime(e.At) + " " + Format(bare)
			}
		}
		if err == nil {
			err = game.Replay(e) // from an event that does not fit on, the numbers are kept
		}
		lines = append(lines, line)
	}
	return lines
}
