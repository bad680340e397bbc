package engine

import (
	"errors"
	"io"
	"strings"
	"testing"
)

// TestFieldsToTheirEdges puts the shortest, longest, least and most into each field, and what lies just beyond. Jersey
// numbers have a digit or more (NFHS 2025-26, r 3-4-3d: one or two; some leagues have three); the other bounds are ours.
func TestFieldsToTheirEdges(t *testing.T) {
	x := strings.Repeat
	for _, row := range []struct {
		field         string
		taken, beyond []string
		want          string // what a refusal expects
	}{
		{"points", []string{"-99", "99", "+99", "0", "+0", "-0"}, []string{"-100", "100", "+-1", "++1", "", "x", "1.0", "1e1"}, "a whole number, -99 to 99"},
		{"count", []string{"0", "999", "00000000001"}, []string{"-1", "1000", "000000000001", ""}, "a whole number, 0 to 999"},
		{"home", []string{"0", "999"}, []string{"-1", "1000"}, "a whole number, 0 to 999"},
		{"home_fouls", []string{"0", "99"}, []string{"-1", "100"}, "a whole number, 0 to 99"},
		{"event", []string{"1", "1073741824"}, []string{"0", "1073741825"}, "a whole number, 1 to 1073741824"},
		{"period", []string{"1", "20", "ot1", "ot20"}, []string{"0", "21", "ot0", "ot21", "ot", "01", "+1", ""}, "a period from 1, or ot1 and on"},
		{"player", []string{"0", "00", "9", "123"}, []string{"", "1234", "x", "1x", "/", ":", "coach"}, "a jersey number, as 12 or 00"},
		{"person", []string{"0", "coach"}, []string{"", "1234", "coaches"}, "a jersey number, as 12 or 00, or coach"},
		{"numbers", []string{"0", "0 00 1 2 3"}, []string{"", "1 2 3 4 5 6", "1 1", "1 2 1", "1  2", "1 x"}, "up to 5 jersey numbers"},
		{"throws", []string{"none", "one_and_one", "two", "two_and_ball"}, []string{"one", "three", "", "four"}, "none, one_and_one, two or two_and_ball"},
		{"seconds", []string{"0", "0.001", "10800"}, []string{"-1", "+1", "0.0001", "10800.001", ""}, "a time to the millisecond, as 4:32.1 or 32.1"},
		{"change", []string{"0", "-0.001", "+0.001", "-10800", "10800"}, []string{"--1", "+-1", "-10800.001", "10800.001", ""}, "seconds to the millisecond, as 0.3 or -0.3"},
		{"clock", []string{"0", "3:00:00"}, []string{"-1", "3:00:00.001", "4:32.1234"}, "a time to the millisecond, as 4:32.1 or 32.1"},
		{"key", []string{"a", "z", "a_-9", x("k", 40)}, []string{"", x("k", 41), "9a", "_a", "-a", "A", "aB", "a b", "`a", "{a"}, "the name of a rule value, as rules show prints it"},
		{"graphic", []string{"a", x("k", 40)}, []string{"", x("k", 41), "9a"}, "the name of a graphic"},
		{"value", []string{"a", "\"", x("v", 200)}, []string{"", " ", "a b", x("v", 201), "\x00"}, "the value, one word"},
		{"message", []string{"a", x("ü", 200)}, []string{"", " ", x("ü", 201), "a\nb", "\xff"}, "1 to 200 characters, no control characters"},
		{"name", []string{"", " ", x("ü", 60)}, []string{x("ü", 61), "\t"}, "0 to 60 characters, no control characters"},
		{"short", []string{"a", x("ü", 8)}, []string{"", " ", x("ü", 9)}, "1 to 8 characters, no control characters"},
		{"side", []string{"home", "away", "off"}, []string{"", "up"}, "home, away or off"},
		{"only", []string{"player-only", "team-only"}, []string{"", "both"}, "player-only or team-only"},
		{"team", []string{"home", "away"}, []string{"", "both"}, "home or away"},
		{"timeout", []string{"full", "short"}, []string{"", "long"}, "a kind of timeout: full or short"},
		// Line ends, and the marks that turn the direction of what follows: Unicode Standard Annex 9, table 4.
		{"message", []string{"a\u2027", "a\u202f", "a\u2065", "a\u206a"}, []string{"a\u2028", "a\u2029", "a\u202a", "a\u202b", "a\u202d", "a\u202e", "a\u2066", "a\u2068", "a\u2069"}, "1 to 200 characters, no control characters"},
	} {
		f, ok := FieldNamed(row.field)
		if !ok {
			t.Fatalf("there is no field %s", row.field)
		}
		for _, text := range row.taken {
			var c Command
			if err := f.Put(&c, text); err != nil {
				t.Errorf("%s %.50q: %v", row.field, text, err)
			}
		}
		for _, text := range row.beyond {
			var c Command
			if err := f.Put(&c, text); err == nil || err.Code != BadValue || err.Value != text || err.Expected != row.want {
				t.Errorf("%s %.50q: %+v, want a refusal that expects %s", row.field, text, err, row.want)
			}
		}
	}
	if f, ok := FieldNamed("banana"); f != nil || ok {
		t.Errorf("there is a field banana: %+v", f)
	}
	for n, want := range map[int]string{0: "", 60: x("x", 60), 61: x("x", 60) + "…"} {
		if got := clip(x("x", n)); got != want {
			t.Errorf("%d bytes are cut to %q", n, got)
		}
	}
}

