package serve

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"rafter/cmd/internal/access"
	"rafter/engine"
	"rafter/engine/feed"
)

// openDesks is open with desks that may be paired, in a list of its own.
func openDesks(t testing.TB, change func(*Config)) *stand {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	return openDesksOn(t, l, change)
}

func openDesksOn(t testing.TB, l net.Listener, change func(*Config)) *stand {
	t.Helper()
	path := filepath.Join(t.TempDir(), "desks.json")
	tokens, err := access.OpenTokens(path, nil)
	if err != nil {
		t.Fatal(err)
	}
	st := openOn(t, l, func(c *Config) {
		c.Tokens, c.Codes = tokens, access.NewCodes(nil)
		if change != nil {
			change(c)
		}
	})
	st.desks = path
	return st
}

// token pairs a desk without asking anybody.
func (st *stand) token(name string) (secret string, token access.Token) {
	st.t.Helper()
	secret, token, err := st.s.tokens.Make(name, time.Now())
	if err != nil {
		st.t.Fatal(err)
	}
	return secret, token
}

func bearer(secret string) http.Header { return http.Header{"Authorization": {"Bearer " + secret}} }

func (st *stand) control(header http.Header) (*websocket.Conn, *http.Response, error) {
	conn, answer, err := websocket.DefaultDialer.Dial("ws://"+st.addr+"/control", header)
	if err == nil {
		st.t.Cleanup(func() { _ = conn.Close() })
	}
	return conn, answer, err
}

var openingDesk = feed.Opening{Versions: []int{feed.Version}, Role: feed.Desk}

// hand is a desk that is paired, connected and has been told how the game stands.
type hand struct {
	*reader
	asked int64
	seq   int64 // of the last message
}

func (st *stand) hand(name string) *hand {
	st.t.Helper()
	secret, _ := st.token(name)
	return st.handWith(bearer(secret), openingDesk)
}

func (st *stand) handWith(header http.Header, opening feed.Opening) *hand {
	st.t.Helper()
	conn, _, err := st.control(header)
	if err != nil {
		st.t.Fatal(err)
	}
	h := &hand{reader: &reader{t: st.t, conn: conn, schemas: st.schemas(), desk: true}}
	h.say(opening)
	if w, ok := h.next().(*feed.Welcome); !ok || w.Role != feed.Desk {
		st.t.Fatalf("welcomed with %+v", w)
	}
	snap := h.next().(*feed.Snapshot)
	if !bytes.Contains(snap.View, []byte("Quillon Tansy")) {
		st.t.Error("a desk is not told the players' names")
	}
	h.seq = snap.Seq
	return h
}

// say holds what a desk says to its schema, too.
func (h *hand) say(m any) {
	h.t.Helper()
	data, err := feed.Encode(m)
	if err != nil {
		h.t.Fatal(err)
	}
	if h.schemas == nil {
		h.reader.say(m)
		return
	}
	if doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data)); err != nil || h.schemas[decode(h.t, data)["type"].(string)].Validate(doc) != nil {
		h.t.Fatalf("%s is not of its schema", data)
	}
	h.reader.say(m)
}

// reply reads until the first message of type T; events and snapshots on the way count.
func reply[T any](h *hand) *T {
	h.t.Helper()
	for {
		m := h.next()
		switch m := m.(type) {
		case *feed.Happened:
			h.seq = m.Seq
		case *feed.Snapshot:
			h.seq = m.Seq
		case *feed.Problem:
			if _, wanted := any(m).(*T); !wanted {
				h.t.Fatalf("ended: %+v", m)
			}
		}
		if m, ok := m.(*T); ok {
			return m
		}
	}
}

// order gives a command and returns the answer.
func (h *hand) order(o feed.Order) *feed.Answer {
	h.t.Helper()
	h.asked++
	o.Number = h.asked
	h.say(o)
	a := reply[feed.Answer](h)
	if a.Number != h.asked {
		h.t.Fatalf("answer %d to order %d", a.Number, h.asked)
	}
	return a
}

