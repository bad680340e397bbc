package ledger_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"rafter/engine/ledger"
	"rafter/engine/rules"
)

// TestWhichEventsAreBehindACount keys every command that could be taken for another, and asks each line of the book.
func TestWhichEventsAreBehindACount(t *testing.T) {
	const game = `take score 2 0 fouls 1 0 period 1 arrow home
		score home 2 by 12
		score home 3 by 4
		score away 2 by 12
		score home = 9
		foul home by 12
		foul home by 12 player-only
		foul away by 12
		fouls home = 5
		fouls home by 12 = 4
		fouls away by 12 = 2
		timeout home full
		timeouts home short = 1
		timeouts home full = 1
		timeout both
		timeout away
		arrow away
		arrow off
		arrow home
		arrow flip
		control away
		horn
		foul home by 4
		period next
		take score 10 3
		period set 1
		fouls away = 3
		period set 1`
	for _, tt := range []struct{ book, want string }{
		{"home score 99", "home score||10|99|[1 2 3 5 25]|[]"},
		{"away score 99", "away score||3|99|[1 4 25]|[]"},
		{"home fouls 99", "home fouls|1st|6|99|[1 6 9 23]|[]"},
		{"away fouls 99", "away fouls|1st|3|99|[1 8 27]|[]"},
		{"home timeouts full 9", "home timeouts full||0|9|[12 14 15]|[]"},
		{"home timeouts short 9", "home timeouts short||1|9|[12 13 15]|[]"},
		{"away timeouts full 9", "away timeouts full||1|9|[15 16]|[]"},
		{"home 12 fouls 9", "home 12 fouls||4|9|[6 7 10]|[]"},
		{"away 12 fouls 9", "away 12 fouls||2|9|[8 11]|[]"},
		{"home 4 points 9", "home 4 points||3|9|[3]|[]"},
		{"away 12 points 9", "away 12 points||2|9|[4]|[]"},
		{"arrow away", "arrow||home|away|[1 17 18 19 20 21]|[]"},
		{"period 4", "period||1st|4th|[1 24 26 28]|[]"},
	} {
		book, err := ledger.ReadBook(strings.NewReader(tt.book))
		if err != nil {
			t.Fatal(err)
		}
		if got := brief(read(t, game).Compare(book)); !slices.Equal(got, []string{tt.want}) {
			t.Errorf("got  %q\nwant %q", got, tt.want)
		}
	}
}

