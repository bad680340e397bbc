package journal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
)

// TestBoundsAreThoseOfTheFormat: a later version may raise them, but not lower them, or it would not read an older log.
func TestBoundsAreThoseOfTheFormat(t *testing.T) {
	got := [...]int{Format, MaxLine, MaxFile, MaxEvents, maxDepth, maxNames}
	if want := [...]int{1, 262_144, 33_554_432, 100_000, 16, 512}; got != want {
		t.Errorf("%v, want %v", got, want)
	}
	for _, row := range []struct {
		name, text, says string
	}{
		{"as deep as may be", `{"a":` + strings.Repeat("[", 15) + strings.Repeat("]", 15) + "}", ""},
		{"a level deeper", `{"a":` + strings.Repeat("[", 16) + strings.Repeat("]", 16) + "}", "nested deeper than 16"},
		{"as many names as may be", manyNames(512), ""},
		{"a name more", manyNames(513), "more than 512 names"},
		{"a name twice at the top", `{"a":1,"a":2}`, `"a" twice`},
		{"a name twice below an array", `{"a":[{"b":1,"b":2}]}`, `"b" twice`},
		{"a name twice behind an array", `{"a":[],"a":2}`, `"a" twice`},
		{"a name twice behind an object", `{"a":{"b":1},"a":2}`, `"a" twice`},
		{"a name in capitals behind an object", `{"a":{"b":1},"A":2}`, `"A" is not in small letters`},
		{"one name in two objects", `{"a":{"a":1},"b":[{"a":1},{"a":1}]}`, ""},
		{"texts of an array are no names", `{"a":["X","X","Y z"],"b":"X"}`, ""},
		{"nor is a text alone", `"X"`, ""},
		{"no JSON", `{"a":`, "it is not JSON"},
	} {
		if got := checkNames([]byte(row.text)); !strings.Contains(got, row.says) || (got == "") != (row.says == "") {
			t.Errorf("%s: %q, want %q", row.name, got, row.says)
		}
	}
}

// manyNames is an object of n names.
func manyNames(n int) string {
	var names []string
	for i := range n {
		names = append(names, fmt.Sprintf(`"n%d":0`, i))
	}
	return "{" + strings.Join(names, ",") + "}"
}

// TestTheLongestLine writes and reads a header of just the bound, and refuses one a byte longer both ways.
func TestTheLongestLine(t *testing.T) {
	h := header(t)
	h.Setup.Home.Roster = []engine.RosterEntry{{Number: "12"}}
	var e Encoder
	short, err := e.Append(nil, Record{Header: &h})
	if err != nil {
		t.Fatal(err)
	}
	h.Setup.Home.Roster[0].Name = strings.Repeat("x", MaxLine-len(short))
	e = Encoder{}
	longest, err := e.Append([]byte("head"), Record{Header: &h})
	longest = bytes.TrimPrefix(longest, []byte("head"))
	if err != nil || len(longest) != MaxLine {
		t.Fatalf("%d bytes: %v", len(longest), err)
	}
	if log, err := Read(bytes.NewReader(longest)); err != nil || log.Lines != 1 {
		t.Errorf("read back: %v", err)
	}
	h.Setup.Home.Roster[0].Name += "x"
	e = Encoder{}
	if _, err := e.Append(nil, Record{Header: &h}); !errors.Is(err, TooLarge) || !strings.HasPrefix(err.Error(), "line 1: ") {
		t.Errorf("a byte more is written: %v", err)
	}
}

// TestTheLargestFile reads a log of just the bound, then one a byte larger.
func TestTheLargestFile(t *testing.T) {
	h := header(t)
	text := encode(t, []Record{{Header: &h}})
	e := Encoder{1}
	beat := func(digits int) {
		var err error
		left := time.Duration(1)
		for range digits - 1 {
			left *= 10
		}
		if text, err = e.Append(text, Record{Beat: &Beat{At: 1, Left: left}}); err != nil {
			t.Fatal(err)
		}
	}
	const last = 8 // lines, of some 65 to 82 bytes each
	for MaxFile-len(text) > last*80 {
		beat(18)
	}
	before, digits := 0, 0
	for i := range last {
		before = len(text)
		beat(1)
		size := len(text) - before
		// What is still open is spread over the lines that are still to come.
		digits = 1 + min(17, max(0, MaxFile-before-(last-i)*size))
		text, e.written = text[:before], e.written-1
		beat(digits)
	}
	if len(text) != MaxFile {
		t.Fatalf("%d bytes, want %d", len(text), MaxFile)
	}
	if log, err := Read(bytes.NewReader(text)); err != nil || log.Size != MaxFile {
		t.Fatalf("the largest file: %v", err)
	}
	text, e.written = text[:before], e.written-1
	beat(digits + 1)
	log, err := Read(bytes.NewReader(text))
	var refused *Error
	if len(text) != MaxFile+1 || !errors.As(err, &refused) || refused.Code != TooLarge || log == nil || refused.Line != log.Lines+1 || log.Size != int64(before) {
		t.Errorf("%d bytes: %v", len(text), err)
	}
}

