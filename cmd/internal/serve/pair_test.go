package serve

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/access"
	"rafter/engine"
	"rafter/engine/feed"
)

// post asks with a body.
func (st *stand) post(path, body string, change func(*http.Request)) (*http.Response, string) {
	st.t.Helper()
	return st.get(path, func(r *http.Request) {
		if r.Method = "POST"; body != "" {
			r.Body, r.ContentLength = io.NopCloser(strings.NewReader(body)), int64(len(body))
		}
		r.Header.Set("Content-Type", "application/json")
		if change != nil {
			change(r)
		}
	})
}

// cookie is what a browser sends that was paired with that secret.
func (st *stand) cookie(secret string) string {
	_, port, _ := net.SplitHostPort(st.addr)
	return "rafter_desk_" + port + "=" + secret
}

func (st *stand) code() string {
	st.t.Helper()
	code, err := st.s.codes.Make(st.s.time.Now())
	if err != nil {
		st.t.Fatal(err)
	}
	return code
}

// A phone pairs by a code, keys, sees what came of it, undoes its own, and unpairs itself.
func TestADeskFromPairingToUnpairing(t *testing.T) {
	st := openDesks(t, nil)
	answer, text := st.post("/pair", fmt.Sprintf(`{"code":%q,"name":"phone"}`, st.code()), nil)
	if answer.StatusCode != 200 {
		t.Fatalf("%d %s", answer.StatusCode, text)
	}
	got := decode(t, []byte(text))
	secret := got["token"].(string)
	cookie := answer.Header.Get("Set-Cookie")
	if got["name"] != "phone" || cookie != st.cookie(secret)+"; Path=/; Max-Age=2592000; HttpOnly; SameSite=Strict" {
		t.Errorf("%s with the cookie %s", text, cookie)
	}
	withCookie := http.Header{"Cookie": {st.cookie(secret)}, "Origin": {"http://" + st.addr}}
	if answer, _ := st.get("/desk", func(r *http.Request) { r.Header = withCookie.Clone() }); answer.StatusCode != 200 {
		t.Errorf("its page: %d", answer.StatusCode)
	}
	if answer, text := st.get("/desk", nil); answer.StatusCode != 403 || !strings.Contains(text, "<form") {
		t.Errorf("a stranger's page: %d %s", answer.StatusCode, text)
	}
	h := st.handWith(withCookie, openingDesk)
	if a := h.order(feed.Order{Command: start}); a.Refused != nil || a.Event == nil || a.Event.Desk != "phone" || a.Event.Number != 1 {
		t.Errorf("%+v", a)
	}
	if a := h.order(feed.Order{Command: start}); a.Refused != nil || a.Event != nil {
		t.Errorf("what has no effect: %+v", a)
	}
	if a := h.order(feed.Order{Command: engine.Command{Do: engine.Score, Team: engine.Home, Points: 2, By: "77"}}); a.Refused == nil || a.Refused.Code != engine.UnknownPlayer {
		t.Errorf("%+v", a.Refused)
	}
	st.do(two) // another hand's
	if a := h.order(feed.Order{Command: engine.Command{Do: engine.Undo}}); a.Event == nil || a.Event.Command.Event != 1 {
		t.Errorf("its undo took %+v", a.Event)
	}
	if answer, text := st.post("/unpair", "", func(r *http.Request) { r.Header = withCookie.Clone() }); answer.StatusCode != 204 || !strings.Contains(answer.Header.Get("Set-Cookie"), "Max-Age=0") {
		t.Errorf("%d %s %s", answer.StatusCode, text, answer.Header.Get("Set-Cookie"))
	}
	events := len(st.host.Game().Events())
	h.reader.say(feed.Order{Number: 99, Command: two}) // at once: it is not even done before the connection ends
	if code := ends(t, h.conn); code != feed.NotPaired || len(st.host.Game().Events()) != events {
		t.Errorf("ended by %q after %d events", code, len(st.host.Game().Events())-events)
	}
	if _, answer, err := st.control(withCookie); err == nil || answer.StatusCode != 401 {
		t.Error("its token is still good")
	}
}

