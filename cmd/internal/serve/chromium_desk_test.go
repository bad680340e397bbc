package serve

import (
	"fmt"
	"image"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"rafter/cmd/internal/picture"
	"rafter/engine"
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

// places are where one touches.
func (b *tab) places() string {
	b.t.Helper()
	return tell[string](b, `JSON.stringify(["#home .points", "#away .foul", "#arrow", "#undo", "#clock"].map((s) => document.querySelector(s).getBoundingClientRect()))`)
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
	touches := []string{"#" + team + " [data-panel=foul]"}
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
	basket("home", home, 2),
	{[]string{"#arrow [data-arrow=away]"}, engine.Command{Do: engine.Arrow, Team: away}},
	{[]string{"#who", `#pick [data-by="12"]`}, engine.Command{Do: engine.Amend, Event: 2, Amended: engine.Score, Team: home, Points: 2, By: "12"}}, // of the basket, not the arrow
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
	stood, small := b.places(), map[[2]int64]string{{320, 568}: "", {568, 320}: "", {740, 360}: ""}
	b.fits()
	for size := range small {
		b.phone(size[0], size[1])
		small[size] = b.places()
		b.fits()
	}
	b.phone(360, 740)
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
	if now := b.places(); now != stood {
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

	// Whatever there is to say, what is touched stays where it is.
	b.phone(360, 740)
	if err := chromedp.Do(b.ctx, chromedp.Navigate("http://"+st.addr+"/desk")); err != nil {
		t.Fatal(err)
	}
	b.until(`document.querySelector("#said .by") !== null`)
	for range 10 {
		st.do(engine.Command{Do: engine.Foul, Team: away, Kind: "shooting"})
	}
	for _, c := range []engine.Command{{Do: engine.SetTeam, Team: home, Text: "Saint Brannoch of the Hollow by the Creek"}, {Do: engine.ScoreSet, Team: home, Count: 118}} {
		st.do(c)
	}
	b.until(`document.querySelector("#home .bonus").textContent === "Double bonus" && document.querySelector("#said .by")?.textContent.startsWith("` + fmt.Sprint(before+len(quarter)+12) + ` ")`)
	small[[2]int64{360, 740}] = stood
	for size, stood := range small {
		b.phone(size[0], size[1])
		if now := b.places(); now != stood {
			t.Errorf("at %v what is touched has moved: from %s to %s", size, stood, now)
		}
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

// Before the game: teams, colours, rosters and league, and how late what is on air is.
func TestChromiumDeskSetsTheGameUp(t *testing.T) {
	b := browse(t)
	st := openDesks(t, nil)
	b.phone(360, 740)
	b.pair(st, "phone")
	b.tap("[data-view=setup]")
	b.until(`document.querySelector("#setup [data-setup=away] [name=roster]").value === "5 Quillon Ferr" && !document.getElementById("league").hidden`)
	const form = "#setup [data-setup=away]"
	b.write(form, "roster", "Tansy")
	b.tap(form + " button")
	b.until(`document.getElementById("said").textContent.startsWith("“Tansy” has no number")`)
	for name, value := range map[string]string{"name": "Pebble Ridge", "short": "PEB", "color": "#2466a6", "roster": "00 Quillon Dace\n#11  Ida Fenn\n\n23"} {
		b.write(form, name, value)
	}
	b.tap(form + " button")
	b.until(`document.querySelector("` + form + ` button").dataset.ack === "done"`)
	team := st.host.Game().Setup().Away
	want := []engine.RosterEntry{{Number: "00", Name: "Quillon Dace"}, {Number: "11", Name: "Ida Fenn"}, {Number: "23"}}
	if team.Name != "Pebble Ridge" || team.Short != "PEB" || (team.Colour != engine.Colour{R: 0x24, G: 0x66, B: 0xa6}) || !slices.Equal(team.Roster, want) {
		t.Errorf("the team is %+v", team)
	}
	b.tap("[data-view=air]")
	b.until(`document.querySelector("#late [name=ms]").value === "0"`)
	b.write("#late", "ms", "400")
	b.tap("#late button")
	b.until(`document.querySelector("#late button").dataset.ack === "done"`)
	if d := st.s.Delays()["bug"]; d != 400*time.Millisecond {
		t.Errorf("the bug is %v late", d)
	}
	b.tap("[data-view=setup]")
	b.write("#league", "rules", "fiba")
	b.tap("#league button")
	b.until(`document.querySelector(".timeouts").textContent.includes("Timeout 2")`) // FIBA 2024, Art. 18.2.5: two in the first half, of one kind
	if v := st.host.Game().View(st.host.Now()); v.Rules != "fiba" || v.LastEvent != 0 || v.Away.Name != "Pebble Ridge" || len(v.Away.Players) != 3 {
		t.Errorf("%s, event %d, %+v", v.Rules, v.LastEvent, v.Away)
	}
	b.tap("[data-view=game]")
	b.fits()
	b.tap("#away [data-panel=foul]")
	if kinds := tell[string](b, `[...document.querySelectorAll("#pick [name=kind]")].map((k) => k.value).join(" ")`); !strings.Contains(kinds, "unsportsmanlike") || strings.Contains(kinds, "intentional") {
		t.Errorf("its fouls are %s", kinds)
	}
	b.quietBut("403")
}
