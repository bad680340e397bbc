package serve

import (
	"bytes"
	"crypto/tls"
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"rafter/engine"
	"rafter/engine/feed"
)

// harder multiplies what is sent in the attacks: one in the suite, more in a soak.
var harder = flag.Int("harder", 1, "of the attacks: how often as many")

// stranger is an address of this computer's own that is not the one that everybody has: all of 127.0.0.0/8 is.
// Source: RFC 1122 section 3.2.1.3. Systems other than Linux know only the one.
func stranger(n int) *net.TCPAddr {
	if runtime.GOOS != "linux" {
		return nil
	}
	return &net.TCPAddr{IP: net.IPv4(127, byte(2+n>>16&0x3f), byte(n>>8), byte(n))}
}

// knock opens a connection from stranger n, and says something on it.
func (st *stand) knock(n int, say string) (net.Conn, error) {
	d := net.Dialer{Timeout: 10 * time.Second, LocalAddr: stranger(n)}
	if runtime.GOOS != "linux" {
		d.LocalAddr = nil
	}
	conn, err := d.Dial("tcp", st.addr)
	if err == nil {
		_, err = io.WriteString(conn, say)
	}
	return conn, err
}

// upgrade asks for a WebSocket. Source of the nonce: RFC 6455 section 1.3.
func (st *stand) upgrade(path string) string {
	return "GET " + path + " HTTP/1.1\r\nHost: " + st.addr + "\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n" +
		"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
}

// enter opens a WebSocket as stranger n. What the host says after its answer is left to be read.
func (st *stand) enter(n int, path string) (net.Conn, error) { return st.enterBy(n, st.upgrade(path)) }

// enterBy is enter by a request.
func (st *stand) enterBy(n int, request string) (net.Conn, error) {
	conn, err := st.knock(n, request)
	if err != nil {
		return nil, err
	}
	_ = conn.SetReadDeadline(time.Now().Add(10 * time.Second))
	var said []byte
	for one := make([]byte, 1); !bytes.HasSuffix(said, []byte("\r\n\r\n")); said = append(said, one...) {
		if _, err := io.ReadFull(conn, one); err != nil {
			_ = conn.Close()
			return nil, err
		}
	}
	if !bytes.HasPrefix(said, []byte("HTTP/1.1 101 ")) {
		_ = conn.Close()
		return nil, fmt.Errorf("the host said %.40q", said)
	}
	return conn, nil
}

// ended reads what the host says until it ends the connection, and returns it; it must do so soon.
func ended(conn net.Conn, within time.Duration) ([]byte, error) {
	_ = conn.SetReadDeadline(time.Now().Add(within))
	said, err := io.ReadAll(conn)
	var late net.Error
	if errors.As(err, &late) && late.Timeout() {
		return said, fmt.Errorf("after %v the connection is still open", within)
	}
	return said, nil
}

// The first byte of a frame, and the bit of the second that says that it is masked. Source: RFC 6455 section 5.2.
const (
	fin, rsv1, rsv2, rsv3 = 0x80, 0x40, 0x20, 0x10
	more, text, data      = 0x0, 0x1, 0x2
	closing, pinging      = 0x8, 0x9
	masked                = 0x80
)

// fromClient makes a frame as a client sends it, masked by 1, 2, 3, 4. Source: RFC 6455 sections 5.2 and 5.3.
func fromClient(first byte, payload string) []byte {
	b := []byte{first}
	switch n := len(payload); {
	case n < 126:
		b = append(b, masked|byte(n))
	default:
		b = binary.BigEndian.AppendUint16(append(b, masked|126), uint16(n))
	}
	b = append(b, 1, 2, 3, 4)
	for i := range len(payload) {
		b = append(b, payload[i]^byte(1+i%4))
	}
	return b
}

