package source

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"go.uber.org/goleak"

	"rafter/cmd/internal/host"
	"rafter/engine"
	"rafter/engine/mirror"
	"rafter/engine/rules"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// gym is a host whose game is kept by a feed.
type gym struct {
	*Source
	t    *testing.T
	h    *host.Host
	mu   sync.Mutex
	says []string
}

const mapping = `from = %q
every = "0.05"
stale = "1"
hold = "2"
[home]
score = "/h"
[away]
score = "/a"
`

func follow(t *testing.T, from, more string) *gym {
	t.Helper()
	p, err := Parse("m.toml", fmt.Appendf(nil, mapping+more, from), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	set, _ := rules.ByName("nfhs")
	h, _, err := host.Open(host.Config{Setup: engine.Setup{Rules: set, Home: engine.TeamSetup{Name: "Hollow Creek (invented)"}, Away: engine.TeamSetup{Name: "Marrow Hill (invented)"}}})
	if err != nil {
		t.Fatal(err)
	}
	g := &gym{t: t, h: h}
	g.Source = New(p, h, host.SystemTime(), func(s string) {
		g.mu.Lock()
		defer g.mu.Unlock()
		g.says = append(g.says, s)
	})
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- g.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		if err := h.Close(); err != nil {
			t.Error(err)
		}
	})
	return g
}

func (g *gym) until(what string, is func() bool) {
	g.t.Helper()
	for end := time.Now().Add(8 * time.Second); !is(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			g.t.Fatalf("it never came about: %s; told %q, %+v", what, g.told(), g.Counts())
		}
	}
}

func (g *gym) score(home, away int) {
	g.t.Helper()
	g.until(fmt.Sprintf("%d to %d", home, away), func() bool {
		v := g.h.Game().View(g.h.Now())
		return v.Home.Score == home && v.Away.Score == away
	})
}

func (g *gym) told() string {
	g.mu.Lock()
	defer g.mu.Unlock()
	return strings.Join(g.says, "\n")
}

// stands waits for a notice that the host has of its feed.
func (g *gym) stands(code host.NoticeCode, path, text string) {
	g.t.Helper()
	g.until(fmt.Sprintf("of %s the host has %q", path, text), func() bool {
		return slices.ContainsFunc(g.h.Notices(), func(n host.Notice) bool {
			return n.Code == code && n.Path == path && strings.Contains(n.Text, text)
		})
	})
}

// calm checks that nothing stands.
func (g *gym) calm() {
	g.t.Helper()
	if all := g.h.Notices(); len(all) > 0 || g.h.Silent() > 0 {
		g.t.Errorf("the host still has %v, silent for %v", all, g.h.Silent())
	}
}

func (g *gym) tells(what string) {
	g.t.Helper()
	g.until("it says "+what, func() bool { return strings.Contains(g.told(), what) })
}

