package rules

import (
	"errors"
	"strings"
	"testing"
)

// TestRangesOfValues puts in the least and the most that each value may be, and what lies just beyond. The ranges are ours:
// wide enough for every book and league that we know.
func TestRangesOfValues(t *testing.T) {
	const count, time = "count", "time"
	for _, row := range []struct {
		kind, keys, low, high, zero string // zero: the word for none
		below, above                string
	}{
		{count, "periods", "1", "8", "", "0", "9"},
		{time, "period_length", "0:01", "2:00:00", "", "0.999", "2:00:00.001"},
		{time, "overtime_interval", "0:01", "1:00:00", "", "0.999", "1:00:00.001"},
		{time, "overtime_length interval_length interval_horn", "0:01", "1:00:00", "none", "0.999", "1:00:00.001"},
		{time, "timeout_late_from timeout_horn timeout_official_length timeout_media_length", "0:01", "1:00:00", "none", "0.999", "1:00:00.001"},
		{time, "halftime_length warmup", "0:01", "2:00:00", "none", "0.999", "2:00:00.001"},
		{time, "forfeit_from", "0:01", "3:00:00", "none", "0.999", "3:00:00.001"},
		{time, "timeout_full_length timeout_short_length", "0:01", "10:00", "none", "0.999", "10:00.001"},
		{time, "shot_length", "0:01", "1:39", "", "0.999", "99.001"},
		{time, "shot_short", "0:01", "1:39", "none", "0.999", "99.001"},
		{time, "shot_tenths_below", "0:01", "1:39", "never", "0.999", "99.001"},
		{time, "tenths_below", "0:01", "2:00:00", "0", "0.999", "2:00:00.001"},
		{time, "basket_stops_below", "0:01", "1:00:00", "never", "0.999", "1:00:00.001"},
		{count, "fouls_shown", "1", "99", "never", "-1", "100"},
		{count, "player_fouls player_technicals player_classes player_grave player_mixed coach_technicals coach_total", "1", "99", "none", "-1", "100"},
		{count, "timeout_keep", "1", "9", "all", "-1", "10"},
		{count, "timeout_late", "1", "9", "none", "-1", "10"},
		{count, "mercy_lead", "1", "200", "off", "-1", "201"},
		{count, "mercy_off_below", "1", "200", "never", "-1", "201"},
		{count, "mercy_from", "1", "9", "", "0", "10"},
		{count, "lineup", "1", "5", "", "0", "6"},
		{count, "squad", "1", "32", "none", "-1", "33"},
		{count, "target_score overtime_target", "1", "200", "none", "-1", "201"},
		{count, "forfeit_score", "0", "99", "", "-1", "100"},
	} {
		want := row.low + " to " + row.high
		take := []string{row.low, row.high}
		if row.zero != "" {
			want += " or " + row.zero
			take = append(take, row.zero)
		}
		for key := range strings.FieldsSeq(row.keys) {
			s := nfhsSet(t)
			for _, v := range take {
				if err := s.Put(key, v); err != nil {
					t.Errorf("%s %s: %v", key, v, err)
				} else if got, _ := s.Get(key); got != v {
					t.Errorf("%s %s reads back as %s", key, v, got)
				}
			}
			for _, v := range []string{row.below, row.above, "", "x"} {
				var bad *Error
				if err := s.Put(key, v); !errors.As(err, &bad) || bad.Expected != want {
					t.Errorf("%s %q: %v, want a refusal that expects %s", key, v, err, want)
				}
			}
			if err := s.Put(key, "1.2345"); row.kind == time && err == nil {
				t.Errorf("%s is taken finer than a millisecond", key)
			}
			if err := s.Put(key, "0:00"); row.kind == time && (err == nil) != (row.zero != "") {
				t.Errorf("%s 0:00: %v", key, err)
			}
		}
	}
}

// TestListsToTheirEdges puts in the lists with as many and as large numbers as they take, and one more.
func TestListsToTheirEdges(t *testing.T) {
	for _, row := range []struct {
		key, value string
		ok         bool
	}{
		{"bonus", "1:one", true}, {"bonus", "99:two", true}, {"bonus", "100:two", false}, {"bonus", "1:one,2:two,3:three", true},
		{"bonus", "1:one,2:two,3:three,4:two", false}, {"bonus", "5:two,5:three", false}, {"bonus", "x:two", false}, {"bonus", "5", false}, {"bonus", "0:one", false},
		{"halftime_horns", "1:00:00,0:01", true}, {"halftime_horns", "1:00:00.001", false}, {"halftime_horns", "0.999", false},
		{"halftime_horns", "3:00,3:00", false}, {"halftime_horns", "3:00,2:00,1:00", false}, {"halftime_horns", "1.2345", false}, {"halftime_horns", "x", false},
		{"timeouts_full", "9/9+9,keep:9", true}, {"timeouts_full", "10", false}, {"timeouts_full", "1/10", false}, {"timeouts_full", "1+10", false},
		{"timeouts_full", "1,keep:1", true}, {"timeouts_full", "0/1+1", true}, {"timeouts_full", "x", false}, {"timeouts_full", "x/1", false}, {"timeouts_full", "1/x+1", false},
		{"basket_points", "1/1", true}, {"basket_points", "9/9", true}, {"basket_points", "9/10", false}, {"basket_points", "x/2", false}, {"basket_points", "2/x", false},
		{"basket_points", "3/2", false}, {"numbers", "5-5", false}, {"numbers", "5-6", true}, {"numbers", "98-99", true}, {"numbers", "0-00", false}, {"numbers", "x", false},
	} {
		s := nfhsSet(t)
		if err := s.Put(row.key, row.value); (err == nil) != row.ok {
			t.Errorf("%s %s: %v", row.key, row.value, err)
		} else if got, _ := s.Get(row.key); row.ok && got != row.value {
			t.Errorf("%s %s reads back as %s", row.key, row.value, got)
		}
	}
}

