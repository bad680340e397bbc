package engine

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"rafter/engine/rules"
)

func TestEveryVerbHasItsRow(t *testing.T) {
	for v := NoVerb + 1; v < verbCount; v++ {
		row := &verbs[v]
		if row.name == "" || (row.decide == nil) != (isRevision(v) || v == GameNew) || (row.decide == nil) != (row.apply == nil) {
			t.Errorf("verb %d has no whole row: %q", v, row.name)
		}
		if got, ok := VerbNamed(row.name); !ok || got != v {
			t.Errorf("%q names verb %d, want %d", row.name, got, v)
		}
		for _, name := range v.Fields() {
			if _, ok := FieldNamed(strings.TrimSuffix(name, "?")); !ok {
				t.Errorf("%s: there is no field %q", v, name)
			}
		}
	}
}

func TestCommandsAsJSON(t *testing.T) {
	for _, row := range []struct {
		text string
		want Command
	}{
		{`{"do":"score","team":"home","points":2,"by":"12"}`, Command{Do: Score, Team: Home, Points: 2, By: "12"}}, // the contract's own
		{`{"do":"clock_set","clock":"4:32.1"}`, Command{Do: ClockSet, Time: Some(272100 * time.Millisecond)}},
		{`{"do":"clock_nudge","seconds":"-0.3"}`, Command{Do: ClockNudge, Time: Some(-300 * time.Millisecond)}},
		{`{"do":"period_set","period":"ot2"}`, Command{Do: PeriodSet, Period: 2, Overtime: true}},
		{`{"do":"foul","team":"away","kind":"technical","by":"coach"}`, Command{Do: Foul, Team: Away, Kind: "technical", By: "coach"}},
		{`{"do":"timeout_both","home":"full","away":"short"}`, Command{Do: TimeoutBoth, Kind: "full", Other: "short"}},
		{`{"do":"floor","team":"home","numbers":["4","5","10"]}`, Command{Do: Floor, Team: Home, Numbers: "4 5 10"}},
		{`{"do":"undo"}`, Command{Do: Undo}},
		{`{"do":"amend","event":17,"command":{"do":"score","team":"away","points":3}}`, Command{Do: Amend, Amended: Score, Event: 17, Team: Away, Points: 3}},
		{`{"do":"team","team":"home","name":"Larkmoor","short":"LAR","color":"#000000"}`,
			Command{Do: SetTeam, Team: Home, Text: "Larkmoor", Short: "LAR", Colour: Some(Colour{Black: true})}},
	} {
		var c Command
		if err := json.Unmarshal([]byte(row.text), &c); err != nil || c != row.want {
			t.Errorf("%s reads as %+v (%v)", row.text, c, err)
		}
		if b, err := json.Marshal(row.want); err != nil || string(b) != row.text {
			t.Errorf("%+v is written %s (%v), want %s", row.want, b, err, row.text)
		}
	}
}

func TestCommandsThatAreRefusedAsJSON(t *testing.T) {
	for _, row := range []struct {
		name, text string
		want       Code
	}{
		{"no object", `[]`, BadValue},
		{"nothing", ``, BadValue},
		{"no do", `{"team":"home"}`, UnknownCommand},
		{"do is not first", `{"team":"home","do":"control"}`, UnknownCommand},
		{"an unknown verb", `{"do":"jump"}`, UnknownCommand},
		{"a field twice", `{"do":"control","team":"home","team":"away"}`, UnknownField},
		{"a field too many", `{"do":"horn","team":"home"}`, UnknownField},
		{"a field too few", `{"do":"score","team":"home"}`, MissingField},
		{"a number as text", `{"do":"score","team":"home","points":"2"}`, BadValue},
		{"text as a number", `{"do":"score","team":"home","points":2,"by":12}`, BadValue},
		{"a fraction", `{"do":"score","team":"home","points":2.5}`, BadValue},
		{"out of range", `{"do":"score","team":"home","points":100}`, BadValue},
		{"a kind that no set has", `{"do":"foul","team":"home","kind":"banana"}`, BadValue},
		{"an amend to an undo", `{"do":"amend","event":1,"command":{"do":"undo"}}`, CannotAmend},
		{"an amend without a command", `{"do":"amend","event":1}`, CannotAmend},
		{"an amend without a number", `{"do":"amend","command":{"do":"horn"}}`, MissingField},
		{"an amend of an amend", `{"do":"amend","event":1,"command":{"do":"amend","event":1,"command":{"do":"horn"}}}`, CannotAmend},
		{"a control character", `{"do":"message","text":"a\u0007b"}`, BadValue},
		{"a turned direction", `{"do":"message","text":"a\u202eb"}`, BadValue},
		{"the first mark that turns", `{"do":"message","text":"a\u202ab"}`, BadValue},
		{"the first that isolates", `{"do":"message","text":"a\u2066b"}`, BadValue},
		{"the last that isolates", `{"do":"message","text":"a\u2069b"}`, BadValue},
		{"a line separator", `{"do":"message","text":"a\u2028b"}`, BadValue},
		{"a reading no clock has", `{"do":"clock_set","clock":"3:00:00.001"}`, BadValue},
		{"an empty message", `{"do":"message","text":""}`, BadValue},
		{"too long", `{"do":"message","text":"` + strings.Repeat("a", 201) + `"}`, BadValue},
		{"a huge one", `{"do":"message","text":"` + strings.Repeat("a", 5000) + `"}`, BadValue},
		{"six on the floor", `{"do":"floor","team":"home","numbers":["1","2","3","4","5","10"]}`, BadValue},
		{"a number with a space", `{"do":"floor","team":"home","numbers":["1 2"]}`, BadValue},
		{"a truncated one", `{"do":"horn"`, BadValue},
	} {
		c := Command{Do: Horn}
		err := c.UnmarshalJSON([]byte(row.text))
		if !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %s", row.name, err, row.want)
		}
		if c != (Command{Do: Horn}) {
			t.Errorf("%s was refused and left %+v", row.name, c)
		}
	}
}