// Two hosts on one computer are one site to a browser's jar, which looks at no port (RFC 6265 section 8.5; the jar is Go's own):
// paired with the one, it stays so when it pairs with the other, and each is sent its own token.
func TestTwoHostsOnOneComputerKeepTheirDesks(t *testing.T) {
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	client := &http.Client{Jar: jar, Transport: &http.Transport{DisableKeepAlives: true}}
	stands := []*stand{openDesks(t, nil), openDesks(t, nil)}
	desk := func(st *stand) int {
		answer, err := client.Get("http://" + st.addr + "/desk")
		if err != nil {
			t.Fatal(err)
		}
		_ = answer.Body.Close()
		return answer.StatusCode
	}
	for i, st := range stands {
		if code := desk(st); code != http.StatusForbidden {
			t.Errorf("host %d, not yet paired: %d", i, code)
		}
		answer, err := client.Post("http://"+st.addr+"/pair", "application/json", strings.NewReader(fmt.Sprintf(`{"code":%q,"name":"phone"}`, st.code())))
		if err != nil {
			t.Fatal(err)
		}
		_ = answer.Body.Close()
	}
	for i, st := range stands {
		if code := desk(st); code != http.StatusOK {
			t.Errorf("host %d, paired: %d", i, code)
		}
	}
	answer, err := client.Post("http://"+stands[0].addr+"/unpair", "", nil)
	if err != nil {
		t.Fatal(err)
	}
	_ = answer.Body.Close()
	if a, b := desk(stands[0]), desk(stands[1]); a != http.StatusForbidden || b != http.StatusOK {
		t.Errorf("unpaired from the first: %d and %d", a, b)
	}
}

// A page of another host, or of a name that was made to resolve here, gets nowhere even with a good cookie.
func TestControlFromOtherPages(t *testing.T) {
	st := openDesks(t, nil)
	_, port, _ := net.SplitHostPort(st.addr)
	secret, _ := st.token("phone")
	for _, c := range []struct {
		name, host, origin string
		code               int
	}{
		{"a_name_that_was_made_to_resolve_here", "desk.example:" + port, "http://desk.example:" + port, 421}, // DNS rebinding
		{"a_name_without_an_origin", "desk.example:" + port, "", 421},
		{"another_page", st.addr, "http://desk.example", 403},
		{"another_port_here", st.addr, "http://127.0.0.1:1", 403},
		{"another_scheme", st.addr, "https://" + st.addr, 403},
		{"a_sandboxed_frame", st.addr, "null", 403},
		{"more_than_an_origin", st.addr, "http://" + st.addr + "?", 403},
		{"a_fragment", st.addr, "http://" + st.addr + "#x", 403},
	} {
		t.Run(c.name, func(t *testing.T) {
			change := func(r *http.Request) {
				r.Host = c.host
				r.Header.Set("Cookie", st.cookie(secret))
				if c.origin != "" {
					r.Header.Set("Origin", c.origin)
				}
			}
			code := st.code()
			for path, answer := range map[string]*http.Response{
				"/pair":   first(st.post("/pair", fmt.Sprintf(`{"code":%q,"name":"x"}`, code), change)),
				"/unpair": first(st.post("/unpair", "", change)),
				"/desk":   first(st.get("/desk", change)),
				"/control": first(st.get("/control", func(r *http.Request) {
					change(r)
					for k, v := range map[string]string{"Connection": "Upgrade", "Upgrade": "websocket", "Sec-Websocket-Version": "13", "Sec-Websocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="} {
						r.Header.Set(k, v)
					}
				})),
			} {
				if answer.StatusCode != c.code || answer.Header.Get("Set-Cookie") != "" {
					t.Errorf("%s: %d", path, answer.StatusCode)
				}
			}
			if !st.s.codes.Good(code, st.s.time.Now()) {
				t.Error("its code was spent")
			}
		})
	}
	if _, err := st.s.tokens.Check(secret); err != nil {
		t.Error("somebody else unpaired the desk")
	}
}

func first(answer *http.Response, _ string) *http.Response { return answer }

