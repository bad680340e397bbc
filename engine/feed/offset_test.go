package feed

import (
	"encoding/json"
	"math/big"
	"math/rand/v2"
	"os"
	"testing"
	"time"
)

// Source: RFC 5905 section 8; worked exchanges in testdata/ntp_offset.json.
func TestOffsetOfWorkedExchanges(t *testing.T) {
	data, err := os.ReadFile("testdata/ntp_offset.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Worked []struct {
			Name           string
			T1, T2, T3, T4 int64
			Offset         string
			Delay          int64
		}
	}
	if err := json.Unmarshal(data, &file); err != nil || len(file.Worked) < 10 {
		t.Fatalf("%d exchanges, %v", len(file.Worked), err)
	}
	for _, w := range file.Worked {
		s := Sample{w.T1, w.T2, w.T3, w.T4}
		if got := big.NewRat(s.TwiceOffset(), 2).RatString(); got != w.Offset || int64(s.Delay()) != w.Delay {
			t.Errorf("%s: offset %s, delay %d; want %s and %d", w.Name, got, s.Delay(), w.Offset, w.Delay)
		}
	}
}

// network is a way with jitter between two clocks that drift apart.
type network struct {
	random *rand.Rand
	ahead  int64 // the host's clock at local 0
	drift  int64 // parts in a million that the host's runs faster
}

func (n *network) host(local int64) int64 { return local + n.ahead + local/1e6*n.drift }

func (n *network) leg(mean, spread time.Duration) int64 {
	return int64(mean) - int64(spread) + n.random.Int64N(2*int64(spread)+1)
}

func (n *network) exchange(at int64) Sample {
	up, down := n.leg(80*time.Millisecond, 40*time.Millisecond), n.leg(80*time.Millisecond, 40*time.Millisecond)
	return Sample{Asked: at, Received: n.host(at + up), Sent: n.host(at+up) + 20_000, Answered: at + up + down + 20_000}
}

// way is a sample of an exchange that was asked at an instant, took so long there and back, by a host's clock that is ahead.
func way(at, there, back, ahead int64) Sample {
	return Sample{at, at + there + ahead, at + there + ahead, at + there + back}
}

// 80 ms ± 40 ms each way, four exchanges a second, clocks up to 100 parts in a million apart: within 5 ms after the first minute
// in 99 of 100 readings, and never backwards.
func TestEstimateOverAJitteredWay(t *testing.T) {
	for seed := range uint64(20) {
		n := &network{random: rand.New(rand.NewPCG(seed, 1)), ahead: int64(seed-7) * 1e15, drift: 10*int64(seed) - 90}
		var e Estimate
		off, readings, used, shown := 0, 0, 0, int64(-1<<62)
		for local := int64(time.Second); local < int64(10*time.Minute); local += int64(50 * time.Millisecond) {
			if local%int64(250*time.Millisecond) == 0 { // answers that overtake one another are refused, as they should be
				if e.Add(n.exchange(local-int64(250*time.Millisecond))) == nil {
					used++
				}
			}
			if !e.known {
				continue
			}
			now := e.Host(local)
			if now < shown {
				t.Fatalf("seed %d: the clock ran back by %v", seed, time.Duration(shown-now))
			}
			shown = now
			if local < int64(time.Minute) {
				continue
			}
			readings++
			if abs(now-n.host(local)) > int64(5*time.Millisecond) {
				off++
			}
		}
		if used < 1000 || readings < 10000 {
			t.Errorf("seed %d: %d samples, %d readings", seed, used, readings)
		}
		if off*100 > readings {
			t.Errorf("seed %d: %d of %d readings are off by more than 5 ms", seed, off, readings)
		}
	}
}

