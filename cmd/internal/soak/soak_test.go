package soak

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"image"
	"math/rand/v2"
	"net"
	"os"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"

	"rafter/cmd/internal/follow"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/networktest"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
	"rafter/engine"
	"rafter/engine/enginetest"
	"rafter/engine/public"
)

var length = flag.Duration("length", 4*time.Second, "how long the gym is open")

func TestMain(m *testing.M) {
	flag.Parse()
	goleak.VerifyTestMain(m)
}

const (
	eventsASecond = 100  // asked for; the game refuses some
	eventsATale   = 1500 // of which the game refuses some
	readers       = 12   // of the feed, half of them on the host that follows
	pagesOfEach   = 4
	aGame         = time.Minute      // then another begins
	half          = 15 * time.Second // of play, then a rest in which all is compared
	settles       = time.Minute      // a clock that is followed, and what is kept to be used again
	lookEvery     = 100 * time.Millisecond
)

var size = image.Pt(640, 360)

// gym is all of it.
type gym struct {
	t       testing.TB
	looks   *picture.Looks
	time    host.Time
	host    *host.Host
	relay   *follow.Client
	network *networktest.Network
	sites   [2]*site // of the host, and of the relay
	readers []*reader
	pages   []*page
	tale    []engine.Event // still to be played
	over    time.Time      // the end of this game
	events  int
	right   time.Time // from when on the clocks have to be together
	off     []time.Duration
	samples []sample
}

// sample is what the process holds.
type sample struct{ heap, goroutines, files int }

// A game at full speed, and another when it is over, with viewers of the host and of one that follows it through a bad
// network, who stall and are cut off: in each rest all of them show what the host shows, and in the end no memory, goroutine
// or file is left that was not there at the beginning, and the clocks are together.
func TestTheGymStaysOpen(t *testing.T) {
	g := &gym{t: t, time: host.SystemTime(), network: networktest.Wobbly(1)}
	var err error
	if g.looks, err = picture.Load("maple"); err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if g.host, _, err = host.Open(host.Config{Folder: folder, Setup: engine.Setup{Rules: enginetest.NFHS()}, Time: g.time}); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	var served, people sync.WaitGroup
	g.sites[0] = g.serve(ctx, &served, "the host", g.host)
	g.network.Listen = (&net.Dialer{}).DialContext
	if g.relay, err = follow.Open(ctx, follow.Config{URL: "http://" + g.sites[0].addr, Dial: g.network.Dial}); err != nil {
		t.Fatal(err)
	}
	g.sites[1] = g.serve(ctx, &served, "the host that follows", g.relay.Host())
	g.invite(ctx, &people)
	g.play(ctx)
	cancel()
	people.Wait()
	served.Wait()
	if err := g.relay.Close(); err != nil {
		t.Error(err)
	}
	g.network.Wait()
	g.reopen(folder)
	g.judge()
}

func (g *gym) serve(ctx context.Context, served *sync.WaitGroup, name string, h *host.Host) *site {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		g.t.Fatal(err)
	}
	s, err := serve.New(serve.Config{Host: h, Time: g.time, Looks: g.looks, Size: size, Program: "rafter soak", Names: public.FullNames})
	if err != nil {
		g.t.Fatal(err)
	}
	served.Go(func() {
		if err := s.Serve(ctx, l); err != nil {
			g.t.Error(err)
		}
	})
	return &site{name: name, addr: l.Addr().String(), counts: &counts{}}
}

func (g *gym) invite(ctx context.Context, people *sync.WaitGroup) {
	for n := range readers {
		p := &reader{site: g.sites[n%2]}
		g.readers = append(g.readers, p)
		people.Go(func() { p.follow(ctx, g.t, uint64(n)) })
	}
	for _, name := range []string{"bug", "wall", picture.OnAir} {
		for n := range pagesOfEach {
			p := &page{site: g.sites[n%2], name: name}
			g.pages = append(g.pages, p)
			people.Go(func() { p.watch(ctx, g.t, uint64(n)) })
		}
	}
}

// play plays until the time is over, with a rest now and then.
func (g *gym) play(ctx context.Context) {
	r := rand.New(rand.NewPCG(3, 4))
	end := time.Now().Add(*length)
	g.settled(time.Now().Add(min(*length/4, settles)))
	for time.Now().Before(end) && !g.t.Failed() {
		next := time.Now().Add(half)
		if next.After(end) {
			next = end
		}
		cut := time.Now().Add(2 * time.Second)
		mended := cut
		for n := 0; time.Now().Before(next); n++ {
			g.command(r)
			rest(ctx, time.Second/eventsASecond)
			if n%(eventsASecond/10) == 0 {
				g.lookAtClocks()
			}
			switch now := time.Now(); {
			case next.Sub(now) < 6*time.Second: // whoever stalls or was cut off is to be back by the rest
				g.network.SetCut(false)
			case now.After(cut):
				g.network.SetCut(true)
				mended = now.Add(3 * time.Second)
				g.settled(mended.Add(3 * time.Second))
				cut = now.Add(time.Hour)
			case now.After(mended):
				g.network.SetCut(false)
			}
		}
		g.compare(ctx)
		g.sample()
		g.t.Logf("%v left: %d events, %d messages, %d connections, %d stalls; %d KB, %d goroutines, %d files; clocks %v apart", max(time.Until(end), 0).Round(time.Second), g.events,
			g.seen(func(c *counts) int64 { return c.messages.Load() }), g.seen(func(c *counts) int64 { return c.connections.Load() }), g.seen(func(c *counts) int64 { return c.stalls.Load() }),
			g.samples[len(g.samples)-1].heap>>10, g.samples[len(g.samples)-1].goroutines, g.samples[len(g.samples)-1].files, g.apart())
	}
}