func TestPairingIsRefused(t *testing.T) {
	st := openDesks(t, nil)
	spent := st.code()
	if err := st.s.codes.Use(spent, st.s.time.Now()); err != nil {
		t.Fatal(err)
	}
	late, err := st.s.codes.Make(st.s.time.Now() - access.CodeLasts)
	if err != nil {
		t.Fatal(err)
	}
	others := openDesks(t, nil).code()
	good := st.code()
	for _, c := range []struct {
		name, body, kind string
		status           int
		code             string
	}{
		{"no_code", `{"name":"x"}`, "", 403, "bad_code"},
		{"spent", `{"code":"` + spent + `","name":"x"}`, "", 403, "bad_code"},
		{"expired", `{"code":"` + late + `","name":"x"}`, "", 403, "bad_code"},
		{"another_hosts", `{"code":"` + others + `","name":"x"}`, "", 403, "bad_code"},
		{"no_json", `code=` + good, "", 400, "bad_request"},
		{"a_form_by_its_type", `{"code":"` + good + `","name":"x"}`, "text/plain", 400, "bad_request"}, // what a page may send elsewhere unasked
		{"a_field_too_many", `{"code":"` + good + `","name":"x","admin":true}`, "", 400, "bad_request"},
		{"two_objects", `{"code":"` + good + `","name":"x"} {}`, "", 400, "bad_request"},
		{"a_bracket_too_many", `{"code":"` + good + `","name":"x"}]`, "", 400, "bad_request"},
		{"a_long_name", `{"code":"` + good + `","name":"` + strings.Repeat("é", 41) + `"}`, "", 400, "bad_request"},
		{"a_name_that_turns_the_line", `{"code":"` + good + `","name":"a\u202eb"}`, "", 400, "bad_request"},
		{"a_name_with_a_bell", `{"code":"` + good + `","name":"a\u0007"}`, "", 400, "bad_request"},
		{"no_utf8", "{\"code\":\"" + good + "\",\"name\":\"\xff\"}", "", 400, "bad_request"},
		{"empty", ``, "", 400, "bad_request"},
		{"too_long", `{"code":"` + good + `","name":"x"` + strings.Repeat(" ", maxBody) + `}`, "", 413, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			answer, text := st.post("/pair", c.body, func(r *http.Request) {
				if c.kind != "" {
					r.Header.Set("Content-Type", c.kind)
				}
			})
			if answer.StatusCode != c.status || c.code != "" && decode(t, []byte(text))["code"] != c.code || answer.Header.Get("Set-Cookie") != "" {
				t.Errorf("%d %s", answer.StatusCode, text)
			}
			if strings.Contains(text, good) {
				t.Errorf("it repeats the code: %s", text)
			}
		})
	}
	for _, method := range []string{"GET", "PUT", "DELETE"} {
		if answer, _ := st.get("/pair", func(r *http.Request) { r.Method = method }); answer.StatusCode != http.StatusMethodNotAllowed {
			t.Errorf("%s: %d", method, answer.StatusCode)
		}
	}
	// A body of unknown length, and one for a page that takes none.
	for _, path := range []string{"/pair", "/unpair", "/control"} {
		if answer, _ := st.post(path, "xx", func(r *http.Request) { r.ContentLength = -1 }); answer.StatusCode == 200 || answer.StatusCode == 204 {
			t.Errorf("%s took a body of unknown length: %d", path, answer.StatusCode)
		}
	}
	if list, err := st.s.tokens.List(); err != nil || len(list) != 0 {
		t.Errorf("%v, %v", list, err)
	}
	if answer, text := st.post("/pair", `{"code":"`+strings.ToLower(good[:4])+`-`+good[4:]+`","name":"  tablet  one "}`, nil); answer.StatusCode != 200 || decode(t, []byte(text))["name"] != "tablet one" {
		t.Errorf("the good one: %d %s", answer.StatusCode, text)
	}
}

// A device that pairs anew has one token, the new one.
func TestPairingAnew(t *testing.T) {
	st := openDesks(t, nil)
	old, _ := st.token("phone")
	other, _ := st.token("tablet")
	answer, text := st.post("/pair", fmt.Sprintf(`{"code":%q,"name":"phone"}`, st.code()), func(r *http.Request) { r.Header.Set("Cookie", st.cookie(old)) })
	if answer.StatusCode != 200 || decode(t, []byte(text))["name"] != "phone" {
		t.Errorf("%d %s", answer.StatusCode, text)
	}
	if _, err := st.s.tokens.Check(old); err == nil {
		t.Error("its old token is still good")
	}
	if _, err := st.s.tokens.Check(other); err != nil {
		t.Error("another desk's token was ended")
	}
}

