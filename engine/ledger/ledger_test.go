package ledger_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"rafter/engine"
	"rafter/engine/enginetest"
	"rafter/engine/ledger"
	"rafter/engine/script"
)

// read plays a script, one second a line where it has no times, and reads it.
func read(t *testing.T, text string) *ledger.Ledger {
	t.Helper()
	var timed []string
	for i, line := range strings.Split(strings.TrimSpace(text), "\n") {
		line = strings.TrimSpace(line)
		if first, _, _ := strings.Cut(line, " "); first != "team" && first != "roster" && first != "set" && !strings.HasPrefix(line, "@") {
			line = fmt.Sprintf("%d %s", i, line)
		}
		timed = append(timed, strings.TrimPrefix(line, "@"))
	}
	s, err := script.Parse(strings.NewReader(strings.Join(timed, "\n")))
	if err != nil {
		t.Fatal(err)
	}
	run, err := s.Begin(script.Published, "nfhs")
	if err == nil {
		err = run.Until(s.Last(), script.Watch{})
	}
	if err != nil {
		t.Fatal(err)
	}
	l, err := ledger.Read(run.Game(), s.Last())
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// brief is a difference without its sentence.
func brief(list []ledger.Difference) []string {
	short := []string{}
	for _, d := range list {
		text := fmt.Sprintf("%s|%s|%s|%s|%v|%v", d.About, d.Period, d.Ours, d.Other, d.Events, d.TakenBack)
		short = append(short, text)
	}
	return short
}

func TestSums(t *testing.T) {
	for _, tt := range []struct {
		name, script string
		want         []string
		source       string
	}{
		{"all_named_agree", "score home 2 by 12\nfoul home by 12\nfoul home shooting by 12", nil, "from memory: two sums of the same marks"},
		{"no_player_was_ever_named", "score home 2\nfoul home", nil, "common practice, no source"},
		{"an_own_goal_is_named", "score home 2 by 12\nscore home 2", []string{"home score||4|2|[2]|[]"}, "NFHS 2025-26 r 5-2-3: such a goal is credited in a footnote"},
		{"a_score_that_was_set", "score home 2 by 12\nscore home = 5", []string{"home score||5|2|[2]|[]"}, "common practice, no source"},
		{"what_was_taken_back_is_named", "score home 2 by 12\nscore home 1\nscore home 3 by 4\nvoid 3", []string{"home score||3|2|[2]|[3]"}, "common practice, no source"},
		{"an_amended_scorer_counts_as_amended", "score home 2 by 12\nscore home 2\namend 2 score home 2 by 4", nil, "common practice, no source"},
		{"a_foul_without_its_player", "foul home by 12\nfoul home", []string{"home fouls|1st|2|1|[2]|[]"}, "NFHS 2025-26 r 2-11-4"},
		{"the_players_half_keyed_alone", "foul home by 12\nfoul home\nfoul home player-only by 4", nil, "common practice, no source"},
		{"a_count_that_was_set_finds_its_period", "foul home by 12\nfoul home\nclock start\nperiod next\nperiod next\nfouls home by 4 = 1", nil, "common practice, no source"},
		{"a_bench_technical_counts_to_the_team_only", "foul home by 12\nfoul home bench by coach\nfoul home bench", nil, "NFHS 2025-26 r 4-8-2, r 10-6"},
		{"a_coachs_own_counts_to_the_team_only", "foul home by 12\nfoul home technical by coach", nil, "NFHS 2025-26 r 4-8-2"},
		{"a_coachs_own_where_it_is_no_team_foul", "set coach_counts no\nfoul home by 12\nfoul home technical by coach", nil, "from memory: FIBA 2024, Art. 41"},
		{"a_players_count_set_in_a_later_period_is_named", "foul home by 12\nfoul home\nfoul home\nperiod set 2\nfouls home by 4 = 1",
			[]string{"home fouls|1st|3|2|[2 3 5]|[]"}, "common practice, no source"},
		{"an_indirect_one_counts_to_neither", "foul home by 12\nfoul home indirect by coach", nil, "NFHS 2025-26 r 4-19-13"},
		{"weights_of_the_set", "set foul_personal team:2,player,bonus\nfoul home by 12\nfoul home by 12", nil, "FIBA 3x3 rules 2025: a foul may count two team fouls"},
		{"each_period_for_itself", "foul home by 12\nfoul home\nclock start\nperiod next\nperiod next\nfoul home by 12 team-only",
			[]string{"home fouls|1st|2|1|[2]|[]", "home fouls|2nd|1|0|[6]|[]"}, "NFHS 2025-26 r 4-8-1: fouls count by quarter"},
		{"a_foul_in_an_interval_belongs_to_the_next", "foul home by 12\nclock start\nperiod next\nfoul home", []string{"home fouls|2nd|1|0|[4]|[]"}, "NFHS 2025-26 r 4-8-1; 5-6-2"},
		{"a_foul_told_late_belongs_to_its_period", "clock start\nfoul home by 12\nperiod next\nperiod next\n@4 was 1 foul home", []string{"home fouls|1st|2|1|[5]|[]"}, "common practice, no source"},
		{"a_players_half_without_the_teams", "foul home by 12\nfoul home player-only by 4", []string{"home fouls|1st|1|2|[2]|[]"}, "common practice, no source"},
		{"set_while_one_counts_ahead", "set foul_span half\nfoul home by 12\nclock start\nperiod next\nfoul home by 12\nfouls home = 3",
			[]string{"home fouls|1st to 2nd|4|2|[5]|[]"}, "common practice, no source"},
		{"the_teams_count_was_set", "foul home by 12\nfouls home = 3", []string{"home fouls|1st|3|1|[2]|[]"}, "common practice, no source"},
		{"joined_under_way", "take score 10 8 fouls 2 1 period 2\nfoul home by 12\nscore away 2 by 5",
			[]string{"home fouls|2nd|3|1|[1]|[]", "away score||10|2|[1]|[]"}, "common practice, no source"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := brief(read(t, tt.script).Sums()); !slices.Equal(got, append([]string{}, tt.want...)) {
				t.Errorf("got  %q\nwant %q (%s)", got, tt.want, tt.source)
			}
		})
	}
}

