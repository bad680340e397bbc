package journal

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rafter/engine"
	"rafter/engine/enginetest"
	"rafter/engine/rules"
)

// quick reads a line as add does, without JSON; false where it is left to parseRecord.
func quick(body []byte, number int) (Record, bool) {
	if b, ok := parseBeat(body, number); ok {
		return Record{Beat: &b}, true
	}
	e := parseEvent(body, number)
	return Record{Event: e}, e != nil
}

// sameAsJSON holds what the quick reading takes to the strict one.
func sameAsJSON(t *testing.T, body []byte, number int) (taken bool) {
	t.Helper()
	got, ok := quick(body, number)
	if !ok {
		return false
	}
	want, problem := parseRecord(body, number)
	if problem != "" {
		t.Fatalf("%q is taken, and JSON says: %s", body, problem)
	}
	if diff := cmp.Diff(want, got, comparers); diff != "" {
		t.Fatalf("%q: JSON (-) and the quick reading (+)\n%s", body, diff)
	}
	return true
}

// TestOwnLinesAreReadWithoutJSON: every line that Append makes of a game is read quickly, and as JSON reads it.
func TestOwnLinesAreReadWithoutJSON(t *testing.T) {
	for i, name := range rules.Names() {
		set, _ := rules.ByName(name)
		game, at := enginetest.PlayBy(set, uint64(i), 400)
		for _, text := range []string{"a & b <i>", "Ünnö — 漢字 \U0001f3c0", `"quoted" \ back`} {
			if _, _, err := game.Do("table", engine.Command{Do: engine.Message, Text: text}, at, engine.None); err != nil {
				t.Fatal(err)
			}
		}
		h := header(t)
		h.Setup = game.Opening()
		records := []Record{{Header: &h}}
		for _, e := range game.Events() {
			records = append(records, Record{Event: &e}, Record{Beat: &Beat{At: e.At, Left: 250}})
		}
		lines := bytes.Split(encode(t, records), []byte("\n"))
		for n := 1; n < len(records); n++ {
			body, problem := unseal(lines[n])
			if problem != "" || !sameAsJSON(t, body, n+1) {
				t.Fatalf("%s: %q is left to JSON (%s)", name, lines[n], problem)
			}
		}
	}
}

// TestOtherSpellingsAreLeftToJSON: what means the same in JSON but is not as Append writes it, and what is wrong.
func TestOtherSpellingsAreLeftToJSON(t *testing.T) {
	beat := `{"seq":2,"beat":{"at_ns":250,"left_ns":100}`
	event := `{"seq":2,"event":{"number":1,"at_ns":5,"was_ns":4,"desk":"keys","command":{"do":"horn"}}`
	for _, body := range []string{beat, event} {
		if !sameAsJSON(t, []byte(body), 2) {
			t.Fatalf("%s is not taken", body)
		}
		for _, change := range [][2]string{
			{`"seq":2`, `"seq":3`}, {`"seq":2`, `"seq": 2`}, {`"seq":2`, `"seq":02`}, {`"seq":2`, `"seq":2.0`}, {`_ns":`, `_ns":-`},
			{`_ns":`, `_ns":0`}, {`_ns":`, `_ns":1000000000000000000`}, {`_ns":`, `_ns":"`}, {`"seq":2,`, `"seq":2, `}, {`}`, `}}`}, {`}`, ``}, {`{`, `[`},
			{`"keys"`, `"ke\u0079s"`}, {`"keys"`, `"kéys"`}, {`"keys"`, `"keys`}, {`"keys",`, `"keys","desk":"keys",`},
			{`"at_ns"`, `"AT_NS"`}, {`{"do":"horn"}`, `{"do":"horn","do":"horn"}`}, {`{"do":"horn"}`, `null`}, {`{"do":"horn"}`, `{}`},
			{`{"do":"horn"}`, `{"do":"horn"},"extra":{}`}, {`{"do":"horn"}`, `{"do":"no such"}`}, {`"horn"`, "\"horn\xff\""},
		} {
			changed := strings.Replace(body, change[0], change[1], 1)
			if changed == body {
				continue
			}
			if record, ok := quick([]byte(changed), 2); ok {
				t.Errorf("%s is taken as %+v", changed, record)
			}
		}
	}
}

// FuzzOwnLines: what is read quickly, JSON reads too, and as the same.
func FuzzOwnLines(f *testing.F) {
	f.Fuzz(func(t *testing.T, body []byte, number uint16) { sameAsJSON(t, body, int(number)) })
}
