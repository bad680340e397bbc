package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"image"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"go.uber.org/goleak"

	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/enginetest/race"
	"rafter/engine/public"
	"rafter/overlay/output/web"
)

func TestMain(m *testing.M) {
	if asked := os.Getenv(crowdEnv); asked != "" {
		beCrowd(asked)
	}
	if asked := os.Getenv(raidEnv); asked != "" {
		beRaid(asked)
	}
	goleak.VerifyTestMain(m)
}

var testLooks = sync.OnceValues(func() (*picture.Looks, error) { return picture.Load("maple") })

// stand is a host that serves on loopback for one test.
type stand struct {
	t     testing.TB
	host  *host.Host
	s     *Server
	addr  string // 127.0.0.1:port
	desks string // the list of those that are paired
	stop  func() // and wait
}

func open(t testing.TB, change func(*Config)) *stand {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	return openOn(t, l, change)
}

func openOn(t testing.TB, l net.Listener, change func(*Config)) *stand {
	t.Helper()
	looks, err := testLooks()
	if err != nil {
		t.Fatal(err)
	}
	now := host.SystemTime()
	h, _, err := host.Open(host.Config{Setup: enginetest.Quillons(), Time: now})
	if err != nil {
		t.Fatal(err)
	}
	c := Config{Host: h, Time: now, Looks: looks, Size: image.Pt(640, 360), Program: "rafter test"}
	if change != nil {
		change(&c)
	}
	s, err := New(c)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	st := &stand{t: t, host: h, s: s, addr: l.Addr().String()}
	st.stop = sync.OnceFunc(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		_ = h.Close()
	})
	t.Cleanup(st.stop)
	return st
}

func (st *stand) do(c engine.Command) {
	st.t.Helper()
	if _, _, err := st.host.Do("keys", c); err != nil {
		st.t.Fatal(err)
	}
}

var (
	start = engine.Command{Do: engine.ClockStart}
	stop  = engine.Command{Do: engine.ClockStop}
	two   = engine.Command{Do: engine.Score, Team: engine.Home, Points: 2, By: "12"}
)

// get asks for a path; change may change the request.
func (st *stand) get(path string, change func(*http.Request)) (*http.Response, string) {
	st.t.Helper()
	r, err := http.NewRequest("GET", "http://"+st.addr+path, nil)
	if err != nil {
		st.t.Fatal(err)
	}
	if change != nil {
		change(r)
	}
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	answer, err := client.Do(r)
	if err != nil {
		st.t.Fatal(err)
	}
	defer answer.Body.Close()
	if answer.StatusCode == http.StatusSwitchingProtocols {
		return answer, ""
	}
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		st.t.Fatal(err)
	}
	return answer, string(text)
}

func (st *stand) dial(path string) *websocket.Conn {
	st.t.Helper()
	conn, _, err := websocket.DefaultDialer.Dial("ws://"+st.addr+path, nil)
	if err != nil {
		st.t.Fatal(err)
	}
	st.t.Cleanup(func() { _ = conn.Close() })
	return conn
}

