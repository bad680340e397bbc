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
	exact := func(at, ahead int64) Sample { return Sample{at, at + ahead, at + ahead, at} }
	var e Estimate
	if e.known || e.Add(exact(0, 1000)) != nil || e.Host(0) != 1000 {
		t.Fatal("the first sample is not taken as it is")
	}
	e.Forget()
	if err := e.Add(exact(1e9, 1000+1e8)); err != nil || e.Host(1e9) != 1e9+1000 {
		t.Errorf("a tenth of a second is stepped over: %d, %v", e.Host(1e9)-1e9, err)
	}
	if got, want := e.Host(15e8)-15e8, int64(1000+5e7); got != want {
		t.Errorf("after half a second the offset is %d, want %d", got, want)
	}
	if off(&e, 15e8) != 5e7 || off(&e, 3e9) != 0 {
		t.Errorf("still off by %v, then %v", off(&e, 15e8), off(&e, 3e9))
	}
	e.Forget()
	if err := e.Add(exact(4e9, -1e12)); err != nil || e.Host(4e9) != 4e9-1e12 {
		t.Errorf("a quarter of an hour is not stepped over: %d, %v", e.Host(4e9), err)
	}
}

func TestUselessSamplesAreRefused(t *testing.T) {
	for _, s := range []Sample{
		{10, 0, 0, 9}, {0, 10, 9, 20}, {0, 0, 100, 10}, {0, 5, 5, int64(11 * time.Second)},
	} {
		var e Estimate
		if e.Add(s) == nil || e.known {
			t.Errorf("%v was taken", s)
		}
	}
	var e Estimate
	if e.Add(Sample{0, 5, 5, 100}) != nil || e.Add(Sample{0, 5, 5, 99}) == nil {
		t.Error("a sample out of order was taken")
	}
}

// A clock that stood for a second, as in a computer's sleep, makes the ways there and back contradict those seen before: the
// estimate goes by the new ones at once, and is right when it has been slewed.
func TestAClockThatStoodIsFollowed(t *testing.T) {
	for _, stood := range []int64{-1e9, 1e9, 6e11, -6e11} {
		var e Estimate
		way := func(at, ahead int64) Sample { return Sample{at, at + 10e6 + ahead, at + 10e6 + ahead, at + 20e6} }
		for at := int64(0); at < 60e9; at += 250e6 {
			if err := e.Add(way(at, 5e9)); err != nil {
				t.Fatal(err)
			}
		}
		for at := int64(60e9); at < 75e9; at += 250e6 {
			if err := e.Add(way(at, 5e9+stood)); err != nil {
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
	way := func(at, ahead int64) Sample { return Sample{at, at + 10e6 + ahead, at + 10e6 + ahead, at + 25e6} }
	var a, b Estimate
	for at := int64(0); at < 60e9; at += 250e6 {
		if a.Add(way(at, 5e9+at/100)) != nil || b.Add(way(at, 5e9+at/100)) != nil {
			t.Fatal("a sample was not taken")
		}
	}
	b.Shift(-7e12)
	for at := int64(60e9); at < 90e9; at += 250e6 {
		if a.Add(way(at, 5e9)) != nil || b.Add(way(at, 5e9-7e12)) != nil {
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
