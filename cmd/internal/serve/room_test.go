package serve

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/host"
	"rafter/engine"
	"rafter/engine/feed"
)

// crew is a room without a network, and who comes into it. The addresses are nobody's: RFC 5737.
type crew struct {
	t *testing.T
	*bounded
}

// comes has some connections come from an address, 198.51.100.0 and n, and returns the last, and how many others went for them.
func (c crew) comes(n, times int, known bool) (last *counted, went int) {
	for range times {
		last = &counted{room: c.bounded, from: netip.AddrFrom4([4]byte{198, 51, byte(100 + n>>8), byte(n)}), known: known}
		taken, goes := c.enter(last)
		if !taken {
			c.t.Errorf("connection %d was not taken", n)
		}
		if goes != nil {
			went++
		}
		if c.all > c.bounds.Connections || len(c.doorstep) > c.bounds.Connections/doorstepShare {
			c.t.Fatalf("%d connections are open, %d of them on the doorstep", c.all, len(c.doorstep))
		}
	}
	return last, went
}

func TestWhoComesWhenItIsFull(t *testing.T) {
	c := crew{t, newBounded(nil, Bounds{Connections: 800, PerAddress: 100}, host.Time{}, nil)} // 700 inside, 100 on the doorstep
	if last, _ := c.comes(0, 100, false); last.waits {
		t.Error("an address may not have what it may have")
	}
	if last, _ := c.comes(0, 1, false); !last.waits {
		t.Error("an address has more than it may have")
	}
	for n := range 5 { // three quarters of 700 are 525
		c.comes(1+n, 90, false)
	}
	if last, _ := c.comes(6, few, false); last.waits {
		t.Error("who has no more than a page takes is not let in while there is room")
	}
	if last, _ := c.comes(6, 1, false); !last.waits {
		t.Error("an address gets more than a page takes when it is nearly full")
	}
	for n := range 200 {
		c.comes(100+n, 1, false)
	}
	if inside := c.all - len(c.doorstep); inside != 700 {
		t.Errorf("%d are inside", inside)
	}
	if _, went := c.comes(0, 500, false); went < 400 || len(c.doorstep) != 100 { // a crowd from one address on the doorstep
		t.Errorf("%d went of the doorstep, on which are %d", went, len(c.doorstep))
	}
	camera, went := c.comes(402, 50, true)
	if inside := c.all - len(c.doorstep); camera.waits || went != 50 || inside != 750 {
		t.Errorf("one who is known stands outside: %t; %d went, %d are inside", camera.waits, went, inside)
	}
	stranger, _ := c.comes(400, 1, false)
	desk, _ := c.comes(401, 6, true)
	c.comes(0, 500, false)
	c.comes(7, 500, false)
	if !stranger.waits || !desk.waits || c.from[desk.from].waiting != 6 {
		t.Error("a crowd from few addresses has pushed out who came from another")
	}
	for n := range 500 { // and from many, where each has one
		c.comes(500+n, 1, false)
	}
	if stranger.waits || !desk.waits || c.from[desk.from].waiting != 6 {
		t.Errorf("of those on the doorstep not the first went, or one that is known: %t, %t", stranger.waits, desk.waits)
	}
	desk.welcome()
	if desk.waits || len(c.doorstep) != 49 || c.all-len(c.doorstep) != 751 {
		t.Errorf("a desk that has shown its token stands outside, with %d", len(c.doorstep))
	}
	c.comes(3, 1000, false) // and keeps the sum
	if desk.gone || !c.familiar.has(desk.from) || c.familiar.has(stranger.from) {
		t.Error("a desk inside was pushed out, or is forgotten")
	}
	for _, gone := range []*counted{desk, stranger} { // one leaves, one has gone already
		before := c.all
		c.mu.Lock()
		c.drop(gone)
		c.drop(gone)
		c.mu.Unlock()
		if want := before - map[*counted]int{desk: 1}[gone]; c.all != want {
			t.Errorf("%d are counted, want %d", c.all, want)
		}
	}
}

// What an address has beyond its share takes no place of others'.
func TestTheDoorstepIsBoundedWhileThereIsRoom(t *testing.T) {
	c := crew{t, newBounded(nil, Bounds{Connections: 800, PerAddress: 100}, host.Time{}, nil)}
	if _, went := c.comes(0, 900, false); went != 700 || c.all != 200 {
		t.Errorf("%d went, %d are there", went, c.all)
	}
	for n := range 25 {
		if last, _ := c.comes(1+n, few, false); last.waits {
			t.Fatalf("there is room, and address %d stands outside", 1+n)
		}
	}
}

