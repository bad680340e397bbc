package desk

import (
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/script"
)

const (
	// HoldTime is how long a key that clears or jumps is held.
	HoldTime = time.Second
	// EntryTime is how long a half-typed entry waits before it is dropped.
	EntryTime = 5 * time.Second
	// HoldFull is Strip.Held when the hold is done.
	HoldFull = 1 << 16
)

// Game is what the desk looks at to know, say, whether the clock runs. A host is one, and so is an engine.Game.
type Game interface {
	ViewInto(v *engine.View, at clock.Instant)
}

// Config is what a desk is made of.
type Config struct {
	Table Table
	Game  Game
	// Name is the desk's name in the log, by which undo finds its own events.
	Name string
	// Graphics are what one key goes through, that on air at first in front; Messages are sent by their number.
	Graphics, Messages []string
}

// Action is what a stroke asks for: a command for the game (Words are its script text), or a thing of the
// window's own.
type Action struct {
	Do      Do
	Command engine.Command
	Words   string
}

// Desk reads strokes. Give it every press and release with its instant, and a Tick at each frame; do what it
// returns before the next call, and tell it with Did. It is not safe for concurrent use.
type Desk struct {
	Config
	view    engine.View
	down    map[string]bool
	layer   layer
	entry   entry
	waiting clock.Instant // the instant of the last stroke of an unfinished act
	hold    hold
	asks    string // before it closes: why; empty for no question
	last    event
	wrong   string

	hints    []Hint // of the occasion; nil before the first
	occasion occasion
}

type hold struct {
	on   bool
	code string
	act  act
	// entry is what was typed when the hold began: it must not be dropped meanwhile.
	entry entry
	since clock.Instant
}

type event struct {
	words  string
	number int
}

// New returns a desk that has seen nothing yet.
func New(c Config) *Desk { return &Desk{Config: c, down: map[string]bool{}} }

// Press takes a key going down. A key that is down already is a repeat and ignored.
func (d *Desk) Press(code string, at clock.Instant) (Action, bool) {
	if d.down[code] {
		return Action{}, false
	}
	d.down[code] = true
	d.expire(at)
	if code == SpaceKey { // before anything else, and it changes nothing that is under way
		a, _ := d.Table.find(direct, SpaceKey)
		return d.perform(a, "", at)
	}
	if d.modified() {
		return Action{}, false
	}
	d.wrong = ""
	if d.hold.on { // another key ends a hold and all that led to it
		d.hold = hold{}
		d.drop()
	}
	if d.Asks() && code == "Escape" {
		d.hold = hold{on: true, code: code, act: act{does: "close the window: " + d.asks, do: Close}, since: at}
		return Action{}, false
	}
	if s, ok := typed(code); ok {
		d.entry = d.entry.add(s)
		d.waiting = at
		return Action{}, false
	}
	return d.stroke(code, at)
}

// modified tells whether a modifier is down, the key just pressed included.
func (d *Desk) modified() bool {
	for _, m := range modifiers {
		if d.down[m] {
			return true
		}
	}
	return false
}

func (d *Desk) stroke(code string, at clock.Instant) (Action, bool) {
	a, ok := d.Table.find(d.layer, code)
	switch {
	case code == "Escape":
		d.drop()
		return Action{}, false
	case !ok && code == "Backspace" && d.layer != direct:
		d.layer = direct
		return Action{}, false
	case code == "Backspace" && d.layer == direct && d.entry != "":
		d.entry = d.entry.erase()
		d.waiting = at
		return Action{}, false
	case !ok && d.layer != direct:
		d.wrong = d.Table.label(code) + " does nothing here: the stroke before it is dropped"
		d.drop()
		return Action{}, false
	case !ok:
		return Action{}, false
	case a.opens != direct:
		d.layer, d.waiting = a.opens, at
		return Action{}, false
	case a.hold:
		d.hold = hold{on: true, code: code, act: a, entry: d.entry, since: at}
		return Action{}, false
	}
	e := d.entry
	d.drop()
	return d.perform(a, e, at)
}

// Release takes a key going up; a hold that is not done is dropped.
func (d *Desk) Release(code string, at clock.Instant) (Action, bool) {
	delete(d.down, code)
	a, done := d.Tick(at) // a second that ended between two frames counts
	if d.hold.code == code {
		d.hold = hold{}
		d.drop()
	}
	return a, done
}

// Tick lets time pass: a hold is done, or what was half typed is dropped.
func (d *Desk) Tick(at clock.Instant) (Action, bool) {
	if d.hold.on && at.Sub(d.hold.since) >= HoldTime {
		h := d.hold
		d.hold = hold{}
		d.drop()
		return d.perform(h.act, h.entry, at)
	}
	d.expire(at)
	return Action{}, false
}

// AskClose is the window's close button: with the clock standing it closes; else Escape is to be held for a
// second, within five. also is another reason to ask, as "not all is saved"; empty for none.
func (d *Desk) AskClose(at clock.Instant, also string) (Action, bool) {
	d.look(at)
	why := also
	if d.view.Clock.Running {
		why = "the clock is running"
	}
	if why == "" {
		return Action{Do: Close}, true
	}
	d.drop()
	d.asks, d.waiting = why, at
	return Action{}, false
}

// Asks tells whether the desk waits for the answer to AskClose.
func (d *Desk) Asks() bool { return d.asks != "" }

// Did tells what became of an action: the event, or why the game refused it.
func (d *Desk) Did(ev engine.Event, changed bool, err error) {
	switch {
	case err != nil:
		d.wrong = err.Error()
	case changed:
		d.last = event{script.Format(ev.Command), ev.Number}
	}
}

// Anew forgets the last event: another game has begun, be it by another hand.
func (d *Desk) Anew() { d.last = event{} }

func (d *Desk) perform(a act, e entry, at clock.Instant) (Action, bool) {
	if a.do != Command {
		return Action{Do: a.do}, true
	}
	d.look(at)
	words, err := a.words(moment{
		entry: e, view: &d.view, graphics: d.Graphics, messages: d.Messages,
		last: d.last.words, number: d.last.number, home: a.team == "home",
	})
	if err != nil {
		d.wrong = err.Error()
		return Action{}, false
	}
	words = a.withTeam(words)
	c, err := script.ParseCommand(words)
	if err != nil {
		d.wrong = err.Error()
		return Action{}, false
	}
	return Action{Command: c, Words: words}, true
}

func (d *Desk) look(at clock.Instant) {
	if d.Game != nil {
		d.Game.ViewInto(&d.view, at)
	}
}

func (d *Desk) pending() bool { return d.layer != direct || d.entry != "" || d.Asks() }

func (d *Desk) drop() { d.layer, d.entry, d.asks = direct, "", "" }

func (d *Desk) expire(at clock.Instant) {
	if d.pending() && !d.hold.on && at.Sub(d.waiting) >= EntryTime {
		d.drop()
	}
}
