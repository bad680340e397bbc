package follow

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/host"
	"rafter/cmd/internal/networktest"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/feed"
	"rafter/engine/public"
)

// alone is a client without a connection, which takes what it is handed.
func alone(t testing.TB) (*Client, *session) {
	t.Helper()
	target, err := parse("http://10.0.0.1:28150", "")
	if err != nil {
		t.Fatal(err)
	}
	f := &Client{target: target, time: host.SystemTime(), ready: make(chan struct{})}
	t.Cleanup(func() {
		if f.host != nil {
			_ = f.host.Close()
		}
	})
	return f, &session{f: f}
}

// sent is a game as a host sends it, with its events.
func sent(t testing.TB, id string, via []string, commands ...engine.Command) (*engine.Game, *feed.Snapshot) {
	t.Helper()
	g, err := engine.NewGame(enginetest.Quillons())
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range commands {
		if _, changed, err := g.Do("keys", c, clock.Instant(i+1)*1e9, engine.None); err != nil || !changed {
			t.Fatal(c.Do, err)
		}
	}
	log := &feed.Log{Setup: g.Opening(), Events: g.Events()}
	return g, &feed.Snapshot{Seq: int64(len(commands)), Game: id, Via: via, Now: clock.Instant(len(commands)+1) * 1e9, Log: log}
}

var welcome = &feed.Welcome{Version: feed.Version, Role: feed.Relay}

// happened is the game's event n, as message seq.
func happened(g *engine.Game, n int, seq int64) *feed.Happened {
	e := g.Events()[n-1]
	return &feed.Happened{Seq: seq, Now: e.At, Event: e}
}

func TestWhatIsMissingIsAskedForOnce(t *testing.T) {
	f, s := alone(t)
	game, snap := sent(t, "g", nil, two)
	for _, c := range []engine.Command{start, two, stop, two} {
		if _, _, err := game.Do("keys", c, 10e9, engine.None); err != nil {
			t.Fatal(err)
		}
	}
	score := func() int { v := f.host.Game().View(10e9); return v.Home.Score }
	for i, step := range []struct {
		m      any
		asks   int64 // what comes after it; 0: nothing is asked
		scores int
	}{
		{welcome, 0, 0}, {snap, 0, 2},
		{happened(game, 2, 2), 0, 2}, {happened(game, 2, 2), 0, 2}, // sent again
		{happened(game, 5, 5), 2, 2}, {happened(game, 5, 5), 0, 2}, // it was asked for already
		{happened(game, 3, 3), 0, 4}, {happened(game, 4, 4), 0, 4}, {happened(game, 5, 5), 0, 6},
		{&feed.Answer{Number: 1}, 0, 6}, {&feed.Rules{}, 0, 6}, // what is for others is passed over
	} {
		answer, err := s.take(t.Context(), step.m, time.Duration(i))
		if err != nil {
			t.Fatalf("%d: %v", i, err)
		}
		asks, _ := answer.(feed.Resend)
		if (answer != nil) != (step.asks > 0) || asks.After != step.asks {
			t.Errorf("%d: it answers %+v, want one after %d", i, answer, step.asks)
		}
		if f.host != nil && score() != step.scores {
			t.Errorf("%d: the score is %d, want %d", i, score(), step.scores)
		}
	}
}