func TestFamiliarAddressesAreBounded(t *testing.T) {
	var f familiar
	at := func(n int) netip.Addr { return netip.AddrFrom4([4]byte{198, 51, 100, byte(n)}) }
	for n := range maxDesks {
		f.note(at(n))
	}
	f.note(at(0)) // again, and so not the one that is forgotten
	f.note(at(200))
	if len(f.list) != maxDesks || !f.has(at(0)) || f.has(at(1)) || !f.has(at(2)) || !f.has(at(200)) {
		t.Errorf("%d are known: %v", len(f.list), f.list)
	}
}

// crowded is a host all of whose places are held by sixteen strangers, who hold those on the doorstep, too.
func crowded(t *testing.T) *stand {
	st := openDesks(t, func(c *Config) { c.Bounds.Connections = 512 })
	for n := range 1024 { // as many watch as can, the others come, one after the other, and say nothing
		conn, err := st.knock(n%16, st.upgrade([]string{"/feed", "/onair/bug/socket"}[n%2]))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = conn.Close() })
		if n >= 448 {
			continue
		}
		said := make([]byte, 12)
		_ = conn.SetReadDeadline(time.Now().Add(5 * time.Second))
		if _, err := io.ReadFull(conn, said); err != nil || !bytes.HasSuffix(said, []byte(" 101")) {
			t.Fatalf("viewer %d: %q, %v", n, said, err)
		}
		opening := fromClient(fin|text, `{"type":"opening","versions":[1],"role":"viewer"}`)
		if n%2 == 0 {
			_, _ = conn.Write(opening)
		}
	}
	return st
}

// Sixteen addresses take all that they can get. Nobody else can watch then, in words; pages can be read, a phone be paired, from
// this computer and from any address, and a desk that has lost the network comes back.
func TestACrowdKeepsNoDeskOut(t *testing.T) {
	st := crowded(t)
	if statuses, _, ended := st.answers("GET /healthz HTTP/1.1\r\nHost: " + st.addr + "\r\n\r\n"); len(statuses) != 1 || statuses[0] != 200 || !ended {
		t.Errorf("on the doorstep a connection is kept for later: answered %v, ended %t", statuses, ended)
	}
	for n, from := range []net.Addr{nil, stranger(777), stranger(3)} { // this computer, another, and one that is of the crowd
		dialer := net.Dialer{LocalAddr: from}
		if from == (*net.TCPAddr)(nil) {
			dialer.LocalAddr = nil
		}
		client := &http.Client{Transport: &http.Transport{DialContext: dialer.DialContext, DisableKeepAlives: true}, Timeout: 5 * time.Second}
		ask := func(r *http.Request, err error) (*http.Response, string) {
			t.Helper()
			if err != nil {
				t.Fatal(err)
			}
			answer, err := client.Do(r)
			if err != nil {
				t.Fatal(err)
			}
			defer answer.Body.Close()
			text, _ := io.ReadAll(answer.Body)
			return answer, string(text)
		}
		if answer, text := ask(http.NewRequest("GET", "http://"+st.addr+"/scores", nil)); answer.StatusCode != 200 || !strings.Contains(text, "Hollow Creek") {
			t.Errorf("%v reads: %d %s", from, answer.StatusCode, text)
		}
		look := websocket.Dialer{NetDialContext: dialer.DialContext}
		watches := func(want int) {
			t.Helper()
			for _, path := range sockets {
				conn, answer, err := look.Dial("ws://"+st.addr+path, nil)
				if err == nil {
					_ = conn.Close()
				}
				if answer == nil || answer.StatusCode != want {
					t.Errorf("%v watches %s: %v, %v; want %d", from, path, answer, err, want)
				}
			}
		}
		if n == 0 {
			watches(http.StatusSwitchingProtocols) // what goes on air is captured here
		} else {
			watches(http.StatusServiceUnavailable)
		}
		asked, err := http.NewRequest("POST", "http://"+st.addr+"/pair", strings.NewReader(fmt.Sprintf(`{"code":%q,"name":"phone"}`, st.code())))
		if err == nil {
			asked.Header.Set("Content-Type", "application/json")
		}
		answer, text := ask(asked, err)
		if answer.StatusCode != 200 {
			t.Fatalf("%v pairs: %d %s", from, answer.StatusCode, text)
		}
		secret := decode(t, []byte(text))["token"].(string)
		watches(http.StatusSwitchingProtocols)
		room := st.s.listener.Load()
		if !room.familiar.has(addressOf(from)) {
			t.Errorf("%v is not known where it was paired", from)
		}
		idle, err := dialer.Dial("tcp", st.addr)
		if err != nil {
			t.Fatal(err)
		}
		for n := range 300 {
			if conn, err := st.knock(2000+n, ""); err == nil {
				defer conn.Close()
			}
		}
		_ = idle.SetReadDeadline(time.Now().Add(20 * time.Millisecond))
		if _, err := idle.Read(make([]byte, 1)); !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("%v was known, and went for one who was not: %v", from, err)
		}
		_ = idle.Close()
		for again := range 3 { // connected, cut off, connected again
			header, opening := bearer(secret), openingDesk
			if again == 1 {
				header, opening = nil, feed.Opening{Versions: []int{1}, Role: feed.Desk, Token: secret}
			}
			conn, _, err := look.Dial("ws://"+st.addr+"/control", header)
			if err != nil {
				t.Fatalf("%v, connection %d: %v", from, again, err)
			}
			h := &hand{reader: &reader{t: t, conn: conn, desk: true}}
			h.say(opening)
			reply[feed.Snapshot](h)
			for end := time.Now().Add(2 * time.Second); n < 2 && room.waiting(addressOf(from)) > 0; time.Sleep(5 * time.Millisecond) {
				if time.Now().After(end) {
					t.Fatalf("%v, connection %d: the desk stands outside", from, again)
				}
			}
			for n := range 200 { // whoever comes now takes no place of a desk's
				if conn, err := st.knock(n%16, ""); err == nil {
					defer conn.Close()
				}
			}
			if a := h.order(feed.Order{Command: two}); a.Event == nil {
				t.Errorf("%v, connection %d: %+v", from, again, a)
			}
			_ = conn.Close()
		}
		if want := 3 * (n + 1); len(st.host.Game().Events()) != want {
			t.Errorf("%d events, want %d", len(st.host.Game().Events()), want)
		}
	}
	if open := st.s.listener.Load().open(); open > 512 {
		t.Errorf("%d connections are open", open)
	}
}

