package rules

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

func nfhsSet(t *testing.T) Set {
	t.Helper()
	s, ok := ByName("nfhs")
	if !ok {
		t.Fatal("there is no nfhs")
	}
	return s
}

func TestEverySetIsComplete(t *testing.T) {
	for _, p := range sets {
		s, ok := ByName(p.name)
		if !ok {
			t.Fatalf("%s: a row cannot be read", p.name)
		}
		var rows, fields []string
		for _, r := range p.rows() {
			rows = append(rows, r.name)
			if got, _ := s.Get(r.name); got != r.value {
				t.Errorf("%s: %s reads back as %q, the row says %q", p.name, r.name, got, r.value)
			}
			if r.source == "" || r.mark == "" {
				t.Errorf("%s: %s has no source or mark", p.name, r.name)
			}
		}
		for i := range Fields {
			fields = append(fields, Fields[i].Name)
		}
		slices.Sort(rows)
		slices.Sort(fields)
		if !slices.Equal(rows, fields) {
			t.Errorf("%s has the rows\n%v\nfor the fields\n%v", p.name, rows, fields)
		}
		if err := s.Check(); err != nil {
			t.Errorf("%s: %v", p.name, err)
		}
		if p.title == "" || Title(p.name) != p.title {
			t.Errorf("%s has no title", p.name)
		}
	}
}

func TestPutRefusesWhatMakesNoSense(t *testing.T) {
	for _, row := range []struct{ key, value string }{
		{"period_length", "0"}, {"period_length", "0:00"}, {"period_length", "-1:00"}, {"period_length", "3:00:00"}, {"period_length", "eight"},
		{"periods", "0"}, {"periods", "9"}, {"periods", "04"}, {"periods", "+4"},
		{"timeouts_full", "300"}, {"timeouts_full", "3+"}, {"timeouts_full", "3,keep:10"}, {"timeouts_full", "-1"}, {"timeouts_full", ""},
		{"bonus", "5:four"}, {"bonus", "7:two,5:one_and_one"}, {"bonus", "5:none"}, {"bonus", "1:one,2:one,3:one,4:one"}, {"bonus", "0:two"}, {"bonus", ""},
		{"foul_personal", "team"}, {"foul_personal", "player,team,bonus"}, {"foul_personal", "team:3,bonus"}, {"foul_personal", "team,team,bonus"}, {"foul_personal", ""},
		{"clock_display", "round"}, {"shot_clock", "yes"}, {"tenths_below", "never"},
		{"numbers", ""}, {"numbers", "5-1"}, {"numbers", "100"}, {"numbers", "07"}, {"numbers", "1,,2"}, {"numbers", "0-00"},
		{"halftime_horns", "1:30,3:00"}, {"halftime_horns", "3:00,2:00,1:00"}, {"halftime_horns", "0"}, {"halftime_horns", ""}, {"basket_points", "3/2"},
		{"basket_points", "2"}, {"basket_points", "0/1"}, {"basket_points", "2/10"}, {"foul_technical2", "grave,minor,one"}, {"player_classes", "100"},
		{"mercy_lead", "0.5"}, {"mercy_lead", "201"}, {"lineup", "6"}, {"foul_span", "third"},
	} {
		s := nfhsSet(t)
		before := s
		err := s.Put(row.key, row.value)
		var bad *Error
		if !errors.Is(err, ErrBadValue) || !errors.As(err, &bad) || bad.Expected == "" {
			t.Errorf("%s %q: %v, want a refusal that says what may stand there", row.key, row.value, err)
		}
		if s != before {
			t.Errorf("%s %q was refused and changed the set", row.key, row.value)
		}
	}
}

func TestPutNamesTheNearestKey(t *testing.T) {
	s := nfhsSet(t)
	err := s.Put("period_lenght", "6:00")
	if !errors.Is(err, ErrUnknownKey) {
		t.Fatal(err)
	}
	err = s.Put("period_length_", "6:00")
	var bad *Error
	if !errors.As(err, &bad) || bad.Expected != "a name that rules show prints: period_length" {
		t.Errorf("%v", err)
	}
}

func TestValuesThatAreWrittenReadBack(t *testing.T) {
	for _, row := range []struct{ key, value, reads string }{
		{"bonus", "7:one_and_one,10:two", "7:one_and_one,10:two"}, {"bonus", "none", "none"},
		{"timeouts_full", "2/3+1", "2/3+1"}, {"timeouts_short", "3+1,keep:2", "3+1,keep:2"},
		{"foul_intentional", "team:2,player,grave,two_and_ball", "team:2,player,grave,two_and_ball"},
		{"numbers", "0,00,1-99", "00,0-99"}, {"numbers", "any", "any"}, {"numbers", "7", "7"},
		{"tenths_below", "0", "0"}, {"tenths_below", "0:00", "0"}, {"mercy_lead", "off", "off"}, {"mercy_off_below", "never", "never"},
		{"halftime_horns", "3:00,1:30", "3:00,1:30"}, {"halftime_horns", "none", "none"}, {"halftime_horns", "15", "0:15"}, {"basket_points", "1/2", "1/2"},
		{"foul_technical2", "minor,indirect,one", "minor,indirect,one"}, {"basket_stops_below", "59.9", "0:59.9"}, {"forfeit_from", "30:00", "30:00"},
		{"period_length", "6:00", "6:00"}, {"period_length", "360", "6:00"}, {"overtime_length", "none", "none"}, {"warmup", "20:00", "20:00"},
	} {
		s := nfhsSet(t)
		if err := s.Put(row.key, row.value); err != nil {
			t.Errorf("%s %s: %v", row.key, row.value, err)
			continue
		}
		if got, _ := s.Get(row.key); got != row.reads {
			t.Errorf("%s %s reads back as %s, want %s", row.key, row.value, got, row.reads)
		}
	}
}

