package engine

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"rafter/engine/clock"
	"rafter/engine/jsonobject"
	"rafter/engine/rules"
)

// Throws is what a foul gives.
type Throws = rules.Throws

// The throws, from nothing to two and the ball.
const (
	NoThrows   = rules.NoThrows
	One        = rules.One
	OneAndOne  = rules.OneAndOne
	Two        = rules.Two
	Three      = rules.Three
	TwoAndBall = rules.TwoAndBall
)

// Command is what a desk asks for. It is flat and compares with ==; which fields a verb takes is in the table of
// verbs, all others stay zero. A bare literal is fine: Do checks every field again.
type Command struct {
	Do Verb
	// Amended is, with Do Amend, what event number Event is to have been; the other fields are then that command's.
	Amended Verb
	Event   int // number of an event: void, amend, and undo and redo once they are resolved

	Team   Team
	Points int    // made or taken away, -99 to 99
	Count  int    // a score, fouls or timeouts left, as they are to be
	By     string // a jersey number, or coach
	For    string // sub: the player who leaves the floor
	Kind   string // of foul or timeout; with timeout both, home's
	Other  string // timeout both: away's kind
	Only   Only
	Throws Throws // the lamp held by hand

	Time     Maybe[time.Duration] // a reading, or seconds; nudge takes negative ones
	Period   int                  // from 1; with Overtime the overtime's number
	Overtime bool
	Scores   [2]int        // take: home, away
	Fouls    Maybe[[2]int] // take: home, away
	Arrow    Maybe[Side]   // take

	Numbers string // floor: jersey numbers with a space between
	Key     string // set: the rule value's name
	Text    string // set: its value; a name, a message or a graphic
	Short   string // team: the short name
	Colour  Maybe[Colour]
}

// Verb is what a command does; its word is the `do` of the JSON form.
type Verb uint8

// The verbs.
const (
	NoVerb Verb = iota
	ClockStart
	ClockStop
	ClockSet
	ClockNudge
	PeriodNext
	PeriodSet
	IntervalStart
	IntervalStop
	Score
	ScoreSet
	Foul
	FoulsSet
	Bonus
	BonusAuto
	Control
	Arrow
	ArrowOff
	ArrowFlip
	Timeout
	TimeoutOfficial
	TimeoutMedia
	TimeoutBoth
	TimeoutEnd
	TimeoutsSet
	ShotStart
	ShotStop
	ShotReset
	ShotResetShort
	ShotSet
	ShotOff
	Floor
	Sub
	Take
	Show
	ShowLower
	LowerOff
	Message
	MessageOff
	Horn
	Undo
	Redo
	Void
	Amend
	Forfeit
	Default
	GameOver
	GameNew
	SetTeam
	Roster
	RosterOff
	Set
	verbCount
)

// Event is one accepted command: a line of the log. At is when it was keyed, which is what the gym shows; Was,
// where it is given, is when it was true. Command is as it was keyed, but undo and redo carry their target. Its JSON is
// that of the log and of the feed: instants in nanoseconds.
type Event struct {
	Number  int                  `json:"number"`
	At      clock.Instant        `json:"at_ns"`
	Was     Maybe[clock.Instant] `json:"was_ns,omitzero"`
	Desk    string               `json:"desk"`
	Command Command              `json:"command"`
}

// True returns the instant at which the event was true.
func (e *Event) True() clock.Instant {
	if e.Was.OK {
		return e.Was.Value
	}
	return e.At
}

// verb is one row of the table of verbs: its word, its fields (optional ones with a question mark), how it is
// decided and how it changes the state. decide writes nothing and apply cannot fail. Undo and its kin have
// neither: they change the list of events.
type verb struct {
	name, fields string
	decide       func(*State, *Command, moment) *Error
	apply        func(*State, *Command, moment)
	always       bool // accepted after the game too: it shows something, belongs to the settings, or can change nothing then
}