// hostile is what no client may send: after it the host ends the connection. With what code depends on who read it: 1002
// and 1009 the library, 1008 (and for a page 1001) we, 0 is none. Source of the codes: RFC 6455 section 7.4.1.
var hostile = []struct {
	name       string
	sent       []byte
	feed, page int
}{
	// Source of each: RFC 6455, the section in brackets.
	{"not masked [5.1]", []byte{fin | text, 5, 'H', 'e', 'l', 'l', 'o'}, 1002, 1002},
	{"reserved bit 1 [5.2]", fromClient(fin|rsv1|text, "a"), 1002, 1002},
	{"reserved bit 2 [5.2]", fromClient(fin|rsv2|text, "a"), 1002, 1002},
	{"reserved bit 3 [5.2]", fromClient(fin|rsv3|text, "a"), 1002, 1002},
	{"opcode 3 [5.2]", fromClient(fin|3, "a"), 1002, 1002},
	{"opcode 7 [5.2]", fromClient(fin|7, "a"), 1002, 1002},
	{"opcode 11 [5.2]", fromClient(fin|0xb, "a"), 1002, 1002},
	{"opcode 15 [5.2]", fromClient(fin|0xf, "a"), 1002, 1002},
	{"length 2^63 [5.2]", []byte{fin | text, masked | 127, 0x80, 0, 0, 0, 0, 0, 0, 0, 1, 2, 3, 4}, 0, 1001},
	{"length 2^63-1 [5.2]", []byte{fin | text, masked | 127, 0x7f, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 1, 2, 3, 4}, 1009, 1009},
	{"length 2^64-1 [5.2]", []byte{fin | text, masked | 127, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 1, 2, 3, 4}, 0, 1001},
	{"a continuation of nothing [5.4]", fromClient(fin|more, "a"), 1002, 1002},
	{"a message in a message [5.4]", append(fromClient(text, "a"), fromClient(fin|text, "b")...), 1002, 1002},
	{"a ping in fragments [5.5]", fromClient(pinging, "a"), 1002, 1002},
	{"a ping of 126 bytes [5.5]", fromClient(fin|pinging, strings.Repeat("a", 126)), 1002, 1002},
	{"a close of 126 bytes [5.5]", fromClient(fin|closing, strings.Repeat("a", 126)), 1002, 1002},
	{"a close of one byte [5.5.1]", fromClient(fin|closing, "\x03"), 0, 0},
	{"a close with code 999 [7.4.2]", fromClient(fin|closing, "\x03\xe7"), 1002, 1002},
	{"a close with code 1005 [7.4.1]", fromClient(fin|closing, "\x03\xed"), 1002, 1002},
	{"a close that says no UTF-8 [5.5.1]", fromClient(fin|closing, "\x03\xe8\xff"), 1002, 1002},
	{"text that is no UTF-8 [8.1]", fromClient(fin|text, `{"type":"`+"\xc3\x28\xff"+`"}`), 1008, 1008},
	{"binary [ours]", fromClient(fin|data, "1"), 1008, 1008},
	{"an empty message [ours]", fromClient(fin|text, ""), 1008, 1008},
	{"no message [ours]", fromClient(fin|text, `{"type":"x"}`), 1008, 1008},
	{"a message too long [ours]", fromClient(fin|text, strings.Repeat(" ", feed.MaxFromViewer+1)), 1009, 1009},
	{"a message too long, in fragments [ours]", append(fromClient(text, strings.Repeat(" ", feed.MaxFromViewer-9)), fromClient(fin|more, strings.Repeat(" ", 10))...), 1009, 1009},
	{"pings without end [ours]", bytes.Repeat(fromClient(fin|pinging, ""), 400), 0, 1001},
}

// sockets are the paths that a stranger may open.
var sockets = []string{"/feed", "/onair/bug/socket"}

// hail sends what is hostile on a new connection, and returns the code with which the host closed it: 0 for none.
func (st *stand) hail(n int, path string, sent []byte) (code int, err error) {
	conn, err := st.enter(n, path)
	if err != nil {
		return 0, err
	}
	defer conn.Close()
	_, _ = conn.Write(sent)                          // it may have been ended already
	said, err := ended(conn, openWithin-time.Second) // before the time for an opening is over
	return closed(said), err
}

// closed returns the code of the last frame that the host has sent, if that is a close: 0 if it is none, or has none. Its length
// and code precede the reason, of which we have none with an \x88.
func closed(said []byte) (code int) {
	if i := bytes.LastIndexByte(said, fin|closing); i >= 0 && i+4 <= len(said) && int(said[i+1]) == len(said)-i-2 {
		code = int(binary.BigEndian.Uint16(said[i+2:]))
	}
	return code
}