func TestWhatNoHostSaysEndsTheConnection(t *testing.T) {
	game, snap := sent(t, "g", []string{"a"}, two)
	change := func(by func(m *feed.Snapshot)) *feed.Snapshot {
		m, l := *snap, *snap.Log
		m.Log = &l
		by(&m)
		return &m
	}
	far := make([]string, feed.MaxVia)
	for name, tt := range map[string]struct {
		says string
		list []any
	}{
		"another_version":             {"speaks another version", []any{&feed.Problem{Code: feed.NoVersion, Message: "this host speaks version 9"}}},
		"an_answer_in_another":        {"follows by version 1", []any{&feed.Welcome{Version: 9, Role: feed.Relay}}},
		"as_a_viewer":                 {"answers by version 1 as \"viewer\"", []any{&feed.Welcome{Version: 1, Role: feed.Viewer}}},
		"welcomes_twice":              {"answers by version 1", []any{welcome, welcome}},
		"no_welcome":                  {"cannot be followed", []any{snap}},
		"a_view_alone":                {"cannot be followed", []any{welcome, change(func(m *feed.Snapshot) { m.Log = nil; m.View = json.RawMessage("{}") })}},
		"no_snapshot":                 {"before it has said in which game", []any{welcome, happened(game, 1, 1)}},
		"too_far":                     {"through 16 hosts", []any{welcome, change(func(m *feed.Snapshot) { m.Via = far })}},
		"no_rules":                    {"cannot be played", []any{welcome, change(func(m *feed.Snapshot) { m.Log.Setup = engine.Setup{} })}},
		"an_event_out_of_order":       {"cannot be played", []any{welcome, change(func(m *feed.Snapshot) { m.Log.Events = []engine.Event{{Number: 2}} })}},
		"an_event_that_cannot_be":     {"none of its game", []any{welcome, snap, happened(game, 1, 2)}},
		"no_more_relays":              {"as many as there may be", []any{&feed.Problem{Code: feed.TooMany, Message: "as many as there may be"}}},
		"a_program_that_it_knows_not": {"does not take this program", []any{&feed.Problem{Code: feed.BadMessage, Message: "x"}}},
	} {
		t.Run(name, func(t *testing.T) {
			_, s := alone(t)
			var err error
			for _, m := range tt.list {
				if err != nil {
					t.Fatal("it ended before: ", err)
				}
				_, err = s.take(t.Context(), m, time.Second)
			}
			if err == nil || !strings.Contains(err.Error(), tt.says) {
				t.Errorf("error %v, want one with %q", err, tt.says)
			}
		})
	}
}

// Another game has another clock, which is there at once and is put right by and by; a host that was started anew may have
// another for the same game.
func TestTheClockOfAnotherGame(t *testing.T) {
	f, s := alone(t)
	local := 100 * time.Second
	off := func() time.Duration { return time.Duration(f.remote.instant(local)) - local }
	say := func(m any) {
		t.Helper()
		if _, err := s.take(t.Context(), m, local); err != nil {
			t.Fatal(err)
		}
	}
	// ping is an exchange of 20 ms there and 20 ms back with a host whose clock is ahead.
	ping := func(ahead time.Duration) {
		local += 100 * time.Millisecond
		there := int64(local - 20*time.Millisecond + ahead)
		say(&feed.Pong{Asked: int64(local - 40*time.Millisecond), Received: there, Sent: there})
	}
	_, first := sent(t, "first", []string{"a"}, two)
	first.Now = clock.Instant(local)
	say(welcome)
	say(first)
	ping(time.Hour) // an hour more than the snapshot said: nobody has seen it yet
	if off() != time.Hour || !f.isReady() {
		t.Errorf("the first answer is not taken as it is: %v", off())
	}
	for range 50 {
		ping(time.Hour)
	}

	// Another game of the same host begins 10 s later, by its own clock: its clock is as good as the last one's was.
	_, same := sent(t, "same", []string{"a"})
	same.Zero = first.Zero + int64(time.Hour+10*time.Second)
	say(same)
	if want := -10 * time.Second; off() != want {
		t.Errorf("another game's clock is off by %v", off()-want)
	}

	_, second := sent(t, "second", []string{"b"})
	second.Now = 0
	say(second)
	if got := f.remote.instant(local); got != clock.Instant(20*time.Millisecond) {
		t.Errorf("the clock of another host's game begins at %v, want half of the way there and back", got)
	}
	began := -local
	ping(began)
	for range 10 {
		ping(began)
	}
	if off() != began {
		t.Errorf("after a second it is off by %v", off()-began)
	}

	// The same game, played on by a host that was started anew: 15 ms are fewer than the way takes, and contradict nothing.
	second.Via = []string{"c"}
	say(second)
	for range 10 {
		ping(began + 15*time.Millisecond)
	}
	if off() != began+15*time.Millisecond {
		t.Errorf("after a second with the host started anew it is off by %v", off()-began-15*time.Millisecond)
	}
}

