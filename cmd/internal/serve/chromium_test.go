package serve

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"net"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest/race"
	"rafter/engine/public"
	"rafter/overlay/frame"
)

var asleep = flag.Duration("asleep", 4500*time.Millisecond, "of TestChromiumWakes: for how long, each way of it")

// tab is a page in a browser.
type tab struct {
	t    testing.TB
	ctx  context.Context
	mu   sync.Mutex
	says []string // on its console
}

// browse opens a browser, for this test alone.
func browse(t testing.TB) *tab {
	t.Helper()
	if race.Enabled || testing.Short() {
		t.Skip("not run: the race detector and -short leave out other programs")
	}
	if _, err := exec.LookPath("chromium"); err != nil {
		t.Skip("there is no chromium here: go run ./cmd/dev test installs it")
	}
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute+3**asleep)
	all, end := chromedp.NewExecAllocator(ctx, chromedp.DefaultExecAllocatorOptions[:]...)
	ctx, stop := chromedp.NewContext(all)
	b := &tab{t: t, ctx: ctx}
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	heard := make(chan struct{})
	messages := chromedp.Console(ctx)
	go func() {
		defer close(heard)
		for m, err := range messages {
			if err != nil {
				return
			}
			b.mu.Lock()
			b.says = append(b.says, fmt.Sprintf("%+v", m))
			b.mu.Unlock()
		}
	}()
	t.Cleanup(func() {
		_ = chromedp.Cancel(ctx)
		stop()
		end()
		cancel()
		<-heard
	})
	return b
}

func (b *tab) see(url string, size image.Point) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, chromedp.EmulateViewport(int64(size.X), int64(size.Y)), chromedp.Navigate(url)); err != nil {
		b.t.Fatal(err)
	}
}

// tell evaluates an expression in the page.
func tell[T any](b *tab, expression string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// until waits for an expression of the page to be true.
func (b *tab) until(expression string) {
	b.t.Helper()
	for end := time.Now().Add(15 * time.Second); !tell[bool](b, expression); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			b.t.Fatalf("it never came about that %s; the console says %v", expression, b.says)
		}
	}
}

// over takes a picture of the page over a colour.
func (b *tab) over(colour string) image.Image {
	b.t.Helper()
	tell[string](b, `document.documentElement.style.background = "`+colour+`"`)
	shot, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Fatal(err)
	}
	m, err := png.Decode(bytes.NewReader(shot))
	if err != nil {
		b.t.Fatal(err)
	}
	return m
}

// differing counts the bytes in which a picture of the page differs from the frame over black (0) or white (255). Over
// the one a premultiplied pixel is itself, over the other itself and what its alpha lets through: both are exact.
// Source: W3C Compositing and Blending Level 1, section 9.1.4, source over.
func differing(m image.Image, f *frame.Frame, ground int) (n int) {
	if m.Bounds() != f.Bounds() {
		return len(f.Pix)
	}
	for y := range f.H {
		row := f.Row(y, 0, f.W)
		for x := range f.W {
			got := color.NRGBAModel.Convert(m.At(x, y)).(color.NRGBA)
			p := row[4*x:]
			through := ground * (255 - int(p[3])) / 255
			for i, c := range [3]uint8{got.R, got.G, got.B} {
				if int(c) != int(p[i])+through {
					n++
				}
			}
		}
	}
	return n
}

func TestChromiumShowsTheFrame(t *testing.T) {
	t.Parallel()
	b := browse(t)
	looks, err := testLooks()
	if err != nil {
		t.Fatal(err)
	}
	cases := 0
	for size, names := range map[image.Point]int{{X: 640, Y: 360}: len(outputNames()), {X: 1920, Y: 1080}: 3} {
		st := open(t, func(c *Config) { c.Size = size })
		for _, c := range []engine.Command{start, two, {Do: engine.Foul, Team: engine.Away, By: "5"}, stop, {Do: engine.ShowLower, Team: engine.Home, By: "12"}, {Do: engine.Show, Text: "wall"}} {
			st.do(c)
		}
		time.Sleep(3100 * time.Millisecond) // nothing moves any more: engine.Memory
		for _, name := range outputNames()[:names] {
			b.see("http://"+st.addr+"/onair/"+name, size)
			b.until("window.rafter && window.rafter.messages > 0")
			p, err := looks.New(picture.Options{Graphic: name, Size: size})
			if err != nil {
				t.Fatal(err)
			}
			v := st.host.Game().View(clock.Instant(st.host.Now()))
			public.Numbers.View(&v)
			f, _ := p.Show(&v)
			for _, g := range []struct {
				colour string
				ground int
			}{{"black", 0}, {"white", 255}} {
				if n := differing(b.over(g.colour), f, g.ground); n > 0 {
					t.Errorf("%s %v over %s: %d bytes differ", name, size, g.colour, n)
				}
			}
			box := p.Box().Size()
			if got := image.Pt(tell[int](b, "air.width"), tell[int](b, "air.height")); got != box && name != "blank" {
				t.Errorf("%s: the canvas is %v, the graphic's box %v", name, got, box)
			}
			cases++
		}
		st.stop()
	}
	if cases < 12 {
		t.Errorf("%d cases", cases)
	}
	b.quiet()
}

