package feed

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"rafter/engine"
)

// types are the messages by the word that tells them apart, the first field of each.
var types = [...]struct {
	name string
	make func() any
	// from says who sends it: whoever is neither host nor desk may not send commands.
	host, viewer, desk bool
	// needs are the fields that whoever is no host has to give.
	needs string
}{
	{"opening", func() any { return new(Opening) }, false, true, true, "versions role"},
	{"welcome", func() any { return new(Welcome) }, true, false, false, ""},
	{"snapshot", func() any { return new(Snapshot) }, true, false, false, ""},
	{"event", func() any { return new(Happened) }, true, false, false, ""},
	{"resend", func() any { return new(Resend) }, false, true, true, "after"},
	{"ping", func() any { return new(Ping) }, false, true, true, "asked_ns"},
	{"pong", func() any { return new(Pong) }, true, false, false, ""},
	{"command", func() any { return new(Order) }, false, false, true, "number command"},
	{"league", func() any { return new(League) }, false, false, true, "number rules"},
	{"delay", func() any { return new(Delay) }, false, false, true, "number output ms"},
	{"ask_outputs", func() any { return new(AskOutputs) }, false, false, true, ""},
	{"outputs", func() any { return new(Outputs) }, true, false, false, ""},
	{"standing", func() any { return new(Standing) }, true, false, false, ""},
	{"ask_log", func() any { return new(AskLog) }, false, false, true, ""},
	{"ask_rules", func() any { return new(AskRules) }, false, false, true, ""},
	{"entries", func() any { return new(Entries) }, true, false, false, ""},
	{"rules", func() any { return new(Rules) }, true, false, false, ""},
	{"answer", func() any { return new(Answer) }, true, false, false, ""},
	{"problem", func() any { return new(Problem) }, true, false, false, ""},
}

// Encode writes a message as one JSON object, its type first. m is a value of one of the message types; another,
// or one that JSON cannot hold, is an error.
func Encode(m any) ([]byte, error) {
	name, ok := nameOf(m)
	if !ok {
		return nil, fmt.Errorf("%T is no message", m)
	}
	body, err := json.Marshal(m)
	if err != nil {
		return nil, err
	}
	head := `{"type":"` + name + `"`
	if len(body) > len("{}") {
		head += ","
	}
	return append([]byte(head), body[1:]...), nil
}

func nameOf(m any) (string, bool) {
	switch m.(type) {
	case Opening:
		return "opening", true
	case Welcome:
		return "welcome", true
	case Snapshot:
		return "snapshot", true
	case Happened:
		return "event", true
	case Resend:
		return "resend", true
	case Ping:
		return "ping", true
	case Pong:
		return "pong", true
	case Order:
		return "command", true
	case League:
		return "league", true
	case Delay:
		return "delay", true
	case AskOutputs:
		return "ask_outputs", true
	case Outputs:
		return "outputs", true
	case Standing:
		return "standing", true
	case AskLog:
		return "ask_log", true
	case AskRules:
		return "ask_rules", true
	case Entries:
		return "entries", true
	case Rules:
		return "rules", true
	case Answer:
		return "answer", true
	case Problem:
		return "problem", true
	}
	return "", false
}

// FromViewer reads a message of a viewer or relay: a pointer to an Opening, Resend or Ping. It is strict: a field
// that is unknown, given twice or missing, and anything after the message, is an error that says what is wrong.
func FromViewer(data []byte) (any, error) {
	return strict(data, MaxFromViewer, func(i int) bool { return types[i].viewer })
}

// FromDesk reads a message of a desk: those of a viewer, an Order, a League, a Delay, and what it may ask for. An Order whose command is
// none that the engine could take comes with its number alone, and the engine's error; the other errors are as FromViewer's.
func FromDesk(data []byte) (any, error) {
	return strict(data, MaxFromDesk, func(i int) bool { return types[i].desk })
}

func strict(data []byte, most int, may func(int) bool) (any, error) {
	return decode(data, most, may, true)
}

// FromHost reads what a host sends, as FromViewer does, but that fields which are unknown are passed over: a newer host may
// say more.
func FromHost(data []byte) (any, error) {
	return decode(data, MaxFromHost, func(i int) bool { return types[i].host }, false)
}

func decode(data []byte, most int, may func(int) bool, strict bool) (any, error) {
	if len(data) > most {
		return nil, fmt.Errorf("a message of %d bytes: at most %d are read", len(data), most)
	}
	if !utf8.Valid(data) {
		return nil, errors.New("the message is not UTF-8")
	}
	name, rest, given, err := split(data)
	if err != nil {
		return nil, err
	}
	var known []string
	for i, t := range types {
		if !may(i) {
			continue
		}
		known = append(known, t.name)
		if t.name != name {
			continue
		}
		m := t.make()
		d := json.NewDecoder(bytes.NewReader(rest))
		if strict {
			d.DisallowUnknownFields()
		}
		var refused *engine.Error
		switch err := d.Decode(m); {
		case errors.As(err, &refused):
			return numbered(rest, m), refused
		case err != nil:
			return nil, fmt.Errorf("%s: %s", name, reason(err))
		}
		for field := range strings.FieldsSeq(t.needs) {
			if !slices.Contains(given, field) {
				return nil, fmt.Errorf("%s: %s is missing", name, field)
			}
		}
		return m, check(m)
	}
	return nil, fmt.Errorf("%q is no message here; expected one of %s", clip(name), strings.Join(known, ", "))
}

