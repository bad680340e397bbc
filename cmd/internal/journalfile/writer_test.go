package journalfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"

	"rafter/engine"
	"rafter/engine/journal"
	"rafter/engine/script"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(holdEnv); path != "" {
		holdLog(path)
		return
	}
	goleak.VerifyTestMain(m)
}

func header() journal.Header {
	set, _ := script.Published(script.Standard) // there is always that one
	return journal.Header{Format: journal.Format, Program: journal.Program, ID: "a", Setup: engine.Setup{Rules: set},
		Began: journal.Wall(time.Date(2026, 11, 25, 18, 30, 0, 0, time.UTC))}
}

func begin() []journal.Record {
	h := header()
	return []journal.Record{{Header: &h}}
}

// event returns the nth event of a plain game: a point for home each second.
func event(n int) journal.Record {
	e := engine.Event{Number: n, Desk: "keys", Command: engine.Command{Do: engine.Score, Team: engine.Home, Points: 1}}
	setSecond(&e.At, n)
	return journal.Record{Event: &e}
}

// beat returns a beat n seconds in.
func beat(n int) journal.Beat {
	b := journal.Beat{Left: time.Minute}
	setSecond(&b.At, n)
	return b
}

func setSecond[Instant ~int64](at *Instant, n int) { *at = Instant(n) * 1e9 }

// placed returns a Writer whose log, a.log, has been made on a disk of its own.
func placed(t *testing.T) (*memory, *Writer) {
	t.Helper()
	disk := newMemory()
	w := New(disk, "a.log", true, begin(), journal.Beat{})
	if err := w.Place(); err != nil {
		t.Fatal(err)
	}
	return disk, w
}

func mustClose(t *testing.T, w *Writer) {
	t.Helper()
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

// mustHold checks that the log on disk reads as whole, but for a torn tail, and has at least n events.
func mustHold(t *testing.T, disk Disk, path string, n int) *journal.Log {
	t.Helper()
	log, err := Read(disk, path)
	if n == 0 && errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		t.Fatalf("%d events are acknowledged, and the log reads: %v", n, err)
	}
	if log.Events < n {
		t.Fatalf("%d events are acknowledged, and the log holds %d", n, log.Events)
	}
	return log
}

func TestAnAcknowledgedEventIsOnDisk(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := newMemory()
		w := New(disk, "games/a.log", true, begin(), journal.Beat{})
		if err := w.Place(); err != nil {
			t.Fatal(err)
		}
		w.Start()
		for n := 1; n <= 5; n++ {
			w.Append(event(n))
			synctest.Wait()
			if w.Acknowledged() != n {
				t.Fatalf("after event %d: acknowledged %d, %+v", n, w.Acknowledged(), w.Status())
			}
			for _, after := range disk.powerCut() {
				mustHold(t, after, "games/a.log", n)
			}
		}
		mustClose(t, w)
		log := mustHold(t, disk, "games/a.log", 5)
		if log.Torn != 0 || log.Events != 5 {
			t.Errorf("after closing: %+v", log)
		}
	})
}

// Whatever has gathered while the disk was slow costs one write and one sync, and of beats only the newest counts.
func TestWhatGathersIsWrittenAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk, w := placed(t)
		w.Beat(beat(0))
		for n := 1; n <= 100; n++ {
			w.Append(event(n))
		}
		w.Beat(beat(101))
		w.Beat(beat(102))
		if s := w.Status(); s.Waiting != 100 {
			t.Errorf("%d waiting, want 100", s.Waiting)
		}
		before := disk.calls
		w.Start()
		synctest.Wait()
		if calls := disk.calls - before; calls != 2 {
			t.Errorf("%d operations, want one write and one sync", calls)
		}
		log := mustHold(t, disk, "a.log", 100)
		if log.Beats != 1 || log.Last != beat(102) {
			t.Errorf("%d beats, the last %+v; want one, the newest", log.Beats, log.Last)
		}
		mustClose(t, w)
	})
}

