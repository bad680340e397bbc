package journal

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"
	"go.uber.org/goleak"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/rules"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// Teams and players in these tests are invented.

func header(t testing.TB) Header {
	t.Helper()
	set, ok := rules.ByName("nfhs")
	if !ok {
		t.Fatal("the rule set nfhs is missing")
	}
	began := time.Date(2026, 11, 25, 18, 30, 0, 0, time.FixedZone("", -5*3600))
	return Header{Format: Format, Program: Program, ID: "0123456789abcdef", Began: Wall(began), Setup: engine.Setup{Rules: set}}
}

// second returns the instant n seconds in.
func second(n int) clock.Instant { return clock.Instant(n) * clock.Instant(time.Second) }

// small is a log with one record of each kind and three events.
func small(t testing.TB) []Record {
	t.Helper()
	h := header(t)
	game, err := engine.NewGame(h.Setup)
	if err != nil {
		t.Fatal(err)
	}
	do := func(c engine.Command, at clock.Instant, was engine.Maybe[clock.Instant]) Record {
		t.Helper()
		ev, changed, err := game.Do("keys", c, at, was)
		if err != nil || !changed {
			t.Fatalf("%v: changed %v, %v", c, changed, err)
		}
		return Record{Event: &ev}
	}
	return []Record{
		{Header: &h},
		do(engine.Command{Do: engine.ClockStart}, second(1), engine.None),
		{Beat: &Beat{At: second(2), Left: 479 * time.Second}},
		do(engine.Command{Do: engine.Score, Team: engine.Home, Points: 2, By: "12"}, second(3), engine.Some(second(2))),
		do(engine.Command{Do: engine.ClockStop}, second(4), engine.None),
		{Resume: &Resume{At: second(9), Wall: WallTime{h.Began.Add(9 * time.Second)}}},
		{End: &End{At: second(10)}},
	}
}