// numbered returns an order of which no more than the number could be read; nil where that is none, or m no order.
func numbered(rest []byte, m any) any {
	var o struct {
		Number int64 `json:"number"`
	}
	if _, is := m.(*Order); !is || json.Unmarshal(rest, &o) != nil || o.Number < 1 {
		return nil
	}
	return &Order{Number: o.Number}
}

// split reads the type off a message, wherever it stands, and returns the message without it, and the fields that are
// given: null is none.
func split(data []byte) (name string, rest []byte, given []string, err error) {
	d := json.NewDecoder(bytes.NewReader(data))
	if open, err := d.Token(); err != nil || open != json.Delim('{') {
		return "", nil, nil, errors.New("a message is a JSON object")
	}
	rest = append(rest, '{')
	var seen []string
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return "", nil, nil, errors.New("the message is not JSON")
		}
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			return "", nil, nil, errors.New("the message is not JSON")
		}
		field := strings.ToLower(key.(string)) // the decoder takes TYPE for type
		if slices.Contains(seen, field) {
			return "", nil, nil, fmt.Errorf("the field %q is there twice", clip(field))
		}
		if seen = append(seen, field); len(seen) > 16 {
			return "", nil, nil, errors.New("more fields than any message has")
		}
		if key == "type" {
			if json.Unmarshal(value, &name) != nil {
				return "", nil, nil, errors.New("type: expected a text")
			}
			continue
		}
		if string(value) != "null" {
			given = append(given, field)
		}
		if len(rest) > 1 {
			rest = append(rest, ',')
		}
		quoted, _ := json.Marshal(key) // a string
		rest = append(append(append(rest, quoted...), ':'), value...)
	}
	if _, err := d.Token(); err != nil {
		return "", nil, nil, errors.New("the message is not JSON")
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return "", nil, nil, errors.New("something stands after the message")
	}
	return name, append(rest, '}'), given, nil
}

// MaxVia is through how many hosts a game may come; maxID bounds an id, in bytes.
const (
	MaxVia = 16
	maxID  = 64
)

// check refuses values that no message may have.
func check(m any) error {
	switch m := m.(type) {
	case *Opening:
		switch {
		case len(m.Versions) == 0 || len(m.Versions) > 16:
			return errors.New("opening: versions: expected 1 to 16 of them, such as [1]")
		case m.Role != Viewer && m.Role != Relay && m.Role != Desk:
			return fmt.Errorf("opening: role: %q is none of viewer, relay, desk", clip(string(m.Role)))
		}
	case *Resend:
		if m.After < 0 {
			return errors.New("resend: after: expected a count from 0 on")
		}
	case *Order:
		if m.Number < 1 || m.Seen != nil && *m.Seen < 0 {
			return errors.New("command: expected a number from 1 on, and seen from 0 on")
		}
	case *League:
		if m.Number < 1 {
			return errors.New("league: number: expected a count from 1 on")
		}
	case *Delay:
		if m.Number < 1 || m.MS < 0 || m.MS > MaxDelay {
			return fmt.Errorf("delay: expected a number from 1 on, and ms from 0 to %d", MaxDelay)
		}
	case *AskLog:
		if m.Before < 0 {
			return errors.New("ask_log: before: expected a count from 0 on")
		}
	case *Snapshot:
		switch {
		case m.View == nil && m.Log == nil:
			return errors.New("snapshot: expected a view or a log")
		case len(m.Game) > maxID || len(m.Via) > MaxVia || slices.ContainsFunc(m.Via, func(s string) bool { return len(s) > maxID }):
			return fmt.Errorf("snapshot: a game's and a host's id have at most %d bytes, and a game comes through at most %d hosts", maxID, MaxVia)
		}
	case *Pong:
		if m.Silent < 0 {
			return errors.New("pong: silent_ms: expected a time from 0 on")
		}
	}
	return nil
}

// Choose returns the best version that both sides understand; false where there is none.
func Choose(versions []int) (int, bool) { return Version, slices.Contains(versions, Version) }

// reason is an error of the decoder in words of ours.
func reason(err error) string {
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &kind):
		return fmt.Sprintf("%s: a %s cannot stand there", kind.Field, kind.Value)
	case strings.HasPrefix(err.Error(), "json: "):
		return strings.TrimPrefix(err.Error(), "json: ")
	}
	return err.Error()
}

// clip shortens what is repeated in a message.
func clip(s string) string {
	if len(s) > 40 {
		return strings.ToValidUTF8(s[:40], "") + "…"
	}
	return s
}
