package host

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"rafter/engine/clock"
)

func TestSleepIsToldAndTheClockLeftAsItIs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		h, first := w.open(t, Config{Folder: t.TempDir()})
		do(t, h, start)
		time.Sleep(10 * time.Second)
		w.slept.Add(int64(192 * time.Second))
		time.Sleep(BeatEvery)
		synctest.Wait()
		n := h.Notices()
		if len(n) != 1 || n[0].Code != Slept || n[0].Gap != 192*time.Second || !strings.Contains(n[0].Text, "3 min 12 s") {
			t.Fatalf("notices %v", n)
		}
		if v := view(h); !v.Clock.Running || v.Clock.RemainingMS != setup(t).Rules.PeriodLength.Milliseconds()-10_250 {
			t.Errorf("clock %+v", v.Clock)
		}
		w.slept.Add(int64(time.Second)) // no nap
		time.Sleep(time.Second)
		if n := h.Notices(); len(n) != 1 {
			t.Errorf("notices %v", n)
		}
		now, wall := h.Now(), w.time().Wall()
		shut(t, h)
		if d := read(t, first.Path).Wall(now).Sub(wall).Abs(); d > 2*time.Second {
			t.Errorf("the log is %v wrong about the time of day", d)
		}
	})
}

func TestBeingHeldUpIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		h, _ := w.open(t, Config{})
		do(t, h, start)
		time.Sleep(time.Second)
		h.mu.Lock() // as a stopped process does, nothing beats
		h.since -= 30 * time.Second
		h.beat.now -= 30 * time.Second
		h.mu.Unlock()
		time.Sleep(BeatEvery)
		synctest.Wait()
		if n := h.Notices(); len(n) != 1 || n[0].Code != Stood || n[0].Gap < 30*time.Second || n[0].Gap > 31*time.Second {
			t.Errorf("notices %v", n)
		}
		shut(t, h)
	})
}

// The time of day may be wrong at the second start; the game's own time never goes back.
func TestTimeNeverGoesBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		last := clock.Instant(0)
		for _, drift := range []time.Duration{-time.Hour, 100 * 365 * 24 * time.Hour, -50 * 365 * 24 * time.Hour} {
			h, _ := w.open(t, Config{Folder: folder})
			if now := h.Now(); now < last || now > last.Add(maxGap+time.Minute) {
				t.Errorf("from %d to %d", last, now)
			}
			time.Sleep(1500 * time.Millisecond)
			last = do(t, h, point).At
			wall := w.time().Wall()
			shut(t, h)
			if d := read(t, h.Path()).Wall(last).Sub(wall).Abs(); d > 10*time.Millisecond {
				t.Errorf("the log is %v wrong about the time of day", d)
			}
			w.drift = drift
		}
	})
}
