package follow

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/feed"
)

// FuzzWhatAHostSends hands a client whatever a host may send, a message a line: it takes it or ends the connection, and what
// it shows can be shown, to another who follows too.
func FuzzWhatAHostSends(f *testing.F) {
	data, err := os.ReadFile("testdata/session.txt") // of a demo of invented teams
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<20 {
			return
		}
		client, s := alone(t)
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		for i, line := range bytes.Split(data, []byte("\n")) {
			m, err := feed.FromHost(line)
			if err != nil {
				return
			}
			answer, err := s.take(ctx, m, time.Duration(i)*100*time.Millisecond)
			if err != nil {
				if err.Error() == "" {
					t.Fatal("an end without a reason")
				}
				return
			}
			if answer != nil {
				said, err := feed.Encode(answer)
				if err == nil {
					_, err = feed.FromViewer(said)
				}
				if err != nil {
					t.Fatalf("it answers %s: %v", said, err)
				}
			}
			if client.host == nil {
				continue
			}
			var v engine.View
			client.host.Shown(&v, 0)
			client.host.Shown(&v, 30*time.Second)
			client.host.ViewInto(&v, clock.Instant(i)*1e9)
			if _, err := json.Marshal(&v); err != nil {
				t.Fatal(err)
			}
			client.host.Silent()
			client.host.Notices()
			if snap := client.host.Snapshot(); len(snap.Via) > feed.MaxVia || len(snap.Game.Events()) > feed.MaxEvents {
				t.Fatalf("%d hosts, %d events", len(snap.Via), len(snap.Game.Events()))
			}
		}
	})
}
