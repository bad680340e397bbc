package script

import (
	"errors"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rafter/engine"
)

// Each verb has one form, and the form has the verb's fields: what JSON can say, a script can.
func TestFormsCoverTheVerbs(t *testing.T) {
	seen := map[engine.Verb]bool{}
	field := regexp.MustCompile(`\{(\w+)\}`)
	for _, f := range forms {
		if seen[f.verb] {
			t.Errorf("%s has two forms", f.verb)
		}
		seen[f.verb] = true
		var named, wanted []string
		for _, m := range field.FindAllStringSubmatch(f.form, -1) {
			named = append(named, m[1])
		}
		for _, name := range f.verb.Fields() {
			wanted = append(wanted, strings.TrimSuffix(name, "?"))
		}
		slices.Sort(named)
		slices.Sort(wanted)
		if !slices.Equal(named, wanted) {
			t.Errorf("%q has the fields %v, the verb %v", f.form, named, wanted)
		}
	}
	for v := engine.NoVerb + 1; v.String() != ""; v++ {
		if !seen[v] {
			t.Errorf("%s has no form", v)
		}
	}
}

func TestCommandsReadAndWrite(t *testing.T) {
	for _, text := range []string{ // the contract's own spellings
		"clock start", "clock stop", "clock nudge -0.3", "period next", "period set 3", "period set ot2",
		"interval start", "interval stop", "score home 2 by 12", "score home -1", "score home = 45",
		"foul home", "foul home technical by coach", "foul away shooting by 00 player-only", "foul home team-only",
		"fouls home = 4", "fouls home by 12 = 3", "bonus home auto", "bonus home none", "bonus away one_and_one", "bonus home two_and_ball",
		"control home", "arrow home", "arrow off", "arrow flip",
		"timeout home", "timeout home short", "timeout official", "timeout media", "timeout both home full away short", "timeout end",
		"timeouts home full = 2", "shot start", "shot stop", "shot reset", "shot reset short", "shot reset 14", "shot set 11.3", "shot off",
		"floor home 4 5 10 12 23", "sub home 12 for 5", "take score 43 38 fouls 7 5 period 3 clock 4:12 arrow home", "take score 43 38",
		"show bug", "lower home 12", "lower off", `message "Half-time \"show\""`, "message off", "horn",
		"undo", "redo", "undo 4", "void 17", "amend 17 score home 3", "forfeit away", "default away", "game over", "game new",
		`team home name "Larkmoor Herons" short "LAR" color #1a6b4f`, `roster home 12 "Ivo Lark"`, "roster home 12 off", "roster home 12",
		"set period_length 6:00", "set numbers any",
	} {
		c, err := ParseCommand(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got := Format(c); got != text {
			t.Errorf("%q is written back as %q", text, got)
		}
	}
}

func TestCommandsThatAreRefused(t *testing.T) {
	for _, row := range []struct {
		text     string
		code     engine.Code
		expected string // part of what is said to be expected
	}{
		{"", engine.UnknownCommand, "a command"},
		{"scoer home 2", engine.UnknownCommand, "score"},
		{"clock", engine.MissingField, "start"},
		{"clock go", engine.UnknownCommand, "nudge"},
		{"clock set", engine.MissingField, "4:32.1"},
		{"clock set noon", engine.BadValue, "4:32.1"},
		{"score", engine.MissingField, "home or away"},
		{"score home two", engine.BadValue, "whole number"},
		{"score home 2.5", engine.BadValue, "whole number"},
		{"score home 2 by", engine.MissingField, "jersey number"},
		{"score home 2 by coach", engine.BadValue, "jersey number"},
		{"score home 2 12", engine.UnknownCommand, "by"},
		{"score home = -4", engine.BadValue, "0 to 999"},
		{"foul home tecnical", engine.UnknownKind, "technical"},
		{"timeout home long", engine.UnknownKind, "full or short"},
		{"timeout both home full away long", engine.UnknownKind, "full or short"},
		{"bonus home three", engine.BadValue, "one_and_one"},
		{"period set ot0", engine.BadValue, "ot1"},
		{"period set 03", engine.BadValue, "from 1"},
		{`show "bug"`, engine.BadValue, "without quotes"},
		{"message hello", engine.BadValue, "in quotes"},
		{`message ""`, engine.BadValue, "1 to 200"},
		{`message "a`, engine.BadValue, `closing "`},
		{`message "a"b`, engine.BadValue, "space"},
		{`message "a\n"`, engine.BadValue, `\\`},
		{`team home color red`, engine.BadValue, "#b3262e"},
		{`team home name "` + strings.Repeat("x", 61) + `"`, engine.BadValue, "60 characters"},
		{"void", engine.MissingField, "whole number"},
		{"void 0", engine.BadValue, "whole number"},
		{"amend 3", engine.UnknownCommand, "a command"},
		{"amend 3 amend 4 horn", engine.CannotAmend, "a command of the game"},
		{"take score 43", engine.MissingField, "whole number"},
		{"take score 43 38 fouls 7", engine.MissingField, "whole number"},
		{"take score 43 38 period 3 period 2", engine.UnknownCommand, "clock"},
		{"horn loud", engine.UnknownField, "nothing more"},
		{"game end", engine.UnknownCommand, "over"},
	} {
		_, err := ParseCommand(row.text)
		var refusal *engine.Error
		if !errors.As(err, &refusal) {
			t.Errorf("%q was taken", row.text)
			continue
		}
		if refusal.Code != row.code || !strings.Contains(refusal.Expected, row.expected) || refusal.Message == "" {
			t.Errorf("%q: %s, expected %q (%s); want %s and %q", row.text, refusal.Code, refusal.Expected, refusal.Message, row.code, row.expected)
		}
	}
}

func TestErrorsAsJSON(t *testing.T) {
	_, err := Parse(strings.NewReader("0 horn\n\n1 score home two\n"))
	var refused *Error
	if !errors.As(err, &refused) {
		t.Fatal(err)
	}
	b, jsonErr := refused.MarshalJSON()
	want := `{"code":"bad_value","line":3,"value":"two","expected":"=, or a whole number, -99 to 99","message":"\"two\" does not fit after \"score home\"; expected =, or a whole number, -99 to 99"}`
	if jsonErr != nil || string(b) != want {
		t.Errorf("%s\nwant %s", b, want)
	}
	if got := refused.Error(); !strings.HasPrefix(got, `line 3: "two" does not fit`) {
		t.Error(got)
	}
}

func TestScriptsAreBounded(t *testing.T) {
	for name, text := range map[string]string{
		"a long line":   "0 message \"" + strings.Repeat("a", 5000) + "\"",
		"many lines":    strings.Repeat("\n", maxLines+1),
		"a long script": strings.Repeat("#"+strings.Repeat("x", 4000)+"\n", 1100),
		"no UTF-8":      "0 message \"\xff\"",
		"a null":        "0 message \"a\x00\"",
		"far in time":   "100:00:00 horn",
	} {
		if _, err := Parse(strings.NewReader(text)); err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}
