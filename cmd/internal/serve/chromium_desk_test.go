package serve

import (
	"fmt"
	"image"
	"net"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/feed"
	"rafter/engine/public"
)

// phone makes the page one on a phone's screen, that is touched.
func (b *tab) phone(w, h int64) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, chromedp.EmulateViewport(w, h, chromedp.EmulateTouch, chromedp.EmulateMobile)); err != nil {
		b.t.Fatal(err)
	}
}

// pair has the page be a desk of that name, by touch.
func (b *tab) pair(st *stand, name string) {
	b.t.Helper()
	code := st.code()
	if err := chromedp.Do(b.ctx, chromedp.Navigate("http://"+st.addr+"/desk#"+code)); err != nil {
		b.t.Fatal(err)
	}
	b.until(`document.querySelector("[name=code]")?.value === "` + code + `"`)
	if at := tell[string](b, "location.href"); strings.Contains(at, code) || strings.Contains(at, "#") {
		b.t.Errorf("the code stays in the address: %s", at)
	}
	tell[string](b, `document.querySelector("[name=name]").value = "`+name+`"`)
	b.tap("#pair button")
	b.until(`document.getElementById("link")?.textContent === "Connected as ` + name + `"`)
}

// point returns where an element is to be touched: its middle, if that is what is there.
func (b *tab) point(selector string) (x, y float64) {
	b.t.Helper()
	at := tell[[]float64](b, fmt.Sprintf(`(() => {
		const node = document.querySelector(%q);
		node?.scrollIntoView({ block: "nearest" });
		const r = node?.getBoundingClientRect(), x = r?.left + r?.width / 2, y = r?.top + r?.height / 2, there = node && document.elementFromPoint(x, y);
		return there && (node.contains(there) || there.contains(node)) ? [x, y] : [];
	})()`, selector))
	if len(at) != 2 {
		b.t.Fatalf("%s cannot be touched", selector)
	}
	return at[0], at[1]
}

// tap touches an element, by its coordinates.
func (b *tab) tap(selector string) {
	b.t.Helper()
	x, y := b.point(selector)
	if err := chromedp.Do(b.ctx, chromedp.TapXY(x, y)); err != nil {
		b.t.Fatal(err)
	}
}

// hold touches an element and lets it go after a while.
func (b *tab) hold(selector string, d time.Duration) {
	b.t.Helper()
	b.holding(selector, d, func() {})
}

// holding is hold, with something done half-way.
func (b *tab) holding(selector string, d time.Duration, meanwhile func()) {
	b.t.Helper()
	x, y := b.point(selector)
	touch := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
		if _, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: append([]*input.TouchPoint{}, points...)}); err != nil {
			b.t.Fatal(err)
		}
	}
	touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y})
	began := time.Now()
	time.Sleep(d / 2)
	meanwhile()
	time.Sleep(time.Until(began.Add(d)))
	touch(input.DispatchTouchEventTypeTouchEnd)
}

// fits checks that all of the game is on the screen at once.
func (b *tab) fits() {
	b.t.Helper()
	if over := tell[int](b, `(() => { const m = document.querySelector("main"); return m.scrollHeight - m.clientHeight })()`); over > 0 {
		b.t.Errorf("%d pixels of the game are below the screen", over)
	}
}

// keyed waits for the game to have so many events.
func (st *stand) keyed(n int) []engine.Event {
	st.t.Helper()
	for end := time.Now().Add(3 * time.Second); ; time.Sleep(2 * time.Millisecond) {
		events := st.host.Game().Events()
		if len(events) >= n {
			return events
		}
		if time.Now().After(end) {
			st.t.Fatalf("%d events, want %d; the last is %+v", len(events), n, events[max(len(events)-1, 0):])
		}
	}
}

// The quarter that is keyed: what is touched, one after the other, and the command that must come of it.
type touched struct {
	touches []string
	makes   engine.Command
}

func on(team, verb string, rest string) string {
	return fmt.Sprintf(`#%s [data-do*="\"%s\""]%s`, team, verb, rest)
}

func basket(team string, side engine.Team, points int) touched {
	return touched{[]string{fmt.Sprintf(`#%s [data-do*="\"points\":%d"]`, team, points)}, engine.Command{Do: engine.Score, Team: side, Points: points}}
}