// With TLS in front the cookie goes over nothing else.
func TestTheCookieIsSecureWithTLS(t *testing.T) {
	st := openDesks(t, func(c *Config) { c.Secure = true })
	body := fmt.Sprintf(`{"code":%q,"name":"phone"}`, st.code())
	if answer, _ := st.post("/pair", body, func(r *http.Request) { r.Header.Set("Origin", "http://"+st.addr) }); answer.StatusCode != 403 {
		t.Errorf("a page without TLS: %d", answer.StatusCode)
	}
	answer, text := st.post("/pair", body, func(r *http.Request) { r.Header.Set("Origin", "https://"+st.addr) })
	if answer.StatusCode != 200 || !strings.HasSuffix(answer.Header.Get("Set-Cookie"), "; HttpOnly; Secure; SameSite=Strict") {
		t.Errorf("%d %s: %s", answer.StatusCode, text, answer.Header.Get("Set-Cookie"))
	}
}

// One address may not guess as it likes, and does not end the codes for others by it.
func TestGuessingIsSlow(t *testing.T) {
	st := openDesks(t, nil)
	good := st.code()
	codes := map[int]int{}
	for range 80 {
		answer, _ := st.post("/pair", `{"code":"AAAAAAAA","name":"x"}`, nil)
		codes[answer.StatusCode]++
	}
	if codes[429] < 10 || codes[403] < 40 || codes[403]+codes[429] != 80 {
		t.Errorf("%v", codes)
	}
	if !st.s.codes.Good(good, st.s.time.Now()) {
		t.Error("a stranger ended the code")
	}
}

// Secrets go to whom they belong and are nowhere else.
func TestSecretsStayWhereTheyBelong(t *testing.T) {
	st := openDesks(t, nil)
	code := st.code()
	secret, token := st.token("phone")
	h := st.handWith(nil, feed.Opening{Versions: []int{1}, Role: feed.Desk, Token: secret})
	h.order(feed.Order{Command: start})
	for _, path := range []string{"/", "/scores", "/metrics", "/desk", "/healthz", "/desk?token=" + secret, "/control?token=" + secret, "/nosuch"} {
		_, text := st.get(path, nil)
		_, signed := st.get(path, func(r *http.Request) { r.Header = bearer(secret) })
		for _, part := range []string{secret, token.Hash, code} {
			if strings.Contains(text, part) || strings.Contains(signed, part) {
				t.Errorf("%s tells %s", path, part)
			}
		}
	}
	if _, answer, err := websocket.DefaultDialer.Dial("ws://"+st.addr+"/control?token="+secret, bearer("x")); err == nil || answer.StatusCode != 401 {
		t.Error("a token in an address counts")
	}
	_, text := st.get("/metrics", nil)
	for _, line := range []string{"rafter_desks 1\n", `rafter_refused_total{reason="token"} 1`, `rafter_refused_total{reason="pairing"} 0`} {
		if !strings.Contains(text, line) {
			t.Errorf("no %q in\n%s", line, text)
		}
	}
}

// A host without desks has no way in.
func TestAHostWithoutDesks(t *testing.T) {
	st := open(t, nil)
	if _, answer, err := st.control(bearer("x")); err == nil || answer.StatusCode != 403 {
		t.Error("somebody is let in")
	}
	if answer, _ := st.post("/pair", `{"code":"AAAAAAAA","name":"x"}`, nil); answer.StatusCode != 403 {
		t.Errorf("pair: %d", answer.StatusCode)
	}
	if answer, _ := st.post("/unpair", "", nil); answer.StatusCode != 401 {
		t.Errorf("unpair: %d", answer.StatusCode)
	}
	if answer, _ := st.get("/desk", nil); answer.StatusCode != 403 {
		t.Errorf("desk: %d", answer.StatusCode)
	}
}

// Whatever is posted: what is taken has a name that can stand beside events.
func FuzzPairing(f *testing.F) {
	f.Fuzz(func(t *testing.T, body string) {
		r := httptest.NewRequest("POST", "/pair", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json; charset=utf-8")
		p, err := readPairing(r)
		if err == nil && (len(body) > maxBody || utf8.RuneCountInString(p.Name) > maxName || strings.TrimSpace(p.Name) != p.Name || strings.ContainsFunc(p.Name, unicode.IsControl)) {
			t.Errorf("%q gave %q", body, p.Name)
		}
	})
}