func TestErrorsMatchByCode(t *testing.T) {
	err := error(Refuse(NoTimeoutsLeft, "home", "x", "y"))
	if !errors.Is(err, NoTimeoutsLeft) || errors.Is(err, NotNow) || !errors.Is(err, &Error{Code: NoTimeoutsLeft}) {
		t.Error("an error is not found by its code")
	}
}

func TestShortNames(t *testing.T) {
	for name, want := range map[string]string{"HOME": "HOME", "Larkmoor Herons": "Lark", "Ty Cats": "Ty", "Ábel": "Ábel", "": ""} {
		if got := shortName(name); got != want {
			t.Errorf("%q is shortened to %q, want %q", name, got, want)
		}
	}
}

func TestLiteralsAreCheckedToo(t *testing.T) {
	for _, row := range []struct {
		name string
		c    Command
		want Code
	}{
		{"nothing", Command{}, UnknownCommand},
		{"no verb there is", Command{Do: 250}, UnknownCommand},
		{"amended to no verb there is", Command{Do: Amend, Event: 1, Amended: 250}, CannotAmend},
		{"amended to nothing", Command{Do: Amend, Event: 1}, CannotAmend},
		{"amended to an undo", Command{Do: Amend, Event: 1, Amended: Undo}, CannotAmend},
		{"amended to a new game", Command{Do: Amend, Event: 1, Amended: GameNew}, CannotAmend},
		{"no event to amend", Command{Do: Amend, Amended: Horn}, MissingField},
		{"a second command without amend", Command{Do: Horn, Amended: Horn}, UnknownField},
		{"a field of another verb", Command{Do: Horn, Team: Home}, UnknownField},
		{"a team there is not", Command{Do: Control, Team: 3}, BadValue},
		{"no team", Command{Do: Control}, MissingField},
		{"finer than a millisecond", Command{Do: ClockSet, Time: Some(time.Duration(1))}, BadValue},
		{"below zero", Command{Do: ClockSet, Time: Some(-time.Second)}, UnknownField},
		{"the longest reading", Command{Do: ClockSet, Time: Some(maxReading)}, ""},
		{"the longest nudge back", Command{Do: ClockNudge, Time: Some(-maxReading)}, ""},
		{"a longer one", Command{Do: ClockNudge, Time: Some(-maxReading - time.Millisecond)}, BadValue},
	} {
		err := check(&row.c)
		if row.want == "" && err != nil || row.want != "" && (err == nil || err.Code != row.want) {
			t.Errorf("%s: %v, want %q", row.name, err, row.want)
		}
	}
}

// TestASetThatContradictsIsRefused: from a desk, too, and nothing changes.
func TestASetThatContradictsIsRefused(t *testing.T) {
	set, _ := rules.ByName("fiba")
	g, err := NewGame(Setup{Rules: set})
	if err != nil {
		t.Fatal(err)
	}
	var c Command
	if err := json.Unmarshal([]byte(`{"do":"set","key":"shot_length","value":"0:10"}`), &c); err != nil {
		t.Fatal(err)
	}
	before := g.State()
	_, changed, err := g.Do("phone", c, 0, None)
	var refused *Error
	if !errors.As(err, &refused) || changed || g.State() != before || len(g.Events()) != 0 {
		t.Fatalf("changed %v, %d events: %v", changed, len(g.Events()), err)
	}
	want := Error{Code: RuleContradicted, Value: "0:10", Expected: "shot_short at most shot_length; shot_short is 0:14, shot_length is 0:10",
		Message: "shot_length 0:10 and the other rule values do not go together; expected shot_short at most shot_length; shot_short is 0:14, shot_length is 0:10"}
	if *refused != want {
		t.Errorf("got  %+v\nwant %+v", *refused, want)
	}
	set.ShotLength = time.Second
	if _, err := NewGame(Setup{Rules: set}); !errors.Is(err, RuleContradicted) {
		t.Errorf("a game by a rule set that contradicts itself: %v", err)
	}
}
