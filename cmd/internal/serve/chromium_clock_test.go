package serve

import (
	"context"
	"encoding/json"
	"image"
	"math"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"rafter/cmd/internal/host"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/feed"
)

// A host that has its game from another serves pages that say so when it has lost that one, though it is there itself, and
// no more when it hears it again.
func TestChromiumSaysThatTheHostHearsNothing(t *testing.T) {
	t.Parallel() // it mostly waits
	b := browse(t)
	far, _, err := host.Open(host.Config{Setup: enginetest.Quillons()})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = far.Close() }()
	snap := far.Snapshot()
	began := host.SystemTime()
	h, source, err := host.OpenFollowing(t.Context(), began, nil, "the gym", host.Followed{
		ID: snap.ID, Via: snap.Via, Setup: snap.Game.Opening(), Instant: func(local time.Duration) clock.Instant { return clock.Instant(local) },
	})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = h.Close() }()
	size := image.Pt(640, 360)
	st := open(t, func(c *Config) { c.Host, c.Size = h, size })
	for _, page := range []struct{ path, says string }{
		{"/scores", `!document.getElementById("stale").hidden`}, {"/onair/bug", `mark.checkVisibility()`},
	} {
		ctx, cancel := context.WithCancel(t.Context())
		var heart sync.WaitGroup
		heart.Go(func() {
			for ctx.Err() == nil {
				source.Heard(0)
				time.Sleep(50 * time.Millisecond)
			}
		})
		b.see("http://"+st.addr+page.path, size)
		b.until(`document.readyState === "complete"`)
		time.Sleep(3 * time.Second)
		if tell[bool](b, page.says) {
			t.Errorf("%s: it is current and says that it is not", page.path)
		}
		cancel()
		heart.Wait()
		b.until(page.says)
		if s := h.Silent(); s < host.StaleAfter || s > 3*host.StaleAfter {
			t.Errorf("%s: it said so after %v", page.path, s)
		}
		for end := time.Now().Add(5 * time.Second); tell[bool](b, page.says) && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
			source.Heard(0)
		}
		if tell[bool](b, page.says) {
			t.Errorf("%s: the host is heard again and it says that it is not", page.path)
		}
	}
	b.quiet()
}

// The pages' clock and the programs' are twins: the same exchanges over 80 ms ± 40 ms, with clocks that drift, a host that
// sleeps and whose instants begin anew, known beforehand or not, give the same readings, to a microsecond.
func TestChromiumReadsTheSameClock(t *testing.T) {
	b := browse(t)
	st := open(t, nil)
	b.see("http://"+st.addr+"/scores", st.s.size)
	tell[bool](b, `import("/page/link.js").then((m) => { window.HostClock = m.HostClock }), true`)
	b.until("!!window.HostClock")

	type exchange struct {
		Asked, Received, Sent, Answered int64
		Forget                          bool  // before it
		Shift                           int64 // likewise, by so much
	}
	random := rand.New(rand.NewPCG(4, 9))
	leg := func() int64 { return 40e6 + random.Int64N(80e6) }
	var e feed.Estimate
	var sent []exchange
	var want []int64
	ahead, last := int64(5e12), int64(0)
	for i := range 3000 {
		asked := int64(1e9) + int64(i)*250e6
		shift := int64(0)
		switch i {
		case 1300:
			ahead -= 3e9 // the host slept
		case 1900:
			ahead += 4e8 // this computer did, and not for long
		case 2500:
			ahead -= 6e12
		case 2700:
			shift = -7e12
			ahead += shift // another game has begun, whose zero is known
		}
		up, down := leg(), leg()
		host := func(local int64) int64 { return local + ahead + local/1e6*60 }
		x := exchange{asked, host(asked + up), host(asked+up) + 30e3, asked + up + down + 30e3, i == 700, shift}
		if x.Answered < last { // what comes is in order
			x.Answered = last
		}
		last = x.Answered
		if x.Forget {
			e.Forget()
		}
		e.Shift(x.Shift)
		if e.Add(feed.Sample{Asked: x.Asked, Received: x.Received, Sent: x.Sent, Answered: x.Answered}) != nil {
			continue
		}
		sent = append(sent, x)
		for _, later := range []int64{0, 20e6, 90e6} {
			want = append(want, e.Host(x.Answered+later))
		}
	}
	text, err := json.Marshal(sent)
	if err != nil {
		t.Fatal(err)
	}
	got := tell[[]float64](b, `(() => {
		const clock = new HostClock(), read = [];
		for (const x of `+string(text)+`) {
			if (x.Forget) clock.forget();
			clock.shift(x.Shift / 1e6);
			if (!clock.add(x.Asked / 1e6, x.Received / 1e6, x.Sent / 1e6, x.Answered / 1e6)) return [];
			for (const later of [0, 20, 90]) read.push(clock.now(x.Answered / 1e6 + later));
		}
		return read;
	})()`)
	if len(sent) < 2900 || len(got) != len(want) {
		t.Fatalf("%d exchanges, %d readings of %d", len(sent), len(got), len(want))
	}
	for i, w := range want {
		if off := got[i] - float64(w)/1e6; math.Abs(off) > 0.001 {
			t.Fatalf("after exchange %d the page is off by %v from %v", i/3, time.Duration(off*1e6), time.Duration(w))
		}
	}
}
