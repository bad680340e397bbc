package soak

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"rafter/engine/feed"
	"rafter/overlay/frame"
	"rafter/overlay/output/web"
)

// site is where a game is served.
type site struct {
	name, addr string
	counts     *counts
}

// counts are what those who watch have seen.
type counts struct{ messages, connections, stalls atomic.Int64 }

// stays tells whether somebody does not go away now, having taken nothing for a while at times, longer than the host waits.
func (s *site) stays(ctx context.Context, r *rand.Rand) bool {
	switch r.IntN(1000) {
	case 0:
		s.counts.stalls.Add(1)
		return rest(ctx, time.Duration(r.Int64N(int64(14*time.Second))))
	case 1, 2:
		return false
	}
	return true
}

// rest waits, and tells whether the context is still there.
func rest(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
	return ctx.Err() == nil
}

// connected calls f with a connection, and with another one when that has ended, until the context ends.
func (s *site) connected(ctx context.Context, path string, f func(*websocket.Conn)) {
	for ctx.Err() == nil {
		conn, _, err := websocket.DefaultDialer.DialContext(ctx, "ws://"+s.addr+path, nil)
		if err == nil {
			s.counts.connections.Add(1)
			stop := context.AfterFunc(ctx, func() { _ = conn.Close() })
			f(conn)
			stop()
			_ = conn.Close()
		}
		rest(ctx, 200*time.Millisecond)
	}
}

// reader is somebody who follows the feed.
type reader struct {
	site *site
	mu   sync.Mutex
	seq  int64
	told told
}

// told is what of a view is compared.
type told struct {
	Home      struct{ Score int } `json:"home"`
	Away      struct{ Score int } `json:"away"`
	LastEvent int                 `json:"last_event"`
}

// follow reads until the context ends. A message that does not follow the one before, of the same connection, is a mistake.
func (p *reader) follow(ctx context.Context, t testing.TB, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 1))
	p.site.connected(ctx, "/feed", func(conn *websocket.Conn) {
		if conn.WriteMessage(websocket.TextMessage, []byte(`{"type":"opening","versions":[1],"role":"viewer"}`)) != nil {
			return
		}
		begun := false
		for {
			_, data, err := conn.ReadMessage()
			if err != nil {
				return
			}
			p.site.counts.messages.Add(1)
			m, err := feed.FromHost(data)
			if err != nil {
				t.Errorf("%s: %.200s: %v", p.site.name, data, err)
				return
			}
			switch m := m.(type) {
			case *feed.Snapshot:
				begun = p.take(t, m.Seq, m.View)
			case *feed.Happened:
				if p.mu.Lock(); !begun || m.Seq != p.seq+1 {
					t.Errorf("%s: after message %d came %d", p.site.name, p.seq, m.Seq)
				}
				p.mu.Unlock()
				p.take(t, m.Seq, m.View)
			}
			if !p.site.stays(ctx, r) {
				return
			}
		}
	})
}

func (p *reader) take(t testing.TB, seq int64, view json.RawMessage) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.seq, p.told = seq, told{}
	if err := json.Unmarshal(view, &p.told); err != nil {
		t.Errorf("%s: %.200s: %v", p.site.name, view, err)
	}
	return true
}

// knows returns what the reader has been told.
func (p *reader) knows() told {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.told
}

// page is one that shows an output.
type page struct {
	site *site
	name string

	mu     sync.Mutex
	canvas web.Canvas
}

func (p *page) watch(ctx context.Context, t testing.TB, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 2))
	p.site.connected(ctx, "/onair/"+p.name+"/socket", func(conn *websocket.Conn) {
		var took web.Answers
		for {
			_, m, err := conn.ReadMessage()
			if err != nil {
				return
			}
			p.site.counts.messages.Add(1)
			p.mu.Lock()
			err = p.canvas.Take(m)
			p.mu.Unlock()
			answer := took.To(m)
			if err != nil {
				t.Errorf("%s, %s: %v", p.site.name, p.name, err)
				return
			}
			if !p.site.stays(ctx, r) {
				return
			}
			if answer != nil && conn.WriteMessage(websocket.TextMessage, answer) != nil {
				return
			}
		}
	})
}

// frame is what the page shows when the clock of its host, in nanoseconds, is now.
func (p *page) frame(now int64) *frame.Frame {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.canvas.Advance(now)
	return p.canvas.Frame()
}