func TestPages(t *testing.T) {
	st := open(t, func(c *Config) {
		c.Counters = func(one func(name, kind, help string, value int64)) {
			one("rafter_else", "gauge", "Counted elsewhere.", 7)
		}
	})
	st.do(start)
	st.do(two)
	for _, c := range []struct {
		path, kind string
		code       int
		has        []string
	}{
		{"/", "text/html", 200, []string{"<bdi>Hollow Creek</bdi> 2, <bdi>Marrow Hill</bdi> 0", `"/schema/snapshot.json"`, "/scores", "/onair/bug", "/onair/on-air", "ws://" + st.addr + "/feed", "/metrics"}},
		{"/scores", "text/html", 200, []string{`role="timer" aria-live="off"`, `>2</p>`, "Marrow Hill", `aria-live="polite"`, "full"}},
		{"/onair/bug", "text/html", 200, []string{"<canvas", "/page/onair.js"}},
		{"/onair/nosuch", "text/plain", 404, []string{"lists those"}},
		{"/page/onair.js", "text/javascript", 200, []string{"putImageData"}}, {"/page/link.js", "text/javascript", 200, []string{"export class Link"}},
		{"/page/scores.js", "text/javascript", 200, []string{"opening"}},
		{"/page/pages.css", "text/css", 200, []string{"prefers-color-scheme", "print"}},
		{"/page/scores.html", "text/plain", 404, nil}, {"/page/", "text/plain", 404, nil}, {"/page", "text/plain", 404, nil}, {"/page/nosuch.js", "text/plain", 404, nil},
		{"/page/..%2fserve.go", "text/plain", 404, nil}, {"/schema/..%2f..%2ffeed.go", "text/plain", 404, nil}, {"/schema/", "text/plain", 404, nil},
		{"/schema/event.json", "application/schema+json", 200, []string{"2020-12"}}, {"/schema/game_command.json", "application/schema+json", 200, nil},
		{"/healthz", "text/plain", 200, []string{"ok"}}, {"/nosuch", "text/plain", 404, nil},
		{"/metrics", "text/plain", 200, []string{"rafter_published_total 2", "# TYPE rafter_refused_total counter", "rafter_connections ", "# TYPE rafter_else gauge\nrafter_else 7\n"}},
	} {
		answer, text := st.get(c.path, nil)
		if answer.StatusCode != c.code || !strings.HasPrefix(answer.Header.Get("Content-Type"), c.kind) {
			t.Errorf("%s: %d %s", c.path, answer.StatusCode, answer.Header.Get("Content-Type"))
		}
		for _, part := range c.has {
			if !strings.Contains(text, part) {
				t.Errorf("%s does not say %q:\n%s", c.path, part, text)
			}
		}
		for name, want := range map[string]string{
			"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
			"X-Content-Type-Options":  "nosniff", "Referrer-Policy": "no-referrer", "Cross-Origin-Resource-Policy": "same-origin", "Cache-Control": "no-store",
		} {
			if answer.Header.Get(name) != want {
				t.Errorf("%s: %s is %q", c.path, name, answer.Header.Get(name))
			}
		}
		if strings.Contains(text, "Quillon") {
			t.Errorf("%s holds a player's name", c.path)
		}
		// No inline script or style, which the policy would stop: they would fail unseen.
		if c.kind == "text/html" && (strings.Contains(text, "<style") || strings.Contains(text, " style=") || strings.Contains(text, " onclick=") || strings.Count(text, "<script") != strings.Count(text, `<script type="module" src=`)) {
			t.Errorf("%s has something inline", c.path)
		}
	}
	for _, method := range []string{"POST", "PUT", "DELETE", "OPTIONS", "TRACE"} {
		if answer, _ := st.get("/scores", func(r *http.Request) { r.Method = method }); answer.StatusCode != http.StatusMethodNotAllowed {
			t.Errorf("%s: %d", method, answer.StatusCode)
		}
	}
	if answer, _ := st.get("/", func(r *http.Request) { r.Body, r.ContentLength = io.NopCloser(strings.NewReader("x")), 1 }); answer.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("with a body: %d", answer.StatusCode)
	}
}

// All that a phone loads for /scores at first: the budget is 60 KB.
func TestTheReadablePageIsSmall(t *testing.T) {
	st := open(t, nil)
	sum := 0
	for _, path := range []string{"/scores", "/page/scores.js", "/page/link.js", "/page/reading.js", "/page/pages.css"} {
		_, text := st.get(path, nil)
		sum += len(text)
	}
	t.Logf("%d bytes", sum)
	if sum > 60_000 {
		t.Errorf("%d bytes", sum)
	}
}

