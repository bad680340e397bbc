package ledger_test

import (
	"errors"
	"strings"
	"testing"

	"rafter/engine/ledger"
)

func TestReadBookRefuses(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		line       int
		value      string
		expected   string
	}{
		{"an_unknown_word", "home score 4\nhome scores 5", 2, "scores", "score, or fouls, or timeouts, or a jersey number, as 12 or 00"},
		{"a_team_alone", "home", 1, "", "score, or fouls, or timeouts, or a jersey number, as 12 or 00"},
		{"no_team", "score home 4", 1, "score", "home or away, or arrow, or period"},
		{"a_count_below_zero", "home fouls -1", 1, "-1", "a whole number, 0 to 999"},
		{"a_count_too_large", "home score 1000", 1, "1000", "a whole number, 0 to 999"},
		{"a_kind_of_timeout_that_nobody_has", "home timeouts long 1", 1, "long", ""},
		{"a_player_without_what", "home 12 3", 1, "3", "fouls, or points"},
		{"a_number_too_long", "home 1234 fouls 3", 1, "1234", ""},
		{"the_line_ends_too_early", "# list\n\nhome 12 fouls", 3, "", "a whole number, 0 to 999"},
		{"a_word_too_many", "arrow home now", 1, "now", "the end of the line"},
		{"an_arrow_at_nobody", "arrow up", 1, "up", "home, away or off"},
		{"no_such_period", "period 0", 1, "0", "a period from 1, or ot1 and on"},
		{"the_same_twice", "home 12 fouls 3\naway 12 fouls 3\nhome 12 fouls 4", 3, "home 12 fouls", "each count once; it stands in line 1 already"},
		{"no_text", "home score 4\n\xff\xfe", 2, "?", "text in UTF-8"},
		{"a_long_line", strings.Repeat("x", 201), 1, "201 bytes", "at most 200 bytes a line"},
		{"many_lines", strings.Repeat("\n", 1000) + "period 1", 1001, "one line more", "at most 1000 lines"},
		{"many_bytes", strings.Repeat("# a comment\n", 6000), 0, "too many bytes", "at most 65536"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			book, err := ledger.ReadBook(strings.NewReader(tt.text))
			var bad *ledger.BookError
			if !errors.As(err, &bad) || book != nil {
				t.Fatalf("read %v: %v", book, err)
			}
			if bad.Line != tt.line || bad.Value != tt.value || tt.expected != "" && bad.Expected != tt.expected || bad.Expected == "" {
				t.Errorf("got  line %d, %q, %q\nwant line %d, %q, %q", bad.Line, bad.Value, bad.Expected, tt.line, tt.value, tt.expected)
			}
		})
	}
}

func TestReadBookTakes(t *testing.T) {
	book, err := ledger.ReadBook(strings.NewReader("\ufeffhome score 45 # as read out\r\n\r\n\thome 00 fouls 3\nhome 0 fouls 2\nperiod ot2"))
	if err != nil || len(book.Lines) != 4 || book.Lines[3].Number != 5 {
		t.Errorf("read %+v: %v", book, err)
	}
}

func TestBooksToTheirEdges(t *testing.T) {
	for name, text := range map[string]string{
		"the longest line": "period 1 #" + strings.Repeat("x", 190),
		"the most lines":   strings.Repeat("\n", 999) + "period 1",
		"the most bytes":   strings.Repeat("#"+strings.Repeat("x", 126)+"\n", 511) + "period 1 #" + strings.Repeat("x", 118),
	} {
		if book, err := ledger.ReadBook(strings.NewReader(text)); err != nil || len(book.Lines) != 1 {
			t.Errorf("%s: %v, %v", name, book, err)
		}
	}
	for _, tt := range []struct {
		e    ledger.BookError
		want string
	}{
		{ledger.BookError{Line: 0, Value: "too many bytes", Expected: "at most 1"}, "the list has too many bytes; expected at most 1"},
		{ledger.BookError{Line: 1, Value: "", Expected: "score"}, "line 1: the line ends too early; expected score"},
		{ledger.BookError{Line: 2, Value: "scores", Expected: "score"}, `line 2: "scores": expected score`},
	} {
		if got := tt.e.Error(); got != tt.want {
			t.Errorf("%+v says %q, want %q", tt.e, got, tt.want)
		}
	}
}

// FuzzReadBook: whatever is typed, a list is read within its bounds, or refused with the line and what was expected.
func FuzzReadBook(f *testing.F) {
	f.Fuzz(func(t *testing.T, text string) {
		book, err := ledger.ReadBook(strings.NewReader(text))
		if err == nil {
			last := 0
			for _, l := range book.Lines {
				if l.Number <= last {
					t.Fatalf("line %d after line %d", l.Number, last)
				}
				last = l.Number
			}
			return
		}
		var bad *ledger.BookError
		if !errors.As(err, &bad) || bad.Expected == "" || book != nil {
			t.Fatalf("%q: a refusal that says nothing: %v", text, err)
		}
	})
}
