// Package journal is the form of a game's log: one JSON line a record, each with its sequence number and the
// CRC-32C of its own bytes, read back strictly. It must not touch a file, a clock or a goroutine: bytes come in
// and go out.
//
// The form is stable within a format version: what one program of this version wrote, every other reads.
//
//	{"seq":1,"header":{"format":1,"program":"rafter",…},"crc":"…"}
//	{"seq":2,"event":{"number":1,"at_ns":12400000000,"desk":"keys","command":{…}},"crc":"…"}
//	{"seq":3,"beat":{"at_ns":12650000000,"left_ns":467350000000},"crc":"…"}
package journal

import (
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// Format is the version of the form that this package writes and the newest that it reads.
const Format = 1

// Program stands in each header, so that another program's file is told apart.
const Program = "rafter"

// Bounds on what is read. A beat takes some 80 bytes, four times a second.
const (
	MaxLine   = 256 << 10 // bytes, newline included: two full rosters in the header are some 40 KiB
	MaxFile   = 32 << 20  // bytes; the clock of one game runs less than the 24 hours that fit
	MaxEvents = 100_000
	maxDepth  = 16 // of JSON inside one line; ours needs 6
)

// Header is the first line: all that the log alone needs to draw the same picture on any machine.
type Header struct {
	Format  int    `json:"format"`
	Program string `json:"program"`
	// ID names the game, not the file: a copy or a continuation of the log keeps it. 1 to 64 printable characters.
	ID string `json:"id"`
	// Began is the time of day at instant 0.
	Began WallTime `json:"began"`
	// Setup is the rule set with all its values, team names, colours and rosters.
	Setup engine.Setup `json:"setup"`
}

// Beat says that the clock was running at At with Left to go: what a power cut leaves to resume from.
type Beat struct {
	At   clock.Instant `json:"at_ns"`
	Left time.Duration `json:"left_ns"`
}

// Resume says that from instant At on the time of day is Wall: written where the program was started again or
// the computer had slept.
type Resume struct {
	At   clock.Instant `json:"at_ns"`
	Wall WallTime      `json:"wall"`
}

// End says that the game was put away at At. A Resume after it opens the game again.
type End struct {
	At clock.Instant `json:"at_ns"`
}

// Record is one line's content: exactly one of its fields is set.
type Record struct {
	Header *Header       `json:"header"`
	Event  *engine.Event `json:"event"`
	Beat   *Beat         `json:"beat"`
	Resume *Resume       `json:"resume"`
	End    *End          `json:"end"`
}

// Log is a log as read.
type Log struct {
	Header Header
	// Records are all lines but beats, in their order, the header first. It is what a copy of the log needs.
	Records []Record
	// Last is the last beat; Beats is how many there are.
	Last  Beat
	Beats int
	// Events counts the events; their numbers run from 1 to Events.
	Events int
	// Ended tells that the game was put away and not opened again since.
	Ended bool
	// Lines are the good lines, and Size their bytes: where the next line goes.
	Lines int
	Size  int64
	// Torn is the size of a last line that was cut off while it was written; it is no part of the game. 0: none.
	Torn int64

	lineOf []int // of each event
	latest clock.Instant
}

// At returns the latest instant that the log knows of.
func (l *Log) At() clock.Instant { return l.latest }

// Wall returns the time of day at instant t, by the last line before it that says so.
func (l *Log) Wall(t clock.Instant) time.Time {
	from, wall := clock.Instant(0), l.Header.Began.Time
	for _, r := range l.Records {
		if r.Resume != nil && r.Resume.At <= t {
			from, wall = r.Resume.At, r.Resume.Wall.Time
		}
	}
	return wall.Add(t.Sub(from))
}

// EventList returns the events in their order.
func (l *Log) EventList() []engine.Event {
	events := make([]engine.Event, 0, l.Events)
	for _, r := range l.Records {
		if r.Event != nil {
			events = append(events, *r.Event)
		}
	}
	return events
}

// Keep drops every event after the first n, with what follows it; for a log of which no more can be played.
func (l *Log) Keep(n int) {
	if n >= l.Events {
		return
	}
	for i, r := range l.Records {
		if r.Event != nil && r.Event.Number > n {
			l.Records = l.Records[:i]
			break
		}
	}
	l.Events, l.lineOf = n, l.lineOf[:n]
	l.latest = l.Records[len(l.Records)-1].At()
	l.Last, l.Ended = Beat{}, false
}

// Game plays the events through the engine. Where the engine refuses one, the error (an *Error with the code
// Unknown) names its line and the game returned holds what stands before it; the game is nil where the setup
// itself is refused.
func (l *Log) Game() (*engine.Game, error) {
	game, err := engine.NewGame(l.Header.Setup)
	if err != nil {
		return nil, unknown(1, "the rules or teams in the header are refused: "+err.Error())
	}
	game.Grow(l.Events)
	for _, r := range l.Records {
		if r.Event == nil {
			continue
		}
		if err := game.Replay(*r.Event); err != nil {
			return game, unknown(l.lineOf[r.Event.Number-1], "the event is refused: "+err.Error())
		}
	}
	return game, nil
}

// At returns the record's instant; 0 for a header.
func (r Record) At() clock.Instant {
	switch {
	case r.Event != nil:
		return r.Event.At
	case r.Beat != nil:
		return r.Beat.At
	case r.Resume != nil:
		return r.Resume.At
	case r.End != nil:
		return r.End.At
	}
	return 0
}