// Every way in without a token that is good, for every call that could change something.
func TestControlWithoutAGoodToken(t *testing.T) {
	st, other := openDesks(t, nil), openDesks(t, nil)
	revoked, token := st.token("revoked")
	if err := st.s.tokens.Revoke(token.ID); err != nil {
		t.Fatal(err)
	}
	others, _ := other.token("phone")
	good, _ := st.token("good")
	for name, secret := range map[string]string{
		"none": "", "revoked": revoked, "another_hosts": others, "cut_off": good[1:], "longer": good + "A", "its_hash": hashIn(t, st, "good"),
		"its_id": idIn(t, st, "good"), "long": strings.Repeat("A", 4000),
	} {
		t.Run(name, func(t *testing.T) {
			for _, header := range []http.Header{bearer(secret), {"Cookie": {st.cookie(secret)}}, {"Authorization": {"Basic " + secret}}, {"Authorization": {"Bearer " + secret, "Bearer " + good}}, {"Authorization": {"Bearer " + good, "Bearer " + secret}}} {
				_, answer, err := st.control(header)
				if err == nil || answer.StatusCode != http.StatusUnauthorized || answer.Header.Get("WWW-Authenticate") != "Bearer" {
					t.Errorf("%.60v was let in, or not told why", header)
				}
				for path, code := range map[string]int{"/unpair": 401, "/desk": 403} {
					answer, text := st.get(path, func(r *http.Request) {
						if r.Header = header.Clone(); path == "/unpair" {
							r.Method = "POST"
						}
					})
					if answer.StatusCode != code || secret != "" && strings.Contains(text, secret) {
						t.Errorf("%s: %d %s", path, answer.StatusCode, text)
					}
				}
			}
			for _, say := range []string{
				fmt.Sprintf(`{"type":"opening","versions":[1],"role":"desk","token":%q}`, secret),
				fmt.Sprintf(`{"type":"opening","versions":[1],"role":"viewer","token":%q}`, good), fmt.Sprintf(`{"type":"opening","versions":[1],"role":"relay","token":%q}`, good),
			} {
				conn, _, err := st.control(nil)
				if err != nil {
					t.Fatal(err)
				}
				_ = conn.WriteMessage(websocket.TextMessage, []byte(say))
				_ = conn.WriteMessage(websocket.TextMessage, []byte(`{"type":"command","number":1,"command":{"do":"clock_start"}}`))
				if code := silent(t, conn); code != feed.NotPaired && (len(secret) < 4000 || code != "1009") {
					t.Errorf("%.80s ended by %q", say, code)
				}
			}
		})
	}
	conn, _, err := st.control(nil)
	if err != nil {
		t.Fatal(err)
	}
	_ = conn.WriteMessage(websocket.TextMessage, []byte(`{"type":"command","number":1,"command":{"do":"clock_start"}}`))
	if code := silent(t, conn); code != feed.BadMessage {
		t.Errorf("a command before the opening ended by %q", code)
	}
	if events := st.host.Game().Events(); len(events) != 0 {
		t.Errorf("the game was changed: %v", events)
	}
	h := st.handWith(nil, feed.Opening{Versions: []int{1}, Role: feed.Desk, Token: good}) // and the good one, in the opening
	if a := h.order(feed.Order{Command: start}); a.Event == nil || a.Event.Desk != "good" {
		t.Errorf("%+v", a)
	}
}

// silent reads until the end, and wants nothing said of the game before.
func silent(t testing.TB, conn *websocket.Conn) string {
	t.Helper()
	_ = conn.SetReadDeadline(time.Now().Add(8 * time.Second))
	_, data, err := conn.ReadMessage()
	if err != nil {
		if websocket.IsCloseError(err, websocket.CloseMessageTooBig) {
			return "1009"
		}
		t.Errorf("%v", err)
		return ""
	}
	m := decode(t, data)
	if m["type"] != "problem" {
		t.Errorf("a stranger was told %s", data)
		return ""
	}
	return m["code"].(string)
}

func tokenIn(t testing.TB, st *stand, name string) access.Token {
	t.Helper()
	list, err := st.s.tokens.List()
	for _, k := range list {
		if k.Name == name {
			return k
		}
	}
	t.Fatalf("no %s: %v", name, err)
	return access.Token{}
}

