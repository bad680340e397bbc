package follow

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"flag"
	"image"
	"net"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gorilla/websocket"
	"go.uber.org/goleak"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/networktest"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
	"rafter/engine/enginetest/race"
	"rafter/engine/feed"
	"rafter/engine/public"
)

func TestMain(m *testing.M) {
	flag.Parse()
	goleak.VerifyTestMain(m)
}

var testLooks = sync.OnceValues(func() (*picture.Looks, error) { return picture.Load("maple") })

var (
	start = engine.Command{Do: engine.ClockStart}
	stop  = engine.Command{Do: engine.ClockStop}
	two   = engine.Command{Do: engine.Score, Team: engine.Home, Points: 2, By: "12"}
	named = engine.Command{Do: engine.Roster, Team: engine.Home, By: "12", Text: "Quillon New"}
)

// gym is a host that is served.
type gym struct {
	t    testing.TB
	host *host.Host
	stop func()
}

// begin opens a host with a game of its own and serves it.
func begin(t testing.TB, l net.Listener, names public.Names) *gym {
	t.Helper()
	h, _, err := host.Open(host.Config{Setup: enginetest.Quillons(), Time: host.SystemTime()})
	if err != nil {
		t.Fatal(err)
	}
	g := served(t, l, h, names)
	end := g.stop
	g.stop = sync.OnceFunc(func() { end(); _ = h.Close() })
	t.Cleanup(g.stop)
	return g
}

