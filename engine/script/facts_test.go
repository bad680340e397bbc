package script

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/rules"
)

// TestPeriodsOfEverySet goes through every set's periods, two overtimes included, by period next alone, level all the
// way: lengths and intervals in seconds, written out here a second time.
func TestPeriodsOfEverySet(t *testing.T) {
	for _, row := range []struct {
		set                string
		lengths, intervals []int64 // an interval stands after each period
		warmup             int64
		half               int // half-time follows this period; 0: none
		source             string
	}{
		{"nfhs", []int64{480, 480, 480, 480, 240, 240}, []int64{60, 600, 60, 60, 60}, 0, 2, "NFHS 2025-26, r 5-5-1, r 5-7-1, r 5-7-3, r 2-2-2"},
		{"nfhs_halves", []int64{480, 480, 480, 480, 240, 240}, []int64{60, 600, 60, 60, 60}, 0, 2, "NFHS 2025-26, r 5-5-1, r 5-7-1, r 5-7-3, r 2-2-2"},
		{"youth", []int64{360, 360, 360, 360, 180, 180}, []int64{60, 600, 60, 60, 60}, 0, 2, "NFHS 2025-26, Appendix H, r 5-7-3"},
		{"ncaa_men", []int64{1200, 1200, 300, 300}, []int64{900, 60, 60}, 0, 1, "NCAA 2011-13, r 5-6"},
		{"ncaa_women", []int64{600, 600, 600, 600, 300, 300}, []int64{75, 900, 75, 60, 60}, 0, 2, "NCAA Women, r 5-6.1"},
		{"fiba", []int64{600, 600, 600, 600, 300, 300}, []int64{120, 900, 120, 120, 120}, 1200, 2, "FIBA 2024, Art. 8"},
		{"fiba_2026", []int64{600, 600, 600, 600, 300, 300}, []int64{120, 900, 120, 120, 120}, 1200, 2, "FIBA 2024, Art. 8, unchanged in 2026 (from memory)"},
		{"fiba_3x3", []int64{600, 0}, []int64{60}, 0, 0, "FIBA 3x3 Rules of the Game: playing time, overtime"},
	} {
		set, _ := rules.ByName(row.set)
		g, err := engine.NewGame(engine.Setup{Rules: set})
		if err != nil {
			t.Fatal(err)
		}
		if v := g.View(0); v.Period.Phase != engine.Before || v.Interval.OK != (row.warmup > 0) || v.Interval.Value.RemainingMS != 1000*row.warmup {
			t.Errorf("%s begins in %v with %+v (%s)", row.set, v.Period.Phase, v.Interval, row.source)
		}
		for i, want := range row.lengths {
			must(t, g, engine.Command{Do: engine.PeriodNext})
			v := g.View(0)
			label := fmt.Sprint(i + 1 - set.Periods)
			if label += "OT"; label == "1OT" {
				label = "OT"
			}
			if v.Period.Phase != engine.Play || v.Period.Number != i+1 || v.Clock.RemainingMS != 1000*want || v.Clock.Running || i >= set.Periods && v.Period.Label != label {
				t.Errorf("%s: period %d is %+v, clock %+v; want %d s (%s)", row.set, i+1, v.Period, v.Clock, want, row.source)
			}
			if i == len(row.intervals) {
				break
			}
			must(t, g, engine.Command{Do: engine.PeriodNext})
			v = g.View(0)
			phase := engine.Interval
			if i+1 == row.half {
				phase = engine.Halftime
			}
			if v.Period.Phase != phase || v.Interval.Value.RemainingMS != 1000*row.intervals[i] || v.Interval.Value.Running {
				t.Errorf("%s: after period %d comes %v with %+v; want %v of %d s (%s)", row.set, i+1, v.Period.Phase, v.Interval, phase, row.intervals[i], row.source)
			}
		}
	}
}

