package serve

import (
	"fmt"
	"image"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
)

// A browser that is paired, and shows a page of another server on the same computer: for its cookies that is one site (RFC
// 6265bis section 5.2), so what keeps that page out is what the browser says of where a request comes from.
func TestChromiumOtherPagesGetNowhere(t *testing.T) {
	b := browse(t)
	st := openDesks(t, nil)
	size := image.Pt(400, 600)
	b.see("http://"+st.addr+"/desk", size)
	tell[bool](b, fmt.Sprintf(`fetch("/pair", { method: "POST", headers: { "Content-Type": "application/json" }, body: '{"code":"%s","name":"phone"}' }).then((r) => { window.answered = r.status }), true`, st.code()))
	b.until(`window.answered === 200`)
	if seen := tell[string](b, `document.cookie`); seen != "" {
		t.Errorf("a script reads %q", seen)
	}

	var told atomic.Bool
	other := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, err := r.Cookie(st.s.cookie)
		told.Store(told.Load() || err == nil)
		w.Header().Set("Content-Type", "text/html")
	}))
	defer other.Close()
	b.see(other.URL, size)
	if !told.Load() { // the page DEVELOPERS.md says so, and without it what follows would prove nothing
		t.Error("the cookie does not go to another port")
	}
	code, events := st.code(), len(st.host.Game().Events())
	refused := st.s.refused.origin.Load()
	tell[bool](b, strings.NewReplacer("HOST", st.addr, "CODE", code).Replace(`window.out = {}, (async () => {
		const socket = (path) => new Promise((done) => {
			const s = new WebSocket("ws://HOST" + path);
			s.onopen = () => { s.send('{"type":"opening","versions":[1],"role":"desk"}'); done("let in"); };
			s.onerror = () => done("refused");
		});
		const ask = (path, options) => fetch("http://HOST" + path, { credentials: "include", ...options }).then((r) => r.type, () => "refused");
		out.control = await socket("/control");
		out.feed = await socket("/feed");
		out.tiles = await socket("/onair/bug/socket");
		out.desk = await ask("/desk");
		out.scores = await ask("/scores");
		out.preflight = await ask("/pair", { method: "POST", headers: { "Content-Type": "application/json" }, body: '{"code":"CODE","name":"x"}' });
		// What a page may send elsewhere unasked.
		out.unpair = await ask("/unpair", { method: "POST", mode: "no-cors" });
		out.pair = await ask("/pair", { method: "POST", mode: "no-cors", body: '{"code":"CODE","name":"x"}' });
		const frame = document.createElement("iframe");
		frame.src = "http://HOST/desk";
		await new Promise((done) => { frame.onload = done; document.body.append(frame); });
		window.done = true;
	})(), true`))
	b.until(`window.done === true`)
	for _, name := range []string{"control", "feed", "tiles", "desk", "scores", "preflight", "unpair", "pair"} {
		if got := tell[string](b, `out.`+name); got != "refused" {
			t.Errorf("%s: %s", name, got)
		}
	}
	if _, err := st.s.tokens.Check(tokenCookie(t, b, st, size)); err != nil {
		t.Error("another page unpaired the desk")
	}
	if !st.s.codes.Good(code, st.s.time.Now()) || len(st.host.Game().Events()) != events {
		t.Error("another page spent the code, or changed the game")
	}
	if n := st.s.refused.origin.Load() - refused; n < 7 {
		t.Errorf("%d requests were refused for where they came from", n)
	}

	// A name that resolves to this computer (RFC 6761 section 6.3), as one made to do so would.
	_, port, _ := net.SplitHostPort(st.addr)
	b.see("http://desk.localhost:"+port+"/scores", size)
	if text := tell[string](b, `document.body.innerText`); !strings.Contains(text, "not known under that name") {
		t.Errorf("under another name it shows %q", text)
	}
}

// tokenCookie has the browser send its cookie to another port again, and returns it.
func tokenCookie(t testing.TB, b *tab, st *stand, size image.Point) string {
	t.Helper()
	got := make(chan string, 8)
	reads := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		if c, err := r.Cookie(st.s.cookie); err == nil {
			got <- c.Value
		}
	}))
	defer reads.Close()
	b.see(reads.URL, size)
	select {
	case secret := <-got:
		return secret
	default:
		t.Error("the cookie is gone")
		return ""
	}
}