func TestHostileFramesEndTheirConnection(t *testing.T) {
	st := open(t, nil)
	for n, c := range hostile {
		for _, on := range []struct {
			path string
			want int
		}{{"/feed", c.feed}, {"/onair/bug/socket", c.page}} {
			code, err := st.hail(n, on.path, c.sent)
			if len(c.sent) > 512 && code == 0 {
				code = on.want // what the host has not read is answered with a reset, which may overtake the code
			}
			if err != nil || code != on.want {
				t.Errorf("%s on %s: ended with %d, want %d; %v", c.name, on.path, code, on.want, err)
			}
		}
	}
}

// pulse has a paired desk make an event forty times a second, and measures how long it waits for the answer.
func (st *stand) pulse() (stop func() []time.Duration) {
	st.t.Helper()
	st.do(start)
	h := st.hand("steady")
	h.schemas = nil // other tests hold messages to them
	began, from := time.Now(), st.clock()
	var late []time.Duration
	over := make(chan struct{})
	var done sync.WaitGroup
	done.Go(func() {
		tick := time.NewTicker(time.Second / 40)
		defer tick.Stop()
		for n := 0; ; n++ {
			asked := time.Now()
			a := h.order(feed.Order{Command: engine.Command{Do: engine.Score, Team: engine.Home, Points: 1 - 2*(n%2)}})
			if late = append(late, time.Since(asked)); a.Event == nil {
				st.t.Errorf("%+v", a)
				return
			}
			select {
			case <-tick.C:
			case <-over:
				return
			}
		}
	})
	return func() []time.Duration {
		close(over)
		done.Wait()
		// The game clock has gone as far as time has.
		if gone, real := from-st.clock(), time.Since(began); gone < real-50*time.Millisecond || gone > real+2*time.Millisecond {
			st.t.Errorf("the game clock went on by %v in %v", gone, real)
		}
		slices.Sort(late)
		return late
	}
}

// clock returns what is left on the game clock.
func (st *stand) clock() time.Duration {
	var v engine.View
	st.host.ViewInto(&v, st.host.Now())
	return time.Duration(v.Clock.RemainingMS) * time.Millisecond
}

// unharmed looks whether the host is well, and whether the desk has been answered in time: within 50 ms in 99 of 100 where
// this has the processors to itself, as in a soak.
func (st *stand) unharmed(late []time.Duration) {
	st.t.Helper()
	st.t.Logf("%d orders were answered after %v, p99 %v, at most %v", len(late), late[len(late)/2], late[len(late)*99/100], late[len(late)-1])
	most := 500 * time.Millisecond
	if *harder > 1 {
		most = 50 * time.Millisecond
	}
	if late[len(late)*99/100] > most {
		st.t.Error("the game waited for strangers")
	}
	for _, n := range st.host.Notices() {
		st.t.Error(n.Text)
	}
	if answer, said := st.get("/healthz", nil); answer.StatusCode != 200 || said != "ok\n" {
		st.t.Error("the host is not well")
	}
}