// verbs is the one table of verbs. Nobody writes it.
var verbs = [verbCount]verb{
	NoVerb:          {},
	ClockStart:      {name: "clock_start", decide: decideClockStart, apply: applyClockStart},
	ClockStop:       {name: "clock_stop", decide: accept, apply: applyClockStop, always: true},
	ClockSet:        {name: "clock_set", fields: "clock", decide: decideClockSet, apply: applyClockSet},
	ClockNudge:      {name: "clock_nudge", fields: "change", decide: decideClockNudge, apply: applyClockNudge},
	PeriodNext:      {name: "period_next", decide: decidePeriodNext, apply: applyPeriodNext},
	PeriodSet:       {name: "period_set", fields: "period", decide: decidePeriodSet, apply: applyPeriodSet},
	IntervalStart:   {name: "interval_start", decide: decideInterval, apply: applyIntervalStart},
	IntervalStop:    {name: "interval_stop", decide: decideInterval, apply: applyIntervalStop},
	Score:           {name: "score", fields: "team points player?", decide: decideScore, apply: applyScore},
	ScoreSet:        {name: "score_set", fields: "team count", decide: accept, apply: applyScoreSet},
	Foul:            {name: "foul", fields: "team foul? person? only?", decide: decideFoul, apply: applyFoul},
	FoulsSet:        {name: "fouls_set", fields: "team player? count", decide: decideFoulsSet, apply: applyFoulsSet},
	Bonus:           {name: "bonus", fields: "team throws", decide: accept, apply: applyBonus},
	BonusAuto:       {name: "bonus_auto", fields: "team", decide: accept, apply: applyBonusAuto},
	Control:         {name: "control", fields: "team", decide: decideArrow, apply: applyControl},
	Arrow:           {name: "arrow", fields: "team", decide: decideArrow, apply: applyArrow},
	ArrowOff:        {name: "arrow_off", decide: accept, apply: applyArrowOff},
	ArrowFlip:       {name: "arrow_flip", decide: decideArrowFlip, apply: applyArrowFlip},
	Timeout:         {name: "timeout", fields: "team timeout?", decide: decideTimeout, apply: applyTimeout},
	TimeoutOfficial: {name: "timeout_official", decide: decideFreeTimeout, apply: applyFreeTimeout},
	TimeoutMedia:    {name: "timeout_media", decide: decideFreeTimeout, apply: applyFreeTimeout},
	TimeoutBoth:     {name: "timeout_both", fields: "hometimeout? awaytimeout?", decide: decideTimeoutBoth, apply: applyTimeoutBoth},
	TimeoutEnd:      {name: "timeout_end", decide: accept, apply: applyTimeoutEnd},
	TimeoutsSet:     {name: "timeouts_set", fields: "team timeout count", decide: decideTimeoutsSet, apply: applyTimeoutsSet},
	ShotStart:       {name: "shot_start", decide: decideShot, apply: applyShotStart},
	ShotStop:        {name: "shot_stop", decide: decideShot, apply: applyShotStop},
	ShotReset:       {name: "shot_reset", fields: "seconds?", decide: decideShotSet, apply: applyShotReset},
	ShotResetShort:  {name: "shot_reset_short", decide: decideShotShort, apply: applyShotShort},
	ShotSet:         {name: "shot_set", fields: "seconds", decide: decideShotSet, apply: applyShotReset},
	ShotOff:         {name: "shot_off", decide: accept, apply: applyShotOff},
	Floor:           {name: "floor", fields: "team numbers", decide: decideFloor, apply: applyFloor},
	Sub:             {name: "sub", fields: "team player for", decide: decideSub, apply: applySub},
	Take:            {name: "take", fields: "home away home_fouls? away_fouls? period? clock? side?", decide: decideTake, apply: applyTake},
	Show:            {name: "show", fields: "graphic", decide: accept, apply: applyShow, always: true},
	ShowLower:       {name: "lower", fields: "team player", decide: decideLower, apply: applyLower, always: true},
	LowerOff:        {name: "lower_off", decide: accept, apply: applyLowerOff, always: true},
	Message:         {name: "message", fields: "message", decide: accept, apply: applyMessage, always: true},
	MessageOff:      {name: "message_off", decide: accept, apply: applyMessageOff, always: true},
	Horn:            {name: "horn", decide: accept, apply: applyHorn, always: true},
	Undo:            {name: "undo", fields: "event?"},
	Redo:            {name: "redo", fields: "event?"},
	Void:            {name: "void", fields: "event"},
	Amend:           {name: "amend", fields: "event"},
	Forfeit:         {name: "forfeit", fields: "team", decide: accept, apply: applyForfeit},
	Default:         {name: "default", fields: "team", decide: decideDefault, apply: applyForfeit},
	GameOver:        {name: "game_over", decide: accept, apply: applyGameOver, always: true},
	GameNew:         {name: "game_new"},
	SetTeam:         {name: "team", fields: "team name? short? color?", decide: decideTeam, apply: applyTeam, always: true},
	Roster:          {name: "roster", fields: "team player name?", decide: decideRoster, apply: applyRoster, always: true},
	RosterOff:       {name: "roster_off", fields: "team player", decide: decideRosterOff, apply: applyRosterOff, always: true},
	Set:             {name: "set", fields: "key value", decide: decideSet, apply: applySet, always: true},
}

