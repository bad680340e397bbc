package script

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

// TestRefusalsSayWhatAndWhere holds the whole of a refusal: which line, what stood there, and what would have done.
func TestRefusalsSayWhatAndWhere(t *testing.T) {
	const times = "seconds as 12.4, or m:ss.fff or h:mm:ss.fff, below 100 hours"
	long := strings.Repeat("x", 60)
	for _, row := range []struct {
		name, text            string
		line                  int
		code                  engine.Code
		value, expected, part string // part of the message
	}{
		{"nothing behind the time", "5", 1, engine.UnknownCommand, "", "a command", "there is no command here"},
		{"nothing behind was", "5 was", 1, engine.MissingField, "was", times, "was needs a time"},
		{"nothing behind was and its time", "5 was 4", 1, engine.UnknownCommand, "", "a command", "there is no command here"},
		{"was no time", "5 was noon horn", 1, engine.BadWas, "noon", times, `"noon" is no time`},
		{"was later", "5 was 6 horn", 1, engine.BadWas, "6", "at most 5", "was 6 is later than the line's own time 5"},
		{"was where none may stand", "5 was 4 undo", 1, engine.BadWas, "4", "no was", "take no was"},
		{"earlier than the line before", "5 horn\n4 horn", 2, engine.OutOfOrder, "4", "5 or later", "4 is earlier than the line before it, 5"},
		{"finer than a nanosecond", "0.0000000001 horn", 1, engine.BadValue, "0.0000000001", times, "is no time"},
		{"a hundred hours", "100:00:00 horn", 1, engine.BadValue, "100:00:00", times, "is no time"},
		{"a slip in a command", "5 scoer home 2", 1, engine.UnknownCommand, "scoer", strings.Join(firstWords(), ", "), `"scoer" is no command; did you mean score?`},
		{"no command at all", "5 banana", 1, engine.UnknownCommand, "banana", strings.Join(firstWords(), ", "), `"banana" is no command`},
		{"a command in quotes", `5 "horn"`, 1, engine.UnknownCommand, "horn", strings.Join(firstWords(), ", "), `"horn" is no command`},
		{"a directive that there is not", "scoer home 2", 1, engine.UnknownCommand, "scoer", "a time and a command, or rules, team, roster or set", "did you mean score?"},
		{"another word in a directive", "roster home 12 on", 1, engine.BadValue, "on", "off, or text in quotes", `"on" does not fit after "roster home 12"`},
		{"the same word in a directive", "clock clock", 1, engine.UnknownCommand, "clock", "a time and a command, or rules, team, roster or set", `"clock" does not fit after "clock"`},
		{"another word of a command", "clock go", 1, engine.UnknownCommand, "go", "nudge, or set, or start, or stop", `"go" does not fit after "clock"`},
		{"the directive's word again", "roster roster", 1, engine.BadValue, "roster", "home or away", `"roster" does not fit after "roster"`},
		{"a command without a time", "horn", 1, engine.MissingField, "horn", "a time before the command, as 12.4 horn", "horn needs the time at which it is keyed before it"},
		{"a directive too late", "5 horn\nset numbers any", 2, engine.OutOfOrder, "set", "a time, as 12.4 set", "must stand before the first timed line"},
		{"rules too late", "5 horn\nrules nfhs", 2, engine.OutOfOrder, "rules", "a time, as 12.4 rules", "must stand before the first timed line"},
		{"rules without a name", "rules", 1, engine.MissingField, "rules", "one name of a rule set, or a file", "rules needs one name"},
		{"rules with an empty name", `rules ""`, 1, engine.MissingField, "rules", "one name of a rule set, or a file", "rules needs one name"},
		{"rules with two names", "rules nfhs fiba", 1, engine.MissingField, "rules", "one name of a rule set, or a file", "rules needs one name"},
		{"rules twice", "rules nfhs\nrules fiba", 2, engine.UnknownField, "fiba", "one rules line", "the script names its rules twice"},
		{"rules in quotes", `"rules" nfhs`, 1, engine.UnknownCommand, "rules", "a time and a command, or rules, team, roster or set", `"rules" is no command`},
		{"what else could stand there", "5 foul home by x", 1, engine.BadValue, "x", "a jersey number, as 12 or 00, or coach", `"x" does not fit after "foul home by"`},
		{"what else could follow", "5 foul home by 12 x", 1, engine.UnknownKind, "x", "a kind of foul: personal, shooting, offensive, double, technical, technical1, technical2, bench, indirect, intentional, unsportsmanlike, disruptive, flagrant, flagrant1, flagrant2, disqualifying, or player-only or team-only", `"x" does not fit after "foul home by 12"`},
		{"no space before a quote", `5 show bug"x"`, 1, engine.BadValue, `"x"`, "a space before the quote", "missing before the opening quote"},
		{"no space after a quote", `5 message "a"b`, 1, engine.BadValue, "b", "a space after the quote", "missing after the closing quote"},
		{"60 characters are quoted whole", "5 " + long, 1, engine.UnknownCommand, long, strings.Join(firstWords(), ", "), `"` + long + `" is no command`},
		{"61 are cut", "5 " + long + "y", 1, engine.UnknownCommand, long + "y", strings.Join(firstWords(), ", "), `"` + long + `…" is no command`},
		{"no UTF-8 even in a comment", "# \xff", 1, engine.BadValue, "", "UTF-8 text", "the line is not UTF-8 text"},
		{"no null even in a comment", "# \x00", 1, engine.BadValue, "", "UTF-8 text", "the line is not UTF-8 text"},
		{"a line too long", "#" + strings.Repeat("x", 4096), 1, engine.AboveLimit, "4097", "at most 4096 bytes", "the line is longer than 4096 bytes"},
		{"a line too many", strings.Repeat("\n", 100_000) + "#", 100_001, engine.AboveLimit, "100001", "at most 100000 lines", "more than 100000 lines"},
		{"a byte too many", strings.Repeat("#\n", 2<<20) + "#", 0, engine.AboveLimit, "", "at most 4 MiB", "the script is longer than 4 MiB"},
	} {
		s, err := Parse(strings.NewReader(row.text))
		var refused *Error
		if !errors.As(err, &refused) || s != nil {
			t.Errorf("%s: taken: %v", row.name, err)
			continue
		}
		r := refused.Refusal
		if refused.Line != row.line || r.Code != row.code || r.Value != row.value || r.Expected != row.expected || !strings.Contains(r.Message, row.part) {
			t.Errorf("%s: line %d, %s, value %q, expected %q: %s", row.name, refused.Line, r.Code, r.Value, r.Expected, r.Message)
		}
	}
	for line, want := range map[int]string{0: "so", 1: "line 1: so", 2: "line 2: so"} {
		if got := (&Error{line, engine.Refuse(engine.BadValue, "", "", "so")}).Error(); got != want {
			t.Errorf("line %d says %q, want %q", line, got, want)
		}
	}
}

