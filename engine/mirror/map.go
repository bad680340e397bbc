package mirror

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// Bounds on a document of a feed from elsewhere: MaxDocument bytes, so many objects and lists in each other, so many values
// in all.
const (
	MaxDocument = 1 << 20
	maxDepth    = 32
	maxValues   = 50_000
)

// Field is one of our fields that a feed from elsewhere may have; what fields have in common stands in one table.
type Field uint8

// The fields, in the order in which they are followed: a new period first, since it clears what belongs to the last one.
const (
	PeriodField Field = iota
	ClockRuns
	ClockReading
	ShotRuns
	ShotReading
	HomeScore
	AwayScore
	HomeFouls
	AwayFouls
	HomeFull
	HomeShort
	AwayFull
	AwayShort
	ArrowField
	FieldCount
)

// field is one row of the table of fields: its name in a mapping file, how a value of theirs is read, and what it is
// counted for.
type field struct {
	name string
	read func(*Map, any) (Value, error)
	team engine.Team
	kind rules.TimeoutKind
}

var fields = [FieldCount]field{
	PeriodField:  {name: "period", read: readPeriod},
	ClockRuns:    {name: "clock.running", read: func(m *Map, v any) (Value, error) { return readRuns(m.ClockRuns, v) }},
	ClockReading: {name: "clock", read: func(m *Map, v any) (Value, error) { return readReading(m.Clock, v) }},
	ShotRuns:     {name: "shot.running", read: func(m *Map, v any) (Value, error) { return readRuns(m.ShotRuns, v) }},
	ShotReading:  {name: "shot", read: readShot},
	HomeScore:    {name: "home.score", read: readCount, team: engine.Home},
	AwayScore:    {name: "away.score", read: readCount, team: engine.Away},
	HomeFouls:    {name: "home.fouls", read: readCount, team: engine.Home},
	AwayFouls:    {name: "away.fouls", read: readCount, team: engine.Away},
	HomeFull:     {name: "home.timeouts.full", read: readCount, team: engine.Home, kind: rules.Full},
	HomeShort:    {name: "home.timeouts.short", read: readCount, team: engine.Home, kind: rules.Short},
	AwayFull:     {name: "away.timeouts.full", read: readCount, team: engine.Away, kind: rules.Full},
	AwayShort:    {name: "away.timeouts.short", read: readCount, team: engine.Away, kind: rules.Short},
	ArrowField:   {name: "arrow", read: readArrow},
}

// String returns the field's name in a mapping file: home.score.
func (f Field) String() string { return fields[f].name }

// Map says where a feed from elsewhere has our fields, and how it writes them.
type Map struct {
	At [FieldCount]engine.Maybe[Pointer]
	// Optional are fields that a document may lack; of the others it is told.
	Optional [FieldCount]bool
	// Periods are the words for periods; what is none of them is a number.
	Periods     []Word
	Clock, Shot Written
	// ClockRuns and ShotRuns are the words for a clock that runs, if it is not said by true or false.
	ClockRuns, ShotRuns []string
	// ShotOff are the words for no shot clock.
	ShotOff []string
	// Home, Away and Off are the words for where the arrow points.
	Home, Away, Off []string
}

// Word is a word of theirs and what it means.
type Word struct {
	Text  string
	Value Value
}

// Written is how a clock is written.
type Written struct {
	Unit     Unit
	Rounding clock.Rounding // of what is finer than they show
	Up       bool           // it counts up from 0
}

// Unit is what a reading is counted in.
type Unit uint8

// A reading is a text as 7:47 or 47.3, a number of seconds, or one of milliseconds.
const (
	Minutes Unit = iota
	Seconds
	Milliseconds
)

// Value is what a field holds, theirs or ours; which parts count depends on the field.
type Value struct {
	Count    int          // score, fouls, timeouts left; the period's number, from 1
	Overtime bool         // the number is an overtime's
	Phase    engine.Phase // of the period
	Side     engine.Side  // of the arrow
	Runs     bool
	Off      bool // there is no shot clock
	// Low and High are the ends between which a reading lies, both included: a clock that shows 7:47 has 7:47.999 or less.
	Low, High time.Duration
}

