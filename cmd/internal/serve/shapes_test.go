package serve

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"rafter/engine/feed"
)

// answers sends what no library would and returns the statuses of all that is answered, and how the last one begins. It is
// not waited for more than a moment, in which a library that lingers has ended a connection: whether the host ends the connection is told.
func (st *stand) answers(say string) (statuses []int, last *http.Response, ended bool) {
	conn, err := st.knock(0, say)
	if err != nil && conn == nil {
		st.t.Error(err)
		return nil, nil, false
	}
	defer conn.Close()
	_ = conn.SetReadDeadline(time.Now().Add(2 * time.Second))
	for in := bufio.NewReader(conn); ; {
		answer, err := http.ReadResponse(in, nil)
		if err != nil {
			var late net.Error
			return statuses, last, !errors.As(err, &late) || !late.Timeout()
		}
		statuses, last = append(statuses, answer.StatusCode), answer
		_, _ = io.Copy(io.Discard, answer.Body) // whatever it is
	}
}

// Requests that two programs may read differently end their connection, and nothing that stands behind them is a request.
// Names of hosts count as this host alone reads them. Sources: RFC 9110, RFC 9112, the section in brackets.
func TestRequestsThatMayBeReadDifferently(t *testing.T) {
	t.Parallel() // it mostly waits
	st := openDesks(t, nil)
	pair := fmt.Sprintf(`{"code":%q,"name":"x"}`, "AAAAAAAA")
	behind := "GET /metrics HTTP/1.1\r\nHost: " + st.addr + "\r\n\r\n"
	var all sync.WaitGroup
	for _, c := range []struct {
		name, first, headers, rest string
		code                       int
		open                       bool // the connection goes on
	}{
		{"a length and chunks [9112 6.1]", "POST /pair", fmt.Sprintf("Content-Length: %d\r\nTransfer-Encoding: chunked\r\n", len(pair)), "0\r\n\r\n" + behind, 413, false},
		{"chunks", "POST /pair", "Transfer-Encoding: chunked\r\n", fmt.Sprintf("%x\r\n%s\r\n0\r\n\r\n", len(pair), pair) + behind, 413, false},
		{"chunks without end", "POST /pair", "Transfer-Encoding: chunked\r\n", "1;" + strings.Repeat("x", 2000), 413, true}, // for seven seconds, as for any request
		{"an encoding that is none [9112 6.1]", "POST /pair", "Transfer-Encoding: xchunked\r\n", behind, 501, false},
		{"chunks, and something else [9112 6.1]", "POST /pair", "Transfer-Encoding: chunked, identity\r\n", behind, 501, false},
		{"a space before the colon [9112 5.1]", "POST /pair", "Transfer-Encoding : chunked\r\n", behind, 400, false},
		{"two lengths [9112 6.3]", "POST /pair", "Content-Length: 4\r\nContent-Length: 5\r\n", behind, 400, false},
		{"a length with a sign [9110 8.6]", "POST /pair", "Content-Length: +5\r\n", behind, 400, false},
		{"a body where none is taken", "GET /healthz", fmt.Sprintf("Content-Length: %d\r\n", len(behind)), behind, 413, false},
		{"no end of a body", "POST /unpair", "Content-Length: 1000000000\r\n", "x", 413, false},
		{"two hosts [9112 3.2]", "GET /healthz", "Host: " + st.addr + "\r\n", "", 400, false},
		{"a name in the target [9112 3.2.2]", "GET http://scores.example/healthz", "", "", 421, true},
		{"this host in the target [9112 3.2.2]", "GET http://" + st.addr + "/healthz", "", "", 200, true},
		{"the target of a tunnel [9110 9.3.6]", "CONNECT " + st.addr, "", "", 405, true},
		{"all of the host [9110 9.3.7]", "OPTIONS *", "", "", 400, false},
		{"a trace [9110 9.3.8]", "TRACE /metrics", "Cookie: rafter_desk=x\r\n", "", 405, true},
		{"a method in small letters [9110 9.1]", "get /healthz", "", "", 405, true},
		{"another protocol [9110 7.8]", "GET /healthz", "Connection: Upgrade, HTTP2-Settings\r\nUpgrade: h2c\r\nHTTP2-Settings: AAMAAABk\r\n", "", 200, true},
		{"a socket where there is none", "GET /scores", "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n", "", 200, true},
		{"a zero byte in a path", "GET /desk\x00", "", "", 400, false},
		{"a zero byte that is written out", "GET /page/onair.js%00", "", "", 404, true},
		{"a zero byte in a header", "GET /healthz", "X: a\x00b\r\n", "", 400, false},
		{"a return alone [9112 2.2]", "GET /healthz", "X: a\rHost: x\r\n", "", 400, false},
		{"a way up", "GET /page/%2e%2e%2fserve.go", "", "", 404, true},
		{"another host behind a way up", "GET //scores.example/%2e%2e", "", "", 307, true},
		{"ten thousand headers", "GET /healthz", strings.Repeat("X: y\r\n", 10000), "", 431, false},
		{"a header without end", "GET /healthz", "X: " + strings.Repeat("y", 1<<20), "", 431, false},
	} {
		all.Go(func() {
			statuses, last, ended := st.answers(c.first + " HTTP/1.1\r\nHost: " + st.addr + "\r\n" + c.headers + "\r\n" + c.rest)
			if lost := ended && len(statuses) == 0 && len(c.headers)+len(c.rest) > 1000; lost {
				return // what the host has not read is answered with a reset, which may overtake the rest
			}
			if len(statuses) != 1 || statuses[0] != c.code || ended == c.open {
				t.Errorf("%s: answered %v, ended %t; want %d, open %t", c.name, statuses, ended, c.code, c.open)
			}
			if last != nil && strings.Contains(last.Header.Get("Location"), "//") {
				t.Errorf("%s: leads to %s", c.name, last.Header.Get("Location"))
			}
		})
	}
	all.Wait()
	// The preface of HTTP/2: RFC 9113 section 3.4.
	if statuses, _, ended := st.answers("PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"); len(statuses) != 1 || statuses[0] != 421 || !ended {
		t.Errorf("the preface of HTTP/2 is answered %v, ended %t", statuses, ended)
	}
	if statuses, _, _ := st.answers("GET /healthz HTTP/1.0\r\n\r\n"); len(statuses) != 1 || statuses[0] != 421 {
		t.Errorf("a request that names no host is answered %v", statuses)
	}
	if list, err := st.s.tokens.List(); err != nil || len(list) != 0 {
		t.Errorf("somebody was paired: %v, %v", list, err)
	}
}