// served serves a host until stopped.
func served(t testing.TB, l net.Listener, h *host.Host, names public.Names) *gym {
	t.Helper()
	looks, err := testLooks()
	if err != nil {
		t.Fatal(err)
	}
	s, err := serve.New(serve.Config{Host: h, Time: host.SystemTime(), Looks: looks, Size: image.Pt(640, 360), Program: "rafter test", Names: names})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	g := &gym{t: t, host: h}
	g.stop = sync.OnceFunc(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	t.Cleanup(g.stop)
	return g
}

func (g *gym) do(c engine.Command) {
	g.t.Helper()
	if _, _, err := g.host.Do("keys", c); err != nil {
		g.t.Fatal(err)
	}
}

// join follows, and ends with the test.
func join(t testing.TB, c Config) *Client {
	t.Helper()
	f, err := Open(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f
}

// drifting is a computer whose clock counts from another zero and runs a few parts in a million too fast.
func drifting(ppm int64, zero time.Duration) host.Time {
	began := time.Now()
	t := host.SystemTime()
	t.Now = func() time.Duration {
		d := time.Since(began)
		return zero + d + time.Duration(int64(d)/1e6*ppm)
	}
	return t
}

// Ten minutes through 80 ± 40 ms with 1 % loss: the clocks of all who follow are within 5 ms of the host's in 99 of 100
// readings after the first minute, ten a second of each, and at no time run back. Then the network is cut for 30 s: within
// 3 s of its end every clock is right again. Time is the test's own here, so that nothing but the network is measured.
func TestClocksThroughAWobblyNetwork(t *testing.T) {
	many := 8
	if race.Enabled {
		many = 2
	}
	synctest.Test(t, func(t *testing.T) {
		l := networktest.NewHall(28150)
		g := begin(t, l, public.FullNames)
		n := networktest.Wobbly(1)
		n.Listen = l.Dial
		var all []*Client
		for i := range many {
			all = append(all, join(t, Config{URL: "http://10.0.0.1:28150", Dial: n.Dial, Time: drifting(int64(20*i-70), time.Duration(i)*time.Hour)}))
		}
		g.do(start)
		off := func(f *Client) time.Duration { return f.Host().Now().Sub(g.host.Now()) }
		var errors []time.Duration
		last := make([]clock.Instant, many)
		watch := func(d time.Duration, measure bool) {
			t.Helper()
			for end := time.Now().Add(d); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
				for i, f := range all {
					now := f.Host().Now()
					if now < last[i] {
						t.Fatalf("follower %d: the clock ran back by %v", i, last[i].Sub(now))
					}
					last[i] = now
					if measure {
						errors = append(errors, max(off(f), -off(f)))
					}
				}
			}
		}
		watch(time.Minute, false)
		watch(4*time.Minute, true)
		g.do(engine.Command{Do: engine.GameNew}) // another game's clock is another, and as good at once
		time.Sleep(500 * time.Millisecond)
		clear(last)
		g.do(start)
		watch(5*time.Minute, true)
		slices.Sort(errors)
		p99 := errors[len(errors)*99/100]
		t.Logf("%d readings: half within %v, 99 of 100 within %v, all within %v", len(errors), errors[len(errors)/2], p99, errors[len(errors)-1])
		if len(errors) < 9*60*10*many || p99 > 5*time.Millisecond {
			t.Errorf("%d readings; 99 of 100 within %v", len(errors), p99)
		}

		// The cut; something happens meanwhile.
		n.SetCut(true)
		watch(15*time.Second, false)
		g.do(two)
		for i, f := range all {
			if silent := f.Host().Silent(); silent < 14*time.Second || silent > 16*time.Second {
				t.Errorf("follower %d has heard nothing for %v", i, silent)
			}
		}
		watch(15*time.Second, false)
		n.SetCut(false)
		watch(3*time.Second, false)
		for i, f := range all {
			v := f.Host().Game().View(f.Host().Now())
			if o := off(f); max(o, -o) > 5*time.Millisecond || v.Home.Score != 2 || f.Host().Silent() >= host.StaleAfter {
				t.Errorf("3 s after the cut follower %d is off by %v, shows %d, has heard nothing for %v", i, o, v.Home.Score, f.Host().Silent())
			}
		}
		for _, f := range all {
			_ = f.Close()
		}
		g.stop()
		n.Wait()
	})
}

var realFor = flag.Duration("real", 0, "measure clocks over TCP in real time for so long, after a minute (dev soak does)")

// The same in real time and over real sockets, for as long as is asked: what virtual time leaves out is the machine.
func TestClocksInRealTime(t *testing.T) {
	if *realFor == 0 {
		t.Skip("not asked for with -args -real 9m")
	}
	const many = 4
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	g := begin(t, l, public.FullNames)
	n := networktest.Wobbly(2)
	n.Listen = (&net.Dialer{}).DialContext
	var all []*Client
	for i := range many {
		all = append(all, join(t, Config{URL: "http://" + l.Addr().String(), Dial: n.Dial, Time: drifting(int64(40*i-60), time.Duration(i)*time.Hour)}))
	}
	g.do(start)
	last := make([]clock.Instant, many)
	read := func(i int) time.Duration {
		for {
			before := g.host.Now()
			now := all[i].Host().Now()
			after := g.host.Now()
			if after.Sub(before) > 200*time.Microsecond {
				continue // this program was held up between
			}
			if now < last[i] {
				t.Fatalf("follower %d: the clock ran back by %v", i, last[i].Sub(now))
			}
			last[i] = now
			return now.Sub(before)
		}
	}
	var off []time.Duration
	watch := func(d time.Duration, measure bool) {
		for end := time.Now().Add(d); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
			for i := range all {
				if o := read(i); measure {
					off = append(off, max(o, -o))
				}
			}
		}
	}
	watch(time.Minute, false)
	watch(*realFor, true)
	slices.Sort(off)
	p99 := off[len(off)*99/100]
	t.Logf("%d readings: half within %v, 99 of 100 within %v, all within %v", len(off), off[len(off)/2], p99, off[len(off)-1])
	if p99 > 5*time.Millisecond {
		t.Errorf("99 of 100 within %v", p99)
	}
	n.SetCut(true)
	watch(30*time.Second, false)
	n.SetCut(false)
	watch(3*time.Second, false)
	for i, f := range all {
		if o := read(i); max(o, -o) > 5*time.Millisecond || f.Host().Silent() >= host.StaleAfter {
			t.Errorf("3 s after a cut of 30 s follower %d is off by %v and has heard nothing for %v", i, o, f.Host().Silent())
		}
	}
	for _, f := range all {
		_ = f.Close()
	}
	n.Wait()
}

// A host of a host of a host shows the same game, through corrections, another game and a start anew, with names no fuller
// than the first lets out.
func TestAChainOfHosts(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		halls := [3]*networktest.Hall{networktest.NewHall(1), networktest.NewHall(2), networktest.NewHall(3)}
		a := begin(t, halls[0], public.Initials)
		a.do(start)
		var b, c *Client
		b = join(t, Config{URL: "http://10.0.0.1:1", Dial: halls[0].Dial})
		bs := served(t, halls[1], b.Host(), public.FullNames)
		c = join(t, Config{URL: "ws://10.0.0.1:2/feed", Dial: halls[1].Dial})
		for _, command := range []engine.Command{two, named, {Do: engine.ShowLower, Team: engine.Home, By: "12"}, {Do: engine.Undo}, stop, {Do: engine.GameNew}, start, two, {Do: engine.Void, Event: 2}} {
			a.do(command)
			time.Sleep(1300 * time.Millisecond)
		}
		if via := c.Host().Snapshot().Via; len(via) != 3 || via[0] != a.host.Self() || via[1] != b.Host().Self() || via[2] != c.Host().Self() {
			t.Errorf("it comes through %v", via)
		}
		v := c.Host().Game().View(c.Host().Now())
		if name := v.Home.Players[0].Name; name != "Q. N." || v.Home.Score != 0 || !v.Clock.Running {
			t.Errorf("the third host shows %q, %d", name, v.Home.Score)
		}
		names := public.Initials
		for _, ago := range []time.Duration{0, 700 * time.Millisecond, 3 * time.Second, 8 * time.Second} { // the last of the game before
			var want, got engine.View
			a.host.Shown(&want, ago)
			names.View(&want)
			c.Host().Shown(&got, ago)
			// Two ways without jitter are known to a few microseconds.
			if d := time.Duration(want.At - got.At); max(d, -d) > time.Millisecond {
				t.Fatalf("%v ago the clocks are %v apart", ago, d)
			}
			got.At = want.At
			x, _ := json.Marshal(&want)
			y, _ := json.Marshal(&got)
			if string(x) != string(y) {
				t.Errorf("%v ago the third host showed\n%s\nwant\n%s", ago, y, x)
			}
		}
		if _, _, err := c.Host().Do("keys", two); err == nil {
			t.Error("a host that follows takes a command")
		}

		// When the first is lost, the third knows, too: it is not its own source that is silent.
		a.stop()
		time.Sleep(5 * time.Second)
		if s := c.Host().Silent(); s < 4*time.Second || s > 6*time.Second {
			t.Errorf("the third host takes the first for silent for %v", s)
		}
		for _, f := range []*Client{c, b} {
			_ = f.Close()
		}
		bs.stop()
	})
}