// TestTimeoutsOfEverySet uses up what each set allows, in each span, and asks for one more.
func TestTimeoutsOfEverySet(t *testing.T) {
	type left = map[string]int
	for _, row := range []struct {
		set, kind string
		period    int
		left      left // unused until then
		length    time.Duration
		beyond    string // what one more than all gives: technical or refused
		source    string
	}{
		{"nfhs", "full", 1, left{"full": 3, "short": 2}, 60, "technical", "NFHS 2025-26, r 5-11-1, r 5-11-6"},
		{"nfhs", "short", 4, left{"full": 3, "short": 2}, 30, "technical", "NFHS 2025-26, r 5-11-1"},
		{"nfhs", "full", 6, left{"full": 5, "short": 2}, 60, "technical", "NFHS 2025-26, r 5-11-1"},
		{"nfhs_halves", "full", 5, left{"full": 4, "short": 2}, 60, "technical", "NFHS 2025-26, r 5-11-1"},
		{"youth", "short", 3, left{"full": 3, "short": 2}, 30, "technical", "NFHS 2025-26, r 5-11-1"},
		{"ncaa_men", "short", 1, left{"full": 1, "short": 3}, 30, "technical", "NCAA Men, r 5-14, media format 2019-20"},
		{"ncaa_men", "full", 2, left{"full": 1, "short": 2}, 60, "technical", "NCAA Men, r 5-14, media format 2019-20"},
		{"ncaa_men", "short", 4, left{"full": 1, "short": 4}, 30, "technical", "NCAA Men, r 5-14, media format 2019-20"},
		{"ncaa_women", "short", 2, left{"full": 1, "short": 3}, 30, "technical", "NCAA Women, media format of 2015"},
		{"ncaa_women", "full", 3, left{"full": 1, "short": 2}, 60, "technical", "NCAA Women, media format of 2015"},
		{"ncaa_women", "short", 5, left{"full": 1, "short": 3}, 30, "technical", "NCAA Women, media format of 2015"},
		{"fiba", "full", 2, left{"full": 2}, 60, "refused", "FIBA 2024, Art. 18.2.5"},
		{"fiba", "full", 3, left{"full": 3}, 60, "refused", "FIBA 2024, Art. 18.2.5"},
		{"fiba", "full", 4, left{"full": 3}, 60, "refused", "FIBA 2024, Art. 18.2.5"},
		{"fiba", "full", 5, left{"full": 1}, 60, "refused", "FIBA 2024, Art. 18.2.6"},
		{"fiba", "full", 7, left{"full": 1}, 60, "refused", "FIBA 2024, Art. 18.2.6"},
		{"fiba_2026", "full", 3, left{"full": 3}, 60, "refused", "FIBA 2024, Art. 18, unchanged in 2026 (from memory)"},
		{"fiba_3x3", "short", 1, left{"short": 1}, 30, "refused", "FIBA 3x3 Rules of the Game: one of 30 seconds"},
		{"fiba_3x3", "short", 2, left{"short": 1}, 30, "refused", "FIBA 3x3: overtime adds none, one unused goes on (from memory)"},
	} {
		set, _ := rules.ByName(row.set)
		g, err := engine.NewGame(engine.Setup{Rules: set})
		if err != nil {
			t.Fatal(err)
		}
		must(t, g, engine.Command{Do: engine.PeriodSet, Period: row.period})
		all := 0
		v := g.View(0)
		for _, k := range v.Away.Timeouts.Kinds[:v.Away.Timeouts.Count] {
			all += k.Left
			if row.left[k.Kind] != k.Left {
				t.Errorf("%s, period %d: %d %s left, want %d (%s)", row.set, row.period, k.Left, k.Kind, row.left[k.Kind], row.source)
			}
		}
		if v.Away.Timeouts.Count != len(row.left) {
			t.Errorf("%s has %d kinds of timeout, want %v (%s)", row.set, v.Away.Timeouts.Count, row.left, row.source)
		}
		call := engine.Command{Do: engine.Timeout, Team: engine.Away, Kind: row.kind}
		for i := range all {
			must(t, g, call)
			v = g.View(0)
			if i == 0 && (v.Timeout.Value.Kind != row.kind || v.Timeout.Value.RemainingMS.Value != 1000*int64(row.length)) {
				t.Errorf("%s: the timeout is %+v, want %s of %d s (%s)", row.set, v.Timeout.Value, row.kind, row.length, row.source)
			}
			must(t, g, engine.Command{Do: engine.TimeoutEnd})
		}
		_, _, err = g.Do("one", call, 0, engine.None)
		warned := false
		for _, w := range g.View(0).Warnings {
			warned = warned || w.Code == "timeout_technical"
		}
		if granted := row.beyond == "technical"; (err == nil) != granted || warned != granted {
			t.Errorf("%s, period %d: one more: %v, warned %v; want %s (%s)", row.set, row.period, err, warned, row.beyond, row.source)
		}
	}
}