// A game that takes too long to be played is given up, and so is one that nobody waits for any more.
func TestAGameThatTakesTooLongIsGivenUp(t *testing.T) {
	_, snap := sent(t, "g", nil, two)
	for i := range 60_000 { // each folds the game again
		number := i + 2
		snap.Log.Events = append(snap.Log.Events, engine.Event{Number: number, At: 2e9, Desk: "k", Command: engine.Command{Do: engine.Amend, Event: 1, Amended: engine.Score, Team: engine.Home, Points: 1 + i%3, By: "12"}})
	}
	_, s := alone(t)
	if _, err := s.take(t.Context(), welcome, 0); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	began := time.Now()
	_, err := s.take(ctx, snap, 0)
	if took := time.Since(began); err == nil || took > 10*time.Second {
		t.Errorf("after %v: %v", took, err)
	}
}

// One host plays, a second follows it, a third that one; then the first is started anew to follow the third. The circle is
// found where it closes, and nobody is busy with it.
func TestHostsThatFollowOneAnotherInACircleAreTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		halls := map[string]*networktest.Hall{"a": networktest.NewHall(1), "b": networktest.NewHall(2), "c": networktest.NewHall(3)}
		var mu sync.Mutex
		why, dials := "", 0
		follow := func(from string, port int, own *networktest.Hall) (*Client, *gym) {
			f := join(t, Config{URL: fmt.Sprintf("http://10.0.0.1:%d", port),
				Dial: func(ctx context.Context, kind, address string) (net.Conn, error) {
					mu.Lock()
					dials++
					to := halls[from]
					mu.Unlock()
					return to.Dial(ctx, kind, address)
				},
				Lost: func(s string) {
					mu.Lock()
					defer mu.Unlock()
					why = s
				}})
			return f, served(t, own, f.Host(), public.FullNames)
		}
		a := begin(t, halls["a"], public.FullNames)
		a.do(two)
		b, bs := follow("a", 1, halls["b"])
		c, cs := follow("b", 2, halls["c"])
		time.Sleep(time.Second)
		sameGame(t, a.host, c.Host(), a.host.Now())

		a.stop()
		again := networktest.NewHall(1)
		mu.Lock()
		halls["a"] = again
		mu.Unlock()
		a2, as := follow("c", 3, again)
		time.Sleep(5 * time.Second)
		mu.Lock()
		if !strings.Contains(why, "in a circle") || dials > 60 {
			t.Errorf("after %d connections the last of them said %q", dials, why)
		}
		mu.Unlock()
		for name, f := range map[string]*Client{"the second": b, "the third": c, "the first": a2} {
			if f.Host().Silent() < host.StaleAfter {
				t.Errorf("%s takes its game for current", name)
			}
		}
		for _, f := range []*Client{a2, b, c} {
			_ = f.Close()
		}
		as.stop()
		bs.stop()
		cs.stop()
	})
}

func TestAHostDoesNotFollowItself(t *testing.T) {
	for _, tt := range []struct {
		own, there, here string
		self             bool
	}{
		{"127.0.0.1:28150", "127.0.0.1:28150", "127.0.0.1:5", true},
		{"0.0.0.0:28150", "127.0.0.1:28150", "127.0.0.1:5", true},
		{"[::]:28150", "192.168.1.20:28150", "192.168.1.20:5", true},
		{"192.168.1.20:28150", "192.168.1.20:28150", "192.168.1.20:5", true},
		{"0.0.0.0:28150", "192.168.1.21:28150", "192.168.1.20:5", false}, // another computer's, at the same port
		{"127.0.0.1:28151", "127.0.0.1:28150", "127.0.0.1:5", false},
		{"192.168.1.20:28150", "127.0.0.1:28150", "127.0.0.1:5", false}, // another program's
		{"", "127.0.0.1:28150", "127.0.0.1:5", false},
	} {
		own, _ := netip.ParseAddrPort(tt.own)
		there, here := netip.MustParseAddrPort(tt.there), netip.MustParseAddrPort(tt.here)
		if got := isSelf(ends{local: net.TCPAddrFromAddrPort(here), remote: net.TCPAddrFromAddrPort(there)}, own); got != tt.self {
			t.Errorf("%v: %v", tt, got)
		}
	}
}

// ends are a connection's.
type ends struct {
	net.Conn
	local, remote net.Addr
}

func (e ends) LocalAddr() net.Addr  { return e.local }
func (e ends) RemoteAddr() net.Addr { return e.remote }