// TestValuesThatDoNotGoTogether sets each pair of values to the last that goes together, then to the first that does not.
func TestValuesThatDoNotGoTogether(t *testing.T) {
	for _, row := range []struct{ set, with, key, last, first string }{
		{"ncaa_men", "shot_length 0:30", "shot_short", "0:30", "0:30.001"},
		{"nfhs", "periods 3,interval_horn none", "interval_length", "0:01", "none"},
		{"ncaa_men", "interval_length none", "periods", "2", "3"},
		{"fiba_3x3", "halftime_length none", "periods", "1", "2"},
		{"nfhs", "halftime_horns none", "halftime_length", "0:01", "none"},
		{"nfhs", "halftime_length 10:00", "halftime_horns", "9:59.999", "10:00"},
		{"nfhs", "interval_length 1:00", "interval_horn", "0:59.999", "1:00"},
		{"nfhs", "timeout_late 1", "timeout_late_from", "0:01", "none"},
		{"nfhs", "mercy_lead 30", "mercy_off_below", "30", "31"},
		{"nfhs", "mercy_lead 1", "mercy_off_below", "1", "2"},
		{"nfhs", "overtime_target none", "overtime_length", "0:01", "none"},
		{"fiba", "timeout_short_length none", "timeouts_short", "0", "1"},
		{"fiba", "timeout_short_length none", "timeouts_short", "0", "0/1"},
		{"fiba", "timeout_short_length none", "timeouts_short", "0", "0+1"},
		{"fiba_3x3", "timeout_full_length none", "timeouts_full", "0", "1"},
		{"nfhs", "timeout_span game", "timeouts_short", "2", "2/1"},
		{"fiba", "timeout_span half", "timeout_keep", "all", "1"},
		{"nfhs", "timeout_short_length 0:30", "timeout_horn", "0:29.999", "0:30"},
		{"nfhs", "timeout_short_length none,timeouts_short 0,timeout_full_length 0:20", "timeout_horn", "0:19.999", "0:20"},
		{"nfhs", "mercy_lead 1", "mercy_from", "4", "5"},
		{"fiba", "forfeit_stands no", "forfeit_from", "none", "0:01"},
		{"nfhs", "lineup 5", "squad", "5", "4"},
		{"nfhs", "lineup 2", "squad", "2", "1"},
		{"fiba", "timeouts_full 0,timeout_horn none", "timeout_full_length", "0:01", "none"},
	} {
		s, _ := ByName(row.set)
		for pair := range strings.SplitSeq(row.with, ",") {
			key, value, _ := strings.Cut(pair, " ")
			if err := s.Put(key, value); err != nil {
				t.Fatal(err)
			}
		}
		if err := s.Put(row.key, row.last); err != nil {
			t.Fatal(err)
		}
		if err := s.Check(); err != nil {
			t.Errorf("%s with %s: %s %s: %v", row.set, row.with, row.key, row.last, err)
		}
		if err := s.Put(row.key, row.first); err != nil {
			t.Fatal(err)
		}
		err := s.Check()
		var bad *Error
		if !errors.Is(err, ErrContradict) || !errors.As(err, &bad) || !strings.Contains(bad.Expected, row.key) {
			t.Errorf("%s with %s: %s %s: %v, want a contradiction that names %s", row.set, row.with, row.key, row.first, err, row.key)
			continue
		}
		if value, _ := s.Get(bad.Key); value != bad.Value || !strings.Contains(bad.Expected, bad.Key+" is "+value) {
			t.Errorf("%s with %s: %s %s: %q is said of %s, which is %s", row.set, row.with, row.key, row.first, bad.Value, bad.Key, value)
		}
	}
}

func TestValuesOfWhatThereIsNotContradictNothing(t *testing.T) {
	for _, pairs := range []string{
		"periods 3,halftime_length none,halftime_horns 1:00", "interval_length none,periods 2,interval_horn 1:00", "mercy_off_below 40,mercy_from 9",
		"timeout_late_from 2:00", "timeout_horn none,timeout_full_length 0:01,timeout_short_length 0:01", "lineup 5,squad none", "timeout_span half",
	} {
		s := nfhsSet(t)
		for pair := range strings.SplitSeq(pairs, ",") {
			key, value, _ := strings.Cut(pair, " ")
			if err := s.Put(key, value); err != nil {
				t.Fatal(err)
			}
		}
		if err := s.Check(); err != nil {
			t.Errorf("%s: %v", pairs, err)
		}
	}
}

