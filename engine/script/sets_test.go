package script

import (
	"fmt"
	"strings"
	"testing"

	"rafter/engine"
	"rafter/engine/rules"
)

// TestBonusOfEverySet commits up to 12 common fouls, by either team, in every period and two overtimes, and asks
// what each gave: the levels that the books print, written out here a second time.
func TestBonusOfEverySet(t *testing.T) {
	for _, row := range []struct {
		set, source string
		first, then int // counts from which throws are given, and better ones; 0: none
		gives, more engine.Throws
		fresh       []int // periods that start at zero
	}{
		{"nfhs", "NFHS Basketball Rules 2025-26, r 4-8-1", 5, 0, engine.Two, engine.Two, []int{1, 2, 3, 4}},
		{"youth", "NFHS Basketball Rules 2025-26, r 4-8-1", 5, 0, engine.Two, engine.Two, []int{1, 2, 3, 4}},
		{"nfhs_halves", "NFHS Basketball Rules before 2023-24, r 4-8", 7, 10, engine.OneAndOne, engine.Two, []int{1, 3}},
		{"ncaa_men", "NCAA Men's Basketball Rules, bonus rule", 7, 10, engine.OneAndOne, engine.Two, []int{1, 2}},
		{"ncaa_women", "NCAA Women's Basketball Rules, team-foul rule of 2015-16", 5, 0, engine.Two, engine.Two, []int{1, 2, 3, 4}},
		{"fiba", "FIBA Official Basketball Rules 2024, Art. 41", 5, 0, engine.Two, engine.Two, []int{1, 2, 3, 4}},
		{"fiba_2026", "FIBA Official Basketball Rules 2024, Art. 41, unchanged in 2026 (from memory)", 5, 0, engine.Two, engine.Two, []int{1, 2, 3, 4}},
		{"fiba_3x3", "FIBA 3x3 Rules of the Game", 7, 10, engine.Two, engine.TwoAndBall, []int{1}},
	} {
		want := func(count int) engine.Throws {
			switch {
			case count < row.first:
				return engine.NoThrows
			case row.then > 0 && count >= row.then:
				return row.more
			}
			return row.gives
		}
		set, _ := rules.ByName(row.set)
		for _, team := range []engine.Team{engine.Home, engine.Away} {
			g, err := engine.NewGame(engine.Setup{Rules: set})
			if err != nil {
				t.Fatal(err)
			}
			count := 0
			for period := 1; period <= set.Periods+2; period++ {
				for _, n := range row.fresh {
					if n == period {
						count = 0
					}
				}
				must(t, g, engine.Command{Do: engine.PeriodSet, Period: period})
				for range 4 + 4*(period%2) {
					v := g.View(0)
					sides := map[engine.Team]*engine.TeamView{engine.Home: &v.Home, engine.Away: &v.Away}
					if sides[team].Fouls != count || sides[team].NextFoul != want(count+1) {
						t.Errorf("%s, %v: after %d fouls in period %d the next gives %v, the count is %d (%s)", row.set, team, count, period, sides[team].NextFoul, sides[team].Fouls, row.source)
					}
					lit := count
					if set.LampNext {
						lit++
					}
					if got := sides[team.Other()].Bonus; got != want(lit) {
						t.Errorf("%s: the lamp beside %v after %d fouls is %v (%s)", row.set, team.Other(), count, got, row.source)
					}
					count++
					must(t, g, engine.Command{Do: engine.Foul, Team: team})
					if award := g.View(0).Award.Value; award.Throws != want(count) || award.To != team.Other() {
						t.Errorf("%s: foul %d of %v in period %d gave %v (%s)", row.set, count, team, period, award, row.source)
					}
				}
			}
		}
	}
}

func must(t *testing.T, g *engine.Game, c engine.Command) {
	t.Helper()
	if _, _, err := g.Do("one", c, 0, engine.None); err != nil {
		t.Fatal(err)
	}
}