// With the fingerprint that a person compared, a certificate of the host's own making is good enough; a clean end leaves
// nothing behind (TestMain looks).
func TestAHostWithACertificateOfItsOwn(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	cert, err := access.Certificate(filepath.Join(t.TempDir(), "certificate.pem"), nil, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	g := begin(t, tls.NewListener(l, &tls.Config{Certificates: []tls.Certificate{cert}}), public.Numbers)
	g.do(two)
	f := join(t, Config{URL: "https://" + l.Addr().String(), Fingerprint: access.Fingerprint(cert.Leaf.Raw)})
	if v := f.Host().Game().View(f.Host().Now()); v.Home.Score != 2 || v.Home.Players[0].Name != "" {
		t.Errorf("it shows %d, %q", v.Home.Score, v.Home.Players[0].Name)
	}
	_, err = Open(t.Context(), Config{URL: "https://" + l.Addr().String()})
	if err == nil || !strings.Contains(err.Error(), access.Fingerprint(cert.Leaf.Raw)) {
		t.Errorf("without it: %v", err)
	}
}

// A relay that asks nothing for ten seconds is gone, so that one that comes back again and again does not take all places.
func TestARelayThatAsksNothingIsDropped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := networktest.NewHall(1)
		g := begin(t, l, public.Numbers)
		d := websocket.Dialer{NetDialContext: l.Dial}
		conn, _, err := d.Dial("ws://10.0.0.1:1/feed", nil)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close()
		opening, err := feed.Encode(feed.Opening{Versions: []int{feed.Version}, Role: feed.Relay})
		if err == nil {
			err = conn.WriteMessage(websocket.TextMessage, opening)
		}
		if err != nil {
			t.Fatal(err)
		}
		began := time.Now()
		var last any
		for {
			_, data, err := conn.ReadMessage()
			if err != nil {
				break
			}
			if last, err = feed.FromHost(data); err != nil {
				t.Fatal(err)
			}
		}
		if p, ok := last.(*feed.Problem); !ok || p.Code != feed.NoMessageCame || time.Since(began) != 10*time.Second {
			t.Errorf("after %v: %+v", time.Since(began), last)
		}
		g.stop()
	})
}

func TestWaitingEndsWithItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := networktest.NewHall(1)
		_ = h.Close()
		ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
		defer cancel()
		tries, told := 0, 0
		began := time.Now()
		_, err := Open(ctx, Config{URL: "http://10.0.0.1:1", Waits: func(string) { told++ }, Dial: func(ctx context.Context, kind, address string) (net.Conn, error) {
			tries++
			return h.Dial(ctx, kind, address)
		}})
		// At most a second from one to the next, and on average three quarters.
		if err == nil || time.Since(began) != time.Minute || tries < 60 || tries > 130 || told != 1 {
			t.Errorf("after %v and %d tries, of which was told %d times: %v", time.Since(began), tries, told, err)
		}
	})
}

// sameGame checks that two hosts show the same at an instant.
func sameGame(t *testing.T, a, b *host.Host, at clock.Instant) {
	t.Helper()
	x, y := a.Game(), b.Game()
	vx, vy := x.Until(at).View(at), y.Until(at).View(at)
	jx, _ := json.Marshal(&vx)
	jy, _ := json.Marshal(&vy)
	if string(jx) != string(jy) {
		t.Errorf("at %v one shows\n%s\nthe other\n%s", at, jx, jy)
	}
}