func TestVerbsEndWhereTheTableEnds(t *testing.T) {
	for _, v := range []Verb{verbCount, verbCount + 1, 255} {
		if v.String() != "" || v.Fields() != nil {
			t.Errorf("verb %d is %q with %v", v, v, v.Fields())
		}
		if err := check(&Command{Do: v}); err == nil || err.Code != UnknownCommand {
			t.Errorf("verb %d: %v", v, err)
		}
		if err := check(&Command{Do: Amend, Event: 1, Amended: v}); err == nil || err.Code != CannotAmend {
			t.Errorf("amended to verb %d: %v", v, err)
		}
	}
	if v, ok := VerbNamed(""); v != NoVerb || ok {
		t.Errorf("no word names %v", v)
	}
	if got := NoTeam.Other(); got != NoTeam {
		t.Errorf("nobody's opponents are %v", got)
	}
	if errors.Is(Refuse(NotNow, "", "", ""), io.EOF) {
		t.Error("a refusal is another package's error")
	}
}

func TestJSONToItsEdges(t *testing.T) {
	for _, row := range []struct {
		name, text string
		want       Code // empty: taken as horn, or as the score
	}{
		{"space around everything", " \t\r\n{ \t\r\n\"do\" \t\r\n:\n\"score\"\r,\t\"team\":\"home\" ,\"points\": 2\t, \"by\" :\"12\"\n} \t\r\n", ""},
		{"space of one kind", "{\n\"do\"\n:\n\"horn\"\n}\n", ""},
		{"returns alone", "{\r\"do\"\r:\r\"horn\"\r}\r", ""},
		{"tabs alone", "{\t\"do\"\t:\t\"horn\"\t}\t", ""},
		{"a number before each kind of space", "{\"do\":\"score\",\"points\":2\t,\"team\":\"home\"}", ""},
		{"a number before a return", "{\"do\":\"score\",\"points\":2\r,\"team\":\"home\"}", ""},
		{"a number before a line end", "{\"do\":\"score\",\"points\":2\n,\"team\":\"home\"}", ""},
		{"a number before a space", "{\"do\":\"score\",\"points\":2 ,\"team\":\"home\"}", ""},
		{"a number last", `{"do":"score","team":"home","points":2}`, ""},
		{"an escape in the verb", `{"do":"h\u006frn"}`, ""},
		{"braces and quotes in a text", `{"do":"message","text":"a \"}]\\"}`, ""},
		{"the longest", `{"do":"horn"}` + strings.Repeat(" ", 4096-13), ""},
		{"a byte longer", `{"do":"horn"}` + strings.Repeat(" ", 4097-13), BadValue},
		{"no UTF-8 in a key", "{\"do\":\"horn\",\"\xff\":1}", BadValue},
		{"no UTF-8 in a text", "{\"do\":\"message\",\"text\":\"\xff\"}", BadValue},
		{"an escape that is none", `{"do":"message","text":"a\x"}`, BadValue},
		{"a text that is true", `{"do":"message","text":true}`, BadValue},
		{"a verb under another key", `{"to":"horn"}`, UnknownCommand},
		{"a verb that is a number", `{"do":1}`, UnknownCommand},
		{"an empty object", `{}`, UnknownCommand},
		{"a number that is true", `{"do":"score","team":"home","points":true}`, BadValue},
		{"a number that is a list", `{"do":"score","team":"home","points":[2]}`, BadValue},
		{"a list that is a text", `{"do":"floor","team":"home","numbers":"4"}`, BadValue},
		{"a list that is null", `{"do":"floor","team":"home","numbers":null}`, BadValue},
		{"a list with a number", `{"do":"floor","team":"home","numbers":[4]}`, BadValue},
		{"a list in a list", `{"do":"floor","team":"home","numbers":[["4"],["5"]]}`, BadValue},
		{"a number twice in a list", `{"do":"floor","team":"home","numbers":["4","4"]}`, BadValue},
		{"a command in what is no amend", `{"do":"horn","command":{"do":"horn"}}`, UnknownField},
		{"two commands in an amend", `{"do":"amend","event":1,"command":{"do":"horn"},"command":{"do":"horn"}}`, UnknownField},
		{"a field of the amended command outside it", `{"do":"amend","event":1,"command":{"do":"horn"},"team":"home"}`, UnknownField},
		{"do twice", `{"do":"horn","do":"horn"}`, UnknownField},
		{"an amend's command that is a list", `{"do":"amend","event":1,"command":[]}`, BadValue},
	} {
		var c Command
		err := c.UnmarshalJSON([]byte(row.text))
		if row.want == "" && err != nil || row.want != "" && !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %q", row.name, err, row.want)
		}
		if row.want == "" && c.Do != Horn && c.Do != Message && (c.Do != Score || c.Team != Home || c.Points != 2) {
			t.Errorf("%s reads as %+v", row.name, c)
		}
	}
}
