package serve

import (
	"fmt"
	"net/http"
	"runtime"
	"slices"
	"strings"

	"rafter/overlay/output/web"
)

// serveMetrics counts, in the text exposition format that is common for it, for programs on this computer.
func (s *Server) serveMetrics(w http.ResponseWriter, r *http.Request) {
	if !remote(r.RemoteAddr).IsLoopback() {
		http.Error(w, "counters are for this host's own computer", http.StatusForbidden)
		return
	}
	var b strings.Builder
	metric := func(name, kind, help string) { fmt.Fprintf(&b, "# HELP %s %s\n# TYPE %s %s\n", name, help, name, kind) }
	one := func(name, kind, help string, value int64) {
		metric(name, kind, help)
		fmt.Fprintf(&b, "%s %d\n", name, value)
	}
	s.outputs.mu.Lock()
	sum, viewers := s.outputs.past, map[string]int{}
	for name, l := range s.outputs.live {
		st := l.out.Stats()
		viewers[name] = st.Viewers
		add(&sum, st)
	}
	s.outputs.mu.Unlock()
	metric("rafter_viewers", "gauge", "Pages that watch an output.")
	for _, name := range sorted(viewers) {
		fmt.Fprintf(&b, "rafter_viewers{output=%q} %d\n", name, viewers[name])
	}
	counted := func(st web.Stats) {
		one("rafter_frames_total", "counter", "Frames that differed from the one before, of all outputs.", int64(st.Frames))
		one("rafter_frames_encoded_total", "counter", "Messages that were compressed.", int64(st.Encoded))
		one("rafter_messages_sent_total", "counter", "Messages sent to pages that watch.", int64(st.Messages))
		one("rafter_sent_bytes_total", "counter", "Bytes of these messages.", int64(st.Bytes))
	}
	counted(sum)
	one("rafter_feed_connections", "gauge", "Connections to the feed.", s.feeds.Load())
	one("rafter_desks", "gauge", "Desks that are connected.", s.paired.Load())
	one("rafter_published_total", "counter", "Events published.", s.board.at())
	if l := s.listener.Load(); l != nil {
		one("rafter_connections", "gauge", "Connections of any kind.", int64(l.open()))
	}
	metric("rafter_refused_total", "counter", "What was refused, by the reason.")
	for _, r := range []struct {
		why string
		n   int64
	}{
		{"body", s.refused.body.Load()}, {"connection", s.refused.connection.Load()}, {"host", s.refused.host.Load()}, {"message", s.refused.message.Load()},
		{"origin", s.refused.origin.Load()}, {"rate", s.refused.rate.Load()}, {"pairing", s.refused.pairing.Load()}, {"relay", s.refused.relay.Load()}, {"token", s.refused.token.Load()},
	} {
		fmt.Fprintf(&b, "rafter_refused_total{reason=%q} %d\n", r.why, r.n)
	}
	if s.counters != nil {
		s.counters(one)
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	one("rafter_memory_bytes", "gauge", "Memory got from the system.", int64(m.Sys))
	one("rafter_join_silent_milliseconds", "gauge", "How long nothing was heard from the host that has the game; 0 for one that has it.", s.host.Silent().Milliseconds())
	one("rafter_goroutines", "gauge", "Goroutines.", int64(runtime.NumGoroutine()))
	w.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
	_, _ = w.Write([]byte(b.String())) // the reader may have left
}

func sorted(m map[string]int) (names []string) {
	for name := range m {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}