// Counters are for this computer, whatever a header says of where a request has come from (RFC 7239, and customs before it).
func TestCountersAreForThisComputerAlone(t *testing.T) {
	forged := []string{"", "X-Forwarded-For: 127.0.0.1", "Forwarded: for=127.0.0.1", "X-Real-Ip: ::1", "X-Forwarded-Host: 127.0.0.1"}
	for _, header := range forged {
		for far, code := range map[bool]int{true: http.StatusForbidden, false: http.StatusOK} {
			st := openOn(t, &elsewhere{listen(t), far}, nil)
			name, value, _ := strings.Cut(header, ": ")
			answer, text := st.get("/metrics", func(r *http.Request) {
				if name != "" {
					r.Header.Set(name, value)
				}
			})
			if answer.StatusCode != code || far && strings.Contains(text, "rafter_") {
				t.Errorf("%q, far %t: %d %s", header, far, answer.StatusCode, text)
			}
		}
	}
}

// elsewhere is a listener to which all come from an address that is nobody's, or from this computer. Source: RFC 5737.
type elsewhere struct {
	net.Listener
	far bool
}

type farther struct{ net.Conn }

func (farther) RemoteAddr() net.Addr { return &net.TCPAddr{IP: net.IPv4(198, 51, 100, 7), Port: 4000} }

func (e *elsewhere) Accept() (net.Conn, error) {
	conn, err := e.Listener.Accept()
	if err == nil && e.far {
		conn = farther{conn}
	}
	return conn, err
}

