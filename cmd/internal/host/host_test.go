package host

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"

	"rafter/cmd/internal/journalfile"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/journal"
	"rafter/engine/rules"
)

func TestMain(m *testing.M) {
	if folder := os.Getenv(playEnv); folder != "" {
		playUntilKilled(folder)
		return
	}
	goleak.VerifyTestMain(m)
}

var (
	start   = engine.Command{Do: engine.ClockStart}
	stop    = engine.Command{Do: engine.ClockStop}
	point   = engine.Command{Do: engine.Score, Team: engine.Home, Points: 1}
	over    = engine.Command{Do: engine.GameOver}
	another = engine.Command{Do: engine.GameNew}
)

func setup(t testing.TB) engine.Setup {
	t.Helper()
	set, ok := rules.ByName("nfhs")
	if !ok {
		t.Fatal("the rule set nfhs is missing")
	}
	return engine.Setup{Rules: set}
}

// world is the time around the hosts of one test: it runs on from one to the next.
type world struct {
	began time.Time     // in the bubble
	date  time.Time     // then
	slept atomic.Int64  // nanoseconds
	drift time.Duration // of the wall clock, besides
}

func newWorld() *world {
	return &world{began: time.Now(), date: time.Date(2026, 11, 25, 18, 30, 0, 0, time.UTC)}
}

func (w *world) time() Time {
	start := time.Now()
	return Time{
		Now:   func() time.Duration { return time.Since(start) },
		Slept: func() time.Duration { return time.Duration(w.slept.Load()) },
		Wall:  func() time.Time { return w.date.Add(time.Since(w.began) + time.Duration(w.slept.Load()) + w.drift) },
	}
}

func (w *world) open(t testing.TB, c Config) (*Host, Notice) {
	t.Helper()
	c.Time = w.time()
	if c.Setup.Rules == (rules.Set{}) {
		c.Setup = setup(t)
	}
	h, notice, err := Open(c)
	if err != nil {
		t.Fatal(err)
	}
	return h, notice
}

func do(t testing.TB, h *Host, c engine.Command) engine.Event {
	t.Helper()
	ev, changed, err := h.Do("keys", c)
	if err != nil || !changed {
		t.Fatalf("%v: changed %v, %v", c.Do, changed, err)
	}
	return ev
}

func shut(t testing.TB, h *Host) {
	t.Helper()
	if err := h.Close(); err != nil {
		t.Fatal(err)
	}
}

func view(h *Host) engine.View {
	var v engine.View
	h.ViewInto(&v, h.Now())
	return v
}

func read(t testing.TB, path string) *journal.Log {
	t.Helper()
	log, err := journalfile.Read(journalfile.OS(), path)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return log
}

func TestAGameGoesOnWhereItStopped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := filepath.Join(t.TempDir(), "games")
		h, began := w.open(t, Config{Folder: folder})
		path := filepath.Join(folder, "2026-11-25-1830.log")
		if began.Code != Began || began.Path != path || !strings.Contains(began.Text, path) {
			t.Errorf("began with %+v, want %s", began, path)
		}
		time.Sleep(3*time.Second + 400*time.Microsecond)
		if ev := do(t, h, start); ev.At != clock.Instant(3*time.Second) {
			t.Errorf("started at %d ns, want whole milliseconds", ev.At)
		}
		time.Sleep(10 * time.Second)
		do(t, h, point)
		synctest.Wait()
		if h.Acknowledged() != 2 || h.Path() != path || len(h.Notices()) != 0 {
			t.Errorf("acknowledged %d in %s, notices %v", h.Acknowledged(), h.Path(), h.Notices())
		}
		time.Sleep(20 * time.Second)
		before := view(h)
		shut(t, h)

		time.Sleep(time.Hour)
		h, resumed := w.open(t, Config{Folder: folder})
		after := view(h)
		if resumed.Code != Resumed || resumed.Path != path || resumed.Gap.Round(time.Second) != time.Hour ||
			!strings.Contains(resumed.Text, "1 h 0 min") || !strings.Contains(resumed.Text, after.Clock.Text.String()) {
			t.Errorf("resumed with %+v", resumed)
		}
		if after.Clock.Running || after.Home.Score != 1 || after.LastEvent != 3 {
			t.Errorf("resumed: clock %+v, score %d, last event %d", after.Clock, after.Home.Score, after.LastEvent)
		}
		if d := after.Clock.RemainingMS - before.Clock.RemainingMS; d < 0 || d > 500 {
			t.Errorf("the clock stood at %d ms and stands at %d ms", before.Clock.RemainingMS, after.Clock.RemainingMS)
		}
		if gone := h.Now().Sub(clock.Instant(before.At)); gone < time.Hour || gone > time.Hour+time.Second {
			t.Errorf("an hour later the game's time is %v later", gone)
		}
		if n := h.Notices(); len(n) != 1 || n[0].Code != Resumed {
			t.Errorf("notices %v", n)
		}
		do(t, h, start)
		if n := h.Notices(); len(n) != 0 {
			t.Errorf("after the clock is started: notices %v", n)
		}
		shut(t, h)
		log := read(t, path)
		last := log.EventList()[2]
		if last.Desk != "resume" || last.Command.Do != engine.ClockStop || log.Events != 4 {
			t.Errorf("the clock was stopped by %+v, of %d events", last, log.Events)
		}
	})
}