func TestUnknownNamesAreNoSets(t *testing.T) {
	if s, ok := ByName("nfsh"); ok || s != (Set{}) {
		t.Errorf("nfsh is a set: %+v", s)
	}
	s := nfhsSet(t)
	if v, ok := s.Get("period_lenght"); ok || v != "" {
		t.Errorf("period_lenght is %q", v)
	}
	if Title("nfsh") != "" {
		t.Error("nfsh has a title")
	}
	if _, ok := KindNamed("personnel"); ok {
		t.Error("personnel is a kind of foul")
	}
	if k, ok := (&Set{}).DefaultTimeout(); ok || k != Full {
		t.Errorf("a set without timeouts has %v", k)
	}
	for name, ok := range map[string]bool{strings.Repeat("n", 64): true, strings.Repeat("n", 65): false} {
		mine := s
		mine.Name = name
		b, err := mine.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		if err := new(Set).UnmarshalJSON(b); (err == nil) != ok {
			t.Errorf("a name of %d bytes: %v", len(name), err)
		}
	}
}

func TestThrowsSayHowManyPointsTheyBring(t *testing.T) {
	for throws, most := range []int{NoThrows: 0, One: 1, OneAndOne: 2, Two: 2, Three: 3, TwoAndBall: 2} {
		if got := Throws(throws).Most(); got != most {
			t.Errorf("%v bring %d points, want %d", Throws(throws), got, most)
		}
	}
	if got := (TwoAndBall + 1).String(); got != "" {
		t.Errorf("throws that there are not are %q", got)
	}
	s := Set{Bonus: [maxLevels]Level{{1, One}, {3, Two}}}
	for count, want := range []Throws{NoThrows, One, One, Two, Two} {
		if got := s.ThrowsAt(count); got != want {
			t.Errorf("foul %d gives %v, want %v", count, got, want)
		}
	}
}

// TestPeriodsThatOpenWithTheArrow: the first never does (NFHS 2025-26, r 6-1-1), an overtime where the set says so (FIBA
// 2024, Art. 12; NFHS r 4-3-1).
func TestPeriodsThatOpenWithTheArrow(t *testing.T) {
	for _, row := range []struct {
		set  string
		want [6]bool // periods 1 to 6
	}{
		{"nfhs", [6]bool{false, true, true, true, false, false}},
		{"fiba", [6]bool{false, true, true, true, true, true}},
		{"fiba_3x3", [6]bool{}},
	} {
		s, _ := ByName(row.set)
		for i, want := range row.want {
			if got := s.ArrowOpens(i + 1); got != want {
				t.Errorf("%s: period %d opens with the arrow: %v", row.set, i+1, got)
			}
		}
	}
}

func TestAnyNumberIsOneToThreeDigits(t *testing.T) {
	s := nfhsSet(t)
	if err := s.Put("numbers", "any"); err != nil {
		t.Fatal(err)
	}
	for number, want := range map[string]bool{"": false, "7": true, "07": true, "007": true, "0007": false, "x": false, "7x": false, "77x": false} {
		if got := s.Legal(number); got != want {
			t.Errorf("%q is legal: %v", number, got)
		}
	}
}

func TestOneSlip(t *testing.T) {
	for _, row := range []struct {
		a, b string
		want bool
	}{
		{"lineup", "lineup", true}, {"lineup", "linup", true}, {"lineup", "ineup", true}, {"lineup", "lineu", true}, {"lineup", "lineups", true},
		{"lineup", "linexp", true}, {"lineup", "xineup", true}, {"lineup", "lineux", true},
		{"lineup", "linuep", true}, {"lineup", "ilneup", true}, {"lineup", "linepu", true},
		{"lineup", "lixexp", false}, {"lineup", "lin", false}, {"lineup", "line", false}, {"lineup", "linxp", false}, {"lineup", "inlexp", false},
		{"lineup", "lienpu", false}, {"lineup", "liuenp", false}, {"ab", "cd", false}, {"", "", true}, {"", "ab", false}, {"a", "", true},
		{"abcd", "abdx", false}, {"abcd", "abxc", false}, {"abcde", "abdcx", false},
	} {
		if oneSlip(row.a, row.b) != row.want || oneSlip(row.b, row.a) != row.want {
			t.Errorf("%q and %q: one slip apart is not %v", row.a, row.b, row.want)
		}
	}
	for name, want := range map[string]string{
		"lin": ": lineup", "li": "", "linexp": ": lineup", "mercy_from_period": ": mercy_from", "banana": "", "squda": ": squad",
	} {
		if got := nearest(name); got != want {
			t.Errorf("near %s lies %q, want %q", name, got, want)
		}
	}
}
