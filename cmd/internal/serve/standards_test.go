package serve

import (
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"
)

// vectors are check values of RFC 6455; those that the RFC does not print are computed. Source: testdata/ws_accept.json.
type vectors struct {
	Accept []struct{ Key, Accept string }
	Frames []struct{ Name, Hex string }
	Codes  []struct {
		Code uint16
		Use  string
	} `json:"close_codes"`
	Handshake []struct {
		Case string
		OK   bool
	}
}

func readVectors(t *testing.T) (v vectors) {
	t.Helper()
	data, err := os.ReadFile("testdata/ws_accept.json")
	if err == nil {
		err = json.Unmarshal(data, &v)
	}
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// asks makes a request one for a WebSocket.
func asks(r *http.Request) {
	for k, v := range map[string]string{"Connection": "Upgrade", "Upgrade": "websocket", "Sec-Websocket-Version": "13", "Sec-Websocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="} {
		r.Header.Set(k, v)
	}
}

func TestTheHandshakeByTheRFC(t *testing.T) {
	st, v := open(t, nil), readVectors(t)
	for _, c := range v.Accept {
		answer, _ := st.get("/feed", func(r *http.Request) { asks(r); r.Header.Set("Sec-Websocket-Key", c.Key) })
		if got := answer.Header.Get("Sec-Websocket-Accept"); answer.StatusCode != http.StatusSwitchingProtocols || got != c.Accept {
			t.Errorf("key %s is answered %d %q, want %q", c.Key, answer.StatusCode, got, c.Accept)
		}
	}
	for name, change := range map[string]func(*http.Request){
		"GET, HTTP/1.1, Host, Upgrade: websocket, Connection: Upgrade, 16-byte key, version 13": func(*http.Request) {},
		"Upgrade: WebSocket (other case)":        func(r *http.Request) { r.Header.Set("Upgrade", "WebSocket") },
		"Connection: keep-alive, Upgrade":        func(r *http.Request) { r.Header.Set("Connection", "keep-alive, Upgrade") },
		"Sec-WebSocket-Version: 8":               func(r *http.Request) { r.Header.Set("Sec-Websocket-Version", "8") },
		"key decodes to 15 bytes":                func(r *http.Request) { r.Header.Set("Sec-Websocket-Key", "AAAAAAAAAAAAAAAAAAAA") },
		"POST":                                   func(r *http.Request) { r.Method = "POST" },
		"Origin of another site, browser client": func(r *http.Request) { r.Header.Set("Origin", "http://scores.example") },
		"no Origin header":                       func(r *http.Request) { r.Header.Del("Origin") },
		"missing key":                            func(r *http.Request) { r.Header.Del("Sec-Websocket-Key") },
	} {
		ok, found := false, false
		for _, c := range v.Handshake {
			if c.Case == name {
				ok, found = c.OK, true
			}
		}
		answer, _ := st.get("/feed", func(r *http.Request) { asks(r); change(r) })
		if !found || (answer.StatusCode == http.StatusSwitchingProtocols) != ok {
			t.Errorf("%s: %d, want it taken: %t", name, answer.StatusCode, ok)
		}
		if strings.Contains(name, "Version") && answer.Header.Get("Sec-Websocket-Version") != "13" { // RFC 6455 section 4.4
			t.Errorf("%s: the host does not say which version it speaks", name)
		}
	}
	if len(v.Handshake) != 9 {
		t.Errorf("%d cases of a handshake are known, 9 are played", len(v.Handshake))
	}
}

// What is masked is read, and comes back as the reason why it is no message; what is not masked ends the connection (5.1).
func TestFramesByTheRFC(t *testing.T) {
	st, v := open(t, nil), readVectors(t)
	for n, c := range v.Frames {
		sent, err := hex.DecodeString(c.Hex)
		if err != nil {
			t.Fatal(err)
		}
		want := 1002
		if sent[1]&masked != 0 {
			want = 1008
		}
		if code, err := st.hail(n, "/feed", sent); err != nil || code != want {
			t.Errorf("%s: ended with %d, want %d; %v", c.Name, code, want, err)
		}
	}
	if len(v.Frames) < 10 {
		t.Errorf("%d frames", len(v.Frames))
	}
}

// A close that may be sent is given back, and any other is a mistake. Source: RFC 6455 sections 5.5.1 and 7.4.
func TestCloseCodesByTheRFC(t *testing.T) {
	st, v := open(t, nil), readVectors(t)
	for n, c := range v.Codes {
		conn, err := st.enter(n, "/feed")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := conn.Write(fromClient(fin|closing, string(binary.BigEndian.AppendUint16(nil, c.Code)))); err != nil {
			t.Error(err)
		}
		said, err := ended(conn, openWithin-time.Second)
		_ = conn.Close()
		want := c.Code
		switch c.Use {
		case "may be sent", "registered", "client only":
		default:
			want = 1002
		}
		if err != nil || len(said) < 4 || said[0] != fin|closing || binary.BigEndian.Uint16(said[2:]) != want {
			t.Errorf("%d (%s) is answered by %x, want %d; %v", c.Code, c.Use, said, want, err)
		}
	}
	if len(v.Codes) < 13 {
		t.Errorf("%d codes", len(v.Codes))
	}
}