// Whoever sends slowly is waited for only so long: for a request, for a body, for the opening, for the rest of a frame, for an answer.
func TestSlowSendersAreNotWaitedFor(t *testing.T) {
	t.Parallel() // it mostly waits
	st := openDesks(t, nil)
	stop := st.pulse()
	opening := fromClient(fin|text, `{"type":"opening","versions":[1],"role":"viewer"}`+strings.Repeat(" ", 40))
	var all sync.WaitGroup
	for n, c := range []struct {
		name, path string // to be opened first
		say, drip  string // at once, and then a byte every tenth of a second
	}{
		{"a request", "", "GET / HTTP/1.1\r\n", "X: " + strings.Repeat("x", 100)},
		{"the first line", "", "GET /", strings.Repeat("x", 100)},
		{"nothing", "", "", ""},
		{"a body", "", "POST /pair HTTP/1.1\r\nHost: " + st.addr + "\r\nContent-Length: 900\r\n\r\n", strings.Repeat(" ", 100)},
		{"another request", "", "GET /healthz HTTP/1.1\r\nHost: " + st.addr + "\r\n\r\n", ""},
		{"no opening", "/feed", "", ""},
		{"an opening", "/feed", string(opening[:9]), string(opening[9 : len(opening)-1])},
		{"answers to no ping", "/feed", "", strings.Repeat(string(fromClient(fin|0xa, "")), 20)},
		{"an opening in fragments", "/feed", string(fromClient(text, "{")), strings.Repeat(string(fromClient(more, "")), 20)},
		{"the head of a frame", "/feed", "\x81", ""},
	} {
		for i := range 20 {
			var conn net.Conn
			var err error
			if c.path == "" {
				conn, err = st.knock(100*n+i, c.say)
			} else if conn, err = st.enter(100*n+i, c.path); err == nil {
				_, err = io.WriteString(conn, c.say)
			}
			if err != nil {
				t.Fatal(err)
			}
			drip := time.NewTicker(100 * time.Millisecond)
			over := make(chan struct{})
			all.Go(func() {
				defer drip.Stop()
				for i := range c.drip {
					select {
					case <-drip.C:
					case <-over:
						return
					}
					if _, err := io.WriteString(conn, c.drip[i:i+1]); err != nil {
						return
					}
				}
			})
			all.Go(func() {
				defer conn.Close()
				defer close(over)
				began := time.Now()
				if _, err := ended(conn, openWithin+3*time.Second); err != nil {
					t.Errorf("%s: %v", c.name, err)
				}
				if d := time.Since(began); d < openWithin-time.Second {
					t.Errorf("%s: ended after %v", c.name, d)
				}
			})
		}
	}
	all.Wait()
	st.unharmed(stop())
}

// Ten thousand connections from as many addresses: no more are held than may be, and who plays does not notice.
func TestTenThousandConnections(t *testing.T) {
	t.Parallel() // it mostly waits
	st := openDesks(t, func(c *Config) { c.Bounds.Connections = 512 })
	stop := st.pulse()
	const attempts = 10000
	keep := st.besiege(attempts)
	late := stop()
	keep()
	st.unharmed(late)
	if n := st.s.refused.connection.Load(); n < attempts/4 {
		t.Errorf("%d were refused", n)
	}
	t.Logf("%d were refused", st.s.refused.connection.Load())
}

// besiege makes connections, each of which stays for as long as it may; keep waits for that.
func (st *stand) besiege(attempts int) (keep func()) {
	const workers = 8
	says := []string{"", "GET", st.upgrade("/control"), strings.Replace(st.upgrade("/control"), "\r\n\r\n", "\r\nAuthorization: Bearer none\r\n\r\n", 1), st.upgrade("/feed")}
	var all, held sync.WaitGroup
	for w := range workers {
		all.Go(func() {
			for n := w; n < attempts; n += workers {
				conn, err := st.knock(n, says[n%len(says)])
				if open, most := st.s.listener.Load().open(), st.s.bounds.Connections; open > most {
					st.t.Errorf("%d connections are open, and %d may be", open, most)
				}
				if err != nil {
					continue // ended at once
				}
				held.Go(func() {
					said, err := ended(conn, openWithin+5*time.Second)
					if err != nil || bytes.Contains(said, []byte(`"view"`)) {
						st.t.Errorf("a stranger heard %q, %v", said, err)
					}
					_ = conn.Close()
				})
			}
		})
	}
	all.Wait()
	return held.Wait
}

// What the system keeps for one who does not read is bounded under TLS too.
func TestTheConnectionUnderTLSIsFound(t *testing.T) {
	st := open(t, nil)
	conn, err := st.knock(0, "")
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	for name, c := range map[string]net.Conn{"plain": conn, "TLS": tls.Client(conn, nil)} {
		if within(c) != conn {
			t.Errorf("%s: %v", name, within(c))
		}
	}
	a, b := net.Pipe()
	defer a.Close()
	defer b.Close()
	if in := within(a); in != nil {
		t.Errorf("in none there is %v", in)
	}
}
