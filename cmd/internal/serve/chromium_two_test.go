package serve

import (
	"bytes"
	"context"
	"image"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/public"
)

// A clock that ran and was stopped stands at the same thousandth everywhere: two pages, one of which came late, have the same
// bytes, and they are the frame's.
func TestTwoChromiumPagesHaveTheSameBytes(t *testing.T) {
	t.Parallel()
	first := browse(t)
	ctx, leave := chromedp.NewContext(first.ctx)
	t.Cleanup(leave)
	late := &tab{t: t, ctx: ctx}
	looks, err := testLooks()
	if err != nil {
		t.Fatal(err)
	}
	size := image.Pt(640, 360)
	st := open(t, func(c *Config) { c.Size = size })
	url := "http://" + st.addr + "/onair/bug"
	first.see(url, size)
	first.until("window.rafter?.messages > 0")
	for _, c := range []engine.Command{{Do: engine.ClockSet, Time: engine.Some(40 * time.Second)}, start, two} {
		st.do(c)
	}
	time.Sleep(1300 * time.Millisecond) // tenths pass, drawn ahead of time
	late.see(url, size)
	late.until("window.rafter?.messages > 0")
	time.Sleep(200 * time.Millisecond)
	st.do(stop)
	time.Sleep(engine.Memory + 100*time.Millisecond) // nothing moves any more
	p, err := looks.New(picture.Options{Graphic: "bug", Size: size})
	if err != nil {
		t.Fatal(err)
	}
	v := st.host.Game().View(st.host.Now())
	public.Numbers.View(&v)
	if v.Clock.Running || v.Clock.RemainingMS > 39_000 {
		t.Fatalf("%+v", v.Clock)
	}
	f, _ := p.Show(&v)
	for colour, ground := range map[string]int{"black": 0, "white": 255} {
		one, other := first.over(colour), late.over(colour)
		if n := differing(one, f, ground); n > 0 {
			t.Errorf("over %s: %d bytes differ from the frame at %s", colour, n, v.Clock.Text)
		}
		if n := differing(other, f, ground); n > 0 {
			t.Errorf("over %s: %d bytes of the page that came late differ from the frame at %s", colour, n, v.Clock.Text)
		}
	}
	if bytes.Equal(f.Pix, make([]byte, len(f.Pix))) || context.Cause(ctx) != nil {
		t.Error("nothing was compared")
	}
	first.quiet()
}
