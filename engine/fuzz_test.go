package engine_test

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/rules"
)

// FuzzCommandJSON: whatever a desk sends, a command that is taken is written back as the same command, and one
// that is refused says so in an *engine.Error.
func FuzzCommandJSON(f *testing.F) {
	f.Add([]byte(`{"do":"score","team":"home","points":2,"by":"12"}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		var c engine.Command
		if err := c.UnmarshalJSON(b); err != nil {
			var refusal *engine.Error
			if !errors.As(err, &refusal) || refusal.Code == "" || refusal.Message == "" {
				t.Fatalf("%q: a refusal that says nothing: %v", b, err)
			}
			if c != (engine.Command{}) {
				t.Fatalf("%q was refused and left %+v", b, c)
			}
			return
		}
		written, err := json.Marshal(c)
		if err != nil {
			t.Fatalf("%q was taken and cannot be written: %v", b, err)
		}
		var again engine.Command
		if err := json.Unmarshal(written, &again); err != nil || again != c {
			t.Fatalf("%q became %s, and that %+v (%v)", b, written, again, err)
		}
	})
}

// FuzzDecide plays a list of commands in JSON under the rule set that the text's length picks, every third with a `was`: no
// panic, a refusal leaves the state as it was, and the state always shows.
func FuzzDecide(f *testing.F) {
	f.Add([]byte(`{"do":"clock_start"}{"do":"foul","team":"home","by":"12"}{"do":"undo"}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		names := rules.Names()
		set, _ := rules.ByName(names[len(b)%len(names)])
		g, err := engine.NewGame(engine.Setup{Rules: set})
		if err != nil {
			t.Fatal(err)
		}
		at, step := clock.Instant(0), clock.Instant(time.Second)
		for i := 0; len(b) > 0 && i < 64; i++ {
			var c engine.Command
			var one []byte
			one, b = cutObject(b)
			if c.UnmarshalJSON(one) != nil {
				continue
			}
			at += step * clock.Instant(1+i%7*40)
			was := engine.None
			if i%3 == 2 {
				was = engine.Some(at / 2)
			}
			before, events := g.State(), len(g.Events())
			if _, changed, err := g.Do("fuzz", c, at, was); err != nil && (changed || g.State() != before || len(g.Events()) != events) {
				t.Fatalf("%s was refused and changed the game", one)
			}
			if wrong := enginetest.Invariants(g, at.Add(30*time.Second)); wrong != nil && c.Do != engine.Set {
				if g.Setup().Rules != set {
					return // the invariants are written for the published values
				}
				t.Fatalf("after %s: %v", one, wrong)
			}
		}
		v := g.Corrected().View(at)
		if _, err := json.Marshal(v); err != nil {
			t.Fatal(err)
		}
	})
}

// cutObject takes the text up to the next closing brace, and the rest.
func cutObject(b []byte) (one, rest []byte) {
	depth := 0
	for i, c := range b {
		switch c {
		case '{':
			depth++
		case '}':
			if depth--; depth <= 0 {
				return b[:i+1], b[i+1:]
			}
		}
	}
	return b, nil
}