func TestMostEvents(t *testing.T) {
	h := header(t)
	log := &Log{Header: h, Lines: MaxEvents, Events: MaxEvents - 1}
	if err := log.addRecord(MaxEvents+1, Record{Event: &engine.Event{Number: MaxEvents}}); err != nil || log.Events != MaxEvents {
		t.Errorf("the last event: %v", err)
	}
	if err := log.addRecord(MaxEvents+2, Record{Event: &engine.Event{Number: MaxEvents + 1}}); !errors.Is(err, TooLarge) || log.Events != MaxEvents {
		t.Errorf("one more: %v", err)
	}
}

func TestErrorsNameTheirLine(t *testing.T) {
	for line, want := range map[int]string{0: "so", 1: "line 1: so", 2: "line 2: so"} {
		if got := (&Error{Line: line, Reason: "so"}).Error(); got != want {
			t.Errorf("line %d says %q, want %q", line, got, want)
		}
	}
	// What fails in the middle names the line that it did not come to.
	text := encode(t, small(t))
	first := bytes.IndexByte(text, '\n') + 1
	_, err := Read(iotest.TimeoutReader(bytes.NewReader(text[:first])))
	var failed *Error
	if !errors.As(err, &failed) || failed.Code != Failed || failed.Line != 2 {
		t.Errorf("behind the header: %v, want a failure at line 2", err)
	}
}

func TestWhatIsSealedHasABody(t *testing.T) {
	for body, want := range map[string]string{"": "it does not end in a checksum", "{": ""} {
		line := strings.TrimSuffix(seal(body), "\n")
		got, problem := unseal([]byte(line))
		if problem != want || string(got) != body {
			t.Errorf("%s: %q, %q, want %q", line, got, problem, want)
		}
	}
}

func TestTimeOfDayGoesByTheLastLineThatSaysSo(t *testing.T) {
	h := header(t)
	hour := h.Began.Add(time.Hour)
	log, err := Read(bytes.NewReader(encode(t, []Record{{Header: &h}, {Resume: &Resume{At: second(9), Wall: WallTime{hour}}}, {End: &End{At: second(10)}}})))
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[clock.Instant]time.Time{
		0: h.Began.Time, second(8): h.Began.Add(8 * time.Second), second(9) - 1: h.Began.Add(9*time.Second - 1), second(9): hour, second(10): hour.Add(time.Second),
	} {
		if got := log.Wall(at); !got.Equal(want) {
			t.Errorf("at %d ns it is %v, want %v", at, got, want)
		}
	}
}

func TestEventsAreListedAndKept(t *testing.T) {
	records := small(t)
	read := func() *Log {
		log, err := Read(bytes.NewReader(encode(t, records)))
		if err != nil {
			t.Fatal(err)
		}
		return log
	}
	log := read()
	list := log.EventList()
	if len(list) != 3 || list[0] != *records[1].Event || list[2] != *records[4].Event {
		t.Errorf("the events are %+v", list)
	}
	log.Keep(3)
	if all := read(); log.Events != 3 || len(log.Records) != len(all.Records) || log.Last != all.Last || !log.Ended {
		t.Errorf("keeping all leaves %+v", log)
	}
	log.Keep(2)
	if log.Events != 2 || log.Ended || log.Last != (Beat{}) || log.At() != second(3) || len(log.EventList()) != 2 {
		t.Errorf("keeping two leaves %+v", log)
	}
	log.Keep(0)
	if log.Events != 0 || log.At() != 0 || len(log.Records) != 1 {
		t.Errorf("keeping none leaves %+v", log)
	}
}

func TestASetupThatTheEngineRefusesNamesTheHeader(t *testing.T) {
	h := header(t)
	h.Setup.Home.Roster = []engine.RosterEntry{{Number: "banana"}}
	log, err := Read(bytes.NewReader(encode(t, []Record{{Header: &h}})))
	if err != nil {
		t.Fatal(err)
	}
	var e *Error
	if game, err := log.Game(); !errors.As(err, &e) || e.Line != 1 || game != nil {
		t.Errorf("%v, want line 1", err)
	}
}