func TestHostsAndOrigins(t *testing.T) {
	st := open(t, nil)
	_, port, _ := net.SplitHostPort(st.addr)
	for _, c := range []struct {
		name, host string
		origin     []string
		code       int
	}{
		{"as_printed", st.addr, nil, 200},
		{"localhost", "localhost:" + port, nil, 200},
		{"localhost_in_capitals", "LOCALHOST:" + port, nil, 200},
		{"a_name_that_was_made_to_resolve_here", "scores.example:" + port, nil, 421}, // DNS rebinding
		{"another_address", "192.0.2.7:" + port, nil, 421},
		{"another_loopback_address", "127.0.0.2:" + port, nil, 421},
		{"another_port", "127.0.0.1:1", nil, 421},
		{"no_port", "127.0.0.1", nil, 421},
		{"nonsense", "[", nil, 421},
		{"its_own_page", st.addr, []string{"http://" + st.addr}, 200},
		{"its_own_page_by_its_other_name", st.addr, []string{"http://localhost:" + port}, 403},
		{"another_page", st.addr, []string{"http://scores.example"}, 403},
		{"another_port_here", st.addr, []string{"http://127.0.0.1:1"}, 403},
		{"another_scheme", st.addr, []string{"https://" + st.addr}, 403},
		{"a_file", st.addr, []string{"null"}, 403},
		{"empty", st.addr, []string{""}, 403},
		{"two", st.addr, []string{"http://" + st.addr, "http://scores.example"}, 403},
		{"a_user_in_it", st.addr, []string{"http://x@" + st.addr}, 403},
	} {
		t.Run(c.name, func(t *testing.T) {
			change := func(r *http.Request) { r.Host, r.Header["Origin"] = c.host, c.origin }
			if answer, text := st.get("/healthz", change); answer.StatusCode != c.code {
				t.Errorf("%d %s", answer.StatusCode, text)
			}
			for _, path := range []string{"/feed", "/onair/bug/socket"} {
				answer, _ := st.get(path, func(r *http.Request) {
					change(r)
					for k, v := range map[string]string{"Connection": "Upgrade", "Upgrade": "websocket", "Sec-Websocket-Version": "13", "Sec-Websocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="} {
						r.Header.Set(k, v)
					}
				})
				want := c.code
				if want == 200 {
					want = http.StatusSwitchingProtocols
					// Source: RFC 6455 section 1.3, the sample nonce and its answer.
					if got := answer.Header.Get("Sec-Websocket-Accept"); got != "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=" {
						t.Errorf("accept %q", got)
					}
				}
				if answer.StatusCode != want {
					t.Errorf("%s: %d, want %d", path, answer.StatusCode, want)
				}
			}
		})
	}
}

// TestOnAirIsThePicture compares what a page's canvas holds with a picture of the same view, for each output.
func TestOnAirIsThePicture(t *testing.T) {
	t.Parallel()
	st := open(t, nil)
	for _, c := range []engine.Command{start, two, {Do: engine.ShowLower, Team: engine.Home, By: "12"}, {Do: engine.Show, Text: "lower"}, stop} {
		st.do(c)
	}
	looks, _ := testLooks()
	names := outputNames()
	if race.Enabled {
		names = []string{"bug", "lower", picture.OnAir}
	}
	for _, name := range names {
		conn := st.dial("/onair/" + name + "/socket")
		var c shown
		for range 3 { // in motion, some of them
			take(t, conn, &c)
		}
		p, err := looks.New(picture.Options{Graphic: name, Size: image.Pt(640, 360)})
		if err != nil {
			t.Fatal(err)
		}
		v := st.host.Game().View(clock.Instant(c.At))
		public.Numbers.View(&v)
		f, _ := p.Show(&v)
		if !bytes.Equal(c.Frame().Pix, f.Pix) {
			t.Errorf("%s is another picture", name)
		}
		if got := c.Box.Size(); got != p.Box().Size() && (name != "blank" || got != image.Pt(1, 1)) {
			t.Errorf("%s: the canvas is %v, the box %v", name, c.Box, p.Box())
		}
		_ = conn.Close()
	}
}

// shown is what a page of an output shows, and how it answers.
type shown struct {
	web.Canvas
	took web.Answers
}