// waiting returns how many stand on the doorstep from an address.
func (b *bounded) waiting(a netip.Addr) int {
	b.mu.Lock()
	defer b.mu.Unlock()
	if n := b.from[a]; n != nil {
		return n.waiting
	}
	return 0
}

func addressOf(a net.Addr) netip.Addr {
	if t, ok := a.(*net.TCPAddr); ok && t != nil {
		return remote(t.AddrPort().String())
	}
	return netip.MustParseAddr("127.0.0.1")
}

// A request that comes while the host ends is told so.
func TestAHostThatEndsSaysSo(t *testing.T) {
	st := open(t, nil)
	st.stop()
	w := httptest.NewRecorder()
	st.s.guard(http.NotFoundHandler()).ServeHTTP(w, httptest.NewRequest("GET", "/scores", nil))
	if w.Code != http.StatusServiceUnavailable || w.Header().Get("Connection") != "close" || !strings.Contains(w.Body.String(), "is being closed") {
		t.Errorf("%d %v %q", w.Code, w.Header(), w.Body)
	}
}

// endless is a connection that always has more to say.
type endless struct{ net.Conn }

func (endless) Read(p []byte) (int, error) { return len(p), nil }

func TestABoundOnBytes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := &counted{Conn: endless{}, room: newBounded(nil, Bounds{}, host.SystemTime(), nil)}
		read := func(bytes int) time.Duration {
			began := time.Now()
			for range bytes / 512 {
				if n, err := c.Read(make([]byte, 512)); n != 512 || err != nil {
					t.Fatal(n, err)
				}
			}
			return time.Since(began)
		}
		if d := read(1 << 20); d != 0 {
			t.Errorf("a request is read slowly, %v", d)
		}
		c.hears(4096)
		for _, step := range []struct {
			bytes       int
			rests, took time.Duration
		}{{8192, 0, 0}, {40960, 0, 10 * time.Second}, {8192, time.Second, time.Second}, {12288, time.Hour, time.Second}} {
			time.Sleep(step.rests)
			if d := read(step.bytes); d != step.took {
				t.Errorf("%d bytes were read in %v, want %v", step.bytes, d, step.took)
			}
		}
	})
}