func TestAFeedOverHTTP(t *testing.T) {
	t.Parallel()
	var answer atomic.Pointer[http.HandlerFunc]
	does := func(f http.HandlerFunc) { answer.Store(&f) }
	says := func(text string) { does(func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte(text)) }) }
	says(`{"h":4,"a":2}`)
	elsewhere := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte(`{"h":99,"a":99}`)) }))
	defer elsewhere.Close()
	var asked atomic.Int64
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { asked.Add(1); (*answer.Load())(w, r) }))
	defer server.Close()
	g := follow(t, server.URL, "")
	g.score(4, 2)
	// It is asked as often as it was said, not more.
	from, began := asked.Load(), time.Now()
	g.until("it asks again and again", func() bool { return asked.Load() >= from+10 })
	if n, took := asked.Load()-from, time.Since(began); took < time.Duration(n-2)*50*time.Millisecond {
		t.Errorf("asked %d times in %v", n, took)
	}
	for _, bad := range []struct {
		why string
		do  http.HandlerFunc
	}{
		{"it answers 302 Found and sends elsewhere", func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, elsewhere.URL, http.StatusFound) }},
		{"it answers 500 Internal Server Error", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(500) }},
		{"not JSON: it ends too early", func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte(`{"h":99,`)) }},
		{"longer than 1048576 bytes", func(w http.ResponseWriter, _ *http.Request) {
			_, _ = w.Write([]byte(`{"h":99,"a":99,"x":"` + strings.Repeat("x", 4<<20) + `"}`)) // it is cut off
		}},
	} {
		does(bad.do)
		g.stands(host.SourceLost, server.URL, server.URL+" is lost. The clock goes on; pages say so until a desk keys something. ("+bad.why)
		if silent := g.h.Silent(); silent < time.Second {
			t.Errorf("silent for %v", silent)
		}
		if c := g.Counts(); c.Current || c.Bad == 0 {
			t.Errorf("%+v", c)
		}
		g.score(4, 2) // nothing is made up
		before := len(g.told())
		says(`{"h":4,"a":2}`)
		g.until("it is back", func() bool { return g.Counts().Current && strings.Contains(g.told()[before:], "is back after") })
		g.until("nothing stands", func() bool { return len(g.h.Notices()) == 0 })
		g.calm()
	}
	says(`{"h":6,"b":2}`)
	g.score(6, 2)
	g.tells(`away.score is left as it is: the object at "" has no "a"`)
	// A desk's value stands a while, and is then the feed's again.
	if _, _, err := g.h.Do("table", engine.Command{Do: engine.ScoreSet, Team: engine.Home, Count: 40}); err != nil {
		t.Fatal(err)
	}
	g.stands(host.AtOdds, "home.score", "A desk has score home = 40, the feed score home = 6: the desk's stands for 2 s")
	g.score(6, 2)
	g.until("nothing stands", func() bool { return len(g.h.Notices()) == 0 })
	g.calm()
	if c := g.Counts(); c.Keyed != 0 || c.Commands < 3 || c.Age > time.Second {
		t.Errorf("%+v", c)
	}
	for _, e := range g.h.Game().Events() {
		if e.Desk != Desk && e.Desk != "table" {
			t.Errorf("%+v", e)
		}
	}
}

func TestAFeedOverAWebSocket(t *testing.T) {
	t.Parallel()
	var conns sync.WaitGroup
	send, cut := make(chan string), make(chan struct{})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c, err := (&websocket.Upgrader{}).Upgrade(w, r, nil)
		if err != nil {
			t.Error(err)
			return
		}
		gone := make(chan struct{})
		conns.Go(func() {
			defer close(gone)
			for {
				if _, _, err := c.ReadMessage(); err != nil { // answers pings
					return
				}
			}
		})
		defer func() { _ = c.Close() }()
		for {
			select {
			case text := <-send:
				kind := websocket.TextMessage
				if text == "bytes" {
					kind = websocket.BinaryMessage
				}
				_ = c.WriteMessage(kind, []byte(text))
			case <-cut:
				return
			case <-gone:
				return
			}
		}
	}))
	defer conns.Wait()
	defer server.Close()
	g := follow(t, "ws"+strings.TrimPrefix(server.URL, "http"), "")
	defer close(cut)
	send <- `{"h":3,"a":0}`
	g.score(3, 0)
	// Of what comes too fast the newest is taken.
	for i := range 300 {
		send <- fmt.Sprintf(`{"h":%d,"a":1}`, i+4)
	}
	g.score(303, 1)
	if c := g.Counts(); c.Messages > 100 {
		t.Errorf("%d messages were taken", c.Messages)
	}
	// It speaks when something changes: silent, it is there as long as it answers.
	time.Sleep(2500 * time.Millisecond)
	if c := g.Counts(); !c.Current {
		t.Errorf("%+v, %s", c, g.told())
	}
	g.calm()
	for _, c := range []string{"bytes", strings.Repeat("x", mirror.MaxDocument+1)} {
		bad := g.Counts().Bad
		send <- c
		g.until("it is refused", func() bool { return g.Counts().Bad > bad })
		g.until("another connection", func() bool { return g.Counts().Current })
	}
	cut <- struct{}{}
	send <- `{"h":303,"a":7}`
	g.score(303, 7)
}