func TestSetReadsBackFromJSON(t *testing.T) {
	s := nfhsSet(t)
	if err := s.Put("period_length", "6:00"); err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var read Set
	if err := json.Unmarshal(b, &read); err != nil || read != s {
		t.Fatalf("%s\nreads back as %+v: %v", b, read, err)
	}
	for _, bad := range []string{`{}`, `{"name":"a set of ours"}`, `[]`, string(b[:len(b)-1]) + `,"extra":"1"}`} {
		if err := json.Unmarshal([]byte(bad), &read); err == nil {
			t.Errorf("%.40s was taken", bad)
		}
		if read != s {
			t.Errorf("%.40s was refused and changed the set", bad)
		}
	}
}

// TestASetFromBeforeAFieldTakesThePublishedValue keeps old logs readable when the table of fields grows.
func TestASetFromBeforeAFieldTakesThePublishedValue(t *testing.T) {
	var read Set
	if err := json.Unmarshal([]byte(`{"name":"fiba","period_length":"8:00"}`), &read); err != nil {
		t.Fatal(err)
	}
	want, _ := ByName("fiba")
	if err := want.Put("period_length", "8:00"); err != nil || read != want {
		t.Errorf("read %+v, want %+v: %v", read, want, err)
	}
}

func TestValuesSayWhereTheyComeFrom(t *testing.T) {
	s := nfhsSet(t)
	if err := s.Put("period_length", "6:00"); err != nil {
		t.Fatal(err)
	}
	marks := map[string]Mark{}
	for _, v := range s.Values() {
		marks[v.Name] = v.Mark
		if v.Source == "" || v.Says == "" || v.Unit == "" {
			t.Errorf("%s says nothing of itself: %+v", v.Name, v)
		}
	}
	for name, want := range map[string]Mark{"period_length": Ours, "bonus": Published, "clock_display": CommonPractice, "tenths_below": CommonPractice} {
		if marks[name] != want {
			t.Errorf("%s is marked %q, want %q", name, marks[name], want)
		}
	}
}

// TestWhatWasNotReadIsNotCalledPublished holds marks and sources together, whichever set a value comes from.
func TestWhatWasNotReadIsNotCalledPublished(t *testing.T) {
	for _, p := range sets {
		for _, r := range p.rows() {
			doubt := strings.Contains(r.source, "not checked") || strings.Contains(r.source, "no book prints") || strings.Contains(r.source, "custom")
			if r.mark == Published && doubt || r.mark == Ours {
				t.Errorf("%s: %s is marked %q, its source is %q", p.name, r.name, r.mark, r.source)
			}
		}
	}
	// The edition of 2026 was seen in summaries only.
	for _, r := range fiba2026 {
		if r.mark != FromMemory {
			t.Errorf("fiba_2026: %s is marked %q", r.name, r.mark)
		}
	}
}

func TestASetWrittenAsDifferencesKeepsTheRest(t *testing.T) {
	from, _ := ByName("nfhs")
	young, _ := ByName("youth")
	for i := range Fields {
		name := Fields[i].Name
		own := slices.ContainsFunc(youth, func(r row) bool { return r.name == name })
		was, _ := from.Get(name)
		if now, _ := young.Get(name); now != was && !own {
			t.Errorf("%s is %s for youth, %s for nfhs, and no row says so", name, now, was)
		}
	}
	if young.Name != "youth" || young.PeriodLength != 6*time.Minute || from.PeriodLength != 8*time.Minute {
		t.Errorf("youth plays %v, nfhs %v (NFHS 2025-26, Appendix H, r 5-5-1)", young.PeriodLength, from.PeriodLength)
	}
}

