package feed

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// Version is the version of the messages that this package speaks.
const Version = 1

// Bounds on one message, in bytes. What a host sends may hold a whole game.
const (
	MaxFromViewer = 4 << 10
	MaxFromDesk   = 64 << 10
	MaxFromHost   = 48 << 20
)

// Role is what a connection is for.
type Role string

// A viewer gets the view after each event, a relay the game itself so that it can play it, a desk commands too.
const (
	Viewer Role = "viewer"
	Relay  Role = "relay"
	Desk   Role = "desk"
)

// Opening is the first message of whoever connects.
type Opening struct {
	Versions []int  `json:"versions"` // understood, 1 to 16 of them
	Role     Role   `json:"role"`
	Token    string `json:"token,omitempty"` // of a paired desk, where the request has not shown it; its name stands beside the events
}

// Welcome is the host's answer: the version that both speak from now on.
type Welcome struct {
	Version int           `json:"version"`
	Role    Role          `json:"role"`
	Program string        `json:"program"`
	Now     clock.Instant `json:"now_ns"`
}

// Snapshot is the game as it stands: the whole view as `rafter run` prints it, or for a relay all that it takes to play
// it. The view's clocks are exact at its instant, a whole millisecond: a running one has that much less later on.
type Snapshot struct {
	// Seq counts what a host has published; the messages after it go on from there.
	Seq  int64  `json:"seq"`
	Game string `json:"game"` // its id; another game begins with a snapshot
	// Via are the hosts that the game comes through, the one that plays it first: an id for each, made when it was
	// started. After another Via what was known of the host's clock may hold no more; a relay that finds itself in it
	// would follow itself.
	Via []string      `json:"via,omitempty"`
	Now clock.Instant `json:"now_ns"`
	// Zero is when the game's instant was 0, in nanoseconds on the clock of the host that plays it, which counts from
	// anywhere and goes on over all its games: with the same first of Via, another game's clock is as far from the last
	// one's as their zeros are.
	Zero    int64           `json:"zero_ns"`
	View    json.RawMessage `json:"view,omitempty"`
	Display *Display        `json:"display,omitempty"`
	// Recent is what a viewer may want to read of what has happened lately, the oldest first.
	Recent []Entry `json:"recent,omitempty"`
	Log    *Log    `json:"log,omitempty"`
}

// Log is a game to be played: what it began with, and its events.
type Log struct {
	Began  clock.Instant  `json:"began_ns"`
	Setup  engine.Setup   `json:"setup"`
	Events []engine.Event `json:"events"`
}

// Bounds on what a Log may hold: as many events as a log on disk, and a setup with every number that a team may have.
const (
	MaxEvents = 100_000
	maxSetup  = 256 << 10 // bytes
)

// UnmarshalJSON reads a log. More events, or a larger setup, than there can be are an error before they are read.
func (l *Log) UnmarshalJSON(b []byte) error {
	var raw struct {
		Began  clock.Instant   `json:"began_ns"`
		Setup  json.RawMessage `json:"setup"`
		Events json.RawMessage `json:"events"`
	}
	if err := json.Unmarshal(b, &raw); err != nil {
		return err
	}
	if len(raw.Setup) > maxSetup {
		return fmt.Errorf("log: a setup of %d bytes: at most %d are read", len(raw.Setup), maxSetup)
	}
	*l = Log{Began: raw.Began}
	if len(raw.Setup) > 0 {
		if err := json.Unmarshal(raw.Setup, &l.Setup); err != nil {
			return err
		}
	}
	if len(raw.Events) == 0 || raw.Events[0] != '[' {
		return errors.New("log: events: expected a list")
	}
	d := json.NewDecoder(bytes.NewReader(raw.Events))
	_, _ = d.Token() // the bracket
	for d.More() {
		if len(l.Events) == MaxEvents {
			return fmt.Errorf("log: more than %d events", MaxEvents)
		}
		l.Events = append(l.Events, engine.Event{})
		if err := d.Decode(&l.Events[len(l.Events)-1]); err != nil {
			return err
		}
	}
	return nil
}

// Display says how the game clock is written.
type Display struct {
	Rounding    string `json:"rounding"` // floor or ceil
	TenthsBelow int64  `json:"tenths_below_ms"`
}

// Happened is an event and, for a viewer, the view that it made. Of one with a Seq that does not follow the last the
// receiver asks for what is missing.
type Happened struct {
	Seq     int64           `json:"seq"`
	Now     clock.Instant   `json:"now_ns"`
	Event   engine.Event    `json:"event"`
	View    json.RawMessage `json:"view,omitempty"`
	Display *Display        `json:"display,omitempty"`
	Recent  []Entry         `json:"recent,omitempty"` // for a viewer, after a correction: as in Snapshot
}

// Resend asks for all that was published after a message; the host sends it, or a snapshot where it no longer can.
type Resend struct {
	After int64 `json:"after"`
}

// Ping asks for the host's clock, which shows the game's instants and so begins anew with each game; Asked is on the asker's.
// Pong answers with both of the host's timestamps.
// Source of the names: RFC 5905 section 8, T1 to T3.
type Ping struct {
	Asked int64 `json:"asked_ns"`
}

// Pong is the answer to a Ping.
type Pong struct {
	Asked    int64 `json:"asked_ns"`
	Received int64 `json:"received_ns"`
	Sent     int64 `json:"sent_ns"`
	// Silent is how long the host itself has heard nothing from where it has the game, in milliseconds; 0 where it
	// plays it itself. From 2000 on what it shows is not current.
	Silent int64 `json:"silent_ms,omitempty"`
}

// Order is a command of a desk. Number is the desk's own count, from 1, and comes back with the answer.
type Order struct {
	Number  int64          `json:"number"`
	Command engine.Command `json:"command"`
	Was     *clock.Instant `json:"was_ns,omitempty"`
	// Touched is when the hand moved, on the host's clock as the desk knows it: what was under way for more than two seconds
	// is refused, so that a desk that was cut off can say that nothing was done.
	Touched *clock.Instant `json:"touched_ns,omitempty"`
	// Seen is the Seq of the last message that the desk showed then: where another desk has since done something about the
	// same, it is refused.
	Seen *int64 `json:"seen,omitempty"`
}

// Answer says what came of an order: an event, nothing (it had no effect), or a refusal.
type Answer struct {
	Number  int64         `json:"number"`
	Event   *engine.Event `json:"event,omitempty"`
	Refused *engine.Error `json:"refused,omitempty"`
}

// Problem is why the host ends a connection.
type Problem struct {
	Code    string `json:"code"`
	Message string `json:"message"`
}

// The codes of a Problem.
const (
	BadMessage    = "bad_message" // not of a form that this connection may send now
	NoVersion     = "no_version"  // no version in common
	NotPaired     = "not_paired"  // no token, or one that is not, or no longer, good
	TooFast       = "too_fast"    // more messages than a connection may send
	TooMany       = "too_many"    // more connections than the host, or one address, may have
	HostEnds      = "host_ends"   // it was closed
	NoMessageCame = "no_message_came"
)

// DisplayOf returns how a clock is written.
func DisplayOf(d clock.Display) Display {
	out := Display{Rounding: "floor", TenthsBelow: int64(d.TenthsBelow / time.Millisecond)}
	if d.Rounding == clock.Ceil {
		out.Rounding = "ceil"
	}
	return out
}