func TestScriptsToTheirEdges(t *testing.T) {
	for _, row := range []struct {
		name, text string
		commands   int
	}{
		{"the longest line", "0 horn #" + strings.Repeat("x", 4096-8), 1},
		{"the most lines", strings.Repeat("\n", 99_999) + "0 horn", 1},
		{"the most bytes", strings.Repeat("#"+strings.Repeat("x", 4094)+"\n", 1023) + strings.Repeat("#\n", 2045) + "0 horn", 1},
		{"lines that end in CR LF", "0 horn\r\n1 horn\r\n", 2},
		{"tabs between words", "0\thorn\n1\tmessage\t\"a\"\t# so", 2},
		{"true when it was keyed", "5 was 5 horn", 1},
		{"the last moment there is", "99:59:59.999999999 horn", 1},
		{"rules in a file with a space", `rules "our rules.toml"`, 0},
		{"a byte order mark", "\ufeff0 horn", 1},
	} {
		s, err := Parse(strings.NewReader(row.text))
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
		} else if len(s.Lines) != row.commands {
			t.Errorf("%s: %d commands, want %d", row.name, len(s.Lines), row.commands)
		}
	}
	if d, err := ParseTime("noon"); d != 0 || err == nil {
		t.Errorf("noon is %d: %v", d, err)
	}
	for d, want := range map[time.Duration]string{59900 * time.Millisecond: "59.9", time.Minute: "1:00", time.Minute + time.Second: "1:01", time.Hour: "1:00:00"} {
		if got := FormatTime(clock.Instant(d)); got != want {
			t.Errorf("%v is written %q, want %q", d, got, want)
		}
	}
	if last := (&Script{}).Last(); last != 0 {
		t.Errorf("an empty script ends at %v", last)
	}
}

// TestDistance counts what turns one word into the other; the first pairs from memory: they are in every book on the
// matter.
func TestDistance(t *testing.T) {
	for _, row := range []struct {
		a, b        string
		limit, want int
	}{
		{"kitten", "sitting", 9, 3}, {"saturday", "sunday", 9, 3}, {"flaw", "lawn", 9, 2}, {"gumbo", "gambol", 9, 2},
		{"", "abc", 9, 3}, {"abc", "", 9, 3}, {"", "", 9, 0}, {"abc", "abc", 9, 0}, {"abc", "acb", 9, 2}, {"ab", "b", 9, 1}, {"a", "ab", 9, 1},
		{"kitten", "sitting", 2, 2}, {"kitten", "sitting", 3, 3},
	} {
		if distance(row.a, row.b, row.limit) != row.want || distance(row.b, row.a, row.limit) != row.want {
			t.Errorf("%q and %q are %d and %d apart, want %d", row.a, row.b, distance(row.a, row.b, row.limit), distance(row.b, row.a, row.limit), row.want)
		}
	}
	words := []string{"undo", "score", "sub", "show"}
	for wrong, want := range map[string]string{
		"scoer": "; did you mean score?", "scxxe": "; did you mean score?", "scxxx": "", "banana": "", "un": "", "und": "; did you mean undo?",
		"subs": "; did you mean sub?", "ab": "", "s": "", "": "",
	} {
		if got := nearest(wrong, words); got != want {
			t.Errorf("near %q: %q, want %q", wrong, got, want)
		}
	}
}