func encode(t testing.TB, records []Record) []byte {
	t.Helper()
	var e Encoder
	var out []byte
	for _, r := range records {
		var err error
		if out, err = e.Append(out, r); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func TestChecksumIsTheOnePublished(t *testing.T) {
	// RFC 3720 appendix B.4 and the check value of CRC-32C; see the file for each.
	text, err := os.ReadFile("testdata/crc32c.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Values []struct{ Name, Hex, CRC32C string }
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Values) < 4 {
		t.Fatalf("%d values, want at least 4", len(file.Values))
	}
	for _, v := range file.Values {
		in, err := hex.DecodeString(v.Hex)
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprintf("%08x", checksum(in)); got != v.CRC32C {
			t.Errorf("%s: %s, want %s", v.Name, got, v.CRC32C)
		}
		line := appendSeal(append([]byte(nil), in...), 0)
		if want := string(in) + `,"crc":"` + v.CRC32C + "\"}\n"; string(line) != want {
			t.Errorf("%s: sealed as %q, want %q", v.Name, line, want)
		}
	}
}

func TestWhatIsWrittenIsRead(t *testing.T) {
	records := small(t)
	text := encode(t, records)
	log, err := Read(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	want := append(append([]Record{}, records[:2]...), records[3:]...) // the beat is kept apart
	if diff := cmp.Diff(want, log.Records, comparers); diff != "" {
		t.Error(diff)
	}
	if log.Last != *records[2].Beat || log.Beats != 1 || log.Events != 3 || !log.Ended || log.Torn != 0 {
		t.Errorf("beat %+v of %d, %d events, ended %v, torn %d", log.Last, log.Beats, log.Events, log.Ended, log.Torn)
	}
	if log.Lines != len(records) || log.Size != int64(len(text)) || log.At() != second(10) {
		t.Errorf("%d lines, %d bytes, until %d", log.Lines, log.Size, log.At())
	}
	if got, want := log.Wall(second(12)), log.Header.Began.Add(12*time.Second); !got.Equal(want) {
		t.Errorf("wall time %v, want %v", got, want)
	}
	game, err := log.Game()
	if err != nil {
		t.Fatal(err)
	}
	v := game.View(second(10))
	if v.Home.Score != 2 || v.LastEvent != 3 || v.Clock.Running || v.Clock.RemainingMS != 477_000 {
		t.Errorf("replayed: score %d, last event %d, clock %+v", v.Home.Score, v.LastEvent, v.Clock)
	}
	// What was read encodes to the same bytes again, but for the beat.
	again, err := Read(bytes.NewReader(encode(t, log.Records)))
	if err != nil || cmp.Diff(log.Records, again.Records, comparers) != "" {
		t.Errorf("read, written and read again: %v", err)
	}
}

var comparers = cmp.Options{
	cmp.Comparer(func(a, b WallTime) bool { return a.Equal(b.Time) && a.String() == b.String() }),
	cmp.Comparer(func(a, b engine.Setup) bool { return fmt.Sprintf("%#v", a) == fmt.Sprintf("%#v", b) }),
	cmp.Comparer(func(a, b engine.Event) bool { return a == b }),
}

// A log cut at any byte gives back every event whose line, newline included, is before the cut.
func TestCutAnywhere(t *testing.T) {
	records := small(t)
	text := encode(t, records)
	headerSize := bytes.IndexByte(text, '\n') + 1
	for cut := range len(text) {
		log, err := Read(bytes.NewReader(text[:cut]))
		if cut < headerSize {
			if log != nil || err == nil {
				t.Fatalf("cut at %d: a log without a header was read", cut)
			}
			continue
		}
		if err != nil {
			t.Fatalf("cut at %d: %v", cut, err)
		}
		lines := bytes.Count(text[:cut], []byte("\n"))
		events := 0
		for _, r := range records[:lines] {
			if r.Event != nil {
				events++
			}
		}
		tail := int64(cut - bytes.LastIndexByte(text[:cut], '\n') - 1)
		if log.Lines != lines || log.Events != events || log.Torn != tail {
			t.Fatalf("cut at %d: %d lines, %d events, %d torn; want %d, %d, %d", cut, log.Lines, log.Events, log.Torn, lines, events, tail)
		}
	}
}

// No single bit of a log can change and the log still read as whole.
func TestAFlippedBitIsFound(t *testing.T) {
	records := small(t)
	text := encode(t, records)
	lastLine := bytes.LastIndexByte(text[:len(text)-1], '\n') + 1
	for i := range text {
		for bit := range 8 {
			text[i] ^= 1 << bit
			log, err := Read(bytes.NewReader(text))
			line := bytes.Count(text[:i], []byte("\n")) + 1
			text[i] ^= 1 << bit
			var e *Error
			switch {
			case i == len(text)-1:
				// The last newline: the line now looks cut off, and is said to be.
				if err != nil || log.Torn != int64(len(text)-lastLine) {
					t.Fatalf("byte %d, bit %d: %v, %+v", i, bit, err, log)
				}
			case !errors.As(err, &e):
				t.Fatalf("byte %d, bit %d: read as if whole", i, bit)
			case e.Code == Damaged && e.Line != line && e.Line != line+1:
				t.Fatalf("byte %d, bit %d: line %d is named, not %d", i, bit, e.Line, line)
			case log != nil && log.Lines >= line:
				t.Fatalf("byte %d, bit %d: the damaged line %d was taken", i, bit, line)
			}
		}
	}
}

// seal closes a body that a test has made up, so that only what it says is wrong with it.
func seal(body string) string { return string(appendSeal([]byte(body), 0)) }

func TestWhatCannotBeReadSaysWhatAndWhere(t *testing.T) {
	text := string(encode(t, small(t)))
	lines := strings.SplitAfter(text, "\n")
	first := lines[0]
	changed := func(old, new string) string {
		body, _, _ := strings.Cut(first, sealHead)
		if !strings.Contains(body, old) {
			t.Fatalf("the header has no %s", old)
		}
		return seal(strings.Replace(body, old, new, 1))
	}
	for _, c := range []struct {
		name, text string
		code       Code
		line       int
		says       string
		good       int // lines before it
	}{
		{"nothing", "", Empty, 0, "empty", 0},
		{"a page of another program", "<!DOCTYPE html>\n<html></html>\n", Foreign, 0, "not a log of rafter", 0},
		{"another program's JSON", seal(`{"seq":1,"header":{"format":1,"program":"other"}`), Foreign, 0, `"other" wrote it`, 0},
		{"binary", "\x89PNG\r\n\x1a\n\x00\x00", Foreign, 0, "not a log", 0},
		{"a line without end", strings.Repeat("x", MaxLine+1), Foreign, 0, "longer than a header", 0},
		{"a future version", changed(`"format":1`, `"format":2,"new":{"x":[]}`), Future, 0, "format 2", 0},
		{"format 0", changed(`"format":1`, `"format":0`), Damaged, 1, "format 0", 0},
		{"a header cut off", first[:40], Damaged, 1, "cut off", 0},
		{"a name that the header does not have", changed(`"id":`, `"colour":1,"id":`), Unknown, 1, `unknown field "colour"`, 0},
		{"a name twice", changed(`"id":`, `"id":"a","id":`), Unknown, 1, `"id" twice`, 0},
		{"a name in capitals", changed(`"id":`, `"ID":`), Unknown, 1, `"ID" is not in small letters`, 0},
		{"a header without rules", seal(`{"seq":1,"header":{"format":1,"program":"rafter","id":"a","began":"2026-11-25T18:30:00.000Z"}`), Unknown, 1, "rules are missing", 0},
		{"an empty id", changed(`"id":"0123456789abcdef"`, `"id":""`), Unknown, 1, "id", 0},
		{"a date with a comma", changed(`18:30:00.000`, `18:30:00,000`), Unknown, 1, "time of day", 0},
		{"two headers", first + seal(strings.Replace(strings.TrimSuffix(first, first[len(first)-sealSize-1:]), `"seq":1`, `"seq":2`, 1)), Damaged, 2, "header must be the first", 1},
		{"a line missing", lines[0] + lines[2], Damaged, 2, "sequence number is 3", 1},
		{"a line doubled", lines[0] + lines[1] + lines[1], Damaged, 3, "sequence number is 2", 2},
		{"a blank line", lines[0] + "\n" + lines[1], Damaged, 2, "checksum", 1},
		{"a record of no kind", first + seal(`{"seq":2`), Unknown, 2, "0 records", 1},
		{"a record of two kinds", first + seal(`{"seq":2,"beat":{"at_ns":1,"left_ns":1},"end":{"at_ns":1}`), Unknown, 2, "2 records", 1},
		{"an event out of turn", first + strings.Replace(first, first, seal(`{"seq":2,"event":{"number":2,"at_ns":0,"desk":"","command":{"do":"clock_start"}}`), 1), Damaged, 2, "event 2 stands where event 1", 1},
		{"an event that was later than it is", first + seal(`{"seq":2,"event":{"number":1,"at_ns":5,"was_ns":6,"desk":"","command":{"do":"clock_start"}}`), Damaged, 2, "was true at 6 ns", 1},
		{"a command that there is not", first + seal(`{"seq":2,"event":{"number":1,"at_ns":5,"desk":"","command":{"do":"dance"}}`), Unknown, 2, "dance", 1},
		{"time that goes back", first + seal(`{"seq":2,"beat":{"at_ns":9,"left_ns":1}`) + seal(`{"seq":3,"beat":{"at_ns":8,"left_ns":1}`), Damaged, 3, "before that of an earlier line", 2},
		{"time below zero", first + seal(`{"seq":2,"end":{"at_ns":-1}`), Damaged, 2, "before that of an earlier line", 1},
		{"a reading below zero", first + seal(`{"seq":2,"beat":{"at_ns":9,"left_ns":-1}`), Damaged, 2, "below zero", 1},
		{"a fraction", first + seal(`{"seq":2,"beat":{"at_ns":9.5,"left_ns":1}`), Unknown, 2, "number 9.5", 1},
		{"a number too long", first + seal(`{"seq":2,"beat":{"at_ns":99999999999999999999,"left_ns":1}`), Unknown, 2, "cannot unmarshal", 1},
		{"more on the line", first + seal(`{"seq":2,"end":{"at_ns":1}}{"x":{}`), Unknown, 2, "something follows", 1},
		{"not UTF-8", first + seal("{\"seq\":2,\"x\":\"\xff\""), Unknown, 2, "UTF-8", 1},
		{"nested without end", first + seal(`{"seq":2,"x":`+strings.Repeat("[", 1000)), Unknown, 2, "nested deeper", 1},
		{"a line too long", first + seal(`{"seq":2,"x":"`+strings.Repeat("x", MaxLine)+`"`), TooLarge, 2, "longer", 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			log, err := Read(strings.NewReader(c.text))
			var e *Error
			if !errors.As(err, &e) {
				t.Fatalf("error %v, want one with the code %s", err, c.code)
			}
			if !errors.Is(err, c.code) || e.Line != c.line || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s, line %d: %v\nwant %s, line %d, with %q", e.Code, e.Line, err, c.code, c.line, c.says)
			}
			if good := 0; log != nil && log.Lines != c.good || log == nil && good != c.good {
				t.Errorf("the log before it is %+v, want %d lines", log, c.good)
			}
		})
	}
}

func TestAReaderThatFailsIsNotDamage(t *testing.T) {
	text := encode(t, small(t))
	broken := errors.New("the stick was pulled")
	log, err := Read(iotest.TimeoutReader(iotest.OneByteReader(bytes.NewReader(text))))
	if !errors.Is(err, Failed) || !errors.Is(err, iotest.ErrTimeout) || log != nil {
		t.Errorf("at the start: %v", err)
	}
	_, err = Read(iotest.ErrReader(broken))
	if !errors.Is(err, Failed) || !errors.Is(err, broken) {
		t.Errorf("at once: %v", err)
	}
}

func TestAnEventThatTheEngineRefusesNamesItsLine(t *testing.T) {
	records := small(t)
	stop := *records[4].Event
	stop.Command = engine.Command{Do: engine.Void, Event: 99}
	records[4].Event = &stop
	log, err := Read(bytes.NewReader(encode(t, records)))
	if err != nil {
		t.Fatal(err)
	}
	game, err := log.Game()
	var e *Error
	if !errors.As(err, &e) || e.Code != Unknown || e.Line != 5 || game == nil {
		t.Fatalf("error %v, want damage at line 5", err)
	}
	log.Keep(len(game.Events()))
	if log.Events != 2 || len(log.Records) != 3 || log.At() != second(3) {
		t.Errorf("kept %d events in %d records until %d", log.Events, len(log.Records), log.At())
	}
	if _, err := log.Game(); err != nil {
		t.Errorf("what was kept: %v", err)
	}
}

func TestTimesOfDayAreReadAsStrictlyAsTheyAreWritten(t *testing.T) {
	for _, c := range []struct {
		text string
		ok   bool
	}{
		// RFC 3339 section 5.6; the refused ones are those that time.Parse takes or that the RFC leaves to choice.
		{"2026-11-25T18:30:00.000-05:00", true},
		{"2026-11-25T18:30:00.999Z", true},
		{"2026-11-25T18:30:00.999+00:00", false},
		{"2026-11-25T18:30:00,000-05:00", false},
		{"2026-11-25T8:30:00.000-05:00", false},
		{"2026-11-25T18:30:00.000+24:00", false},
		{"2026-11-25t18:30:00.000z", false},
		{"2026-11-25 18:30:00.000Z", false},
		{"2026-11-31T18:30:00.000Z", false},
		{"2026-11-25T18:30:60.000Z", false},
	} {
		var w WallTime
		err := w.UnmarshalJSON([]byte(`"` + c.text + `"`))
		if (err == nil) != c.ok {
			t.Errorf("%s: %v", c.text, err)
		}
		if err == nil && w.String() != c.text {
			t.Errorf("%s came back as %s", c.text, w)
		}
	}
	if _, err := (WallTime{time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC)}).MarshalJSON(); err == nil {
		t.Error("the year 10000 was written")
	}
}