func TestAFeedInAFile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path := filepath.Join(dir, "board.json")
	put := func(text string) { // as a careful program writes: beside it, and renamed over it
		t.Helper()
		if err := os.WriteFile(path+".new", []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(path+".new", path); err != nil {
			t.Fatal(err)
		}
	}
	put(`{"h":1,"a":2}`)
	g := follow(t, path, "")
	g.plan.Stale = 0 // as without the key
	g.score(1, 2)
	put(`{"h":3,"a":2}`)
	g.score(3, 2)
	if err := os.WriteFile(path, []byte(`{"h":30,`), 0o600); err != nil { // and as others do
		t.Fatal(err)
	}
	g.until("half a file is of no use", func() bool { return g.Counts().Bad == 1 })
	if err := os.WriteFile(path, []byte(`{"h":30,"a":2}`), 0o600); err != nil {
		t.Fatal(err)
	}
	g.score(30, 2)
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	g.stands(host.SourceLost, "board.json", "no such file")
	put(`{"h":31,"a":2}`)
	g.score(31, 2)
	g.tells("is back")
}

// What a desk keys stands no longer than it may, and a clock stops, though the file is not written again.
func TestAFileThatIsNotWrittenAgain(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "board.json")
	put := func(clock string) {
		t.Helper()
		if err := os.WriteFile(path, []byte(`{"h":12,"a":9,"c":"`+clock+`"}`), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("4:30")
	g := follow(t, path, "[clock]\nat = \"/c\"\n")
	g.plan.Stale = 0 // as without the key
	g.score(12, 9)
	view := func() engine.View { return g.h.Game().View(g.h.Now()) }
	for _, clock := range []string{"4:29", "4:28", "4:27"} {
		time.Sleep(time.Second)
		put(clock)
	}
	g.until("the clock runs", func() bool { return view().Clock.Running })
	g.until("the clock stands", func() bool { v := view(); return !v.Clock.Running && v.Clock.Text.String() == "4:27" })
	if _, _, err := g.h.Do("table", engine.Command{Do: engine.ScoreSet, Team: engine.Home, Count: 40}); err != nil {
		t.Fatal(err)
	}
	g.stands(host.AtOdds, "home.score", "A desk has score home = 40")
	g.score(12, 9)
}

func TestTry(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "board.json")
	if err := os.WriteFile(path, []byte(`{"h":"12","a":null,"s":7}`), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		more string
		good bool
	}{{"[shot]\nat=\"/none\"\n", false}, {"[clock]\nat=\"/s\"\nwritten=\"seconds\"\n", false}} {
		p, err := Parse("m.toml", fmt.Appendf(nil, mapping+c.more, path), "")
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
		came := 0
		r, err := Try(ctx, p, host.SystemTime(), func(Came) { came++ })
		cancel()
		if err != nil || r.Messages != 1 || came != 1 || r.Good() != c.good || len(r.Pointers) != 3 {
			t.Errorf("%+v, %v", r, err)
		}
		for _, p := range r.Pointers {
			want := map[string]string{"home.score": "score home = 12", "away.score": `"null" is no whole number from 0 to 9999`, "shot": `the object at "" has no "none"`, "clock": "clock 0:07 to 0:07.999"}[p.Field]
			if p.Means+p.Wrong != want {
				t.Errorf("%+v, want %s", p, want)
			}
		}
		p.Map.Optional[mirror.AwayScore], p.Map.Optional[mirror.ShotReading] = true, true
		ctx, cancel = context.WithTimeout(t.Context(), 200*time.Millisecond)
		if r, err = Try(ctx, p, host.SystemTime(), func(Came) {}); err != nil || !r.Good() {
			t.Errorf("%+v, %v", r, err)
		}
		cancel()
	}
}