func TestSpans(t *testing.T) {
	for _, row := range []struct {
		name           string
		periods        int
		span           Span
		period         int
		first, wantEnd int
	}{
		{"a quarter stands alone", 4, PerQuarter, 2, 2, 2},
		{"the last quarter takes in overtime; NFHS Case Book 2025-26, 4.8.1", 4, PerQuarter, 4, 4, 0},
		{"overtime counts with the last quarter; NFHS Case Book 2025-26, 4.8.1", 4, PerQuarter, 6, 4, 0},
		{"the first half of quarters", 4, PerHalf, 2, 1, 2},
		{"the second half goes on", 4, PerHalf, 3, 3, 0},
		{"two halves", 2, PerHalf, 1, 1, 1},
		{"the whole game", 4, PerGame, 1, 1, 0},
		{"one period is the whole game", 1, PerHalf, 2, 1, 0},
	} {
		s := Set{Periods: row.periods}
		if first, last := s.SpanOf(row.span, row.period); first != row.first || last != row.wantEnd {
			t.Errorf("%s: %d to %d, want %d to %d", row.name, first, last, row.first, row.wantEnd)
		}
	}
}

func TestIntervals(t *testing.T) {
	s := nfhsSet(t)
	for n, want := range map[int]time.Duration{1: time.Minute, 2: 10 * time.Minute, 3: time.Minute, 4: time.Minute, 5: time.Minute} {
		if got := s.IntervalAfter(n); got != want {
			t.Errorf("after period %d: %v, want %v (NFHS 2025-26, r 5-5-1, r 5-7-1)", n, got, want)
		}
	}
}

func TestKindsHaveWords(t *testing.T) {
	for k := range KindCount {
		if got, ok := KindNamed(k.String()); !ok || got != k {
			t.Errorf("kind %d is named %q", k, k)
		}
	}
	for k := range TimeoutKinds {
		if got, ok := TimeoutNamed(k.String()); !ok || got != k {
			t.Errorf("timeout kind %d is named %q", k, k)
		}
	}
	for throws := NoThrows; throws <= TwoAndBall; throws++ {
		if got, ok := ThrowsNamed(throws.String()); !ok || got != throws {
			t.Errorf("throws %d are named %q", throws, throws)
		}
	}
}

func TestPutAll(t *testing.T) {
	type pairs = []Pair
	for _, row := range []struct {
		name, from string
		pairs      pairs
		refused    []string // part of what each refusal says; empty: taken
	}{
		{"nothing", "nfhs", nil, nil},
		{"in any order", "nfhs", pairs{{"timeouts_full", "2/3+1"}, {"timeout_span", "half"}}, []string{"", ""}},
		{"out of range and unknown", "nfhs", pairs{{"periods", "0"}, {"lineup", "4"}, {"periodz", "4"}}, []string{"periods cannot be 0", "", "no rule value is named periodz"}},
		{"the last of two", "nfhs", pairs{{"mercy_lead", "30"}, {"mercy_off_below", "31"}}, []string{"", "mercy_off_below 31"}},
		{"the last of two, turned", "nfhs", pairs{{"mercy_off_below", "31"}, {"shot_clock", "on"}, {"mercy_lead", "30"}}, []string{"", "", "mercy_lead 30"}},
		{"one against the book", "fiba", pairs{{"shot_length", "0:10"}}, []string{"shot_short is 0:14"}},
		{"two contradictions", "fiba", pairs{{"shot_length", "0:10"}, {"forfeit_from", "10:00"}}, []string{"shot_length 0:10", "forfeit_from 10:00"}},
		{"both of two go, one after the other", "nfhs", pairs{{"timeout_keep", "2"}, {"timeouts_full", "2/3"}, {"timeout_span", "half"}},
			[]string{"", "timeouts_full 2/3", "timeout_span half"}},
		{"given twice, the last holds", "nfhs", pairs{{"periods", "3"}, {"periods", "2"}}, []string{"", ""}},
	} {
		set, _ := ByName(row.from)
		want := set
		errs := set.PutAll(row.pairs)
		for i, err := range errs {
			if said := fmt.Sprint(err); (err == nil) != (row.refused[i] == "") || !strings.Contains(said, row.refused[i]) && err != nil {
				t.Errorf("%s: %v: %v, want %q", row.name, row.pairs[i], err, row.refused[i])
			}
			if err == nil {
				_ = want.Put(row.pairs[i].Key, row.pairs[i].Value)
			}
		}
		if set != want || set.Check() != nil {
			t.Errorf("%s: what was taken does not hold: %v", row.name, set.Check())
		}
	}
}

// TestWhatHasNoEffectContradictsNothing keeps the check to values that cannot both hold.
func TestWhatHasNoEffectContradictsNothing(t *testing.T) {
	for _, row := range []struct{ from, key, value string }{
		{"fiba", "arrow", "off"}, {"fiba", "period_length", "1:00"}, {"ncaa_men", "period_length", "0:30"}, {"fiba", "timeout_late", "none"}, {"nfhs", "mercy_from", "9"},
		{"nfhs", "mercy_off_below", "30"}, {"fiba", "shot_clock", "off"}, {"fiba_3x3", "overtime_length", "2:00"}, {"nfhs", "timeout_horn", "none"},
	} {
		set, _ := ByName(row.from)
		if err := set.PutAll([]Pair{{row.key, row.value}})[0]; err != nil {
			t.Errorf("%s: %v", row.from, err)
		}
	}
}