func TestEstimateStepsOnlyOverWhatNobodyWouldWatch(t *testing.T) {
	var e Estimate
	if e.known || e.Add(way(0, 0, 0, 1000)) != nil || e.Host(0) != 1000 {
		t.Fatal("the first sample is not taken as it is")
	}
	e.Forget()
	if err := e.Add(way(1e9, 0, 0, 1000+1e8)); err != nil || e.Host(1e9) != 1e9+1000 {
		t.Errorf("a tenth of a second is stepped over: %d, %v", e.Host(1e9)-1e9, err)
	}
	if got, want := e.Host(15e8)-15e8, int64(1000+5e7); got != want {
		t.Errorf("after half a second the offset is %d, want %d", got, want)
	}
	if off(&e, 15e8) != 5e7 || off(&e, 3e9) != 0 {
		t.Errorf("still off by %v, then %v", off(&e, 15e8), off(&e, 3e9))
	}
	e.Forget()
	if err := e.Add(way(4e9, 0, 0, -1e12)); err != nil || e.Host(4e9) != 4e9-1e12 {
		t.Errorf("a quarter of an hour is not stepped over: %d, %v", e.Host(4e9), err)
	}
}

func TestUselessSamplesAreRefused(t *testing.T) {
	for _, s := range []Sample{
		{10, 0, 0, 9}, {0, 10, 9, 20}, {0, 0, 100, 10}, {0, 5, 5, int64(10*time.Second + 1)},
	} {
		var e Estimate
		if e.Add(s) == nil || e.known {
			t.Errorf("%v was taken", s)
		}
	}
	for name, list := range map[string][]Sample{
		"ten seconds on the way":        {{0, 5, 5, int64(10 * time.Second)}},
		"before the asker's own zero":   {{-200, 5, 5, -100}},
		"two answered at the same time": {{0, 5, 5, 100}, {1, 5, 5, 100}},
	} {
		var e Estimate
		for _, s := range list {
			if err := e.Add(s); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	var e Estimate
	if e.Add(Sample{0, 5, 5, 100}) != nil || e.Add(Sample{0, 5, 5, 99}) == nil {
		t.Error("a sample out of order was taken")
	}
}

// The quickest way there and the quickest way back may be those of two samples; each second that one is old counts as 130
// microseconds more.
func TestTheQuickestWaysOfAllCount(t *testing.T) {
	const quick, slow = 10e6, 30e6
	for name, tt := range map[string]struct {
		list []Sample
		want int64 // how far off the goal is, in ns: half of what the way there took more than the way back
	}{
		"one":                               {[]Sample{way(0, slow, quick, 0)}, 10e6},
		"there and back":                    {[]Sample{way(0, quick, slow, 0), way(1e3, slow, quick, 0)}, 0},
		"the first both ways":               {[]Sample{way(0, quick, quick, 0), way(1e3, slow, slow+2e6, 0)}, 0},
		"the second both ways":              {[]Sample{way(0, slow, slow+2e6, 0), way(1e8, quick, quick, 0)}, 0},
		"as sure there as one a second ago": {[]Sample{way(-1e7, 1e7, 0, 0), way(1e9-1e7-130e3, 1e7+130e3, 0, 0)}, 5e6},
		"surer there than one a second ago": {[]Sample{way(-1e7, 1e7, 0, 0), way(1e9-1e7-129_999, 1e7+129_999, 0, 0)}, 5e6 + 129_999/2},
		"as sure back as one a second ago":  {[]Sample{way(-1e7, 0, 1e7, 0), way(1e9-1e7-130e3, 0, 1e7+130e3, 0)}, -5e6},
		"surer back than one a second ago":  {[]Sample{way(-1e7, 0, 1e7, 0), way(1e9-1e7-129_999, 0, 1e7+129_999, 0)}, -5e6 - 65e3},
		"ways that take no time agree":      {[]Sample{way(0, 0, 0, 0), way(-10e6, 7e6, 3e6, 0)}, 0},
	} {
		var e Estimate
		for _, s := range tt.list {
			if err := e.Add(s); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		if e.goal != tt.want {
			t.Errorf("%s: %d, want %d", name, e.goal, tt.want)
		}
	}
}

// A quick exchange counts until 1,024 others have come, or all are forgotten, or one of the clocks was set.
func TestWhatIsRemembered(t *testing.T) {
	add := func(e *Estimate, s Sample) {
		t.Helper()
		if err := e.Add(s); err != nil {
			t.Fatal(err)
		}
	}
	slow := func(ahead int64) Sample { return way(-22e6, 20e6, 2e6, ahead) } // off by 9 ms, answered at 0
	var e Estimate
	add(&e, way(0, 0, 0, 0))
	for range 1023 {
		add(&e, slow(0))
	}
	if e.goal != 0 {
		t.Errorf("after 1,023 others the quick one is forgotten: off by %d", e.goal)
	}
	add(&e, slow(0))
	if e.goal != 9e6 {
		t.Errorf("after 1,024 others the quick one is remembered: off by %d", e.goal)
	}

	var f Estimate
	for range 4 {
		add(&f, way(0, 0, 0, 0))
	}
	f.Forget()
	add(&f, slow(0))
	if f.goal != 9e6 {
		t.Errorf("what is forgotten still counts: off by %d", f.goal)
	}

	var g Estimate
	for range 4 {
		add(&g, way(0, 0, 0, 0))
	}
	add(&g, way(0, 0, 0, 1e9)) // the host's clock was set
	add(&g, slow(1e9))
	if g.goal != 1e9 {
		t.Errorf("after a clock was set it is off by %d", g.goal-1e9)
	}
}

func TestTwoSecondsAreSteppedOver(t *testing.T) {
	for off, steps := range map[int64]bool{2e9: true, -2e9: true, 2e9 - 1: false} {
		var e Estimate
		e.Begin(0, 0)
		if err := e.Add(way(0, 0, 0, off)); err != nil || (e.Host(0) == off) != steps {
			t.Errorf("off by %d it shows %d, %v", off, e.Host(0), err)
		}
	}
}

// A clock that stood for a second, as in a computer's sleep, makes the ways there and back contradict those seen before: the
// estimate goes by the new ones at once, and is right when it has been slewed.
func TestAClockThatStoodIsFollowed(t *testing.T) {
	for _, stood := range []int64{-1e9, 1e9, 6e11, -6e11} {
		var e Estimate
		for at := int64(0); at < 60e9; at += 250e6 {
			if err := e.Add(way(at, 10e6, 10e6, 5e9)); err != nil {
				t.Fatal(err)
			}
		}
		for at := int64(60e9); at < 75e9; at += 250e6 {
			if err := e.Add(way(at, 10e6, 10e6, 5e9+stood)); err != nil {
				t.Fatal(err)
			}
		}
		if by := e.Host(75e9) - 75e9 - 5e9 - stood; by != 0 || off(&e, 75e9) != 0 {
			t.Errorf("fifteen seconds after a step by %v it is off by %v", time.Duration(stood), time.Duration(by))
		}
	}
}

// off is how far what is shown is still from the best that is known.
func off(e *Estimate, now int64) time.Duration { return time.Duration(e.goal - e.offset(now)) }

// Another game of the same host has another zero, and nothing else is to be learned anew.
func TestAShiftedEstimateIsAsGoodAsItWas(t *testing.T) {
	var a, b Estimate
	for at := int64(0); at < 60e9; at += 250e6 {
		if a.Add(way(at, 10e6, 15e6, 5e9+at/100)) != nil || b.Add(way(at, 10e6, 15e6, 5e9+at/100)) != nil {
			t.Fatal("a sample was not taken")
		}
	}
	b.Shift(-7e12)
	for at := int64(60e9); at < 90e9; at += 250e6 {
		if a.Add(way(at, 10e6, 15e6, 5e9)) != nil || b.Add(way(at, 10e6, 15e6, 5e9-7e12)) != nil {
			t.Fatal("a sample was not taken")
		}
		if x, y := a.Host(at+30e6), b.Host(at+30e6)+7e12; x != y {
			t.Fatalf("at %v one shows %d, the other %d", time.Duration(at), x, y)
		}
	}
}

func TestAnEstimateBegunIsSlewedToItsFirstSample(t *testing.T) {
	var e Estimate
	e.Begin(1e9, 50e9)
	if !e.known || e.Host(1e9) != 50e9 || e.Host(3e9) != 52e9 {
		t.Fatalf("it begins at %d, and is %d two seconds later", e.Host(1e9), e.Host(3e9))
	}
	if err := e.Add(Sample{3e9, 52e9 - 4e7, 52e9 - 4e7, 3e9}); err != nil || e.Host(3e9) != 52e9 {
		t.Errorf("it jumps to %d, %v", e.Host(3e9), err)
	}
	if got := e.Host(35e8); got != 52e9-4e7+5e8 {
		t.Errorf("half a second later it is %d", got)
	}
}