func fouled(team string, side engine.Team, number, kind string) touched {
	touches := []string{"#" + team + " [data-foul]"}
	if kind != "" {
		touches = append(touches, "#pick [value="+kind+"]")
	}
	return touched{append(touches, fmt.Sprintf(`#pick [data-by="%s"]`, number)), engine.Command{Do: engine.Foul, Team: side, By: number, Kind: kind}}
}

func called(team string, side engine.Team, kind string) touched {
	return touched{[]string{on(team, kind, "")}, engine.Command{Do: engine.Timeout, Team: side, Kind: kind}}
}

const home, away = engine.Home, engine.Away

var (
	starts = touched{[]string{"#clock"}, start}
	stops  = touched{[]string{"#clock"}, stop}
)

// quarter is keyed with 60 touches, the two corrections among them.
var quarter = []touched{
	starts,
	{[]string{"#arrow [data-arrow=away]"}, engine.Command{Do: engine.Arrow, Team: away}},
	basket("home", home, 2),
	{[]string{"#who", `#pick [data-by="12"]`}, engine.Command{Do: engine.Amend, Event: 3, Amended: engine.Score, Team: home, Points: 2, By: "12"}},
	basket("away", away, 3),
	basket("home", home, 3),
	fouled("away", away, "5", ""),
	stops, starts,
	basket("away", away, 2),
	fouled("home", home, "12", "shooting"),
	stops,
	basket("away", away, 1),
	starts,
	basket("home", home, 2), // event 15: it was away's
	called("home", home, "full"),
	{[]string{"#next-acts button"}, engine.Command{Do: engine.TimeoutEnd}},
	starts,
	basket("away", away, 3),
	fouled("away", away, "32", "offensive"), // event 20: it was 5
	stops, starts,
	basket("home", home, 2),
	basket("home", home, 1),
	{[]string{"#home .less"}, engine.Command{Do: engine.Score, Team: home, Points: -1}},
	{[]string{"#undo"}, engine.Command{Do: engine.Undo, Event: 25}},
	fouled("home", home, "4", ""),
	stops,
	called("away", away, "short"),
	starts,
	basket("away", away, 2),
	{[]string{"#arrow [data-arrow=home]"}, engine.Command{Do: engine.Arrow, Team: home}},
	basket("home", home, 3),
	basket("away", away, 1),
	basket("home", home, 1),
	fouled("away", away, "33", ""),
	basket("away", away, 1),
	fouled("home", home, "23", "technical"),
	basket("home", home, 1),
	stops,
	// The first mistake: the basket was the other team's.
	{[]string{"[data-view=list]", "ENTRY", "#pick [name=team][value=away]", "#pick form .order"},
		engine.Command{Do: engine.Amend, Event: 15, Amended: engine.Score, Team: away, Points: 2}},
	// The second: another player's foul.
	{[]string{"ENTRY", `#pick [name=by][value="5"]`, "#pick form .order"},
		engine.Command{Do: engine.Amend, Event: 20, Amended: engine.Foul, Team: away, By: "5", Kind: "offensive"}},
	{[]string{"[data-view=game]", "#clock"}, start},
	stops,
}

// touchesOf counts them.
func touchesOf(list []touched) (n int) {
	for _, step := range list {
		n += len(step.touches)
	}
	return n
}