// Found is what a pointer found in one document.
type Found struct {
	Asked bool // the map has a pointer
	Raw   any  // as it stands there
	Value Value
	Err   error // at which step nothing was found, or why it is no such value
}

// ReadDocument reads one JSON value with its numbers as they are written. The error says why it is none, or that it is
// longer, deeper or fuller than a scoreboard's can be.
func ReadDocument(data []byte) (any, error) {
	if len(data) > MaxDocument {
		return nil, fmt.Errorf("longer than %d bytes", MaxDocument)
	}
	if !utf8.Valid(data) {
		return nil, errors.New("not UTF-8 text")
	}
	if err := bounded(data); err != nil {
		return nil, err
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	var document any
	if err := d.Decode(&document); err != nil {
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return nil, errors.New("not JSON: it ends too early")
		}
		return nil, fmt.Errorf("not JSON: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("not JSON: something stands after the value")
	}
	return document, nil
}

// bounded counts what is nested and how much there is, before memory is spent on it.
func bounded(data []byte) error {
	depth, values, text := 0, 0, false
	for i := 0; i < len(data); i++ {
		switch c := data[i]; {
		case text && c == '\\':
			i++
		case c == '"':
			text = !text
		case text:
		case c == '{', c == '[':
			depth++
			values++
		case c == '}', c == ']':
			depth--
		case c == ',':
			values++
		}
		if depth > maxDepth {
			return fmt.Errorf("more than %d objects and lists in each other", maxDepth)
		}
		if values > maxValues {
			return fmt.Errorf("more than %d values", maxValues)
		}
	}
	return nil
}

// Read looks for every field of the map in a document.
func (m *Map) Read(document any) (all [FieldCount]Found) {
	for f := range FieldCount {
		at := m.At[f]
		if !at.OK {
			continue
		}
		found := Found{Asked: true}
		if found.Raw, found.Err = at.Value.Find(document); found.Err == nil {
			found.Value, found.Err = fields[f].read(m, found.Raw)
		}
		all[f] = found
	}
	return all
}

// wordOf writes a plain value as a word: a text without the spaces around it, a number, true, false or null.
func wordOf(v any) (string, error) {
	switch v := v.(type) {
	case nil:
		return "null", nil
	case bool:
		return strconv.FormatBool(v), nil
	case string:
		return strings.TrimSpace(v), nil
	case json.Number:
		return v.String(), nil
	}
	return "", fmt.Errorf("%s, where a text or number is wanted", kindOf(v))
}

// maxCount is far above any score; what the game takes is for the engine to say.
const maxCount = 9999

func readCount(_ *Map, v any) (Value, error) {
	word, err := wordOf(v)
	if err != nil {
		return Value{}, err
	}
	n, err := strconv.Atoi(word)
	if err != nil || n < 0 || n > maxCount {
		return Value{}, fmt.Errorf("%s is no whole number from 0 to %d", quoted(word), maxCount)
	}
	return Value{Count: n}, nil
}

func readPeriod(m *Map, v any) (Value, error) {
	word, err := wordOf(v)
	if err != nil {
		return Value{}, err
	}
	for _, w := range m.Periods {
		if w.Text == word {
			return w.Value, nil
		}
	}
	if value, err := ParsePeriod(word); err == nil && value.Phase == engine.Play {
		return value, nil
	}
	return Value{}, fmt.Errorf("%s is neither a period's number nor one of the words given for periods", quoted(word))
}

// ParsePeriod reads what a period is called in a mapping file: 1 and on, ot1 and on, before, interval or over.
func ParsePeriod(word string) (Value, error) {
	for _, phase := range [...]engine.Phase{engine.Before, engine.Interval, engine.Over} {
		if word == phase.String() {
			return Value{Phase: phase}, nil
		}
	}
	number, overtime := strings.CutPrefix(word, "ot")
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 || n > 99 {
		return Value{}, fmt.Errorf("%s is no period: write 1, 2, …, ot1, ot2, …, before, interval or over", quoted(word))
	}
	return Value{Phase: engine.Play, Count: n, Overtime: overtime}, nil
}

func readRuns(words []string, v any) (Value, error) {
	if runs, ok := v.(bool); ok && words == nil {
		return Value{Runs: runs}, nil
	}
	word, err := wordOf(v)
	switch {
	case err != nil:
		return Value{}, err
	case words != nil:
		return Value{Runs: slices.Contains(words, word)}, nil
	case word == "0" || word == "1":
		return Value{Runs: word == "1"}, nil
	}
	return Value{}, fmt.Errorf("%s is neither true nor false, 1 nor 0: list what it says while the clock runs under runs", quoted(word))
}

func readArrow(m *Map, v any) (Value, error) {
	word, err := wordOf(v)
	if err != nil {
		return Value{}, err
	}
	for side, words := range [...][]string{engine.Off: m.Off, engine.HomeSide: m.Home, engine.AwaySide: m.Away} {
		if slices.Contains(words, word) {
			return Value{Side: engine.Side(side)}, nil
		}
	}
	return Value{}, fmt.Errorf("%s is none of the words given for home, away and off", quoted(word))
}

func readShot(m *Map, v any) (Value, error) {
	if word, err := wordOf(v); err == nil && slices.Contains(m.ShotOff, word) {
		return Value{Off: true}, nil
	}
	return readReading(m.Shot, v)
}

// readReading reads a clock. What it does not show of it, by its rounding, is left open between Low and High; what is
// finer than a millisecond is cut.
func readReading(w Written, v any) (Value, error) {
	word, err := wordOf(v)
	if err != nil {
		return Value{}, err
	}
	text, want := word, "a reading like 7:47 or 47.3"
	switch w.Unit {
	case Seconds:
		want = "a number of seconds"
	case Milliseconds:
		want = "a number of milliseconds"
		whole, _, _ := strings.Cut(word, ".")
		if n, err := strconv.Atoi(whole); err == nil {
			text = clock.FormatSeconds(time.Duration(min(n, 1e10)) * time.Millisecond)
		}
	}
	whole, fraction, pointed := strings.Cut(text, ".")
	fraction = fraction[:min(len(fraction), 3)]
	if pointed {
		text = whole + "." + fraction
	}
	d, ok := clock.Parse(text, 3)
	if !ok || w.Unit != Minutes && strings.Contains(word, ":") {
		return Value{}, fmt.Errorf("%s is not %s", quoted(word), want)
	}
	open := time.Duration(0)
	if w.Unit != Milliseconds {
		open = [...]time.Duration{time.Second, time.Second / 10, time.Second / 100, time.Millisecond}[len(fraction)] - time.Millisecond
	}
	if w.Rounding == clock.Ceil {
		return Value{Low: max(d-open, 0), High: d}, nil
	}
	return Value{Low: d, High: d + open}, nil
}

// quoted shows a value of theirs, cut to what fits a line.
func quoted(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return strconv.Quote(s)
}

// Says writes what a value of the field means, in the words of a script where it has one.
func (f Field) Says(v Value) string {
	row := &fields[f]
	switch f {
	case PeriodField:
		switch {
		case v.Phase != engine.Play:
			return "period " + v.Phase.String()
		case v.Overtime:
			return fmt.Sprintf("period ot%d", v.Count)
		}
		return fmt.Sprintf("period %d", v.Count)
	case ClockRuns, ShotRuns:
		name, _, _ := strings.Cut(row.name, ".")
		if v.Runs {
			return name + " running"
		}
		return name + " standing"
	case ClockReading, ShotReading:
		switch {
		case v.Off:
			return row.name + " off"
		case v.Low == v.High:
			return row.name + " " + clock.Format(v.Low)
		}
		return fmt.Sprintf("%s %s to %s", row.name, clock.Format(v.Low), clock.Format(v.High))
	case ArrowField:
		return "arrow " + v.Side.String()
	case HomeScore, AwayScore:
		return fmt.Sprintf("score %s = %d", row.team, v.Count)
	case HomeFouls, AwayFouls:
		return fmt.Sprintf("fouls %s = %d", row.team, v.Count)
	}
	return fmt.Sprintf("timeouts %s %s = %d", row.team, row.kind, v.Count)
}
