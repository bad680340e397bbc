package script

import (
	"bytes"
	"errors"
	"math"
	"testing"

	"rafter/engine"
)

// FuzzParseScript: no script makes the parser panic; a refusal names a line and a reason; each command that is read
// is written so that it reads back the same; and what was read can be run.
func FuzzParseScript(f *testing.F) {
	f.Add([]byte("team home name \"Larkmoor\"\n0 clock start\n12.4 was 10 score home 2 by 12 # late\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := Parse(bytes.NewReader(text))
		if err != nil {
			wantSaid(t, err)
			return
		}
		for _, l := range append(s.Directives, s.Lines...) {
			written := Format(l.Command)
			again, err := ParseCommand(written)
			if err != nil || again != l.Command {
				t.Fatalf("line %d became %q and reads back as %+v (%v), was %+v", l.Number, written, again, err, l.Command)
			}
			if at, bad := ParseTime(FormatTime(l.At)); bad != nil || at != l.At {
				t.Fatalf("time %d became %q", l.At, FormatTime(l.At))
			}
		}
		if len(s.Lines) > 200 {
			return
		}
		run, err := s.Begin(Published, "")
		if err != nil {
			wantSaid(t, err)
			return
		}
		if err := run.Until(math.MaxInt64, Watch{Refused: func(e *Error) { wantSaid(t, e) }}); err != nil {
			t.Fatal(err)
		}
		run.Game().View(s.Last())
		run.Game().Corrected().View(s.Last())
	})
}

func wantSaid(t *testing.T, err error) {
	t.Helper()
	var refused *Error
	var inner *engine.Error
	if !errors.As(err, &refused) || !errors.As(err, &inner) || inner.Code == "" || inner.Message == "" {
		t.Fatalf("a refusal that says nothing: %#v", err)
	}
}