func listen(t *testing.T) net.Listener {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// A code that many use in the same moment pairs one of them.
func TestACodeIsGoodOnceAtTheSameInstant(t *testing.T) {
	st := openDesks(t, nil)
	for range 5 {
		body := fmt.Sprintf(`{"code":%q,"name":"phone"}`, st.code())
		request := fmt.Sprintf("POST /pair HTTP/1.1\r\nHost: %s\r\nContent-Type: application/json\r\nContent-Length: %d\r\nConnection: close\r\n\r\n%s", st.addr, len(body), body)
		var all sync.WaitGroup
		said := make([]string, 16)
		begin := make(chan struct{})
		for n := range said {
			conn, err := st.knock(n, request[:len(request)-1])
			if err != nil {
				t.Fatal(err)
			}
			all.Go(func() {
				defer conn.Close()
				<-begin
				_, _ = io.WriteString(conn, "}") // what comes of it is looked at
				_ = conn.SetReadDeadline(time.Now().Add(5 * time.Second))
				text, _ := io.ReadAll(conn)
				said[n] = string(text)
			})
		}
		close(begin)
		all.Wait()
		paired, refused := 0, 0
		for _, text := range said {
			if strings.HasPrefix(text, "HTTP/1.1 200 ") && strings.Contains(text, `"token"`) {
				paired++
			} else if strings.HasPrefix(text, "HTTP/1.1 403 ") && strings.Contains(text, "bad_code") && !strings.Contains(text, "Set-Cookie") {
				refused++
			}
		}
		if paired != 1 || refused != len(said)-1 {
			t.Errorf("%d were paired, %d refused, of\n%s", paired, refused, strings.Join(said, "\n"))
		}
	}
}

// What a desk has begun to say when its token is revoked is not done, however it is sent on.
func TestRevokedInTheMiddleOfAMessage(t *testing.T) {
	st := openDesks(t, nil)
	secret, token := st.token("phone")
	conn, err := st.enter(1, "/control")
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	_, _ = conn.Write(fromClient(fin|text, fmt.Sprintf(`{"type":"opening","versions":[1],"role":"desk","token":%q}`, secret)))
	order := fromClient(fin|text, `{"type":"command","number":1,"command":{"do":"score","team":"home","points":2}}`)
	_, _ = conn.Write(order[:len(order)-1])
	for n := 0; st.s.paired.Load() == 0; n++ {
		if n > 400 {
			t.Fatal("the desk is not connected")
		}
		time.Sleep(5 * time.Millisecond)
	}
	if err := st.s.tokens.Revoke(token.ID); err != nil {
		t.Fatal(err)
	}
	_, _ = conn.Write(order[len(order)-1:])
	said, err := ended(conn, 2*time.Second)
	if err != nil || !strings.Contains(string(said), feed.NotPaired) || strings.Contains(string(said), `"answer"`) || len(st.host.Game().Events()) != 0 {
		t.Errorf("%d events, and it was told %.300q, %v", len(st.host.Game().Events()), said, err)
	}
}

// Compression is not agreed on, whatever is offered (RFC 7692 section 5), and a frame that is compressed all the same ends its connection.
func TestNothingIsCompressedThatWasNotAgreed(t *testing.T) {
	st := open(t, nil)
	for _, path := range sockets {
		for _, offer := range []string{"", "permessage-deflate", "permessage-deflate; client_max_window_bits, x-webkit-deflate-frame"} {
			answer, _ := st.get(path, func(r *http.Request) {
				asks(r)
				if offer != "" {
					r.Header.Set("Sec-Websocket-Extensions", offer)
				}
			})
			if got := answer.Header.Values("Sec-Websocket-Extensions"); answer.StatusCode != http.StatusSwitchingProtocols || len(got) > 0 {
				t.Errorf("%s, offered %q: %d with %q", path, offer, answer.StatusCode, got)
			}
		}
		// "Hello", compressed: RFC 7692 section 7.2.3.1.
		if code, err := st.hail(1, path, fromClient(fin|rsv1|text, "\xf2\x48\xcd\xc9\xc9\x07\x00")); code != 1002 || err != nil {
			t.Errorf("%s: ended with %d, %v", path, code, err)
		}
	}
}
