package serve

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"rafter/engine/feed"
)

// The pages' clock and the programs' are twins: the same exchanges over 80 ms ± 40 ms, with clocks that drift, a host that
// sleeps and one whose instants begin anew, give the same readings, to a microsecond.
func TestChromiumReadsTheSameClock(t *testing.T) {
	b := browse(t)
	st := open(t, nil)
	b.see("http://"+st.addr+"/scores", st.s.size)
	tell[bool](b, `import("/page/link.js").then((m) => { window.HostClock = m.HostClock }), true`)
	b.until("!!window.HostClock")

	type exchange struct {
		Asked, Received, Sent, Answered int64
		Forget                          bool // before it
	}
	random := rand.New(rand.NewPCG(4, 9))
	leg := func() int64 { return 40e6 + random.Int64N(80e6) }
	var e feed.Estimate
	var sent []exchange
	var want []int64
	ahead, last := int64(5e12), int64(0)
	for i := range 3000 {
		asked := int64(1e9) + int64(i)*250e6
		switch i {
		case 1300:
			ahead -= 3e9 // the host slept
		case 1900:
			ahead += 4e8 // this computer did, and not for long
		case 2500:
			ahead -= 6e12
		}
		up, down := leg(), leg()
		host := func(local int64) int64 { return local + ahead + local/1e6*60 }
		x := exchange{asked, host(asked + up), host(asked+up) + 30e3, asked + up + down + 30e3, i == 700}
		if x.Answered < last { // what comes is in order
			x.Answered = last
		}
		last = x.Answered
		if x.Forget {
			e.Forget()
		}
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