func TestEncodeIsHeaderThenEvents(t *testing.T) {
	records := small(t)
	events := []engine.Event{*records[1].Event, *records[3].Event, *records[4].Event}
	got, err := Encode(*records[0].Header, events)
	want := encode(t, []Record{records[0], records[1], records[3], records[4]})
	if err != nil || !bytes.Equal(got, want) {
		t.Errorf("%s\nwant\n%s: %v", got, want, err)
	}
	if got, err := Encode(*records[0].Header, nil); err != nil || bytes.Count(got, []byte("\n")) != 1 {
		t.Errorf("without events: %s: %v", got, err)
	}
	events[1].Command = engine.Command{}
	if _, err := Encode(*records[0].Header, events); err == nil || !strings.Contains(err.Error(), "line 3") {
		t.Errorf("an event without a command: %v, want an error at line 3", err)
	}
}

// TestLinesAtTheEdgeOfWhatIsTaken: instants that are equal, readings of zero, and what was true at 0 or when it was keyed.
func TestLinesAtTheEdgeOfWhatIsTaken(t *testing.T) {
	first := strings.SplitAfter(string(encode(t, small(t))), "\n")[0]
	event := func(was string) string {
		return first + seal(`{"seq":2,"event":{"number":1,"at_ns":5,`+was+`"desk":"","command":{"do":"horn"}}`)
	}
	for _, row := range []struct {
		name, text string
		ok         bool
	}{
		{"two beats at one instant", first + seal(`{"seq":2,"beat":{"at_ns":9,"left_ns":1}`) + seal(`{"seq":3,"beat":{"at_ns":9,"left_ns":1}`), true},
		{"nothing left", first + seal(`{"seq":2,"beat":{"at_ns":9,"left_ns":0}`), true},
		{"an end at the instant of a beat", first + seal(`{"seq":2,"beat":{"at_ns":9,"left_ns":1}`) + seal(`{"seq":3,"end":{"at_ns":9}`), true},
		{"true at 0", event(`"was_ns":0,`), true},
		{"true when it was keyed", event(`"was_ns":5,`), true},
		{"true before 0", event(`"was_ns":-1,`), false},
		{"a beat before the header", seal(`{"seq":1,"beat":{"at_ns":9,"left_ns":1}`), false},
		{"seq is no number", first + seal(`{"seq":"2","end":{"at_ns":9}`), false},
	} {
		if _, err := Read(strings.NewReader(row.text)); (err == nil) != row.ok {
			t.Errorf("%s: %v", row.name, err)
		}
	}
	// A line whose seal is not ours may be a newer version's, where it says so: the first alone does.
	for _, row := range []struct {
		text string
		code Code
		line int
	}{
		{`{"seq":1,"header":{"format":2,"new":1}}` + "\n", Future, 1}, {`{"seq":1,"header":{"format":1,"new":1}}` + "\n", Damaged, 1},
		{first + `{"seq":1,"header":{"format":2}}` + "\n", Damaged, 2}, {`{"seq":1,"header":{"format":x}}` + "\n", Damaged, 1},
	} {
		var e *Error
		if _, err := Read(strings.NewReader(row.text)); !errors.As(err, &e) || e.Code != row.code || e.Line != row.line {
			t.Errorf("%s: %v, want %s at line %d", row.text[max(0, len(row.text)-50):], err, row.code, row.line)
		}
	}
	blank := first + "\n" + seal(`{"seq":2,"end":{"at_ns":9}`)
	if _, err := Read(strings.NewReader(blank)); err == nil || err.Error() != "line 2: it does not end in a checksum" {
		t.Errorf("a blank line: %v", err)
	}
	for name, header := range map[string]string{
		"no format": `{"program":"rafter"}`, "no program": `{"format":1}`, "a format in quotes": `{"format":"1","program":"rafter"}`, "none at all": `null`,
	} {
		if _, err := Read(strings.NewReader(seal(`{"seq":1,"header":` + header))); !errors.Is(err, Foreign) || !strings.Contains(err.Error(), "no header") {
			t.Errorf("a header with %s: %v", name, err)
		}
	}
}