// TestWhoIsOut lays fouls on a player, or a coach, in every order of each row, and asks who may go on.
func TestWhoIsOut(t *testing.T) {
	for _, row := range []struct {
		set, fouls, by string
		out            bool
		source         string
	}{
		{"nfhs", "personal shooting offensive personal", "12", false, "NFHS 2025-26, r 4-14-1"},
		{"nfhs", "personal shooting offensive personal personal", "12", true, "NFHS 2025-26, r 4-14-1"},
		{"nfhs", "technical intentional", "12", false, "NFHS 2025-26, r 4-14-1"},
		{"nfhs", "flagrant", "12", true, "NFHS 2025-26, r 4-14-1"},
		{"youth", "technical technical", "12", true, "NFHS 2025-26, r 4-14-1"},
		{"nfhs_halves", "technical technical", "12", true, "NFHS 2025-26, r 4-14-1"},
		{"ncaa_men", "technical1 technical1", "12", true, "NCAA Men, r 10"},
		{"ncaa_men", "technical1 technical2", "12", false, "NCAA Men, r 10"},
		{"ncaa_men", "technical1 technical2 technical2", "12", true, "NCAA Men, r 10"},
		{"ncaa_men", "technical2 technical2", "12", false, "NCAA Men, r 10"},
		{"ncaa_men", "technical2 technical2 technical2", "12", true, "NCAA Men, r 10"},
		{"ncaa_men", "personal personal personal technical1 technical2", "12", false, "NCAA Men, r 10: class B is none of the five"},
		{"ncaa_men", "flagrant1", "12", false, "NCAA Men, r 10 (from memory)"},
		{"ncaa_men", "flagrant2", "12", true, "NCAA Men, r 10 (from memory)"},
		{"ncaa_men", "technical1 technical1", "coach", true, "NCAA Men, r 10"},
		{"ncaa_men", "technical1 technical2", "coach", false, "NCAA Men, r 10"},
		{"ncaa_men", "technical1 technical2 technical2", "coach", true, "NCAA Men, r 10"},
		{"ncaa_men", "technical2 technical2 technical2", "coach", true, "NCAA Men, r 10"},
		{"ncaa_women", "technical technical", "12", true, "NCAA Women, r 10 (from memory)"},
		{"ncaa_women", "disqualifying", "12", true, "NCAA Women, r 10 (from memory)"},
		{"ncaa_women", "intentional technical", "12", false, "NCAA Women, r 10 (from memory)"},
		{"fiba", "technical technical", "12", true, "FIBA 2024, Art. 40.4"},
		{"fiba", "unsportsmanlike unsportsmanlike", "12", true, "FIBA 2024, Art. 40.4"},
		{"fiba", "unsportsmanlike technical", "12", true, "FIBA 2024, Art. 40.4"},
		{"fiba", "personal personal personal unsportsmanlike", "12", false, "FIBA 2024, Art. 40"},
		{"fiba", "personal personal personal personal technical", "12", true, "FIBA 2024, Art. 40"},
		{"fiba", "disqualifying", "12", true, "FIBA 2024, Art. 38"},
		{"fiba", "technical technical", "coach", true, "FIBA 2024, Art. 36 (from memory)"},
		{"fiba", "technical bench", "coach", false, "FIBA 2024, Art. 36 (from memory)"},
		{"fiba", "bench bench bench", "coach", true, "FIBA 2024, Art. 36 (from memory)"},
		{"fiba_2026", "technical1 technical1", "12", true, "FIBA 2026, Art. 40 (from memory)"},
		{"fiba_2026", "technical1 technical2", "12", false, "FIBA 2026, Art. 40 (from memory)"},
		{"fiba_2026", "flagrant technical1", "12", true, "FIBA 2026, Art. 40 (from memory)"},
		{"fiba_2026", "flagrant technical2", "12", false, "FIBA 2026, Art. 40 (from memory)"},
		{"fiba_2026", "flagrant disruptive", "12", false, "FIBA 2026, Art. 40 (from memory)"},
		{"fiba_2026", "disruptive technical1", "12", false, "FIBA 2026, Art. 40 (from memory)"},
		{"fiba_2026", "disruptive disruptive disruptive disruptive technical2", "12", true, "FIBA 2026, Art. 40: five in all (from memory)"},
		{"fiba_3x3", "personal personal personal personal personal personal personal", "12", false, "FIBA 3x3 (from memory)"},
		{"fiba_3x3", "unsportsmanlike unsportsmanlike", "12", true, "FIBA 3x3 (from memory)"},
		{"fiba_3x3", "unsportsmanlike technical", "12", false, "FIBA 3x3 (from memory)"},
	} {
		kinds := strings.Fields(row.fouls)
		for shift := range kinds {
			lines := []string{"rules " + row.set, "0 period set 1"}
			for i := range kinds {
				lines = append(lines, fmt.Sprintf("%d foul away %s by %s", i+1, kinds[(i+shift)%len(kinds)], row.by))
			}
			a := act{t: t, set: row.set, lines: lines[1:]}
			v, err := a.view(0)
			if err != nil {
				t.Fatalf("%s: %v", row.set, err)
			}
			out := v.Away.Coach.Out
			if row.by != "coach" {
				out = v.Away.Players[0].Out
			}
			if out != row.out {
				t.Errorf("%s, %s: %s: out %v, want %v (%s)", row.set, row.by, lines[2:], out, row.out, row.source)
			}
		}
	}
}