// Whatever instant the power fails at: the events that were acknowledged are there, and the clock stands within
// half a second of what it showed.
func TestAPowerCutCostsLessThanHalfASecond(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		h, _ := w.open(t, Config{Folder: folder})
		type cut struct {
			view         engine.View
			acknowledged int
			log          []byte
		}
		var cuts []cut
		for i := range 60 {
			switch i {
			case 5, 40:
				do(t, h, start)
			case 20:
				do(t, h, stop)
			}
			if i%7 == 3 {
				do(t, h, point)
			}
			time.Sleep(130 * time.Millisecond)
			synctest.Wait()
			text, err := os.ReadFile(h.Path())
			if err != nil {
				t.Fatal(err)
			}
			cuts = append(cuts, cut{view(h), h.Acknowledged(), text})
		}
		shut(t, h)
		for i, c := range cuts {
			folder := t.TempDir()
			path := filepath.Join(folder, "2026-11-25-1830.log")
			if err := os.WriteFile(path, c.log, 0o600); err != nil {
				t.Fatal(err)
			}
			h, notice := w.open(t, Config{Folder: folder})
			v := view(h)
			if notice.Code != Resumed || len(h.Game().Events()) < c.acknowledged || v.Home.Score != c.view.Home.Score {
				t.Errorf("cut %d: %s, %d events of %d, score %d of %d", i, notice.Code, len(h.Game().Events()), c.acknowledged, v.Home.Score, c.view.Home.Score)
			}
			if d := v.Clock.RemainingMS - c.view.Clock.RemainingMS; v.Clock.Running || d < 0 || d > 500 {
				t.Errorf("cut %d: the clock showed %d ms and stands at %d ms, running %v", i, c.view.Clock.RemainingMS, v.Clock.RemainingMS, v.Clock.Running)
			}
			shut(t, h)
		}
	})
}

func TestAClockThatRanOutStaysAtZero(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		h, _ := w.open(t, Config{Folder: folder})
		do(t, h, start)
		time.Sleep(setup(t).Rules.PeriodLength + time.Second)
		shut(t, h)
		h, _ = w.open(t, Config{Folder: folder})
		if v := view(h); v.Clock.RemainingMS != 0 || v.LastEvent != 1 {
			t.Errorf("clock %+v after %d events, want 0 and no stop", v.Clock, v.LastEvent)
		}
		shut(t, h)
	})
}

func TestANewGameLeavesTheOldOneWhole(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		h, _ := w.open(t, Config{Folder: folder})
		do(t, h, point)
		shut(t, h)
		h, _ = w.open(t, Config{Folder: folder}) // with a notice that it goes on
		time.Sleep(5 * time.Second)
		before := h.Game().Setup()
		if ev, changed, err := h.Do("keys", another); err != nil || !changed || ev != (engine.Event{}) {
			t.Fatalf("%+v, %v, %v", ev, changed, err)
		}
		if n := h.Notices(); len(n) != 0 {
			t.Errorf("notices of the old game: %v", n)
		}
		if v := view(h); v.LastEvent != 0 || v.Home.Score != 0 || h.Now() != 0 {
			t.Errorf("the new game begins at %d with event %d, score %d", h.Now(), v.LastEvent, v.Home.Score)
		}
		if !sameSetup(h.Game().Setup(), before) {
			t.Error("the settings are not those of the game before")
		}
		if ev := do(t, h, point); ev.Number != 1 {
			t.Errorf("the first event is number %d", ev.Number)
		}
		synctest.Wait()
		second := filepath.Join(folder, "2026-11-25-1830-2.log")
		if h.Acknowledged() != 1 || h.Path() != second {
			t.Errorf("acknowledged %d in %s", h.Acknowledged(), h.Path())
		}
		shut(t, h)
		if log := read(t, filepath.Join(folder, "2026-11-25-1830.log")); !log.Ended || log.Events != 1 {
			t.Errorf("the old log has %d events, ended %v", log.Events, log.Ended)
		}
		h, notice := w.open(t, Config{Folder: folder})
		if notice.Code != Resumed || notice.Path != second {
			t.Errorf("next time: %+v", notice)
		}
		shut(t, h)
	})
}