// TestQuickReadingToItsEdges: which spellings are read without JSON.
func TestQuickReadingToItsEdges(t *testing.T) {
	for _, row := range []struct {
		body  string
		taken bool
	}{
		{`{"seq":2,"event":{"number":1,"at_ns":0,"desk":"","command":{"do":"horn"}}`, true},
		{`{"seq":2,"event":{"number":1,"at_ns":0,"desk":" ~","command":{"do":"horn"}}`, true},
		{"{\"seq\":2,\"event\":{\"number\":1,\"at_ns\":0,\"desk\":\"\x7f\",\"command\":{\"do\":\"horn\"}}", false},
		{`{"seq":2,"event":{"number":1,"at_ns":999999999999999999,"desk":"a","command":{"do":"horn"}}`, true},
		{`{"seq":2,"event":{"number":1,"at_ns":05,"desk":"a","command":{"do":"horn"}}`, false},
		{`{"seq":2,"event":{"number":1,"at_ns":0,"command":{"do":"horn"}}`, false},
		{`{"seq":2,"event":{"number":1,"at_ns":1:,"desk":"a","command":{"do":"horn"}}`, false},
		{`{"seq":2,"event":{"number":1,"at_ns":0,"desk":"a","command":{"do":"horn"}`, false},
		{`{"seq":2,"event":{"number":1,"at_ns":0,"desk":"a","comand":{"do":"horn"}}`, false},
		{`{"seq":2,"event":{"number":1,"at_ns":0,"desk":"a`, false},
		{`{"seq":2,"event":{"number":1,"at_ns":0,"desk":`, false},
		{`{"seq":2,"beat":{"at_ns":`, false}, {`{"seq":2,"beat":{"at_ns":0,"left_ns":0}`, true}, {`{"seq":2,"beat":{"at_ns":0,"left_ns":9/}`, false},
	} {
		if _, ok := quick([]byte(row.body), 2); ok != row.taken {
			t.Errorf("%s is taken: %v", row.body, ok)
		}
	}
	if rest, n, ok := cutInt([]byte("abc"), "x", true); string(rest) != "abc" || n != 0 || ok {
		t.Errorf("no number is cut as %q, %d, %v", rest, n, ok)
	}
	if rest, text, ok := cutText([]byte(`"desk":"a`), `"desk":`, true); text != "" || ok {
		t.Errorf("no text is cut as %q, %q, %v", rest, text, ok)
	}
}

func TestIDsToTheirEdges(t *testing.T) {
	for id, want := range map[string]bool{
		"": false, "!": true, "~": true, " ": false, "\x7f": false, "a b": false, "é": false, strings.Repeat("x", 64): true, strings.Repeat("x", 65): false,
	} {
		if plainID(id) != want {
			t.Errorf("%q is an id: %v", id, !want)
		}
	}
}

// TestYearsAndOffsetsToTheirEdges: RFC 3339, section 5.6: a year has four digits, an offset is below a day.
func TestYearsAndOffsetsToTheirEdges(t *testing.T) {
	for year, want := range map[int]bool{-1: false, 0: false, 1: true, 2: true, 9999: true, 10000: false} {
		if _, err := (WallTime{time.Date(year, 6, 1, 0, 0, 0, 0, time.UTC)}).MarshalJSON(); (err == nil) != want {
			t.Errorf("the year %d: %v", year, err)
		}
	}
	for offset, want := range map[string]bool{"+23:59": true, "-23:59": true, "+24:00": false, "-24:00": false, "+99:00": false} {
		var w WallTime
		if err := w.UnmarshalJSON([]byte(`"2026-11-25T18:30:00.000` + offset + `"`)); (err == nil) != want {
			t.Errorf("the offset %s: %v", offset, err)
		}
	}
	wall := Wall(time.Now())
	if back := (WallTime{wall.Round(0)}); wall != back {
		t.Errorf("%#v still has a reading that no log can hold", wall)
	}
}

// Source: RFC 3339 sections 5.6 to 5.8, cases in testdata/rfc3339.json. What is no time of day is refused; every one that is
// comes back from what the log writes for it, at the millisecond and the offset.
func TestTimesOfDayByTheRFC(t *testing.T) {
	data, err := os.ReadFile("testdata/rfc3339.json")
	if err != nil {
		t.Fatal(err)
	}
	var vectors struct {
		Cases []struct {
			Text  string
			Valid bool
			Time  *time.Time `json:"go_time_parse"`
		}
	}
	if err := json.Unmarshal(data, &vectors); err != nil {
		t.Fatal(err)
	}
	valid := 0
	for _, c := range vectors.Cases {
		var w WallTime
		if err := w.UnmarshalJSON([]byte(`"` + c.Text + `"`)); err == nil && !c.Valid {
			t.Errorf("%s is read", c.Text)
		}
		if !c.Valid || c.Time == nil || c.Time.Year() < 1 {
			continue // a leap second, small letters and the year 0 are not written
		}
		valid++
		text, err := Wall(*c.Time).MarshalJSON()
		if err == nil {
			err = w.UnmarshalJSON(text)
		}
		if err != nil || !w.Equal(c.Time.Truncate(time.Millisecond)) {
			t.Errorf("%s comes back as %s, %v", c.Text, w, err)
		}
	}
	if valid < 8 || len(vectors.Cases)-valid < 10 {
		t.Errorf("%d cases of %d are valid", valid, len(vectors.Cases))
	}
}