// Beats are read by hand for speed; the slow way must agree on every one.
func TestBeatsReadTheSameBothWays(t *testing.T) {
	for _, b := range []Beat{{}, {At: 1}, {Left: 1}, {second(100000), 12 * time.Minute}, {999_999_999_999_999_999, 1}, {1_000_000_000_000_000_000, 1}} {
		for _, seq := range []int{2, 1000} {
			e := Encoder{seq - 1}
			line, err := e.Append(nil, Record{Beat: &b})
			if err != nil {
				t.Fatal(err)
			}
			body, problem := unseal(line[:len(line)-1])
			if problem != "" {
				t.Fatal(problem)
			}
			slow, problem := parseRecord(body, seq)
			if problem != "" || *slow.Beat != b {
				t.Errorf("%+v: the slow way reads %+v %s", b, slow.Beat, problem)
			}
			fast, ok := parseBeat(body, seq)
			if fits := int64(b.At) < 1e18 && int64(b.Left) < 1e18; ok != fits || ok && fast != b {
				t.Errorf("%+v: the fast way reads %+v, %v", b, fast, ok)
			}
		}
	}
	for _, body := range []string{`{"seq":2,"beat":{"at_ns":01,"left_ns":1}`, `{"seq":3,"beat":{"at_ns":1,"left_ns":1}`, `{"seq":2,"beat":{"at_ns":1,"left_ns":1} `, `{"seq":2,"beat":{"at_ns":,"left_ns":1}`, `{"seq":2,"beat":{"at_ns":-1,"left_ns":1}`} {
		if _, ok := parseBeat([]byte(body), 2); ok {
			t.Errorf("%s was read", body)
		}
	}
}