func TestAGameThatIsOverIsNotTakenUpAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		h, first := w.open(t, Config{Folder: folder})
		do(t, h, point)
		do(t, h, over)
		synctest.Wait()
		crashed, err := os.ReadFile(first.Path) // over, and the program never closed
		if err != nil {
			t.Fatal(err)
		}
		shut(t, h)
		if !read(t, first.Path).Ended {
			t.Error("closed when over, and not put away")
		}
		for range 2 {
			time.Sleep(time.Minute)
			h, notice := w.open(t, Config{Folder: folder})
			if notice.Code != Began && notice.Path == first.Path {
				t.Errorf("the next time: %+v", notice)
			}
			do(t, h, over)
			shut(t, h)
			if err := os.WriteFile(first.Path, crashed, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		// Named outright it is opened, to be put right.
		h, notice := w.open(t, Config{Log: first.Path})
		if v := view(h); notice.Code != Resumed || v.Period.Phase != engine.Over || v.Home.Score != 1 {
			t.Errorf("named: %+v, phase %v", notice, v.Period.Phase)
		}
		shut(t, h)
	})
}

func TestSettingsThatChangedBeforeAnythingHappenedBeginAnew(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		h, first := w.open(t, Config{Folder: folder})
		shut(t, h)
		time.Sleep(time.Minute)
		h, same := w.open(t, Config{Folder: folder})
		if same.Code != Resumed || same.Path != first.Path {
			t.Errorf("with the same settings: %+v", same)
		}
		shut(t, h)
		changed := setup(t)
		changed.Rules.PeriodLength = 6 * time.Minute
		h, notice := w.open(t, Config{Folder: folder, Setup: changed})
		if notice.Code != Began || notice.Path == first.Path || view(h).Clock.RemainingMS != 360_000 {
			t.Errorf("with others: %+v, clock %+v", notice, view(h).Clock)
		}
		do(t, h, point)
		shut(t, h)
		h, notice = w.open(t, Config{Folder: folder})
		if notice.Code != Resumed || view(h).Clock.RemainingMS != 360_000 {
			t.Errorf("a game with an event was not taken up: %+v", notice)
		}
		shut(t, h)
	})
}

func TestALogThatWasPutAwayNamesTheOneAfterIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w, path := newWorld(), filepath.Join(t.TempDir(), "friday.log")
		h, _ := w.open(t, Config{Log: path})
		do(t, h, point)
		if _, _, err := h.Do("keys", another); err != nil {
			t.Fatal(err)
		}
		do(t, h, point)
		after := h.Path()
		shut(t, h)
		h, notice := w.open(t, Config{Log: path})
		if notice.Code != Resumed || !strings.Contains(notice.Text, "stands in "+after+": ") {
			t.Errorf("%+v", notice)
		}
		shut(t, h)
		h, notice = w.open(t, Config{Log: path})
		if strings.Contains(notice.Text, "put away") {
			t.Errorf("it is gone on with, and yet: %+v", notice)
		}
		shut(t, h)
	})
}

func TestInMemoryNothingIsWritten(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h, notice := newWorld().open(t, Config{})
		do(t, h, point)
		if _, _, err := h.Do("keys", another); err != nil {
			t.Error(err)
		}
		if h.Path() != "" || h.Acknowledged() != 0 || notice.Code != Began || view(h).LastEvent != 0 {
			t.Errorf("%q, %+v", h.Path(), notice)
		}
		shut(t, h)
	})
}

func TestManyHands(t *testing.T) {
	h, _, err := Open(Config{Folder: t.TempDir(), Setup: setup(t)})
	if err != nil {
		t.Fatal(err)
	}
	var hands sync.WaitGroup
	for desk := range 4 {
		hands.Go(func() {
			var v engine.View
			var before clock.Instant
			for range 100 {
				if _, _, err := h.Do(strconv.Itoa(desk), point); err != nil {
					t.Error(err)
				}
				now := h.Now()
				h.ViewInto(&v, now)
				h.Notices()
				h.Path()
				if h.Acknowledged() > 400 || now < before {
					t.Errorf("acknowledged %d, now %d after %d", h.Acknowledged(), now, before)
				}
				before = now
			}
		})
	}
	hands.Wait()
	shut(t, h)
	log := read(t, h.Path())
	if v := view(h); v.Home.Score != 400 || log.Events != 400 || h.Acknowledged() != 400 {
		t.Errorf("score %d, %d events in the log, %d acknowledged", v.Home.Score, log.Events, h.Acknowledged())
	}
}

func TestAViewAllocatesNothing(t *testing.T) {
	h, _, err := Open(Config{Setup: setup(t)})
	if err != nil {
		t.Fatal(err)
	}
	do(t, h, point)
	var v engine.View
	h.ViewInto(&v, h.Now())
	if n := testing.AllocsPerRun(100, func() { h.ViewInto(&v, h.Now()) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
	shut(t, h)
}
