package host

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"rafter/cmd/internal/journalfile"
	"rafter/engine"
	"rafter/engine/journal"
)

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
				before := read(t, beside)
				h, notice := w.open(t, config)
				if notice.Code != Began {
					t.Errorf("the game beside is over, and %+v", notice)
				}
				shut(t, h)
				if after := read(t, beside); after.Lines != before.Lines {
					t.Errorf("the game beside is over and was written to: %d lines, before %d", after.Lines, before.Lines)
				}
			}
		})
	}
}

// A line may be whole and its event still be none that the engine takes: written by a version with other rules, say.
func TestAnEventThatCannotBePlayedGoesOnBesideIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		folder := t.TempDir()
		h, first := w.open(t, Config{Folder: folder})
		do(t, h, point)
		do(t, h, point)
		shut(t, h)
		log := read(t, first.Path)
		void := engine.Event{Number: 3, At: log.At(), Desk: "keys", Command: engine.Command{Do: engine.Void, Event: 99}}
		text, err := journal.Encode(log.Header, append(log.EventList(), void))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(first.Path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		for again := range 2 {
			h, notice := w.open(t, Config{Folder: folder})
			if notice.Path == first.Path || again == 0 && (notice.Code != Damage || !strings.Contains(notice.Text, "line 4")) {
				t.Errorf("%+v", notice)
			}
			if v := view(h); v.Home.Score != 2+again || v.LastEvent != 2+again {
				t.Errorf("score %d after %d events", v.Home.Score, v.LastEvent)
			}
			do(t, h, point)
			shut(t, h)
		}
	})
}

func TestNoFileBesideADamagedLogIsReplaced(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		path := filepath.Join(t.TempDir(), "game.log")
		h, _ := w.open(t, Config{Log: path})
		do(t, h, point)
		do(t, h, point)
		shut(t, h)
		damage(t, path, 2)
		for n := 2; n <= maxBeside; n++ {
			if err := os.WriteFile(journalfile.Numbered(path, n), []byte("mine\n"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		_, _, err := Open(Config{Log: path, Time: w.time(), Setup: setup(t)})
		if err == nil || !strings.Contains(err.Error(), "move old logs") {
			t.Errorf("got %v", err)
		}
		for n := 2; n <= maxBeside; n++ {
			if got, err := os.ReadFile(journalfile.Numbered(path, n)); err != nil || string(got) != "mine\n" {
				t.Fatalf("file %d holds %q (%v)", n, got, err)
			}
		}
	})
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

func TestWhatItsDiskDoesNotTakeIsKeptElsewhere(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		spare, file := t.TempDir(), filepath.Join(t.TempDir(), "file")
		if err := os.WriteFile(file, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		config := Config{Folder: filepath.Join(file, "games"), Spare: spare} // no folder can be in a file
		h, _ := w.open(t, config)
		if err := h.Close(); err == nil {
			t.Error("it says nothing of a log that is nowhere")
		}
		if left, _ := os.ReadDir(spare); len(left) > 0 {
			t.Errorf("nothing was played, and it left %v", left)
		}
		h, _ = w.open(t, config)
		do(t, h, point)
		do(t, h, point)
		kept := filepath.Join(spare, "2026-11-25-1830.log")
		if err := h.Close(); err == nil || !strings.Contains(err.Error(), kept) {
			t.Errorf("it says %v", err)
		}
		h, _ = w.open(t, Config{Log: kept})
		if score := view(h).Home.Score; score != 2 {
			t.Errorf("the game kept elsewhere has %d points, want 2", score)
		}
		shut(t, h)
	})
}