// TestForfeitAndDefault: who loses so, after how much play, and what the score then is.
func TestForfeitAndDefault(t *testing.T) {
	for _, row := range []struct {
		set, lines string // the home team forfeits or defaults last
		home, away int
		source     string
	}{
		{"nfhs", "forfeit home", 0, 2, "NFHS 2025-26, r 5-4-2"},
		{"nfhs", "period set 4\nscore home 40\nscore away 38\nforfeit home", 0, 2, "NFHS 2025-26, r 5-4-2"},
		{"nfhs", "period set 4\nscore home 38\nscore away 38\nforfeit home", 0, 2, "NFHS 2025-26, r 5-4-2: only a lead stands"},
		{"nfhs", "period set 1\nscore home 3\nscore away 4\nforfeit home", 3, 4, "NFHS 2025-26, r 5-4-2"},
		{"nfhs_halves", "period set 1\nscore home 3\nscore away 4\nforfeit home", 3, 4, "NFHS 2025-26, r 5-4-2"},
		{"youth", "period set 2\nscore home 5\nscore away 4\nforfeit home", 0, 2, "NFHS 2025-26, r 5-4-2"},
		{"ncaa_men", "forfeit home", 0, 2, "NCAA 2011-13, r 5-3"},
		{"ncaa_men", "score away 1\nforfeit home", 0, 2, "NCAA 2011-13, r 5-3: before 30 minutes, a technical before the game"},
		{"ncaa_men", "period set 1\nscore away 10\nforfeit home", 0, 2, "NCAA 2011-13, r 5-3: nothing played"},
		{"ncaa_men", "period set 2\nclock set 10:01\nscore away 60\nforfeit home", 0, 2, "NCAA 2011-13, r 5-3: 29:59"},
		{"ncaa_men", "period set 2\nclock set 10:00\nscore away 60\nforfeit home", 0, 60, "NCAA 2011-13, r 5-3: 30:00"},
		{"ncaa_men", "period set 2\nclock set 1:00\nscore home 61\nscore away 60\nforfeit home", 0, 2, "NCAA 2011-13, r 5-3: the innocent side is behind"},
		{"ncaa_men", "period set ot1\nscore away 60\nscore home 58\nforfeit home", 58, 60, "NCAA 2011-13, r 5-3"},
		{"ncaa_men", "period set 1\nscore away = 60\nscore home = 58\nforfeit home", 58, 60, "common practice, no source: put in by hand, the playing time is not known here"},
		{"ncaa_men", "take score 58 60\nforfeit home", 58, 60, "common practice, no source: joined, the playing time is not known here"},
		{"ncaa_men", "take score 58 60 period 1 clock 5:00\nforfeit home", 0, 2, "NCAA 2011-13, r 5-3: joined at 15:00 of play"},
		{"ncaa_women", "period set 3\nscore away 50\nforfeit home", 0, 2, "NCAA 2011-13, r 5-3: 20:00 of play"},
		{"ncaa_women", "period set 3\nclock set 0\nperiod next\nscore away 50\nforfeit home", 0, 50, "NCAA 2011-13, r 5-3: 30:00 of play"},
		{"fiba", "period set 4\nscore away 90\nforfeit home", 0, 20, "FIBA 2024, Art. 20 (from memory)"},
		{"fiba", "forfeit home", 0, 20, "FIBA 2024, Art. 20 (from memory)"},
		{"fiba", "period set 4\nscore home 90\nforfeit home", 0, 20, "FIBA 2024, Art. 20 (from memory)"},
		{"fiba", "period set 2\nscore home 20\nscore away 24\ndefault home", 20, 24, "FIBA 2024, Art. 21 (from memory)"},
		{"fiba", "period set 2\nscore home 24\nscore away 24\ndefault home", 0, 2, "FIBA 2024, Art. 21 (from memory)"},
		{"fiba_2026", "period set 2\nscore home 25\nscore away 24\ndefault home", 0, 2, "FIBA 2024, Art. 21, unchanged in 2026 (from memory)"},
		{"fiba_2026", "forfeit home", 0, 20, "FIBA 2024, Art. 20, unchanged in 2026 (from memory)"},
		{"fiba_3x3", "forfeit home", 0, 0, "FIBA 3x3: w-0 (from memory)"},
		{"fiba_3x3", "period set 1\nscore home 5\nscore away 9\nforfeit home", 0, 0, "FIBA 3x3: w-0 (from memory)"},
		{"fiba_3x3", "period set 1\nscore home 5\nscore away 9\ndefault home", 0, 9, "FIBA 3x3: the winner keeps its score, the other's is 0 (from memory)"},
		{"fiba_3x3", "period set 1\nscore home 9\nscore away 5\ndefault home", 0, 5, "FIBA 3x3: the winner keeps its score, the other's is 0 (from memory)"},
	} {
		a := act{t: t, set: row.set}
		for line := range strings.SplitSeq(row.lines, "\n") {
			a.say("%s", line)
		}
		v := a.must()
		if v.Home.Score != row.home || v.Away.Score != row.away || v.Winner.Value != engine.Away || !v.Final || v.Period.Phase != engine.Over {
			t.Errorf("%s: %q gives %d-%d, winner %v, want %d-%d (%s)", row.set, row.lines, v.Home.Score, v.Away.Score, v.Winner.Value, row.home, row.away, row.source)
		}
		for _, w := range v.Warnings {
			if w.Code == "count_differs" {
				t.Errorf("%s: %q: %s", row.set, row.lines, w.Text)
			}
		}
	}
	for _, set := range []string{"nfhs", "nfhs_halves", "youth", "ncaa_men", "ncaa_women"} {
		a := act{t: t, set: set}
		a.say("default home")
		if _, err := a.view(0); err == nil {
			t.Errorf("%s takes a default, which its book does not know", set)
		}
	}
}
