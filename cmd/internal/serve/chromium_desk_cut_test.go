package serve

import (
	"fmt"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rafter/engine"
	"rafter/engine/feed"
)

// The host is killed and comes back; another desk keys; the desk is revoked.
func TestChromiumDeskKnowsWhatItDoesNotKnow(t *testing.T) {
	b := browse(t)
	st := openDesks(t, nil)
	b.phone(360, 740)
	b.pair(st, "phone")

	// A second desk keys, and each sees whose entry it is.
	other := st.hand("tablet")
	if a := other.order(feed.Order{Command: engine.Command{Do: engine.Score, Team: away, Points: 3}}); a.Event == nil {
		t.Fatalf("%+v", a)
	}
	b.until(`document.getElementById("said").textContent.endsWith("1 · tablet") && document.querySelector("#away .score").textContent === "3"`)
	b.tap(`#home [data-do*="points\":2"]`)
	for m := reply[feed.Happened](other); m.Event.Desk != "phone"; m = reply[feed.Happened](other) {
	}
	// What it keyed it may take back, not what the other did.
	b.tap("#undo")
	st.keyed(3)
	time.Sleep(320 * time.Millisecond)
	b.tap("#undo")
	b.until(`document.getElementById("said").className === "bad"`)
	if says := tell[string](b, `document.getElementById("said").textContent + document.querySelector("#undo").dataset.ack`); !strings.HasSuffix(says, "refused") || len(says) < 20 {
		t.Errorf("a second undo: %q", says)
	}

	// One touch that comes twice is one, be it before the answer or just after; the clock acts when it is touched.
	after, err := chromedp.Run(b.ctx, chromedp.Evaluate[float64](`(async () => {
		const clock = document.getElementById("clock"), touch = () => clock.dispatchEvent(new PointerEvent("pointerdown", { button: 0, bubbles: true }));
		touch();
		const began = performance.now();
		touch();
		while (!document.querySelector("#slab.runs") || clock.dataset.ack === "pending") await new Promise((f) => { const c = new MessageChannel(); c.port1.onmessage = f; c.port2.postMessage(0); });
		if (performance.now() - began < 250) touch(); // on a busy machine the answer takes longer
		return performance.now() - began;
	})()`, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("answered after %.0f ms", after)
	st.keyed(4)
	time.Sleep(100 * time.Millisecond)
	if v := st.host.Game().View(st.host.Now()); !v.Clock.Running || v.LastEvent != 4 {
		t.Errorf("touched twice within a moment: running %v, event %d", v.Clock.Running, v.LastEvent)
	}

	// What clears is held: a short touch does nothing, a second's does it.
	b.tap("[data-view=more]")
	b.hold(`#more [data-do*="period_next"]`, 50*time.Millisecond)
	b.until(`document.getElementById("said").textContent === "Hold for one second."`)
	if n := len(st.host.Game().Events()); n != 4 {
		t.Errorf("a short touch made %d events", n-4)
	}
	b.holding(`#more [data-do*="period_next"]`, 1150*time.Millisecond, func() {
		if ring := tell[string](b, `getComputedStyle(document.querySelector('#more [data-do*="period_next"]'), "::after").backgroundImage`); !strings.Contains(ring, "conic-gradient") || strings.Contains(ring, ") 0deg,") {
			t.Errorf("half-way the ring is %s", ring)
		}
	})
	if ev := st.keyed(5)[4]; ev.Command.Do != engine.PeriodNext {
		t.Errorf("held: %+v", ev.Command)
	}

	// What became of each entry, the page knows as the host does: corrections of corrections among them, and more than a
	// page of the list.
	for range 50 {
		st.do(two)
	}
	amend := engine.Command{Do: engine.Amend, Event: 20, Amended: engine.Score, Team: away, Points: 3}
	for _, c := range []engine.Command{{Do: engine.Void, Event: 10}, {Do: engine.Void, Event: 1}, amend, {Do: engine.Void, Event: 56}, {Do: engine.Undo}, {Do: engine.Amend, Event: 21, Amended: engine.Horn}, {Do: engine.Void, Event: 57}} {
		st.do(c)
	}
	// Loaded anew, it has the newest of them, and the others when they are asked for.
	if err := chromedp.Do(b.ctx, chromedp.Reload()); err != nil {
		t.Fatal(err)
	}
	b.until(`document.getElementById("link")?.textContent.startsWith("Connected")`)
	b.tap("[data-view=list]")
	b.until(`document.querySelectorAll("#entries li").length === 50`)
	st.do(engine.Command{Do: engine.Void, Event: 3})
	b.tap("#older")
	b.until(`document.querySelectorAll("#entries li").length === 63 && !document.getElementById("older").checkVisibility()`)
	st.do(engine.Command{Do: engine.Void, Event: 6})
	b.until(`document.querySelectorAll("#entries .gone .no").length === 5 && document.querySelector("#entries .no").textContent === "64"`)
	var want []string
	for before := 0; before != 1; {
		page, err := st.s.entries(before)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range page.Entries {
			want = append(want, fmt.Sprintf("%d %v %v", e.Event.Number, e.Live, e.Now != nil))
			before = e.Event.Number
		}
	}
	got := tell[string](b, `[...document.querySelectorAll("#entries li")].map((li) => li.querySelector(".no").textContent + " " + !li.classList.contains("gone") + " " + li.querySelector(".by").textContent.includes("put right")).join(", ")`)
	if got != strings.Join(want, ", ") {
		t.Errorf("the list is\n%s, want\n%v", got, strings.Join(want, ", "))
	}
	b.tap("[data-view=game]")

	// The host is killed.
	st.stop()
	began := time.Now()
	b.until(`document.body.classList.contains("off")`)
	if after := time.Since(began); after > time.Second {
		t.Errorf("it said so after %v", after)
	}
	if says := tell[string](b, `document.getElementById("link").textContent`); !strings.Contains(says, "No connection") {
		t.Errorf("it says %q", says)
	}
	if tell[bool](b, `[...document.querySelectorAll("#game button, #clock, #undo")].some((b) => b.checkVisibility() && b.getAttribute("aria-disabled") !== "true")`) {
		t.Error("something looks as if it could be keyed")
	}
	for _, selector := range []string{`#home [data-do*="points\":3"]`, "#clock"} {
		b.tap(selector)
		b.until(`document.getElementById("said").textContent === "Not connected: nothing was sent."`)
	}

	// It is there again, and nothing was kept for it.
	l, err := net.Listen("tcp", st.addr)
	if err != nil {
		t.Fatal(err)
	}
	back := openOn(t, l, func(c *Config) { c.Tokens, c.Codes = st.s.tokens, st.s.codes })
	began = time.Now()
	b.until(`!document.body.classList.contains("off")`)
	if after := time.Since(began); after > 3*time.Second {
		t.Errorf("right again after %v", after)
	}
	time.Sleep(300 * time.Millisecond)
	if n := len(back.host.Game().Events()); n != 0 {
		t.Errorf("%d events were kept for it", n)
	}
	b.tap(`#home [data-do*="points\":3"]`)
	if ev := back.keyed(1)[0]; ev.Command.Points != 3 || ev.Desk != "phone" {
		t.Errorf("then: %+v", ev)
	}

	// Unpaired, the page asks to be paired.
	b.tap("[data-view=setup]")
	b.hold("#unpair", 1150*time.Millisecond)
	b.until(`document.getElementById("pair") !== null`)
}

// gate is a network that hangs while it is shut: nothing comes in or goes out, and nothing is lost.
type gate struct {
	net.Listener
	shut sync.RWMutex
}

type gated struct {
	net.Conn
	gate *gate
}

func (g *gate) Accept() (net.Conn, error) {
	c, err := g.Listener.Accept()
	return &gated{c, g}, err
}

func (g *gate) wait() {
	g.shut.RLock()
	defer g.shut.RUnlock()
}

func (c *gated) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	c.gate.wait()
	return n, err
}

func (c *gated) Write(p []byte) (int, error) {
	c.gate.wait()
	return c.Conn.Write(p)
}

// A touch that the network holds up for longer than two seconds was refused on the desk by then, and is not done later.
func TestChromiumDeskOnANetworkThatHangs(t *testing.T) {
	b := browse(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	g := &gate{Listener: l}
	st := openDesksOn(t, g, nil)
	b.phone(360, 740)
	b.pair(st, "phone")
	b.tap("#clock")
	st.keyed(1)
	b.until(`document.getElementById("clock").dataset.ack === undefined`)
	time.Sleep(100 * time.Millisecond) // the page knows the host's clock by then

	g.shut.Lock()
	b.tap("#clock")
	touched := time.Now()
	b.until(`document.getElementById("clock").dataset.ack === "pending"`)
	b.until(`document.body.classList.contains("off")`)
	b.until(`document.getElementById("said").textContent === "No answer came: whether it was taken, the list will show."`)
	b.tap("#clock")
	b.until(`document.getElementById("said").textContent === "Not connected: nothing was sent."`)
	time.Sleep(time.Until(touched.Add(2300 * time.Millisecond))) // host.MaxLate, and a little more
	g.shut.Unlock()

	b.until(`!document.body.classList.contains("off")`)
	time.Sleep(200 * time.Millisecond)
	if v := st.host.Game().View(st.host.Now()); !v.Clock.Running || v.LastEvent != 1 {
		t.Errorf("what hung was done: running %v, event %d", v.Clock.Running, v.LastEvent)
	}
	b.tap("#clock")
	if ev := st.keyed(2)[1]; ev.Command.Do != engine.ClockStop {
		t.Errorf("then: %+v", ev)
	}
}