func accept(*State, *Command, moment) *Error { return nil }

// String returns the verb's word, as in JSON: score, clock_start.
func (v Verb) String() string {
	if v >= verbCount {
		return ""
	}
	return verbs[v].name
}

// Fields lists the names of the fields that the verb takes; optional ones end in a question mark.
func (v Verb) Fields() []string {
	if v >= verbCount {
		return nil
	}
	return strings.Fields(verbs[v].fields)
}

// VerbNamed returns the verb of that word.
func VerbNamed(name string) (Verb, bool) {
	for v := NoVerb + 1; v < verbCount; v++ {
		if verbs[v].name == name {
			return v, true
		}
	}
	return NoVerb, false
}

// check refuses a command that has a field too many, too few or out of range, whoever made it.
func check(c *Command) *Error {
	v := c.Do
	same := Command{Do: c.Do, Amended: c.Amended}
	if v == Amend {
		v = c.Amended
		same.Event = c.Event
		if c.Event < 1 {
			return Refuse(MissingField, "", "the number of an event", "amend needs the number of an event")
		}
		if v == NoVerb || v >= verbCount || isRevision(v) || v == GameNew {
			return cannotAmend(v)
		}
	} else if c.Amended != NoVerb {
		return Refuse(UnknownField, c.Amended.String(), "no second command", "only amend carries a second command")
	}
	if v == NoVerb || v >= verbCount {
		return noCommand()
	}
	for _, part := range fieldLists[v] {
		f := part.field
		text, given := f.Get(c)
		if !given {
			if part.optional {
				continue
			}
			return Refuse(MissingField, v.String(), f.Want, fmt.Sprintf("%s needs %s: %s", v, f.Key, f.Want))
		}
		if err := f.Put(&same, text); err != nil {
			return err
		}
	}
	if same != *c {
		return Refuse(UnknownField, v.String(), strings.Join(v.Fields(), " "), fmt.Sprintf("%s was given a field that it does not have, or a time finer than a millisecond", v))
	}
	return nil
}

func noCommand() *Error {
	return Refuse(UnknownCommand, "", "a command", "there is no command here")
}

func cannotAmend(v Verb) *Error {
	return Refuse(CannotAmend, v.String(), "a command of the game", "an event can be amended only to another command of the game")
}

// isRevision tells whether the verb changes the list of events and not the state.
func isRevision(v Verb) bool { return v == Undo || v == Redo || v == Void || v == Amend }

// played returns the command that an amend puts in the place of another.
func (c Command) played() Command {
	c.Do, c.Amended, c.Event = c.Amended, NoVerb, 0
	return c
}

// MarshalJSON writes {"do":"score","team":"home","points":2,"by":"12"}: the verb's fields in its order.
func (c Command) MarshalJSON() ([]byte, error) {
	if err := check(&c); err != nil {
		return nil, err
	}
	b := append([]byte(`{"do":"`), c.Do.String()...)
	b = append(b, '"')
	if c.Do == Amend {
		inner, err := c.played().MarshalJSON()
		b = append(strconv.AppendInt(append(b, `,"event":`...), int64(c.Event), 10), `,"command":`...)
		return append(append(b, inner...), '}'), err
	}
	for _, part := range fieldLists[c.Do] {
		f := part.field
		text, given := f.Get(&c)
		if !given {
			continue
		}
		b = append(append(append(b, `,"`...), f.Key...), `":`...)
		switch f.Form {
		case Number:
			b = append(b, text...)
		case List:
			list, _ := json.Marshal(strings.Split(text, " ")) // strings cannot fail
			b = append(b, list...)
		default:
			word, _ := json.Marshal(text)
			b = append(b, word...)
		}
	}
	return append(b, '}'), nil
}