// quiet checks that the console said nothing: a broken policy or script speaks there.
func (b *tab) quiet() {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, s := range b.says {
		if !strings.Contains(s, "WebSocket") && !strings.Contains(s, "ERR_CONNECTION_REFUSED") {
			b.t.Errorf("the console says %s", s)
		}
	}
}

func TestChromiumSaysWhatIsNotCurrent(t *testing.T) {
	t.Parallel()
	b := browse(t)
	size := image.Pt(640, 360)
	st := open(t, func(c *Config) { c.Size = size })
	b.see("http://"+st.addr+"/onair/bug", size)
	b.until("window.rafter && window.rafter.messages > 0")
	if tell[bool](b, `document.getElementById("mark").checkVisibility()`) {
		t.Error("a page that is current says that it is not")
	}
	b.until(`document.getElementById("air").getAttribute("aria-label").startsWith("Hollow Creek 0, Marrow Hill 0. 1st, 8:00 left. ")`)
	// Hidden it has no socket; seen again it has the whole frame.
	watched := func() bool {
		_, text := st.get("/metrics", nil)
		return strings.Contains(text, `rafter_viewers{output="bug"} 1`)
	}
	if !watched() {
		t.Error("the page is not counted")
	}
	tell[bool](b, `Object.defineProperty(document, "hidden", { value: true, configurable: true }), document.dispatchEvent(new Event("visibilitychange"))`)
	for n := 0; watched(); n++ {
		if n > 200 {
			t.Fatal("a page that nobody sees is still sent frames")
		}
		time.Sleep(10 * time.Millisecond)
	}
	tell[bool](b, `Object.defineProperty(document, "hidden", { value: false, configurable: true }), window.rafter.messages = 0, document.dispatchEvent(new Event("visibilitychange"))`)
	b.until("window.rafter && window.rafter.messages > 0")

	st.stop()
	began := time.Now()
	b.until(`mark.checkVisibility() && window.rafter.lost`)
	if after := time.Since(began); after < 1200*time.Millisecond || after > 4*time.Second { // two seconds after the last beat
		t.Errorf("it said so after %v", after)
	}
	if tell[bool](b, `(() => { const a = air.getBoundingClientRect(), m = mark.getBoundingClientRect();
		return m.top < a.bottom && m.bottom > a.top && m.left < a.right && m.right > a.left })()`) {
		t.Errorf("it says so inside the bug's box: %s", tell[string](b, `JSON.stringify([air.getBoundingClientRect(), mark.getBoundingClientRect()])`))
	}
	time.Sleep(time.Second)
	if !tell[bool](b, "window.rafter.lost && mark.checkVisibility()") {
		t.Error("trying again looks like being current")
	}
	// The host is there again, at its address.
	back := again(t, st.addr, size)
	back.do(two)
	began = time.Now()
	b.until("!window.rafter.lost && !mark.checkVisibility()")
	if after := time.Since(began); after > 3*time.Second {
		t.Errorf("right again after %v", after)
	}
}

// A browser that cannot unpack what the host sends says so, and does not blame the host.
func TestChromiumSaysThatABrowserIsTooOld(t *testing.T) {
	b := browse(t)
	st := open(t, nil)
	p := page.AddScriptToEvaluateOnNewDocumentParams{Source: `const now = DecompressionStream; DecompressionStream = function (form) { if (form === "deflate-raw") throw new TypeError(); return new now(form); }`}
	if _, err := chromedp.Call(b.ctx, page.AddScriptToEvaluateOnNewDocument, p); err != nil {
		t.Fatal(err)
	}
	b.see("http://"+st.addr+"/onair/bug", st.s.size)
	b.until(`mark.checkVisibility() && mark.textContent === "not current: this browser is too old for this page"`)
	b.quietBut("TypeError")
}