func TestCompare(t *testing.T) {
	const game = `clock start
		control home
		score home 2 by 12
		score away 3 by 10
		foul home by 12
		foul home by 4
		timeout home full
		timeout end
		void 6`
	for _, tt := range []struct {
		name, book string
		want       []string
	}{
		{"the_same", "home score 2\nhome fouls 1\nhome 12 points 2\nhome 12 fouls 1\nhome timeouts full 2\naway timeouts short 2\narrow away\nperiod 1", nil},
		{"nothing_listed", "# nothing yet\n\n", nil},
		{"score", "home score 4", []string{"home score||2|4|[3]|[]"}},
		{"team_fouls_with_one_taken_back", "home fouls 2", []string{"home fouls|1st|1|2|[5]|[6]"}},
		{"a_players_fouls_taken_back", "home 4 fouls 1", []string{"home 4 fouls||0|1|[]|[6]"}},
		{"a_players_points", "away 10 points 2", []string{"away 10 points||3|2|[4]|[]"}},
		{"a_player_whom_we_lack", "away 55 fouls 2", []string{"away 55 fouls||0|2|[]|[]"}},
		{"timeouts_left", "home timeouts full 1", []string{"home timeouts full||2|1|[7]|[]"}},
		{"arrow", "arrow home", []string{"arrow||away|home|[2]|[]"}},
		{"period", "period ot1", []string{"period||1st|OT|[1]|[]"}},
		{"in_the_books_order", "arrow off\naway score 0", []string{"arrow||away|off|[2]|[]", "away score||3|0|[4]|[]"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			book, err := ledger.ReadBook(strings.NewReader(tt.book))
			if err != nil {
				t.Fatal(err)
			}
			list := read(t, game).Compare(book)
			if got := brief(list); !slices.Equal(got, append([]string{}, tt.want...)) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
			for _, d := range list {
				if !strings.Contains(d.String(), "ask the official scorer") || d.Line == 0 {
					t.Errorf("%q, line %d: does not say what to ask, or of which line", d.String(), d.Line)
				}
			}
		})
	}
}

// What a sentence tells to do must make the difference go away.
func TestWhatIsToldPutsItRight(t *testing.T) {
	const game = "clock start\ncontrol home\nscore home 2 by 12\nfoul home by 12\nfoul home\ntimeout home full\n"
	for _, book := range []string{"home score 5", "home fouls 4", "home timeouts full 1", "home 12 fouls 2", "arrow home", "period 2"} {
		b, err := ledger.ReadBook(strings.NewReader(book))
		if err != nil {
			t.Fatal(err)
		}
		list := read(t, game).Compare(b)
		if len(list) != 1 {
			t.Fatalf("%s: %d differences", book, len(list))
		}
		_, told, _ := strings.Cut(list[0].Ask, "then: ")
		told, _, _ = strings.Cut(told, ",")
		if left := read(t, game+told).Compare(b); len(left) != 0 {
			t.Errorf("after %q: %s", told, left[0].String())
		}
	}
	sums := read(t, game).Sums()
	if len(sums) != 1 {
		t.Fatalf("%d differences", len(sums))
	}
	_, told, _ := strings.Cut(sums[0].Ask, "then: ")
	told = strings.Replace(told, "NUMBER", "4", 1)
	if left := read(t, game+told).Sums(); len(left) != 0 {
		t.Errorf("after %q: %s", told, left[0].String())
	}
}

func TestALongListOfEventsIsCutInTheSentenceAlone(t *testing.T) {
	l := read(t, strings.Repeat("score home 1 by 12\n", 20)+"score home 2")
	book, err := ledger.ReadBook(strings.NewReader("home score 21"))
	if err != nil {
		t.Fatal(err)
	}
	d := l.Compare(book)[0]
	if len(d.Events) != 21 || !strings.Contains(d.String(), "events 10 11 12 13 14 15 16 17 18 19 20 21 and 9 earlier;") {
		t.Errorf("%d events: %s", len(d.Events), d.String())
	}
}