func hashIn(t testing.TB, st *stand, name string) string { return tokenIn(t, st, name).Hash }
func idIn(t testing.TB, st *stand, name string) string   { return tokenIn(t, st, name).ID }

func TestWhatADeskMayNotDo(t *testing.T) {
	st := openDesks(t, nil)
	secret, _ := st.token("phone")
	opening := `{"type":"opening","versions":[1],"role":"desk"}`
	many := func(text string, n int) []string { return strings.Split(strings.Repeat(text+"\n", n), "\n")[:n] }
	for _, c := range []struct {
		name, code string
		say        []string
	}{
		{"another_version", feed.NoVersion, []string{`{"type":"opening","versions":[2],"role":"desk"}`}},
		{"a_viewer", feed.NotPaired, []string{`{"type":"opening","versions":[1],"role":"viewer"}`}},
		{"a_wrong_token_more", feed.NotPaired, []string{`{"type":"opening","versions":[1],"role":"desk","token":"x"}`}},
		{"two_openings", feed.BadMessage, []string{opening, opening}},
		{"no_json", feed.BadMessage, []string{opening, `{`}},
		{"no_number", feed.BadMessage, []string{opening, `{"type":"command","command":{"do":"clock_start"}}`}},
		{"a_field_too_many", feed.BadMessage, []string{opening, `{"type":"command","number":1,"command":{"do":"clock_start"},"desk":"table"}`}},
		{"what_a_host_says", feed.BadMessage, []string{opening, `{"type":"answer","number":1}`}},
		{"too_long", "1009", []string{opening, `{"type":"command","number":1,"command":{"do":"clock_start"}` + strings.Repeat(" ", feed.MaxFromDesk) + `}`}},
		{"too_fast", feed.TooFast, append([]string{opening}, many(`{"type":"command","number":1,"command":{"do":"message_off"}}`, 5*deskRate)...)},
		{"too_many_lists", feed.TooFast, append([]string{opening}, many(`{"type":"ask_log"}`, 3*listRate)...)},
	} {
		t.Run(c.name, func(t *testing.T) {
			conn, _, err := st.control(bearer(secret))
			if err != nil {
				t.Fatal(err)
			}
			st.endsFor(t, conn, websocket.TextMessage, c.say, c.code)
		})
	}
	if len(st.host.Game().Events()) != 0 {
		t.Error("one of them changed the game")
	}
	h := st.hand("other") // what the engine cannot take is told, and ends nothing
	if err := h.conn.WriteMessage(websocket.TextMessage, []byte(`{"type":"command","number":9,"command":{"do":"roster","team":"home","by":"1234"}}`)); err != nil {
		t.Fatal(err)
	}
	if a := reply[feed.Answer](h); a.Number != 9 || a.Refused == nil {
		t.Errorf("%+v", a)
	}
}

// What is no frame, and frames that are wrong, end a stranger's connection and a desk's alike, and nothing else.
func TestMalformedFramesOfDesks(t *testing.T) {
	st := openDesks(t, nil)
	secret, _ := st.token("phone")
	h := st.hand("tablet")
	for seed := range uint64(60) {
		conn, _, err := st.control([]http.Header{nil, bearer(secret)}[seed%2])
		if err != nil {
			t.Fatal(err)
		}
		if seed%4 > 1 {
			_ = conn.WriteMessage(websocket.TextMessage, []byte(`{"type":"opening","versions":[1],"role":"desk","token":"`+secret+`"}`))
		}
		r := rand.New(rand.NewPCG(seed, 3))
		junk := make([]byte, 1+r.IntN(200))
		for i := range junk {
			junk[i] = byte(r.Uint32())
		}
		if seed%3 == 0 { // a whole text frame, masked with zeros, of what is no message (RFC 6455 section 5.2)
			junk = append([]byte{0x81, 0x80 | byte(min(len(junk), 125)), 0, 0, 0, 0}, junk[:min(len(junk), 125)]...)
		}
		_, _ = conn.NetConn().Write(junk)
		_ = conn.NetConn().(*net.TCPConn).CloseWrite()
		ends(t, conn)
		if a := h.order(feed.Order{Command: []engine.Command{start, stop}[seed%2]}); a.Event == nil {
			t.Fatalf("seed %d: %+v", seed, a)
		}
	}
	if n := len(st.host.Game().Events()); n != 60 {
		t.Errorf("%d events of 60", n)
	}
}