// TestDifferencesInWords holds whole sentences: who has what, by which events, and what to ask.
func TestDifferencesInWords(t *testing.T) {
	const whose = "ask the official scorer whose fouls these were; then, for each: fouls home by NUMBER = COUNT"
	for _, tt := range []struct{ name, script, want string }{
		{"one event", "foul home by 12\nfoul home",
			"home fouls (1st): 2 on the board, 1 by its players; event 2; ask the official scorer whose foul it was; then: amend 2 foul home by NUMBER"},
		{"its kind", "foul home by 12\nfoul home shooting",
			"home fouls (1st): 2 on the board, 1 by its players; event 2; ask the official scorer whose foul it was; then: amend 2 foul home shooting by NUMBER"},
		{"one event that is half a foul", "foul home by 12\nfoul home team-only",
			"home fouls (1st): 2 on the board, 1 by its players; event 2; " + whose},
		{"one event that set the count", "foul home by 12\nfouls home = 3",
			"home fouls (1st): 3 on the board, 1 by its players; event 2; " + whose},
		{"two events", "foul home by 12\nfoul home\nfoul home",
			"home fouls (1st): 3 on the board, 1 by its players; events 2 3; " + whose},
		{"one on the bench", "foul home by 12\nfoul home bench by coach\nfoul home",
			"home fouls (1st): 3 on the board, 1 by its players and 1 by coach and bench; event 3; ask the official scorer whose foul it was; then: amend 3 foul home by NUMBER"},
		{"one taken back", "foul home by 12\nfoul home\nfoul home\nvoid 3",
			"home fouls (1st): 2 on the board, 1 by its players; event 2; taken back: event 3; ask the official scorer whose foul it was; then: amend 2 foul home by NUMBER"},
		{"too many players' fouls", "foul home by 12\nfoul home player-only by 4",
			"home fouls (1st): 1 on the board, 2 by its players; event 2; ask the official scorer whether the foul counts for the team; then void or amend the event that is wrong"},
		{"players counted, the team set", "fouls home by 12 = 2\nfouls home = 3",
			"home fouls (1st): 3 on the board, 2 by its players; events 1 2; " + whose},
		{"a player's count set to what it was", "foul home by 12\n@2 was 1 fouls home by 12 = 1\nfoul home",
			"home fouls (1st): 2 on the board, 1 by its players; event 3; ask the official scorer whose foul it was; then: amend 3 foul home by NUMBER"},
		{"what the others did is not listed", "foul home by 12\nfoul home\nfoul away\nvoid 3\nscore home 2\nvoid 5\nfouls away = 2\nvoid 7\nfouls home = 1\nvoid 9",
			"home fouls (1st): 2 on the board, 1 by its players; event 2; taken back: event 9; ask the official scorer whose foul it was; then: amend 2 foul home by NUMBER"},
		{"nor what was taken back in another period", "foul home\nvoid 1\nperiod set 2\nfoul home by 12\nfoul home",
			"home fouls (2nd): 2 on the board, 1 by its players; event 5; ask the official scorer whose foul it was; then: amend 5 foul home by NUMBER"},
		{"a half and its overtimes", "set foul_span half\nperiod set ot1\nfoul home by 12\nfoul home",
			"home fouls (3rd to 4th and overtime): 2 on the board, 1 by its players; event 3; ask the official scorer whose foul it was; then: amend 3 foul home by NUMBER"},
		{"a half without overtime", "set foul_span half\nperiod set 4\nfoul home by 12\nfoul home",
			"home fouls (3rd to 4th): 2 on the board, 1 by its players; event 3; ask the official scorer whose foul it was; then: amend 3 foul home by NUMBER"},
	} {
		l := read(t, tt.script)
		var got []string
		for _, d := range l.Sums() {
			got = append(got, d.String())
		}
		if !slices.Equal(got, []string{tt.want}) {
			t.Errorf("%s:\ngot  %q\nwant %q", tt.name, got, tt.want)
		}
	}
	for _, tt := range []struct{ name, script, book, want string }{
		{"no event", "score home 2", "away 12 points 2", "away 12 points: 0 here, 2 in the book; no event; ask the official scorer to read out the goals and throws of away 12; then void or amend the event that is wrong"},
		{"two taken back", "score home 2\nscore home 1\nundo\nundo", "home score 3", "home score: 0 here, 3 in the book; no event; taken back: events 1 2; ask the official scorer for the running total and where it parts from ours; then: score home = 3"},
		{"twelve events", strings.Repeat("score home 1\n", 12), "home score 9", "home score: 12 here, 9 in the book; events 1 2 3 4 5 6 7 8 9 10 11 12; ask the official scorer for the running total and where it parts from ours; then: score home = 9"},
		{"thirteen events", strings.Repeat("score home 1\n", 13), "home score 9", "home score: 13 here, 9 in the book; events 2 3 4 5 6 7 8 9 10 11 12 13 and 1 earlier; ask the official scorer for the running total and where it parts from ours; then: score home = 9"},
	} {
		book, err := ledger.ReadBook(strings.NewReader(tt.book))
		if err != nil {
			t.Fatal(err)
		}
		list := read(t, tt.script).Compare(book)
		if len(list) != 1 || list[0].String() != tt.want {
			t.Errorf("%s:\ngot  %v\nwant %q", tt.name, list, tt.want)
		}
	}
}