// An event carries its own instant, so a beat before it that is not written yet says nothing; written after it, it
// would stand out of order.
func TestABeatThatAnEventOvertookIsDropped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk, w := placed(t)
		w.Beat(beat(0))
		w.Append(event(1))
		w.Start()
		mustClose(t, w)
		if log := mustHold(t, disk, "a.log", 1); log.Beats != 0 {
			t.Errorf("%d beats", log.Beats)
		}
	})
}

func TestClosingTriesOnceMore(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := newMemory()
		disk.fail(errFull)
		w := New(disk, "a.log", true, begin(), journal.Beat{})
		if err := w.Place(); !errors.Is(err, errFull) {
			t.Fatal(err)
		}
		w.Start()
		w.Append(event(1))
		synctest.Wait()
		disk.fail(nil)
		mustClose(t, w)
		mustHold(t, disk, "a.log", 1)
	})
}

// For every operation of a session, and every way of failing: nothing acknowledged is ever lost, and when the disk
// comes back all is written.
func TestAnyOperationMayFail(t *testing.T) {
	failures := map[string]struct {
		err   error
		times int // operations
	}{
		"once full":    {errFull, 1},
		"once broken":  {errBroken, 1},
		"thrice":       {errBroken, 3},
		"for a while":  {errFull, 12},
		"from then on": {errBroken, 1 << 30},
	}
	for name, failure := range failures {
		t.Run(name, func(t *testing.T) {
			reached := true
			n := 1
			for ; reached; n++ {
				synctest.Test(t, func(t *testing.T) { reached = failAt(t, n, failure.times, failure.err) })
				if t.Failed() {
					t.Fatalf("when operation %d fails", n)
				}
			}
			if n < 15 {
				t.Errorf("only %d operations were tried", n)
			}
		})
	}
}

// failAt plays a session in which the disk fails from operation n on, so many times. It tells whether the session
// has that many operations.
func failAt(t *testing.T, n, times int, failure error) (reached bool) {
	const path, events = "games/a.log", 6
	disk := newMemory()
	disk.fails = func(call int, _ string) error {
		if call >= n && call < n+times {
			reached = true
			return failure
		}
		return nil
	}
	w := New(disk, path, true, begin(), journal.Beat{})
	_ = w.Place() // may fail; the session goes on
	w.Start()
	for i := 1; i <= events; i++ {
		w.Append(event(i))
		w.Beat(beat(i))
		synctest.Wait()
		if i%2 == 0 {
			w.Retry()
			synctest.Wait()
		}
		acknowledged := w.Acknowledged()
		s := w.Status()
		if s.Err == nil && acknowledged != i || s.Err != nil && s.Waiting == 0 && acknowledged != i {
			t.Fatalf("event %d: acknowledged %d, %+v", i, acknowledged, s)
		}
		for _, after := range disk.powerCut() {
			mustHold(t, after, path, acknowledged)
		}
	}
	disk.fail(nil)
	w.Retry()
	synctest.Wait()
	if s := w.Status(); s.Err != nil || s.Waiting != 0 || w.Acknowledged() != events {
		t.Fatalf("the disk is back and %d of %d are acknowledged: %+v", w.Acknowledged(), events, s)
	}
	for _, after := range disk.powerCut() {
		if log := mustHold(t, after, path, events); log.Torn != 0 {
			t.Fatalf("a torn tail of %d bytes is left", log.Torn)
		}
	}
	mustClose(t, w)
	return reached
}

func TestClosingSaysWhatIsNotOnDisk(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk, w := placed(t)
		w.Start()
		disk.fail(errFull)
		w.Append(event(1))
		w.Append(event(2))
		err := w.Close()
		if !errors.Is(err, errFull) || !strings.Contains(fmt.Sprint(err), "2 of the game's records") || !strings.Contains(fmt.Sprint(err), "a.log") {
			t.Errorf("closed with %v", err)
		}
	})
}