func TestTooManyDesks(t *testing.T) {
	st := openDesks(t, nil)
	secret, _ := st.token("phone")
	request := strings.TrimSuffix(st.upgrade("/control"), "\r\n") + "Authorization: Bearer " + secret + "\r\n\r\n"
	for n := range maxDesks + 1 {
		conn, err := st.enterBy(1, request)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close()
		_, _ = conn.Write(fromClient(fin|text, `{"type":"opening","versions":[1],"role":"desk"}`))
		want := []byte(`"type":"snapshot"`)
		if n == maxDesks {
			want = []byte(feed.TooMany)
		}
		var said []byte
		for buf := make([]byte, 1<<14); !bytes.Contains(said, want); {
			_ = conn.SetReadDeadline(time.Now().Add(5 * time.Second))
			k, err := conn.Read(buf)
			if said = append(said, buf[:k]...); err != nil {
				t.Fatalf("desk %d was told %.200q, %v", n, said, err)
			}
		}
	}
}

// Who has read nothing for a while gets little of it, and then what is newest.
func TestLittleWaitsForWhoDoesNotRead(t *testing.T) {
	st := open(t, nil)
	conn, err := st.enter(1, "/feed")
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	_ = conn.(*net.TCPConn).SetReadBuffer(sendBuffer)
	_, _ = conn.Write(fromClient(fin|text, `{"type":"opening","versions":[1],"role":"viewer"}`))
	const events = 1000 // some 1.5 MB
	for n := range events {
		st.do([]engine.Command{start, stop}[n%2])
		time.Sleep(time.Millisecond / 2) // else it gets but the newest
	}
	var said []byte
	for buf := make([]byte, 1<<16); !bytes.Contains(said, fmt.Appendf(nil, `"last_event":%d`, events)); {
		_ = conn.SetReadDeadline(time.Now().Add(5 * time.Second))
		n, err := conn.Read(buf)
		if said = append(said, buf[:n]...); err != nil {
			t.Fatalf("after %d bytes: %v", len(said), err)
		}
	}
	if t.Logf("%d bytes had waited", len(said)); len(said) > 8*sendBuffer { // systems keep more than they are asked to, here as there
		t.Errorf("%d bytes had waited", len(said))
	}
}

// Answers to no ping are no messages, and nothing that is sent: they are read slowly on each socket, before a token is shown and after.
func TestWhatIsNoMessageIsReadSlowly(t *testing.T) {
	t.Parallel() // it waits
	st := openDesks(t, nil)
	secret, _ := st.token("phone")
	opening := `{"type":"opening","versions":[1],"role":%q}`
	for _, c := range []struct {
		name, path    string
		first         string // asked before
		message       int    // as many bytes has the longest
		last, answers string
	}{
		{"a viewer", "/feed", "", feed.MaxFromViewer, fmt.Sprintf(opening, "viewer"), `"type":"welcome"`},
		{"a page", "/onair/bug/socket", "", feed.MaxFromViewer, "ping 7", "pong 7 "},
		{"a stranger", "/control", "", feed.MaxFromViewer, fmt.Sprintf(opening, "desk"), `"not_paired"`},
		{"a desk", "/control", fmt.Sprintf(`{"type":"opening","versions":[1],"role":"desk","token":%q}`, secret), feed.MaxFromDesk, `{"type":"ping","asked_ns":7}`, `"type":"pong"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			conn, err := st.enter(500, c.path)
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			if c.first != "" {
				_, _ = conn.Write(fromClient(fin|text, c.first))
			}
			pong := fromClient(fin|0xa, "")
			began := time.Now()
			_, _ = conn.Write(append(bytes.Repeat(pong, 3*c.message/len(pong)), fromClient(fin|text, c.last)...)) // a second more than at once
			_ = conn.SetReadDeadline(time.Now().Add(10 * time.Second))
			var said []byte
			for buf := make([]byte, 4096); !bytes.Contains(said, []byte(c.answers)); {
				n, err := conn.Read(buf)
				if said = append(said, buf[:n]...); err != nil {
					t.Fatalf("%.200q, %v", said, err)
				}
			}
			if d := time.Since(began); d < 800*time.Millisecond || d > 4*time.Second {
				t.Errorf("answered after %v, want a second", d)
			}
		})
	}
}