func TestPeriodNames(t *testing.T) {
	set, _ := rules.ByName("nfhs")
	for n, want := range []string{"1st", "1st", "2nd", "3rd", "4th", "OT", "2OT", "3OT"} {
		if got := ledger.PeriodName(&set, n); got != want {
			t.Errorf("period %d is %q, want %q", n, got, want)
		}
	}
	set.Periods = 8
	if got := ledger.PeriodName(&set, 8) + " " + ledger.PeriodName(&set, 9); got != "8th OT" {
		t.Errorf("periods 8 and 9 of 8 are %q", got)
	}
}

// TestAFoulToldLateFindsItsPeriod: by the instant at which it was true, the later of two changes at the same one.
func TestAFoulToldLateFindsItsPeriod(t *testing.T) {
	for _, tt := range []struct {
		was  string
		want int
	}{{"0", 1}, {"0.9", 1}, {"1", 1}, {"4.999", 1}, {"5", 3}, {"6", 3}, {"7.999", 3}, {"8", 4}, {"9", 4}} {
		l := read(t, "@1 clock start\n@5 period next\n@5 period next\n@5 period set 3\n@8 period next\n@10 was "+tt.was+" foul home by 12")
		if got := l.Entries[5].FoulPeriod; got != tt.want {
			t.Errorf("a foul that was at %s belongs to period %d, want %d", tt.was, got, tt.want)
		}
	}
}

// TestCountsReachTheLastPeriod plays as many periods as a game can have, with a foul in each and in each interval.
func TestCountsReachTheLastPeriod(t *testing.T) {
	l := read(t, "foul home by 12"+strings.Repeat("\nperiod next\nfoul home by 12", 2*20-1))
	if list := l.Sums(); len(list) != 0 || l.End.Period.Number != 20 {
		t.Errorf("in period %d the sums differ: %v", l.End.Period.Number, brief(list))
	}
	if v := &l.End.Home; l.TeamFouls(1) != v.Fouls || v.Fouls != 34 || v.Players[0].Fouls != 40 {
		t.Errorf("the ledger counts %d fouls since the 4th period began, the board %d of %d", l.TeamFouls(1), v.Fouls, v.Players[0].Fouls)
	}
}

// TestRulesThatWereSetLastCount: by the end the fouls count by half.
func TestRulesThatWereSetLastCount(t *testing.T) {
	l := read(t, "foul home by 12\n@5 set foul_span half")
	if got := l.Sheet().Teams[0].Notes[1]; got != "team fouls: 1st to 2nd 1" {
		t.Errorf("%q", got)
	}
}

func TestPlayersOfATeam(t *testing.T) {
	l := read(t, `roster home 4 "A. Invented"
		roster home 5 "B. Invented"
		roster home 10 "C. Invented"
		roster home 11 "D. Invented"
		roster home 12 "E. Invented"
		floor home 11
		clock start
		score home 2 by 5
		foul home by 10
		score home 3 by 12
		score home -3 by 12
		@20 roster home 5 off
		@20 roster home 10 off
		@20 roster home 11 off
		@20 roster home 12 off
		@21 horn`)
	var got []string
	for _, p := range l.Players(1) {
		got = append(got, fmt.Sprintf("%s %d %d %v", p.Number, p.Points, p.Fouls, p.Starter))
	}
	// On the roster, with points, with fouls, or a starter; 12 came to nothing.
	if want := []string{"4 0 0 false", "5 2 0 false", "10 0 1 false", "11 0 0 true"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	l = read(t, "score home 1 by 10\nscore home 1 by 15\nscore home 1 by 00\nscore home 1 by 4\n@4 set numbers any\nscore home 1 by 0\nscore home 1 by 04\nfoul home by 11")
	got = nil
	for _, p := range l.Players(1) {
		got = append(got, p.Number)
	}
	if want := []string{"0", "00", "4", "04", "10", "11", "15"}; !slices.Equal(got, want) {
		t.Errorf("in the order %q, want %q", got, want)
	}
}