func (g *gym) seen(of func(*counts) int64) int64 {
	return of(g.sites[0].counts) + of(g.sites[1].counts)
}

// command makes something happen, which the game may refuse.
func (g *gym) command(r *rand.Rand) {
	last := len(g.host.Game().Events())
	if len(g.tale) == 0 {
		next, _ := enginetest.Play(r.Uint64(), eventsATale)
		g.tale = next.Events()
	}
	var c engine.Command
	switch now := time.Now(); {
	case now.After(g.over):
		c = engine.Command{Do: engine.GameNew}
		g.over = now.Add(aGame)
	case last > 0 && r.IntN(20) == 0:
		c = enginetest.Correction(r, last)
	case r.IntN(20) == 0:
		c = enginetest.Random(r)
	default:
		c, g.tale = g.tale[0].Command, g.tale[1:]
	}
	if _, changed, err := g.host.Do("soak", c); err == nil && changed {
		g.events++
	}
}

// settled says from when on the clock of the host that follows has to be right.
func (g *gym) settled(at time.Time) {
	if at.After(g.right) {
		g.right = at
	}
}

// lookAtClocks notes how far the clock of the host that follows is from the host's.
func (g *gym) lookAtClocks() {
	before := g.host.Now()
	there := g.relay.Host().Now()
	after := g.host.Now()
	if after.Sub(before) < time.Millisecond && time.Now().After(g.right) && g.relay.Host().Snapshot().ID == g.host.Snapshot().ID {
		d := there.Sub(before)
		g.off = append(g.off, max(d, -d))
	}
}

func (g *gym) apart() time.Duration {
	if len(g.off) == 0 {
		return 0
	}
	slices.Sort(g.off)
	return g.off[len(g.off)*99/100]
}

// compare stops the clock and waits until everybody shows what the host shows; those who stall have their time.
func (g *gym) compare(ctx context.Context) {
	g.network.SetCut(false)
	if _, _, err := g.host.Do("soak", engine.Command{Do: engine.ClockStop}); err != nil {
		g.t.Log(err) // it stood, or the game is over
	}
	wrong := ""
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); rest(ctx, lookEvery) {
		if wrong = g.differs(); wrong == "" {
			return
		}
	}
	g.t.Error(wrong)
}

// differs says who shows anything else than the host.
func (g *gym) differs() string {
	var v engine.View
	g.host.Shown(&v, 0)
	for _, p := range g.readers {
		if k := p.knows(); k.Home.Score != v.Home.Score || k.Away.Score != v.Away.Score || k.LastEvent != v.LastEvent {
			return fmt.Sprintf("%s: a reader has been told %+v, and it is %d to %d after event %d", p.site.name, k, v.Home.Score, v.Away.Score, v.LastEvent)
		}
	}
	for _, p := range g.pages {
		own, err := g.looks.New(picture.Options{Graphic: p.name, Size: size})
		if err != nil {
			return err.Error()
		}
		want, _ := own.Show(&v)
		if got := p.frame(int64(g.time.Now())); !bytes.Equal(got.Pix, want.Pix) {
			return p.site.name + ": a page of " + p.name + " shows another picture"
		}
	}
	return ""
}

func (g *gym) sample() {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	files, _ := os.ReadDir("/proc/self/fd") // none where there is no such folder
	g.samples = append(g.samples, sample{int(m.HeapAlloc), runtime.NumGoroutine(), len(files)})
}

// reopen reads the last game's log again.
func (g *gym) reopen(folder string) {
	events, path := len(g.host.Game().Events()), g.host.Path()
	if err := g.host.Close(); err != nil {
		g.t.Error(err)
	}
	again, notice, err := host.Open(host.Config{Folder: folder, Log: path, Time: g.time})
	if err != nil {
		g.t.Fatal(err)
	}
	if n := len(again.Game().Events()); n != events {
		g.t.Errorf("the log holds %d events of %d: %s", n, events, notice.Text)
	}
	if err := again.Close(); err != nil {
		g.t.Error(err)
	}
}

// judge compares the last third of the time with the first, from when on everything has been used once.
func (g *gym) judge() {
	if g.events == 0 || g.seen(func(c *counts) int64 { return c.messages.Load() }) == 0 {
		g.t.Error("nothing has happened")
	}
	warm := g.samples[min(int(settles/half), len(g.samples)):]
	n := len(warm) / 3
	if n < 2 {
		return // too short a time to say more than that all has ended and was the same
	}
	for _, c := range []struct {
		what string
		of   func(sample) int
		more int // than a tenth
	}{
		{"bytes of memory", func(s sample) int { return s.heap }, 2 << 20},
		{"goroutines", func(s sample) int { return s.goroutines }, 20},
		{"files", func(s sample) int { return s.files }, 10},
	} {
		early, late := middle(warm[:n], c.of), middle(warm[len(warm)-n:], c.of)
		g.t.Logf("%d %s early, %d late", early, c.what, late)
		if late > early+early/10+c.more {
			g.t.Errorf("%d %s have become %d", early, c.what, late)
		}
	}
	if d := g.apart(); d > 5*time.Millisecond || len(g.off) < 100 {
		g.t.Errorf("the clocks are %v apart in 99 of 100 of %d readings; at most 5 ms are allowed", d, len(g.off))
	}
}

func middle(list []sample, of func(sample) int) int {
	var values []int
	for _, s := range list {
		values = append(values, of(s))
	}
	slices.Sort(values)
	return values[len(values)/2]
}