// A ledger must come to the same counts as the game itself, whatever was keyed, taken back and amended.
func TestLedgerAgreesWithTheGame(t *testing.T) {
	for seed := range uint64(30) {
		g, at := enginetest.Play(seed, 300)
		l, err := ledger.Read(g, at)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		v := g.View(at)
		if got := l.Entries[len(l.Entries)-1].Score; got != [2]int{v.Home.Score, v.Away.Score} {
			t.Errorf("seed %d: score %v, want %d:%d", seed, got, v.Home.Score, v.Away.Score)
		}
		book := fmt.Sprintf("home fouls %d\naway fouls %d", v.Home.Fouls, v.Away.Fouls)
		if b, err := ledger.ReadBook(strings.NewReader(book)); err != nil || len(l.Compare(b)) != 0 {
			t.Errorf("seed %d: %v", seed, brief(l.Compare(b)))
		}
		for i, side := range []engine.TeamView{v.Home, v.Away} {
			team := engine.Team(i + 1)
			for _, p := range side.Players {
				found := slices.IndexFunc(l.Players(team), func(q ledger.Player) bool { return q.Number == p.Number })
				if found < 0 && (p.Points != 0 || p.Fouls != 0) {
					t.Errorf("seed %d: no %s %s", seed, team, p.Number)
				}
				if found >= 0 && (l.Players(team)[found].Points != p.Points || l.Players(team)[found].Fouls != p.Fouls) {
					t.Errorf("seed %d: %s has %+v, want %+v", seed, team, l.Players(team)[found], p)
				}
			}
		}
	}
}

// The end of a long list is what the whole of it says there.
func TestTheLatestEntriesAreThoseOfAll(t *testing.T) {
	for seed := range uint64(10) {
		g, at := enginetest.Play(seed, 300)
		l, err := ledger.Read(g, at)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		all := len(l.Entries)
		for _, c := range []struct{ before, n, from, end int }{{0, 50, all - 50, all}, {101, 50, 50, 100}, {20, 50, 0, 19}, {1, 50, 0, 0}, {1 << 20, 1, all - 1, all}, {0, all + 1, 0, all}} {
			tail, err := ledger.Tail(g, c.before, c.n)
			if err != nil || len(tail) != c.end-c.from {
				t.Fatalf("seed %d, %+v: %d entries, %v", seed, c, len(tail), err)
			}
			for i, got := range tail {
				want := l.Entries[c.from+i]
				want = ledger.Entry{Event: want.Event, Fate: want.Fate, Command: want.Command, Clock: want.Clock, Label: want.Label, Phase: want.Phase, Period: want.Period, Score: want.Score, Arrow: want.Arrow, FoulPeriod: got.FoulPeriod}
				if got != want {
					t.Errorf("seed %d, %+v: entry %d is\n%+v, want\n%+v", seed, c, i, got, want)
				}
			}
		}
	}
}

// What a scorer keeps: NFHS 2025-26 r 2-11-2 to 2-11-6 (starters, running total, fouls, timeouts with who and when, arrow).
func TestSheetHoldsWhatAScorerKeeps(t *testing.T) {
	l := read(t, `roster home 12 "A. Invented"
		roster home 4 "B. Invented"
		floor home 12
		clock start
		control away
		score home 2 by 12
		score away 3
		foul home by 12
		timeout home short
		timeout end
		score home 1
		void 9
		score home 1 by 4
		foul away by 5
		void 12
		foul home technical by coach
		score away = 4
		arrow flip`)
	s := l.Sheet()
	rows := func(table ledger.Table) []string {
		var list []string
		for _, r := range table.Rows {
			list = append(list, strings.Join(r, "|"))
		}
		return list
	}
	for _, tt := range []struct {
		what      string
		got, want []string
	}{
		{"home", rows(s.Teams[0]), []string{"4|B. Invented||1|1", "12|A. Invented *|1st|2|2", "|coach|1st technical||"}},
		{"away", rows(s.Teams[1]), []string{"|no scorer||3 +1 corrected|4"}},
		{"running", rows(s.Running), []string{"1st|7:58|12|+2|2|0||", "1st|7:57|||2|3|+3|", "1st|7:55|4|+1|3|3||", "1st|7:55|||3|4|+1|set"}},
		{"below home", s.Teams[0].Notes, []string{"* began the game", "points by period: 1st 3", "team fouls: 1st 2", "timeouts: 1st 7:55 short; left: full 3, short 1"}},
		{"arrow", s.Notes[2:], []string{"arrow: home (1st 7:59), away (1st 7:55)"}},
	} {
		if !slices.Equal(tt.got, tt.want) {
			t.Errorf("%s:\ngot  %q\nwant %q", tt.what, tt.got, tt.want)
		}
	}
}