// Whatever answers where a host was thought to be, the error says what it is.
func TestWhatIsNoHostIsTold(t *testing.T) {
	page := httptest.NewServer(http.NotFoundHandler())
	defer page.Close()
	secure := httptest.NewUnstartedServer(http.NotFoundHandler())
	secure.Config.ErrorLog = log.New(io.Discard, "", 0)
	secure.StartTLS()
	defer secure.Close()
	up := websocket.Upgrader{CheckOrigin: func(*http.Request) bool { return true }}
	says := func(text string) *httptest.Server {
		s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			c, err := up.Upgrade(w, r, nil)
			if err != nil {
				return
			}
			defer c.Close()
			_ = c.WriteMessage(websocket.TextMessage, []byte(text))
			_, _, _ = c.ReadMessage()
		}))
		t.Cleanup(s.Close)
		return s
	}
	endless, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer endless.Close()
	go func() {
		for {
			c, err := endless.Accept()
			if err != nil {
				return
			}
			_, err = io.WriteString(c, "HTTP/1.1 101 Switching Protocols\r\n")
			for err == nil {
				_, err = io.WriteString(c, "X: "+strings.Repeat("x", 4096)+"\r\n")
			}
			_ = c.Close()
		}
	}()
	for _, tt := range []struct{ name, url, fingerprint, says string }{
		{"headers_without_end", "http://" + endless.Addr().String(), "", "says too much"},
		{"what_a_terminal_should_not_see", says("{\"type\":\"problem\",\"code\":\"no_version\",\"message\":\"a\\u001b[2Jb" + strings.Repeat("c", 900) + "\"}").URL, "", "another version than this program: a [2Jbcc"},
		{"a_page", page.URL, "", "does not answer as a host of a game does (HTTP 404)"},
		{"tls_where_there_is_none", strings.Replace(page.URL, "http", "https", 1), "", "speaks no TLS"},
		{"another_feed", says(`{"hello":1}`).URL, "", "sends what cannot be read"},
		{"garbage", says("\x00\x01").URL, "", "sends what cannot be read"},
		{"a_certificate_of_nobody", secure.URL, "", "add --fingerprint "},
		{"another_certificate", secure.URL, strings.Repeat("AB:", 31) + "AB", "not the one that was given"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
			defer cancel()
			f, err := Open(ctx, Config{URL: tt.url, Fingerprint: tt.fingerprint})
			if err == nil {
				_ = f.Close()
			}
			if err == nil || !strings.Contains(err.Error(), tt.says) || len(err.Error()) > 400 {
				t.Errorf("error %v, want one with %q", err, tt.says)
			}
		})
	}
}

func TestAddressesOfHosts(t *testing.T) {
	pin := strings.Repeat("0a", 32)
	for _, tt := range []struct{ url, fingerprint, target, says string }{
		{"http://192.168.1.20:28150", "", "http://192.168.1.20:28150", ""},
		{"ws://192.168.1.20:28150/feed", "", "http://192.168.1.20:28150", ""},
		{"https://gym.example:1/", pin, "https://gym.example:1", ""},
		{"wss://[fe80::1]:28150", "", "https://[fe80::1]:28150", ""},
		{"192.168.1.20:28150", "", "", "is no address of a host"},
		{"ftp://192.168.1.20:28150", "", "", "it begins with http://"},
		{"http://192.168.1.20", "", "", "names no port"},
		{"http://:28150", "", "", "names no computer"},
		{"http://192.168.1.20:28150/scores", "", "", "http://192.168.1.20:28150 is enough"},
		{"http://a:b@192.168.1.20:28150", "", "", "is enough"},
		{"http://192.168.1.20:28150", pin, "", "the address is to begin with https://"},
		{"https://192.168.1.20:28150", "0a0b", "", "is no SHA-256 fingerprint"},
		{"https://192.168.1.20:28150", strings.Repeat("zz", 32), "", "is no SHA-256 fingerprint"},
	} {
		got, err := parse(tt.url, tt.fingerprint)
		if tt.says == "" && (err != nil || got.String() != tt.target || len(got.pin)*2 != len(tt.fingerprint)) {
			t.Errorf("%s: %v, %v", tt.url, got, err)
		}
		if tt.says != "" && (err == nil || !strings.Contains(err.Error(), tt.says)) {
			t.Errorf("%s: error %v, want one with %q", tt.url, err, tt.says)
		}
	}
}
