package mirror

import (
	"strings"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

func TestReadDocument(t *testing.T) {
	for _, c := range []struct{ document, wrong string }{
		{`{"a":[1,2.50,true,null,"x\"[{"]}`, ""}, {`7`, ""}, {strings.Repeat("[", 32) + strings.Repeat("]", 32), ""},
		{"[" + strings.Repeat("1,", 49_999) + "1]", ""}, {"[" + strings.Repeat("1,", 50_000) + "1]", "values"}, {"[" + strings.Repeat(" ", 60_000) + "]", ""},
		{"[" + strings.Repeat("{},", 40) + "{}]", ""}, {`"` + strings.Repeat("[", 40) + `"`, ""}, {`"\"` + strings.Repeat("[", 40) + `"`, ""},
		{`["\"", ` + strings.Repeat("[", 40), "in each other"}, {`["a", ` + strings.Repeat("[", 40), "in each other"}, {`["\\", ` + strings.Repeat("[", 40), "in each other"},
		{"", "ends too early"}, {`{"a":`, "ends too early"}, {`{"a":1} x`, "after the value"}, {`{a:1}`, "not JSON"}, {`{"a":01}`, "not JSON"},
		{"[" + strings.Repeat("[],", 40) + "[]]", ""}, {strings.Repeat(`{"a":`, 33), "in each other"}, {`"` + strings.Repeat("x", 1<<20-2) + `"`, ""},
		{"\"\xff\"", "UTF-8"}, {strings.Repeat("[", 33) + strings.Repeat("]", 33), "in each other"},
		{"[" + strings.Repeat("1,", 50_001) + "1]", "values"}, {`"` + strings.Repeat("x", 1<<20-1) + `"`, "longer than 1048576 bytes"},
	} {
		_, err := ReadDocument([]byte(c.document))
		if c.wrong == "" && err != nil || c.wrong != "" && (err == nil || !strings.Contains(err.Error(), c.wrong)) {
			t.Errorf("%.40s: %v, want %q", c.document, err, c.wrong)
		}
	}
}

func TestWhatAValueMeans(t *testing.T) {
	m := &Map{
		Periods: []Word{{"1st", Value{Phase: engine.Play, Count: 1}}, {"HT", Value{Phase: engine.Interval}}, {"9", Value{Phase: engine.Over}}},
		Home:    []string{"left", "1"}, Away: []string{"right", "2"}, Off: []string{"null", ""}, ShotOff: []string{"", "null"},
		ShotRuns: []string{"GO", "true"},
	}
	seconds, raised, millis := *m, *m, *m
	seconds.Clock.Unit = Seconds
	raised.Clock.Rounding = clock.Ceil
	millis.Clock.Unit = Milliseconds
	for _, c := range []struct {
		m     *Map
		field Field
		value string
		want  string // what it means, or with ! in front what is wrong
	}{
		{m, HomeScore, `12`, "score home = 12"}, {m, AwayScore, `" 07 "`, "score away = 7"}, {m, HomeFouls, `0`, "fouls home = 0"}, {m, AwayShort, `1`, "timeouts away short = 1"},
		{m, HomeScore, `-1`, "!no whole number"}, {m, HomeScore, `1.5`, "!no whole number"}, {m, HomeScore, `9999`, "score home = 9999"}, {m, HomeScore, `10000`, "!no whole number"}, {m, HomeScore, `"12a"`, "!no whole number"},
		{m, HomeScore, `"` + strings.Repeat("x", 40) + `"`, "!\"" + strings.Repeat("x", 40) + "\" is no whole number"},
		{m, HomeScore, `"` + strings.Repeat("x", 41) + `"`, "!\"" + strings.Repeat("x", 40) + "…\" is no whole number"},
		{m, HomeScore, `[12]`, "!a list, where a text or number is wanted"}, {m, HomeScore, `null`, "!no whole number"}, {m, HomeScore, `{}`, "!an object"},
		{m, PeriodField, `"1st"`, "period 1"}, {m, PeriodField, `"HT"`, "period interval"}, {m, PeriodField, `3`, "period 3"}, {m, PeriodField, `9`, "period over"}, {m, PeriodField, `"ot2"`, "period ot2"},
		{m, PeriodField, `99`, "period 99"}, {m, PeriodField, `100`, "!neither"}, {m, PeriodField, `0`, "!neither"}, {m, PeriodField, `"over"`, "!neither"}, {m, PeriodField, `"2nd"`, "!neither"},
		{m, ClockReading, `"7:47"`, "clock 7:47 to 7:47.999"}, {m, ClockReading, `"0:59.3"`, "clock 0:59.3 to 0:59.399"}, {m, ClockReading, `"47.25"`, "clock 0:47.25 to 0:47.259"},
		{m, ClockReading, `"1:02.345"`, "clock 1:02.345"}, {m, ClockReading, `"7:60"`, "!not a reading like 7:47"}, {m, ClockReading, `"-1"`, "!not a reading"}, {m, ClockReading, `"7:4"`, "!not a reading"},
		{&raised, ClockReading, `"7:47"`, "clock 7:46.001 to 7:47"}, {&raised, ClockReading, `"0:00"`, "clock 0:00"},
		{&seconds, ClockReading, `467`, "clock 7:47 to 7:47.999"}, {&seconds, ClockReading, `467.6`, "clock 7:47.6 to 7:47.699"}, {&seconds, ClockReading, `467.59999999`, "clock 7:47.599"},
		{&seconds, ClockReading, `"7:47"`, "!not a number of seconds"}, {&seconds, ClockReading, `4e2`, "!not a number of seconds"},
		{&millis, ClockReading, `467600`, "clock 7:47.6"}, {&millis, ClockReading, `0`, "clock 0:00"}, {&millis, ClockReading, `467600.9`, "clock 7:47.6"}, {&millis, ClockReading, `99999999999999999999`, "!milliseconds"}, {&millis, ClockReading, `-5`, "!milliseconds"},
		{m, ClockRuns, `true`, "clock running"}, {m, ClockRuns, `0`, "clock standing"}, {m, ClockRuns, `"RUN"`, "!neither true nor false"},
		{m, ShotRuns, `"GO"`, "shot running"}, {m, ShotRuns, `true`, "shot running"}, {m, ShotRuns, `"?"`, "shot standing"},
		{m, ShotReading, `null`, "shot off"}, {m, ShotReading, `" "`, "shot off"}, {m, ShotReading, `"14"`, "shot 0:14 to 0:14.999"},
		{m, ArrowField, `"left"`, "arrow home"}, {m, ArrowField, `2`, "arrow away"}, {m, ArrowField, `null`, "arrow off"}, {m, ArrowField, `"up"`, "!none of the words"},
	} {
		at, err := ParsePointer("/x")
		if err != nil {
			t.Fatal(err)
		}
		one := *c.m
		one.At[c.field] = engine.Some(at)
		d, err := ReadDocument([]byte(`{"x":` + c.value + `}`))
		if err != nil {
			t.Fatal(err)
		}
		found := one.Read(d)[c.field]
		got := ""
		if found.Err == nil {
			got = c.field.Says(found.Value)
		}
		if wrong, bad := strings.CutPrefix(c.want, "!"); bad && (found.Err == nil || !strings.Contains(found.Err.Error(), wrong)) || !bad && got != c.want {
			t.Errorf("%s %s: %q, %v; want %q", c.field, c.value, got, found.Err, c.want)
		}
	}
}

func FuzzDocuments(f *testing.F) {
	f.Fuzz(func(t *testing.T, first, second string) {
		b := sit(t, allFields(t), Policy{Within: time.Second})
		for i, text := range []string{first, second, first} {
			d, err := ReadDocument([]byte(text))
			if err != nil {
				return
			}
			found := b.m.Read(d)
			b.now += time.Duration(i) * time.Second
			for _, note := range b.mirror.Take(&found, b.now, b) {
				if len(note) > 400 {
					t.Errorf("a note of %d bytes", len(note))
				}
			}
			for field := range FieldCount {
				if v := found[field]; v.Asked && v.Err == nil && field.Says(v.Value) == "" {
					t.Errorf("%s means nothing: %+v", field, v)
				}
			}
		}
	})
}
