package host

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"syscall"
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
	began time.Time // in the bubble
	date  time.Time // then
	slept time.Duration
	drift time.Duration // of the wall clock, besides
}

func newWorld() *world {
	return &world{began: time.Now(), date: time.Date(2026, 11, 25, 18, 30, 0, 0, time.UTC)}
}

func (w *world) time() Time {
	start := time.Now()
	return Time{
		Now:   func() time.Duration { return time.Since(start) },
		Slept: func() time.Duration { return w.slept },
		Wall:  func() time.Time { return w.date.Add(time.Since(w.began) + w.slept + w.drift) },
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
		time.Sleep(5 * time.Second)
		before := h.Game().Setup()
		if ev, changed, err := h.Do("keys", another); err != nil || !changed || ev != (engine.Event{}) {
			t.Fatalf("%+v, %v, %v", ev, changed, err)
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

// damage flips a bit in a line of a log.
func damage(t *testing.T, path string, line int) []byte {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := bytes.SplitAfter(text, []byte("\n"))
	text[len(bytes.Join(lines[:line-1], nil))+12] ^= 1
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	return text
}

func TestADamagedLogGoesOnBesideIt(t *testing.T) {
	for _, named := range []bool{false, true} {
		synctest.Test(t, func(t *testing.T) {
			w := newWorld()
			folder := t.TempDir()
			h, first := w.open(t, Config{Folder: folder})
			for range 3 {
				do(t, h, point)
			}
			shut(t, h)
			text := damage(t, first.Path, 4) // the third point
			config := Config{Folder: folder}
			if named {
				config = Config{Log: first.Path}
			}
			beside := filepath.Join(folder, "2026-11-25-1830-2.log")
			for again := range 3 {
				h, notice := w.open(t, config)
				if notice.Path != beside || view(h).Home.Score != 2+again {
					t.Errorf("opened the %d. time: %+v, score %d", again+1, notice, view(h).Home.Score)
				}
				if again == 0 && (notice.Code != Damage || !strings.Contains(notice.Text, "line 4") || !strings.Contains(notice.Text, first.Path)) {
					t.Errorf("%+v", notice)
				}
				do(t, h, point)
				shut(t, h)
			}
			if now, err := os.ReadFile(first.Path); err != nil || !bytes.Equal(now, text) {
				t.Errorf("the damaged log was changed, %v", err)
			}
			h, _ = w.open(t, config)
			do(t, h, over)
			shut(t, h)
			if !named {
				h, notice := w.open(t, config)
				if notice.Code != Began {
					t.Errorf("the game beside is over, and %+v", notice)
				}
				shut(t, h)
			}
		})
	}
}

func TestATornLogSaysSo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		h, first := w.open(t, Config{Folder: folder})
		do(t, h, point)
		do(t, h, point)
		shut(t, h)
		if err := os.Truncate(first.Path, read(t, first.Path).Size-3); err != nil {
			t.Fatal(err)
		}
		h, notice := w.open(t, Config{Folder: folder})
		if view(h).Home.Score != 1 || !strings.Contains(notice.Text, first.Path+".torn") {
			t.Errorf("score %d, %+v", view(h).Home.Score, notice)
		}
		shut(t, h)
		if _, err := os.Stat(first.Path + ".torn"); err != nil {
			t.Error(err)
		}
	})
}

func TestLogsThatAreNoneAreLeftAlone(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		h, first := w.open(t, Config{Folder: folder})
		do(t, h, point)
		shut(t, h)
		files := map[string]string{"zz.log": "not ours\n", "zy.log": ""}
		for name, text := range files {
			if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		h, notice := w.open(t, Config{Folder: folder})
		if notice.Path != first.Path {
			t.Errorf("%+v", notice)
		}
		shut(t, h)
		for name, text := range files {
			if now, err := os.ReadFile(filepath.Join(folder, name)); err != nil || string(now) != text {
				t.Errorf("%s now holds %q, %v", name, now, err)
			}
		}
		// Named outright, it is an error that says what the file is.
		_, _, err := Open(Config{Log: filepath.Join(folder, "zz.log"), Setup: setup(t), Time: w.time()})
		if !errors.Is(err, journal.Foreign) || !strings.Contains(err.Error(), "zz.log") {
			t.Errorf("named: %v", err)
		}
		damage(t, first.Path, 1)
		h, notice = w.open(t, Config{Folder: folder})
		if n := h.Notices(); notice.Code != Began || len(n) != 1 || n[0].Code != Damage || n[0].Path != first.Path {
			t.Errorf("with a damaged header: %+v, %v", notice, n)
		}
		shut(t, h)
	})
}

func TestASecondProgramIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		h, first := w.open(t, Config{Folder: folder})
		for _, c := range []Config{{Folder: folder}, {Log: first.Path}} {
			c.Time, c.Setup = w.time(), setup(t)
			_, _, err := Open(c)
			if !errors.Is(err, journalfile.ErrLocked) || !strings.Contains(err.Error(), first.Path) {
				t.Errorf("%v", err)
			}
		}
		shut(t, h)
	})
}

// readOnly refuses every change, until it is healed.
type readOnly struct {
	journalfile.Disk
	mu     sync.Mutex
	healed bool
	why    error
}

func (d *readOnly) refuse() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.healed {
		return nil
	}
	return d.why
}

func (d *readOnly) heal() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.healed = true
}

func (d *readOnly) Open(name string, flag int) (journalfile.File, error) {
	if err := d.refuse(); err != nil && flag != os.O_RDONLY {
		return nil, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	return d.Disk.Open(name, flag)
}

func (d *readOnly) MakeFolder(name string) error {
	if err := d.refuse(); err != nil {
		return &fs.PathError{Op: "mkdir", Path: name, Err: err}
	}
	return d.Disk.MakeFolder(name)
}

func TestADiskThatCannotBeWrittenStopsNoGame(t *testing.T) {
	for why, says := range map[error]string{syscall.ENOSPC: "disk is full", syscall.EROFS: "cannot be written to", syscall.EACCES: "cannot be written to", syscall.EIO: "input/output error"} {
		synctest.Test(t, func(t *testing.T) {
			w := newWorld()
			folder := filepath.Join(t.TempDir(), "games")
			disk := &readOnly{Disk: journalfile.OS(), why: why}
			h, notice := w.open(t, Config{Folder: folder, Disk: disk})
			if notice.Code != NotSaved || !strings.Contains(notice.Text, says) || !strings.Contains(notice.Text, folder) {
				t.Errorf("%v: %+v", why, notice)
			}
			do(t, h, start)
			do(t, h, point)
			time.Sleep(10 * time.Second)
			if v := view(h); v.Home.Score != 1 || v.Clock.RemainingMS != setup(t).Rules.PeriodLength.Milliseconds()-10_000 {
				t.Errorf("the game does not go on: %+v", v.Clock)
			}
			if n := h.Notices(); len(n) != 1 || n[0].Code != NotSaved || !strings.Contains(n[0].Text, "3 entries are") || h.Acknowledged() != 0 {
				t.Errorf("acknowledged %d, notices %v", h.Acknowledged(), n)
			}
			if _, _, err := h.Do("keys", another); err != nil {
				t.Error(err)
			}
			do(t, h, point)
			disk.heal()
			time.Sleep(2 * time.Second)
			synctest.Wait()
			if n := h.Notices(); len(n) != 0 || h.Acknowledged() != 1 {
				t.Errorf("healed: acknowledged %d, notices %v", h.Acknowledged(), n)
			}
			shut(t, h)
			// Whichever is written first has the name without a number.
			now, other := filepath.Join(folder, "2026-11-25-1830.log"), filepath.Join(folder, "2026-11-25-1830-2.log")
			if now != h.Path() {
				now, other = other, now
			}
			if log := read(t, now); log.Events != 1 || h.Path() != now {
				t.Errorf("%d events in %s, the game's log is %s", log.Events, now, h.Path())
			}
			if old := read(t, other); old.Events != 2 || !old.Ended {
				t.Errorf("the game before has %d events, ended %v", old.Events, old.Ended)
			}
		})
	}
}

func TestClosingWithADiskThatCannotBeWrittenIsAnError(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		h, _ := w.open(t, Config{Folder: t.TempDir(), Disk: &readOnly{Disk: journalfile.OS(), why: syscall.EROFS}})
		do(t, h, point)
		err := h.Close()
		if !errors.Is(err, syscall.EROFS) || !strings.Contains(err.Error(), "not on disk") {
			t.Errorf("closed with %v", err)
		}
		if again := h.Close(); again == nil || again.Error() != err.Error() {
			t.Errorf("closed again with %v", again)
		}
	})
}

func TestSleepIsToldAndTheClockLeftAsItIs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		h, first := w.open(t, Config{Folder: t.TempDir()})
		do(t, h, start)
		time.Sleep(10 * time.Second)
		w.slept += 192 * time.Second
		time.Sleep(BeatEvery)
		synctest.Wait()
		n := h.Notices()
		if len(n) != 1 || n[0].Code != Slept || n[0].Gap != 192*time.Second || !strings.Contains(n[0].Text, "3 min 12 s") {
			t.Fatalf("notices %v", n)
		}
		if v := view(h); !v.Clock.Running || v.Clock.RemainingMS != setup(t).Rules.PeriodLength.Milliseconds()-10_250 {
			t.Errorf("clock %+v", v.Clock)
		}
		w.slept += time.Second // no nap
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
			shut(t, h)
			w.drift = drift
		}
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