// take takes one message.
func take(t testing.TB, conn *websocket.Conn, c *shown) {
	t.Helper()
	_ = conn.SetReadDeadline(time.Now().Add(5 * time.Second))
	_, m, err := conn.ReadMessage()
	if err == nil {
		err = c.Take(m)
	}
	if err == nil {
		err = answer(conn, &c.took, m)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// answer answers a message, if it is time to.
func answer(conn *websocket.Conn, took *web.Answers, m []byte) error {
	if due := took.To(m); due != nil {
		return conn.WriteMessage(websocket.TextMessage, due)
	}
	return nil
}

// An output is as late as was configured.
func TestAnOutputIsLate(t *testing.T) {
	st := open(t, func(c *Config) { c.Delay = 300 * time.Millisecond })
	time.Sleep(310 * time.Millisecond) // before that there is nothing to be late with
	conn := st.dial("/onair/bug/socket")
	var c shown
	take(t, conn, &c)
	if late := st.host.Now().Sub(0) - time.Duration(c.At); late < 300*time.Millisecond {
		t.Errorf("late by %v", late)
	}
}

func TestWhatNobodyWatchesIsNotDrawn(t *testing.T) {
	t.Parallel() // it mostly waits
	st := open(t, nil)
	drawn := func() (l *live, n int) {
		st.s.outputs.mu.Lock()
		defer st.s.outputs.mu.Unlock()
		return st.s.outputs.live["bug"], len(st.s.outputs.live)
	}
	if _, n := drawn(); n != 0 {
		t.Error("something is drawn")
	}
	a, b := st.dial("/onair/bug/socket"), st.dial("/onair/bug/socket")
	var ca, cb shown
	take(t, a, &ca)
	take(t, b, &cb)
	first, n := drawn()
	if n != 1 {
		t.Errorf("%d outputs are drawn for two pages of one", n)
	}
	_, _ = a.Close(), b.Close()
	// Whoever comes and goes has nothing laid out anew.
	var left time.Time
	for range 3 {
		time.Sleep(100 * time.Millisecond)
		again := st.dial("/onair/bug/socket")
		var c shown
		take(t, again, &c)
		if l, n := drawn(); l != first || n != 1 {
			t.Errorf("%d outputs are drawn, another than before: %t", n, l != first)
		}
		left = time.Now()
		_ = again.Close()
	}
	for n := 1; n > 0; _, n = drawn() {
		if time.Since(left) > lingers+3*time.Second {
			t.Fatal("it is still drawn")
		}
		time.Sleep(10 * time.Millisecond)
	}
	if d := time.Since(left); d < lingers-50*time.Millisecond {
		t.Errorf("it was drawn on for %v", d)
	}
	if _, text := st.get("/metrics", nil); strings.Contains(text, "rafter_frames_total 0\n") {
		t.Errorf("its frames are forgotten:\n%s", text)
	}
}

// A command is in the picture of a page within a frame or so, not a beat later.
func TestACommandIsSeenSoon(t *testing.T) {
	st := open(t, nil)
	conn := st.dial("/onair/bug/socket")
	var c shown
	take(t, conn, &c)
	var worst time.Duration
	for range 5 {
		for seq := c.Sequence; ; { // quiet again
			_ = conn.SetReadDeadline(time.Now().Add(2 * time.Second))
			take(t, conn, &c)
			if c.Sequence == seq {
				break
			}
			seq = c.Sequence
		}
		began, seq := time.Now(), c.Sequence
		st.do(engine.Command{Do: engine.Score, Team: engine.Away, Points: 1})
		for c.Sequence == seq {
			take(t, conn, &c)
		}
		worst = max(worst, time.Since(began))
	}
	t.Logf("at worst %v", worst)
	if worst > 400*time.Millisecond { // generous: it must be found without waiting for the beat
		t.Errorf("a command was seen after %v", worst)
	}
}

func TestManyViewersOfAHost(t *testing.T) {
	st := open(t, nil)
	const viewers = 200
	var all, got sync.WaitGroup
	got.Add(viewers)
	for n := range viewers {
		conn := st.dial("/onair/" + []string{"bug", "wall"}[n%2] + "/socket")
		if n%20 == 0 { // stuck from the start
			got.Done()
			continue
		}
		all.Go(func() {
			var c shown
			for first := true; ; first = false {
				_ = conn.SetReadDeadline(time.Now().Add(20 * time.Second))
				_, m, err := conn.ReadMessage()
				if err != nil {
					if !websocket.IsCloseError(err, websocket.CloseGoingAway) {
						t.Error(err)
					}
					return
				}
				if err := c.Take(m); err != nil {
					t.Error(err)
					return
				}
				_ = answer(conn, &c.took, m) // the host may have gone
				if first {
					got.Done()
				}
			}
		})
	}
	got.Wait()
	for range 10 {
		st.do(two)
	}
	time.Sleep(100 * time.Millisecond)
	_, text := st.get("/metrics", nil)
	if !strings.Contains(text, `rafter_viewers{output="bug"} 100`) {
		t.Errorf("%s", text)
	}
	st.stop()
	all.Wait()
}

func decode(t testing.TB, data []byte) map[string]any {
	t.Helper()
	var m map[string]any
	if err := json.Unmarshal(data, &m); err != nil {
		t.Fatalf("%s: %v", data, err)
	}
	return m
}