// A phone is paired, keys a quarter, puts two mistakes right, and log, picture and readable page agree.
func TestChromiumDeskPlaysAQuarter(t *testing.T) {
	b := browse(t)
	size := image.Pt(640, 360)
	st := openDesks(t, func(c *Config) { c.Size = size })
	// The players are invented.
	for _, p := range []engine.Command{{Team: home, By: "4"}, {Team: home, By: "23"}, {Team: away, By: "32"}, {Team: away, By: "33"}} {
		p.Do = engine.Roster
		st.do(p)
	}
	b.phone(360, 740)
	if answer, text := st.get("/desk", nil); answer.StatusCode != 403 || !strings.Contains(text, `id="pair"`) || strings.Contains(text, `id="clock"`) {
		t.Errorf("a stranger gets %d\n%s", answer.StatusCode, text)
	}
	b.pair(st, "phone")
	if cookie := tell[string](b, "document.cookie"); cookie != "" {
		t.Errorf("a script can read the cookie %q", cookie)
	}

	if n := touchesOf(quarter); n != 60 {
		t.Fatalf("%d touches", n)
	}
	places := func() string {
		return tell[string](b, `JSON.stringify(["#home .points", "#away .foul", "#arrow", "#undo", "#clock"].map((s) => document.querySelector(s).getBoundingClientRect()))`)
	}
	stood := places()
	b.fits()
	before, touchedAt := len(st.host.Game().Events()), map[string]time.Time{}
	for i, step := range quarter {
		for _, selector := range step.touches {
			selector = strings.ReplaceAll(selector, "ENTRY", fmt.Sprintf("#entries li:nth-last-child(%d) button", before+step.makes.Event))
			b.until(fmt.Sprintf(`(() => { const n = document.querySelector(%q); return n?.checkVisibility() && n.dataset.ack !== "pending" && document.querySelector("[data-ack=pending]") === null })()`, selector))
			time.Sleep(time.Until(touchedAt[selector].Add(320 * time.Millisecond))) // sooner it is taken for one touch
			b.tap(selector)
			touchedAt[selector] = time.Now()
		}
		events := st.keyed(before + i + 1)
		ev := events[len(events)-1]
		want := step.makes
		if want.Event > 0 {
			want.Event += before
		}
		if ev.Command != want || ev.Desk != "phone" || ev.Was.OK || len(events) != before+i+1 {
			t.Fatalf("touches %v made event %d: %+v by %q, want %+v", step.touches, ev.Number, ev.Command, ev.Desk, want)
		}
		b.until(fmt.Sprintf(`(document.querySelector("#said .by")?.textContent ?? "").startsWith("%d ·")`, before+i+1))
	}

	keyed := time.Now()
	if now := places(); now != stood {
		t.Errorf("what is touched has moved: from %s to %s", stood, now)
	}

	// Worked out by hand from the table above.
	v := st.host.Game().View(st.host.Now())
	type board struct{ score, fouls, full, short, twelve, five int }
	of := func(t *engine.TeamView) board {
		b := board{t.Score, t.Fouls, t.Timeouts.Kinds[0].Left, t.Timeouts.Kinds[1].Left, 0, 0}
		for _, p := range t.Players {
			switch p.Number {
			case "12":
				b.twelve = 10*p.Points + p.Fouls
			case "5":
				b.five = 10*p.Points + p.Fouls
			}
		}
		return b
	}
	if got, want := of(&v.Home), (board{13, 3, 2, 2, 21, 0}); got != want {
		t.Errorf("home: %+v, want %+v", got, want)
	}
	if got, want := of(&v.Away), (board{15, 3, 3, 1, 0, 2}); got != want {
		t.Errorf("away: %+v, want %+v", got, want)
	}
	if v.Arrow.String() != "home" || v.Clock.Running || v.Period.Phase != engine.Play {
		t.Errorf("arrow %v, clock %+v, %v", v.Arrow, v.Clock, v.Period.Phase)
	}

	// What the desk shows, what a parent reads, and what is on air.
	b.until(`document.querySelector("#home .score").textContent === "13" && document.querySelector("#away .score").textContent === "15"`)
	b.until(`document.getElementById("reading").textContent === "` + v.Clock.Text.String() + `"`)
	b.quietBut("403")
	b.see("http://"+st.addr+"/scores", image.Pt(360, 740))
	b.until(`document.querySelector("#home [data-is=score]").textContent === "13"`)
	for selector, want := range map[string]string{
		"#away [data-is=score]": "15", "#home [data-is=fouls]": "3", "#away [data-is=fouls]": "3", "#home [data-is=timeouts]": "Timeouts 2 full, 2 short", "#away [data-is=timeouts]": "Timeouts 3 full, 1 short",
		"#clock": v.Clock.Text.String(), "#period": "1st",
		"h1": "Hollow Creek – Marrow Hill",
	} {
		if got := tell[string](b, fmt.Sprintf(`document.querySelector(%q).textContent`, selector)); strings.TrimSpace(got) != want {
			t.Errorf("/scores: %s reads %q, want %q", selector, got, want)
		}
	}
	if rows := tell[string](b, `[...document.querySelectorAll("#home-players tbody tr")].map((r) => [...r.cells].map((c) => c.textContent.trim()).join(" ")).join(", ")`); rows != "4 0 1, 12 2 1, 23 0 1" {
		t.Errorf("/scores: home's players, their points and fouls read %q", rows)
	}
	time.Sleep(time.Until(keyed.Add(3100 * time.Millisecond))) // nothing moves any more: engine.Memory
	b.see("http://"+st.addr+"/onair/bug", size)
	b.until("window.rafter && window.rafter.messages > 0")
	looks, err := testLooks()
	if err != nil {
		t.Fatal(err)
	}
	p, err := looks.New(picture.Options{Graphic: "bug", Size: size})
	if err != nil {
		t.Fatal(err)
	}
	v = st.host.Game().View(st.host.Now())
	public.Numbers.View(&v)
	f, _ := p.Show(&v)
	if n := differing(b.over("black"), f, 0); n > 0 {
		t.Errorf("the picture on air differs in %d bytes", n)
	}
}

