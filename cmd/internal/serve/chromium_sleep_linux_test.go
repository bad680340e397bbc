package serve

import (
	"context"
	"fmt"
	"image"
	"net"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rafter/cmd/internal/picture"
	"rafter/engine/public"
)

// sampler keeps what a page has shown: each change, with the number of the picture from which on it was shown, and the number
// of the first picture after a sleep. A busy machine makes few pictures.
const sampler = `window.samples = [], window.pictures = 0, window.woke = 0;
(function look(before) {
	const [shows, current] = (%s)(), last = samples.at(-1);
	pictures++;
	if (Date.now() - before > 2500) woke = pictures;
	if (last?.shows !== shows || last.current !== current) samples.push({ from: pictures, shows, current });
	requestAnimationFrame(look.bind(null, Date.now()));
})(Date.now()), true`

// sample is one of these: what can be read on the page, and whether it says that it is current.
type sample struct {
	From    int    `json:"from"`
	Shows   string `json:"shows"`
	Current bool   `json:"current"`
}

// standing has a page's clock stand from its next call of fall on, for so many milliseconds: what performance.now() does while
// the whole computer sleeps. Source: clock_gettime(2), CLOCK_MONOTONIC, by which Chromium counts on Linux and Android (that from
// memory).
const standing = `(() => {
	const now = performance.now.bind(performance), naps = [];
	performance.now = () => naps.reduce((t, n) => t - Math.min(Math.max(now() - n.from, 0), n.for), now());
	window.fall = (ms) => naps.push({ from: now(), for: ms }) > 0;
})(), true`

func (b *tab) life(state page.SetWebLifecycleStateState) {
	b.t.Helper()
	if _, err := chromedp.Call(b.ctx, page.SetWebLifecycleState, page.SetWebLifecycleStateParams{State: state}); err != nil {
		b.t.Fatal(err)
	}
}

func (b *tab) window(state browser.WindowState) {
	b.t.Helper()
	w, err := chromedp.Call(b.ctx, browser.GetWindowForTarget, browser.GetWindowForTargetParams{})
	if err == nil {
		_, err = chromedp.Call(b.ctx, browser.SetWindowBounds, browser.SetWindowBoundsParams{WindowID: w.WindowID, Bounds: &browser.Bounds{WindowState: state}})
	}
	if err != nil {
		b.t.Fatal(err)
	}
}