// playEnv makes the test program play in a folder and say what is acknowledged, until it is killed.
const playEnv = "RAFTER_TEST_PLAY"

func playUntilKilled(folder string) {
	set, _ := rules.ByName("nfhs")
	h, _, err := Open(Config{Folder: folder, Setup: engine.Setup{Rules: set}})
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	for n := 0; ; n++ {
		c := point
		if n%2 == 0 {
			c = start
		}
		if _, _, err := h.Do("keys", c); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		var v engine.View
		h.ViewInto(&v, h.Now())
		fmt.Println(h.Acknowledged(), v.Clock.RemainingMS)
		time.Sleep(time.Millisecond)
	}
}

func TestAKilledProgramLosesNothingThatWasAcknowledged(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	folder := t.TempDir()
	for round := range 10 {
		player := exec.Command(os.Args[0])
		player.Env = append(os.Environ(), playEnv+"="+folder)
		out, err := player.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := player.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		var last string
		for range 20 + random.IntN(200) {
			if !lines.Scan() {
				t.Fatalf("the player ended: %s", last)
			}
			last = lines.Text()
		}
		if err := player.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		for lines.Scan() { // what it had said before it died
			if strings.Count(lines.Text(), " ") == 1 {
				last = lines.Text()
			}
		}
		_ = player.Wait() // it was killed, and says so
		var acknowledged int
		var remaining int64
		if _, err := fmt.Sscan(last, &acknowledged, &remaining); err != nil {
			t.Fatalf("the player says %q", last)
		}
		h, notice, err := Open(Config{Folder: folder, Setup: setup(t)})
		if err != nil {
			t.Fatal(err)
		}
		v := view(h)
		if events := len(h.Game().Events()); notice.Code != Resumed || events < acknowledged || acknowledged == 0 {
			t.Errorf("round %d: %+v, %d events, %d were acknowledged", round, notice, events, acknowledged)
		}
		if d := v.Clock.RemainingMS - remaining; v.Clock.Running || d < -100 || d > 500 {
			t.Errorf("round %d: the clock showed %d ms and stands at %d", round, remaining, v.Clock.RemainingMS)
		}
		shut(t, h)
	}
}

// BenchmarkAppendAcknowledged is the time from a command to its event being on disk.
func BenchmarkAppendAcknowledged(b *testing.B) {
	h, _, err := Open(Config{Folder: b.TempDir(), Setup: setup(b)})
	if err != nil {
		b.Fatal(err)
	}
	for n := 0; b.Loop(); {
		// Now and then a new game, so that it is not the size of the game that is measured.
		if n == 500 {
			b.StopTimer()
			if _, _, err := h.Do("keys", another); err != nil {
				b.Fatal(err)
			}
			n = 0
			b.StartTimer()
		}
		c := point
		c.Team = engine.Home + engine.Team(n%2)
		do(b, h, c)
		n++
		for h.Acknowledged() < n {
			runtime.Gosched()
		}
	}
	shut(b, h)
}

// BenchmarkResume is the opening of a game of 2,000 events with an hour of beats.
func BenchmarkResume(b *testing.B) {
	folder := b.TempDir()
	path := filepath.Join(folder, "2026-11-25-1830.log")
	game, err := engine.NewGame(setup(b))
	if err != nil {
		b.Fatal(err)
	}
	var encoder journal.Encoder
	var text []byte
	put := func(r journal.Record) {
		if text, err = encoder.Append(text, r); err != nil {
			b.Fatal(err)
		}
	}
	put(journal.Record{Header: &journal.Header{Format: journal.Format, Program: journal.Program, ID: "a",
		Began: journal.Wall(time.Now()), Setup: setup(b)}})
	for n := range 14_400 {
		at := clock.Instant(n) * clock.Instant(BeatEvery)
		if n%7 == 0 && n/7 < 2000 {
			ev, _, err := game.Do("keys", point, at, engine.None)
			if err != nil {
				b.Fatal(err)
			}
			put(journal.Record{Event: &ev})
		}
		put(journal.Record{Beat: &journal.Beat{At: at, Left: time.Minute}})
	}
	if err := os.WriteFile(path, text, 0o600); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		h, notice, err := Open(Config{Folder: folder, Setup: setup(b)})
		if err != nil || notice.Code != Resumed {
			b.Fatalf("%+v, %v", notice, err)
		}
		shut(b, h)
	}
}