func TestTheLastLineTellsWhetherTheGameWasPutAway(t *testing.T) {
	text := encode(t, small(t))
	lines := bytes.Split(bytes.TrimSuffix(text, []byte("\n")), []byte("\n"))
	for i, line := range lines {
		if got, want := IsEnd(line), i == len(lines)-1; got != want {
			t.Errorf("line %d: %v", i+1, got)
		}
	}
	if IsEnd(nil) || IsEnd([]byte(`{"seq":9,"end":{"at_ns":1},"crc":"00000000"}`)) {
		t.Error("a line with a wrong checksum, or none, was taken for an end")
	}
}

func TestEncoderRefusesWhatIsNoLog(t *testing.T) {
	var e Encoder
	h := header(t)
	if out, err := e.Append([]byte("x"), Record{Beat: &Beat{}}); err == nil || string(out) != "x" {
		t.Errorf("a log that begins with a beat: %q, %v", out, err)
	}
	if _, err := e.Append(nil, Record{Header: &h}); err != nil {
		t.Fatal(err)
	}
	for name, r := range map[string]Record{"a second header": {Header: &h}, "nothing": {}} {
		if out, err := e.Append([]byte("x"), r); err == nil || string(out) != "x" {
			t.Errorf("%s: %q, %v", name, out, err)
		}
	}
	out, err := e.Append(nil, Record{End: &End{}})
	if err != nil || !bytes.HasPrefix(out, []byte(`{"seq":2,`)) {
		t.Errorf("after refusals the next line is %s, %v", out, err)
	}
}