// A phone that sleeps takes its pages along: each is right within three seconds of waking, none of them passes for current
// what it showed before, and what was touched before is not done.
func TestChromiumWakes(t *testing.T) {
	t.Parallel() // it mostly waits
	b := browse(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	g := &gate{Listener: l}
	size := image.Pt(640, 360)
	st := openDesksOn(t, g, func(c *Config) { c.Size = size })
	looks, err := testLooks()
	if err != nil {
		t.Fatal(err)
	}
	desk, bug, scores := b, browse(t), browse(t)
	desk.phone(360, 740)
	desk.pair(st, "phone")
	bug.see("http://"+st.addr+"/onair/bug", size)
	scores.see("http://"+st.addr+"/scores", image.Pt(360, 740))
	bug.until("window.rafter?.messages > 1")
	scores.until("window.rafter?.view != null && window.rafter.clock.now() !== null")
	pages := []struct {
		name, shows string
		*tab
	}{
		{"/desk", `() => [document.querySelector("#home .score").textContent + " " + document.querySelector("#away .score").textContent + " " + document.getElementById("reading").textContent, !document.body.classList.contains("off")]`, desk},
		{"/scores", `() => [document.querySelector("#home .score").textContent + " " + document.querySelector("#away .score").textContent + " " + document.getElementById("clock").textContent, document.getElementById("stale").hidden]`, scores},
		{"/onair/bug", `() => {
			const copy = document.createElement("canvas");
			copy.width = air.width; copy.height = air.height;
			copy.getContext("2d").drawImage(air, 0, 0);
			return [copy.toDataURL(), !window.rafter.lost && air.checkVisibility()];
		}`, bug},
	}
	for _, p := range pages {
		tell[bool](p.tab, standing)
		tell[bool](p.tab, fmt.Sprintf(sampler, p.shows))
	}
	signal := func(s syscall.Signal) func() {
		return func() {
			for _, p := range pages {
				for _, pid := range family(t, chromedp.FromContext(p.ctx).Browser.Process().Pid) {
					if err := syscall.Kill(pid, s); err != nil && err != syscall.ESRCH {
						t.Error(err)
					}
				}
			}
		}
	}
	// A browser freezes what nobody sees, as behind a lock screen.
	freeze := func() {
		for _, p := range pages {
			p.window(browser.WindowStateMinimized)
			p.life(page.SetWebLifecycleStateStateFrozen)
		}
	}
	thaw := func() {
		for _, p := range pages {
			p.life(page.SetWebLifecycleStateStateActive)
			p.window(browser.WindowStateNormal)
		}
	}
	defer signal(syscall.SIGCONT)()
	for _, way := range []struct {
		name       string
		fall, wake func()
	}{
		{"frozen by the browser", freeze, thaw},
		{"stopped with its browser", signal(syscall.SIGSTOP), signal(syscall.SIGCONT)},
		{"the whole device asleep, the network gone", func() {
			for _, p := range pages {
				tell[bool](p.tab, fmt.Sprintf("fall(%d)", asleep.Milliseconds()))
			}
			g.shut.Lock()
			signal(syscall.SIGSTOP)()
		}, func() {
			signal(syscall.SIGCONT)()
			g.shut.Unlock()
		}},
	} {
		t.Run(way.name, func(t *testing.T) {
			st.do(start)
			time.Sleep(700 * time.Millisecond)
			events := len(st.host.Game().Events())
			x, y := desk.point(`#home [data-do*="points\":3"]`)
			way.fall()
			fell := time.Now()
			var touching sync.WaitGroup
			touching.Go(func() { // a hand that comes too late for the page, and is heard by the browser as it wakes
				for _, m := range []input.DispatchTouchEventParams{
					{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: x, Y: y}}},
					{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}},
				} {
					m.Timestamp = input.TimeSinceEpoch(float64(fell.UnixMilli()) / 1000)
					ctx, cancel := context.WithTimeout(desk.ctx, *asleep+time.Second)
					_, err := chromedp.Call(ctx, input.DispatchTouchEvent, m)
					cancel()
					if err != nil {
						t.Logf("the touch: %v", err)
					}
				}
			})
			time.Sleep(300 * time.Millisecond)
			for range 3 {
				st.do(two)
				time.Sleep(200 * time.Millisecond)
			}
			st.do(stop)
			time.Sleep(time.Until(fell.Add(*asleep))) // nothing moves any more: engine.Memory

			v := st.host.Game().View(st.host.Now())
			public.Numbers.View(&v)
			text := fmt.Sprintf("%d %d %s", v.Home.Score, v.Away.Score, v.Clock.Text)
			p, err := looks.New(picture.Options{Graphic: "bug", Size: size})
			if err != nil {
				t.Fatal(err)
			}
			f, _ := p.Show(&v)

			woke, awake := time.Now(), st.host.Now()
			way.wake()
			for _, p := range pages {
				right := func() (string, bool) {
					now := tell[sample](p.tab, "samples.at(-1)")
					return now.Shows, now.Current && (now.Shows == text || p.tab == bug && differing(bug.over("black"), f, 0) == 0)
				}
				final, ok := right()
				for ; !ok && time.Since(woke) < 3*time.Second; final, ok = right() {
					time.Sleep(20 * time.Millisecond)
				}
				if !ok {
					t.Errorf("%s: three seconds after it has woken it shows %.60q, want %q", p.name, final, text)
					continue
				}
				t.Logf("%s: right %v after it has woken", p.name, time.Since(woke).Round(time.Millisecond))
				samples, first := tell[[]sample](p.tab, "samples"), tell[int](p.tab, "woke")
				for i, s := range samples[:len(samples)-1] {
					if n := samples[i+1].From - max(s.From, first); n > 4 && s.Current && s.Shows != final { // a script has to run first
						t.Errorf("%s: awake it passes %.60q for current in %d pictures", p.name, s.Shows, n)
					}
				}
				if first == 0 {
					t.Errorf("%s has not slept", p.name)
				}
				tell[int](p.tab, "woke = 0, samples.splice(0).length")
			}
			touching.Wait()
			time.Sleep(300 * time.Millisecond)
			if list := st.host.Game().Events(); len(list) != events+4 {
				for _, ev := range list[events:] {
					t.Errorf("what was touched before was done: %v by %s, %v after it has woken", ev.Command.Do, ev.Desk, ev.At.Sub(awake))
				}
			}
			t.Logf("the desk says %q", tell[string](desk, `document.getElementById("said").textContent`))
			desk.tap(`#away [data-do*="points\":1"]`)
			if ev := st.keyed(events + 5)[events+4]; ev.Desk != "phone" || ev.Command.Points != 1 {
				t.Errorf("awake, the desk keyed %+v", ev)
			}
		})
	}
	b.quietBut("403")
}