// again opens a host where one was.
func again(t *testing.T, addr string, size image.Point) *stand {
	t.Helper()
	l, err := net.Listen("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	return openOn(t, l, func(c *Config) { c.Size = size })
}

func TestChromiumReadsTheScore(t *testing.T) {
	t.Parallel()
	b := browse(t)
	st := open(t, nil)
	b.see("http://"+st.addr+"/scores", image.Pt(320, 640))
	b.until(`window.rafter && window.rafter.view !== null && window.rafter.clock.now() !== null`)
	// Nothing runs out of its place, with text twice as large too. Source: WCAG 2.2, SC 1.4.4 and 1.4.10.
	for _, large := range []string{"200%", "100%"} {
		if wide := tell[[]int](b, `document.documentElement.style.fontSize = "`+large+`", ["html", "#home", "#away", "table"].map((s) => document.querySelector(s)).map((e) => e.scrollWidth - e.clientWidth)`); slices.Max(wide) > 0 {
			t.Errorf("at 320 pixels, text of %s: page, teams and table are too wide by %v", large, wide)
		}
	}
	st.do(start)
	st.do(two)
	b.until(`document.querySelector("#home [data-is=score]").textContent === "2"`)
	if said := tell[string](b, `document.getElementById("told").textContent`); said != "Hollow Creek 2, Marrow Hill 0" {
		t.Errorf("a screen reader says %q", said)
	}
	lately := func() string { return tell[string](b, `document.getElementById("lately").innerHTML`) }
	if list := lately(); !strings.Contains(list, "<span><bdi>Hollow Creek</bdi>: 2 points (12)</span>") {
		t.Errorf("lately: %q", list)
	}
	// What was taken back is struck out, also for who comes later.
	st.do(engine.Command{Do: engine.Undo})
	b.until(`document.querySelector("#lately del") !== null`)
	before := lately()
	b.see("http://"+st.addr+"/scores", image.Pt(320, 640))
	b.until(`document.querySelector("#lately li") !== null`)
	if list := lately(); list != before || !strings.Contains(list, "<del><bdi>Hollow Creek</bdi>: 2 points (12)</del>") {
		t.Errorf("lately: %q, and opened later %q", before, list)
	}
	// Its clock is the host's, to the second that is shown; looked at where neither is about to change.
	matches := 0
	for range 40 {
		time.Sleep(60 * time.Millisecond)
		page := tell[string](b, `window.rafter.tick(), document.getElementById("clock").textContent`)
		v := st.host.Game().View(st.host.Now())
		if rest := v.Clock.RemainingMS % 1000; rest < 150 || rest > 850 {
			continue
		}
		if matches++; page != v.Clock.Text.String() {
			t.Errorf("the page shows %s, the host %s (%d ms)", page, v.Clock.Text, v.Clock.RemainingMS)
		}
	}
	if matches < 10 {
		t.Errorf("%d looks", matches)
	}
	// Its readings are the engine's.
	for _, d := range []clock.Display{{}, {Rounding: clock.Ceil}, {TenthsBelow: time.Minute}, {Rounding: clock.Ceil, TenthsBelow: time.Minute}, {TenthsBelow: 2 * time.Hour}} {
		rounding := "floor"
		if d.Rounding == clock.Ceil {
			rounding = "ceil"
		}
		display := fmt.Sprintf(`{ rounding: %q, tenths_below_ms: %d }`, rounding, d.TenthsBelow.Milliseconds())
		for _, ms := range []int64{0, 1, 99, 100, 5_049, 59_900, 59_901, 59_950, 60_000, 60_001, 61_234, 599_999, 3_599_999, 3_600_000, 3_723_456} {
			if got, want := tell[string](b, fmt.Sprintf("window.rafter.reading(%d, %s)", ms, display)), d.Text(time.Duration(ms)*time.Millisecond).String(); got != want {
				t.Errorf("%+v: %d ms read %s, want %s", d, ms, got, want)
			}
		}
	}
	// Between periods there is the interval's clock, also on the page as it is made here; what ends is told from what begins.
	st.do(stop)
	for _, says := range []string{"End", "Beginning"} {
		st.do(engine.Command{Do: engine.PeriodNext})
		b.until(`document.querySelector("#lately li").textContent.endsWith("` + says + ` of the period")`)
		if says == "End" {
			reading := st.host.Game().View(st.host.Now()).Interval.Value.Text.String()
			b.until(`document.getElementById("clock").textContent === "` + reading + `"`)
			if _, page := st.get("/scores", nil); !strings.Contains(page, ">"+reading+"</div>") {
				t.Errorf("without a script the interval's %s is not there:\n%s", reading, page)
			}
		}
	}
	// The final says so without a clock, when it comes and to who comes later.
	st.do(engine.Command{Do: engine.GameOver})
	final := `document.getElementById("period").textContent === "Final" && !document.getElementById("clock").checkVisibility()`
	b.until(final)
	b.see("http://"+st.addr+"/scores", image.Pt(320, 640))
	b.until(final)
	if tell[bool](b, `document.querySelector("#home .soft").checkVisibility()`) {
		t.Error("a final counts fouls")
	}
	// What is not current is said where it is seen, and is printed.
	tell[bool](b, `scrollTo(0, document.documentElement.scrollHeight), true`)
	b.quiet()
	st.stop()
	b.until(`document.getElementById("stale").checkVisibility()`)
	if box := tell[string](b, `(({ top, bottom }) => top > 0 && bottom === innerHeight ? "" : top + " to " + bottom + " of " + innerHeight)(document.getElementById("stale").getBoundingClientRect())`); box != "" {
		t.Errorf("that the page is not current stands at %s", box)
	}
	p := emulation.SetEmulatedMediaParams{Media: "print"}
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, p); err != nil {
		t.Fatal(err)
	}
	if !tell[bool](b, `document.getElementById("stale").checkVisibility() && !document.getElementById("lately").checkVisibility()`) {
		t.Error("on paper there is no word of it")
	}
}