// A slow disk makes nobody wait: Append returns while a sync hangs.
func TestASlowDiskHoldsNobodyUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := newMemory()
		w := New(slowDisk{disk}, "a.log", true, begin(), journal.Beat{})
		if err := w.Place(); err != nil {
			t.Fatal(err)
		}
		w.Start()
		began := time.Now()
		for n := 1; n <= 1000; n++ {
			w.Append(event(n))
			w.Beat(beat(n))
			w.Retry()
			w.Status()
		}
		if waited := time.Since(began); waited != 0 {
			t.Errorf("1,000 events were held up for %v", waited)
		}
		mustClose(t, w)
		if w.Acknowledged() != 1000 {
			t.Errorf("acknowledged %d", w.Acknowledged())
		}
	})
}

// slowDisk takes a second for each sync.
type slowDisk struct{ *memory }

func (d slowDisk) Open(name string, flag int) (File, error) {
	f, err := d.memory.Open(name, flag)
	if err != nil {
		return nil, err
	}
	return slowFile{f.(*memoryFile)}, nil
}

func (d slowDisk) Holds(name string, f File) bool {
	return d.memory.Holds(name, f.(slowFile).memoryFile)
}

type slowFile struct{ *memoryFile }

func (f slowFile) Sync() error {
	time.Sleep(time.Second)
	return f.memoryFile.Sync()
}

func TestALogThatIsDeletedIsWrittenAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk, w := placed(t)
		w.Start()
		w.Append(event(1))
		synctest.Wait()
		if err := disk.Remove("a.log"); err != nil {
			t.Fatal(err)
		}
		w.Retry()
		synctest.Wait()
		mustHold(t, disk, "a.log", 1)
		if s := w.Status(); s.Err != nil || s.Waiting != 0 {
			t.Errorf("%+v", s)
		}
		mustClose(t, w)
	})
}

func TestFinishWaitsForTheDisk(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk, w := placed(t)
		w.Start()
		disk.fail(errFull)
		w.Append(event(1))
		w.Finish()
		synctest.Wait()
		w.Retry()
		synctest.Wait()
		if w.Finished() {
			t.Fatal("finished with an event that is not on disk")
		}
		disk.fail(nil)
		w.Retry()
		synctest.Wait()
		if !w.Finished() {
			t.Fatal("not finished though all is on disk")
		}
		mustHold(t, disk, "a.log", 1)
		if disk.locks["a.log.lock"] {
			t.Error("the lock is still held")
		}
	})
}

func TestANameThatIsTakenGetsANumber(t *testing.T) {
	disk := newMemory()
	for _, want := range []string{"g/2026-11-25-1830.log", "g/2026-11-25-1830-2.log", "g/2026-11-25-1830-3.log"} {
		w := New(disk, "g/"+Name(time.Date(2026, 11, 25, 18, 30, 59, 0, time.UTC)), false, begin(), journal.Beat{})
		if err := w.Place(); err != nil || w.Status().Path != want {
			t.Errorf("placed at %s, %v; want %s", w.Status().Path, err, want)
		}
		if want != "g/2026-11-25-1830-2.log" { // that one stays locked, as by another program
			mustClose(t, w)
		}
	}
	for _, name := range []string{"g/2026-11-25-1830-10.log", "g/2026-11-24-2359.log", "g/notes.txt"} {
		f, err := disk.Open(name, os.O_CREATE|os.O_WRONLY)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	list, err := List(disk, "g")
	want := "g/2026-11-25-1830-10.log g/2026-11-25-1830-3.log g/2026-11-25-1830-2.log g/2026-11-25-1830.log g/2026-11-24-2359.log"
	if got := strings.Join(list, " "); err != nil || got != want {
		t.Errorf("listed %s, %v\nwant %s", got, err, want)
	}
}
