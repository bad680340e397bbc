package main

import (
	"encoding/json"
	"os"

	"rafter/engine"
)

// traceLine is what one frame showed.
type traceLine struct {
	Frame        int            `json:"frame"` // from 1
	At           engine.Seconds `json:"at"`
	Acknowledged int            `json:"acknowledged"` // the last event that the strip called saved
	LastEvent    int            `json:"last_event"`
	ClockMS      int64          `json:"clock_ms"`
	Keys         []string       `json:"keys"`  // pressed before this frame, and in its picture
	Theme        int            `json:"theme"` // how often a theme that was edited has been taken
}

// trace appends a line for each frame once it is on the screen; without a file it does nothing.
type trace struct {
	file *os.File
	line traceLine
	keys []string
}

func openTrace(path string) (*trace, error) {
	if path == "" {
		return &trace{}, nil
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o644)
	return &trace{file: f}, err
}

// frame notes what the frame to come shows.
func (t *trace) frame(v *engine.View, acknowledged, theme int) {
	if t.file == nil {
		return
	}
	t.line = traceLine{t.line.Frame + 1, v.At, acknowledged, v.LastEvent, v.Clock.RemainingMS, append([]string{}, t.keys...), theme}
	t.keys = t.keys[:0]
}

func (t *trace) key(code string) {
	if t.file != nil {
		t.keys = append(t.keys, code)
	}
}

// shown writes the line, in one piece, so that a program killed in between leaves whole lines.
func (t *trace) shown() {
	if t.file == nil {
		return
	}
	b, err := json.Marshal(t.line)
	if err == nil {
		_, err = t.file.Write(append(b, '\n'))
	}
	if err != nil { // a full disk: the game matters more than its trace
		t.file.Close()
		t.file = nil
	}
}
