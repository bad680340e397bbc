package journal

import (
	"bytes"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// FuzzRead: no input panics or is read past its bounds, and what is read can be written and read again with the
// same content. The seeds are files in testdata/fuzz/FuzzRead, and one log of the form of today.
func FuzzRead(f *testing.F) {
	f.Add(encode(f, small(f)), false)
	f.Fuzz(func(t *testing.T, text []byte, reseal bool) {
		if reseal {
			text = resealed(text) // so that the fuzzer gets past the checksum
		}
		log, err := Read(bytes.NewReader(text))
		var e *Error
		if err != nil && (!errors.As(err, &e) || e.Reason == "") {
			t.Fatalf("error %#v", err)
		}
		if log == nil {
			if err == nil {
				t.Fatal("neither log nor error")
			}
			return
		}
		if log.Size > int64(len(text)) || log.Events > log.Lines || len(log.Records)+log.Beats != log.Lines {
			t.Fatalf("%d bytes, %d lines, %d events, %d records, %d beats", log.Size, log.Lines, log.Events, len(log.Records), log.Beats)
		}
		_, _ = log.Game() // must not panic; whether the engine takes it is the engine's
		again, err := Read(bytes.NewReader(encode(t, log.Records)))
		if err != nil {
			t.Fatalf("what was read cannot be read again: %v", err)
		}
		if diff := cmp.Diff(log.Records, again.Records, comparers); diff != "" {
			t.Fatal(diff)
		}
	})
}

// resealed gives each line that ends in a seal the right one.
func resealed(text []byte) []byte {
	var out []byte
	for _, line := range bytes.SplitAfter(text, []byte("\n")) {
		body := bytes.TrimSuffix(line, []byte("\n"))
		if at := len(body) - sealSize; at > 0 && bytes.HasPrefix(body[at:], []byte(sealHead)) {
			out = appendSeal(append(out, body[:at]...), len(out))
			continue
		}
		out = append(out, line...)
	}
	return out
}