// quietBut is quiet, but for what is expected to be said.
func (b *tab) quietBut(expected string) {
	b.t.Helper()
	b.mu.Lock()
	for i, s := range b.says {
		if strings.Contains(s, expected) {
			b.says[i] = "WebSocket"
		}
	}
	b.mu.Unlock()
	b.quiet()
}

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
		while (clock.dataset.ack === "pending") await new Promise((f) => { const c = new MessageChannel(); c.port1.onmessage = f; c.port2.postMessage(0); });
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

// Before the game: teams, colours, rosters and league, and how late what is on air is.
func TestChromiumDeskSetsTheGameUp(t *testing.T) {
	b := browse(t)
	st := openDesks(t, nil)
	b.phone(360, 740)
	b.pair(st, "phone")
	b.tap("[data-view=setup]")
	b.until(`document.querySelector("#setup [data-setup=away] [name=roster]").value === "5 Quillon Ferr" && !document.getElementById("league").hidden`)
	write := func(form, name, value string) {
		t.Helper()
		tell[bool](b, fmt.Sprintf(`(() => { const f = document.querySelector(%q).elements.namedItem(%q); f.value = %q; return f.dispatchEvent(new Event("input", { bubbles: true })) })()`, form, name, value))
	}
	const form = "#setup [data-setup=away]"
	write(form, "roster", "Tansy")
	b.tap(form + " button")
	b.until(`document.getElementById("said").textContent.startsWith("“Tansy” has no number")`)
	for name, value := range map[string]string{"name": "Pebble Ridge", "short": "PEB", "color": "#2466a6", "roster": "00 Quillon Dace\n#11  Ida Fenn\n\n23"} {
		write(form, name, value)
	}
	b.tap(form + " button")
	b.until(`document.querySelector("` + form + ` button").dataset.ack === "done"`)
	team := st.host.Game().Setup().Away
	want := []engine.RosterEntry{{Number: "00", Name: "Quillon Dace"}, {Number: "11", Name: "Ida Fenn"}, {Number: "23"}}
	if team.Name != "Pebble Ridge" || team.Short != "PEB" || (team.Colour != engine.Colour{R: 0x24, G: 0x66, B: 0xa6}) || !slices.Equal(team.Roster, want) {
		t.Errorf("the team is %+v", team)
	}
	write("#late", "ms", "400")
	b.tap("#late button")
	b.until(`document.querySelector("#late button").dataset.ack === "done"`)
	if d := st.s.Delays()["bug"]; d != 400*time.Millisecond {
		t.Errorf("the bug is %v late", d)
	}
	write("#league", "rules", "fiba")
	b.tap("#league button")
	b.until(`document.querySelector(".timeouts").textContent.includes("Timeout 2")`) // FIBA 2024, Art. 18.2.5: two in the first half, of one kind
	if v := st.host.Game().View(st.host.Now()); v.Rules != "fiba" || v.LastEvent != 0 || v.Away.Name != "Pebble Ridge" || len(v.Away.Players) != 3 {
		t.Errorf("%s, event %d, %+v", v.Rules, v.LastEvent, v.Away)
	}
	b.tap("[data-view=game]")
	b.fits()
	b.tap("#away [data-foul]")
	if kinds := tell[string](b, `[...document.querySelectorAll("#pick [name=kind]")].map((k) => k.value).join(" ")`); !strings.Contains(kinds, "unsportsmanlike") || strings.Contains(kinds, "intentional") {
		t.Errorf("its fouls are %s", kinds)
	}
	b.quietBut("403")
}