func TestQuotesThatDoNotCloseHoldNothing(t *testing.T) {
	for _, text := range []string{`"a`, `"a\`, `"a\n"`} {
		if got, size, err := unquote(text); got != "" || size != 0 || err == nil {
			t.Errorf("%s reads as %q of %d: %v", text, got, size, err)
		}
	}
}

// begun reads a script and begins it.
func begun(t *testing.T, text string) *Run {
	t.Helper()
	s, err := Parse(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	run, err := s.Begin(Published, "")
	if err != nil {
		t.Fatal(err)
	}
	return run
}

func TestRulesThatAreNotFoundNameTheirLine(t *testing.T) {
	none := func(string) (rules.Set, error) { return rules.Set{}, errors.New("none") }
	for _, row := range []struct {
		text, over string
		line       int
	}{
		{"0 horn", "", 0}, {"# so\nrules banana\n0 horn", "", 2}, {"# so\nrules banana\n0 horn", "apple", 0},
	} {
		s, err := Parse(strings.NewReader(row.text))
		if err != nil {
			t.Fatal(err)
		}
		var refused *Error
		if _, err := s.Begin(none, row.over); !errors.As(err, &refused) || refused.Line != row.line {
			t.Errorf("%q over %q: %v, want line %d", row.text, row.over, err, row.line)
		}
	}
}

func TestGamesOfOneScript(t *testing.T) {
	run := begun(t, "1 score home 2\n5 game new\n6 was 5.5 score home 3\n8 game new\n9 score away 1")
	if err := run.Until(9, Watch{}); err != nil || run.next != 0 {
		t.Errorf("at 9 ns line %d is next: %v", run.next, err)
	}
	if err := run.Until(clock.Instant(time.Hour), Watch{}); err != nil {
		t.Fatal(err)
	}
	games := run.Games()
	if len(games) != 3 {
		t.Fatalf("%d games, want 3", len(games))
	}
	for i, want := range []struct {
		began time.Duration
		score [2]int
	}{{0, [2]int{2, 0}}, {5 * time.Second, [2]int{3, 0}}, {8 * time.Second, [2]int{0, 1}}} {
		v := games[i].Corrected().View(clock.Instant(time.Hour))
		if got := [2]int{v.Home.Score, v.Away.Score}; got != want.score || games[i].Began() != clock.Instant(want.began) {
			t.Errorf("game %d began at %v and ended %v, want %v", i+1, time.Duration(games[i].Began()), got, want)
		}
	}
	// A game new that the game refuses ends none.
	run = begun(t, "1 horn")
	if err := run.do(Line{At: 1, Was: engine.Some(clock.Instant(0)), Command: engine.Command{Do: engine.GameNew}}); err == nil || len(run.Games()) != 1 {
		t.Errorf("%d games, want the one: %v", len(run.Games()), err)
	}
}

func TestGamesAreBounded(t *testing.T) {
	run := begun(t, strings.Repeat("1 game new\n", 199)+"2 game new")
	if err := run.Until(clock.Instant(time.Second), Watch{}); err != nil || len(run.Games()) != 200 {
		t.Errorf("%d games, want 200: %v", len(run.Games()), err)
	}
	err := run.Until(clock.Instant(2*time.Second), Watch{})
	var refused *Error
	if !errors.As(err, &refused) || refused.Line != 200 || refused.Refusal.Code != engine.AboveLimit || refused.Refusal.Expected != "at most 200 games" {
		t.Errorf("the 201st game: %v", err)
	}
}

func TestEachMayEndTheRun(t *testing.T) {
	enough := errors.New("enough")
	run := begun(t, "1 horn\n2 horn\n3 horn")
	told := 0
	err := run.Until(math.MaxInt64, Watch{Each: func(l Line) error {
		if told++; l.Number == 2 {
			return enough
		}
		return nil
	}})
	if !errors.Is(err, enough) || told != 2 || run.Game().View(math.MaxInt64).LastEvent != 2 {
		t.Errorf("told of %d lines, then %v", told, err)
	}
}

// TestFormatEventsKeepsNumbersWhereNothingCanBePlayed: a setup that no game begins with.
func TestFormatEventsKeepsNumbersWhereNothingCanBePlayed(t *testing.T) {
	bad := engine.Setup{Home: engine.TeamSetup{Roster: []engine.RosterEntry{{Number: "banana"}}}}
	lines := FormatEvents(bad, []engine.Event{
		{Number: 1, At: 1, Command: engine.Command{Do: engine.Horn}}, {Number: 2, At: 2, Command: engine.Command{Do: engine.Undo, Event: 1}},
	})
	if got := strings.Join(lines, "|"); got != "0.000000001 horn|0.000000002 undo 1" {
		t.Errorf("%q", got)
	}
}