// Whoever shows no token is out after a few seconds, and too many of them at once are not even let in; a desk that sends its
// token with the request is not held up by them.
func TestStrangersAreFewAndShort(t *testing.T) {
	t.Parallel() // it waits
	st := openDesks(t, nil)
	conns := make([]*websocket.Conn, 0, maxStrangers)
	for range maxStrangers {
		conn, _, err := st.control(nil)
		if err != nil {
			t.Fatal(err)
		}
		conns = append(conns, conn)
	}
	if _, answer, err := st.control(nil); err == nil || answer.StatusCode != http.StatusServiceUnavailable {
		t.Error("one stranger too many was let in")
	}
	began := time.Now()
	if a := st.hand("phone").order(feed.Order{Command: start}); a.Event == nil {
		t.Errorf("%+v", a)
	}
	for _, conn := range conns {
		if code := silent(t, conn); code != feed.NoMessageCame {
			t.Errorf("ended by %q", code)
		}
	}
	if d := time.Since(began); d > openWithin+2*time.Second {
		t.Errorf("the last was out after %v", d)
	}
	secret, _ := st.token("tablet") // those who have shown one are no strangers
	for range maxStrangers + 2 {
		st.handWith(nil, feed.Opening{Versions: []int{1}, Role: feed.Desk, Token: secret})
	}
}

func TestRevocationEndsTheConnection(t *testing.T) {
	st := openDesks(t, nil)
	h, stuck := st.hand("phone"), st.hand("tablet")
	_ = stuck.conn.NetConn().(*net.TCPConn).SetReadBuffer(4096)
	h.schemas = nil
	elsewhere, err := access.OpenTokens(st.desks, nil) // rafter token revoke, another process
	if err != nil {
		t.Fatal(err)
	}
	if err := elsewhere.Revoke("phone"); err != nil {
		t.Fatal(err)
	}
	revoked := time.Now()
	if code := ends(t, h.conn); code != feed.NotPaired {
		t.Errorf("ended by %q", code)
	}
	if d := time.Since(revoked); d > time.Second {
		t.Errorf("ended after %v", d)
	}
	// One that takes nothing is out as soon, although what it is told has been waiting for long.
	for n := range 300 {
		st.do([]engine.Command{start, stop}[n%2])
		time.Sleep(time.Millisecond) // else it gets but the newest
	}
	if err := elsewhere.Revoke("tablet"); err != nil {
		t.Fatal(err)
	}
	revoked = time.Now()
	for st.s.paired.Load() > 0 {
		if time.Since(revoked) > time.Second {
			t.Fatal("a desk that takes nothing is still in after a second")
		}
		time.Sleep(time.Millisecond)
	}
}

// A desk that reads nothing delays neither the game nor another desk, and what it keys is done at once.
func TestAStalledDeskDelaysNobody(t *testing.T) {
	t.Parallel() // it waits
	st := openDesks(t, nil)
	stalled, h := st.hand("stalled"), st.hand("phone")
	stalled.schemas, h.schemas = nil, nil
	var worst time.Duration
	_ = stalled.conn.NetConn().(*net.TCPConn).SetReadBuffer(4096)
	for n := range 8 * viewerBehind { // more than lies between, and sooner than it is dropped for
		began := time.Now()
		if a := h.order(feed.Order{Command: []engine.Command{start, stop}[n%2]}); a.Event == nil {
			t.Fatalf("%+v", a)
		}
		worst = max(worst, time.Since(began))
		time.Sleep(time.Second / (2 * deskRate)) // with what it may at once, in time
	}
	t.Logf("the slowest answer took %v", worst)
	if worst > writeWithin/2 { // who waits for the stalled one waits for writeWithin
		t.Errorf("the slowest answer took %v", worst)
	}
	before := len(st.host.Game().Events())
	stalled.reader.say(feed.Order{Number: 1, Command: two})
	for n := 0; len(st.host.Game().Events()) == before; n++ {
		if n > 200 {
			t.Fatal("what the stalled desk keyed waits for it to read")
		}
		time.Sleep(5 * time.Millisecond)
	}
}