// UnmarshalJSON reads one command strictly: `do` first, each field once and of its form, none unknown, none missing.
func (c *Command) UnmarshalJSON(b []byte) error {
	if len(b) > maxJSON || !utf8.Valid(b) {
		return Refuse(BadValue, "", fmt.Sprintf("at most %d bytes of UTF-8", maxJSON), "the command is too long, or not UTF-8")
	}
	text := string(b) // the one copy: the command's texts are parts of it
	if !json.Valid(b) {
		return notAnObject(text)
	}
	old := *c
	*c = Command{}
	if err := decode(text, c, false); err != nil {
		*c = old
		return err
	}
	return nil
}

func notAnObject(text string) *Error {
	return Refuse(BadValue, clip(text), `{"do":…}`, "a command is a JSON object that begins with do")
}

// decode reads valid JSON into an empty command. What it makes passes check: each of its fields was put from a text, and no
// other.
func decode(text string, c *Command, amended bool) *Error {
	o, ok := jsonobject.Open(text)
	if !ok {
		return notAnObject(text)
	}
	var seen fieldSet
	for key, raw := o.Next(); raw != ""; key, raw = o.Next() {
		if err := c.takeJSON(key, raw, amended, &seen); err != nil {
			return err
		}
	}
	if c.Do == NoVerb {
		return noCommand()
	}
	for i, part := range fieldLists[c.Do] {
		// A number that is left out would otherwise read as 0.
		if f := part.field; !part.optional && !seen.has(i) {
			return Refuse(MissingField, c.Do.String(), f.Want, fmt.Sprintf("%s needs %s: %s", c.Do, f.Key, f.Want))
		}
	}
	if c.Do == Amend && c.Amended == NoVerb {
		return cannotAmend(NoVerb)
	}
	return nil
}

// fieldSet is which of a verb's fields have been given, by their places in its list.
type fieldSet uint32

func (s fieldSet) has(i int) bool { return s>>i&1 != 0 }

// takeJSON puts one field of the JSON form into the command.
func (c *Command) takeJSON(key, raw string, amended bool, seen *fieldSet) *Error {
	switch {
	case c.Do == NoVerb:
		return c.takeVerb(key, raw, amended)
	case key == "do", key == "command" && c.Amended != NoVerb:
		return givenTwice(key)
	case key == "command" && c.Do == Amend:
		var inner Command
		if err := decode(raw, &inner, true); err != nil {
			return err
		}
		inner.Do, inner.Amended, inner.Event = Amend, inner.Do, c.Event
		*c = inner
		return nil
	}
	for i, part := range fieldLists[c.Do] {
		f := part.field
		if f.Key != key {
			continue
		}
		if seen.has(i) {
			return givenTwice(key)
		}
		*seen |= 1 << i
		text, ok := f.textOf(raw)
		if !ok {
			return Refuse(BadValue, clip(raw), f.Want, fmt.Sprintf("%s cannot be %s; expected %s", key, clip(raw), f.Want))
		}
		return f.Put(c, text)
	}
	return Refuse(UnknownField, clip(key), strings.Join(c.Do.Fields(), " "), fmt.Sprintf("%s has no field %q", c.Do, clip(key)))
}

func (c *Command) takeVerb(key, raw string, amended bool) *Error {
	text, ok := jsonobject.Unquote(raw)
	v, known := VerbNamed(text)
	if key != "do" || !ok || !known {
		return Refuse(UnknownCommand, clip(raw), "do first, and a command there is", fmt.Sprintf("%s is no command", clip(raw)))
	}
	if amended && (isRevision(v) || v == GameNew) {
		return cannotAmend(v)
	}
	c.Do = v
	return nil
}

func givenTwice(key string) *Error {
	return Refuse(UnknownField, clip(key), "each field once", fmt.Sprintf("the field %q is there twice", clip(key)))
}

// textOf returns the field's text from its JSON value, if that is of the field's form.
func (f *Field) textOf(raw string) (string, bool) {
	switch f.Form {
	case Number:
		return raw, true // Put takes nothing but a number
	case List:
		var list []string
		err := json.Unmarshal([]byte(raw), &list)
		text := strings.Join(list, " ")
		return text, err == nil && len(list) == strings.Count(text, " ")+1
	}
	return jsonobject.Unquote(raw)
}
