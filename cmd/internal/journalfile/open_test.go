package journalfile

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"rafter/engine"
	"rafter/engine/journal"
)

// written returns a log of n events as a file holds it.
func written(t testing.TB, n int) []byte {
	t.Helper()
	var events []engine.Event
	for i := 1; i <= n; i++ {
		events = append(events, *event(i).Event)
	}
	text, err := journal.Encode(header(), events)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func (m *memory) put(name string, content []byte) {
	m.names[name] = &inode{data: bytes.Clone(content), synced: bytes.Clone(content)}
	m.stored[name] = m.names[name]
}

// A log cut at any byte is gone on with: its whole lines are there, the tail is in a file beside, and new events
// follow.
func TestATornTailIsCutAndKept(t *testing.T) {
	text := written(t, 2)
	headerSize := bytes.IndexByte(text, '\n') + 1
	for cut := headerSize; cut <= len(text); cut++ {
		synctest.Test(t, func(t *testing.T) {
			disk := newMemory()
			disk.put("a.log", text[:cut])
			w, log, err := Open(disk, "a.log")
			if err != nil {
				t.Fatalf("cut at %d: %v", cut, err)
			}
			events := bytes.Count(text[headerSize:cut], []byte("\n"))
			if log.Events != events || w.Acknowledged() != events || w.Status().Err != nil {
				t.Fatalf("cut at %d: %d events, %d acknowledged, want %d", cut, log.Events, w.Acknowledged(), events)
			}
			tail := text[bytes.LastIndexByte(text[:cut], '\n')+1 : cut]
			if kept := disk.names[w.TornCopy()]; len(tail) == 0 && w.TornCopy() != "" || len(tail) > 0 && (kept == nil || !bytes.Equal(kept.synced, tail)) {
				t.Fatalf("cut at %d: the tail is kept in %q", cut, w.TornCopy())
			}
			w.Start()
			w.Append(event(events + 1))
			mustClose(t, w)
			if log := mustHold(t, disk, "a.log", events+1); log.Torn != 0 || log.Events != events+1 {
				t.Fatalf("cut at %d: gone on with, it reads %+v", cut, log)
			}
		})
	}
}

// The same with a disk that fails at any operation of the opening: nothing is lost, and when it comes back the
// log is whole.
func TestOpeningATornLogMayFailAnywhere(t *testing.T) {
	text := written(t, 3)
	text = text[:len(text)-7]
	reached := true
	n := 1
	for ; reached; n++ {
		synctest.Test(t, func(t *testing.T) {
			reached = false
			disk := newMemory()
			disk.put("a.log", text)
			disk.fails = func(call int, _ string) error {
				if call >= n && call < n+2 {
					reached = true
					return errBroken
				}
				return nil
			}
			w, _, err := Open(disk, "a.log")
			for _, after := range disk.powerCut() {
				mustHold(t, after, "a.log", 2)
			}
			if err != nil {
				if !errors.Is(err, errBroken) {
					t.Fatalf("operation %d: %v", n, err)
				}
				return // could not be read at all, and was left alone
			}
			w.Start()
			w.Append(event(3))
			synctest.Wait()
			w.Retry()
			synctest.Wait()
			disk.fail(nil)
			w.Retry()
			if err := w.Close(); err != nil {
				t.Fatalf("operation %d: %v", n, err)
			}
			if log := mustHold(t, disk, "a.log", 3); log.Torn != 0 {
				t.Fatalf("operation %d: %+v", n, log)
			}
			if w.TornCopy() == "" || disk.names[w.TornCopy()] == nil {
				t.Fatalf("operation %d: the torn bytes were not kept", n)
			}
		})
	}
	if n < 10 {
		t.Errorf("only %d operations were tried", n)
	}
}

func TestADamagedLogIsLeftAsItIs(t *testing.T) {
	text := written(t, 3)
	lines := bytes.SplitAfter(text, []byte("\n"))
	text[len(lines[0])+len(lines[1])+10] ^= 4 // in line 3
	disk := newMemory()
	disk.put("a.log", text)
	w, log, err := Open(disk, "a.log")
	var e *journal.Error
	if w != nil || !errors.As(err, &e) || e.Line != 3 || log == nil || log.Events != 1 {
		t.Fatalf("opened: %v, %+v", err, log)
	}
	if !bytes.Equal(disk.names["a.log"].data, text) || disk.locks["a.log.lock"] {
		t.Error("the file was changed, or is still locked")
	}
}

func TestPeekReadsTheEndsAlone(t *testing.T) {
	end, err := func() ([]byte, error) {
		log, err := journal.Read(bytes.NewReader(written(t, 2)))
		if err != nil {
			return nil, err
		}
		e := journal.Continue(log)
		return e.Append(nil, journal.Record{End: &journal.End{At: 9e9}})
	}()
	if err != nil {
		t.Fatal(err)
	}
	open := written(t, 2)
	put := append(bytes.Clone(open), end...)
	for name, c := range map[string]struct {
		text  []byte
		ended bool
		code  error
	}{
		"unfinished":     {open, false, nil},
		"put away":       {put, true, nil},
		"torn":           {put[:len(put)-1], false, nil},
		"damaged within": {append(append(bytes.Clone(open[:len(open)-9]), "x"...), open[len(open)-9:]...), false, nil},
		"foreign":        {[]byte("hello\n"), false, journal.Foreign},
		"empty":          {nil, false, journal.Empty},
	} {
		disk := newMemory()
		disk.put("a.log", c.text)
		id, ended, err := Peek(disk, "a.log")
		if ended != c.ended || !errors.Is(err, c.code) || c.code == nil && (err != nil || id != "a") {
			t.Errorf("%s: id %q, ended %v, %v", name, id, ended, err)
		}
	}
	if _, _, err := Peek(newMemory(), "a.log"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("missing: %v", err)
	}
}

func TestSaveReplacesOnlyTheSameGame(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.log")
	h := header()
	events := []engine.Event{*event(1).Event}
	for range 2 { // the second replaces the first
		if err := Save(OS(), path, h, events); err != nil {
			t.Fatal(err)
		}
	}
	mustHold(t, OS(), path, 1)
	other := h
	other.ID = "b"
	if err := Save(OS(), path, other, nil); err == nil || !strings.Contains(err.Error(), "another game") {
		t.Errorf("another game was replaced: %v", err)
	}
	mustHold(t, OS(), path, 1)
	notes := filepath.Join(dir, "notes.txt")
	if err := os.WriteFile(notes, []byte("buy oranges\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := Save(OS(), notes, h, events); err == nil || !strings.Contains(err.Error(), "left as it is") {
		t.Errorf("a file that is no log was replaced: %v", err)
	}
	if text, err := os.ReadFile(notes); err != nil || string(text) != "buy oranges\n" {
		t.Errorf("%q, %v", text, err)
	}
}

// holdEnv makes the test program hold a log until its standard input ends: the second program of the next test.
const holdEnv = "RAFTER_TEST_HOLD_LOG"

func holdLog(path string) {
	w, _, err := Open(OS(), path)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	w.Start()
	fmt.Println("held")
	_, _ = io.Copy(io.Discard, os.Stdin)
	os.Exit(0) // as a crash would: without Close
}

func TestALogHasOneLockWhateverItIsCalledBy(t *testing.T) {
	path, link := filepath.Join(t.TempDir(), "a.log"), filepath.Join(t.TempDir(), "link.log")
	if err := os.WriteFile(path, written(t, 1), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(path, link); err != nil {
		t.Skipf("no symbolic links here: %v", err)
	}
	w, _, err := Open(OS(), path)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := Open(OS(), link); !errors.Is(err, ErrLocked) {
		t.Errorf("opened by its link too: %v", err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if w, _, err = Open(OS(), link); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Open(OS(), path); !errors.Is(err, ErrLocked) {
		t.Errorf("opened by its name too: %v", err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestASecondNameOfALogIsLockedToo: a hard link is another name with a lock file of its own.
func TestASecondNameOfALogIsLockedToo(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.log")
	if err := os.WriteFile(path, written(t, 1), 0o600); err != nil {
		t.Fatal(err)
	}
	second := filepath.Join(filepath.Dir(path), "second.log")
	if err := os.Link(path, second); err != nil || runtime.GOOS == "windows" {
		t.Skipf("no hard links to lock here: %v", err)
	}
	w, _, err := Open(OS(), path)
	if err != nil {
		t.Fatal(err)
	}
	var locked *LockedError
	if _, _, err := Open(OS(), second); !errors.As(err, &locked) || locked.Path != second {
		t.Errorf("opened by its second name too: %v", err)
	}
	if log, err := Read(OS(), second); err != nil || log.Events != 1 {
		t.Errorf("it may still be read: %v", err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if w, _, err = Open(OS(), second); err != nil {
		t.Fatalf("once it is let go: %v", err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

func TestTwoProgramsCannotWriteOneLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.log")
	if err := os.WriteFile(path, written(t, 1), 0o600); err != nil {
		t.Fatal(err)
	}
	other := exec.Command(os.Args[0])
	other.Env = append(os.Environ(), holdEnv+"="+path)
	stdin, err := other.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	stdout, err := other.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := other.Start(); err != nil {
		t.Fatal(err)
	}
	if line, err := bufio.NewReader(stdout).ReadString('\n'); line != "held\n" {
		t.Fatalf("the other program says %q, %v", line, err)
	}
	_, _, err = Open(OS(), path)
	var locked *LockedError
	if !errors.As(err, &locked) || !errors.Is(err, ErrLocked) || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "--log") {
		t.Errorf("opened while another has it: %v", err)
	}
	if err := New(OS(), path, true, begin(), journal.Beat{}).Place(); !errors.Is(err, ErrLocked) {
		t.Errorf("written anew while another has it: %v", err)
	}
	mustHold(t, OS(), path, 1) // whoever only reads may
	if err := stdin.Close(); err != nil {
		t.Fatal(err)
	}
	if err := other.Wait(); err != nil {
		t.Fatal(err)
	}
	w, _, err := Open(OS(), path)
	if err != nil {
		t.Fatalf("the other has ended: %v", err)
	}
	mustClose(t, w)
	if _, err := os.Stat(path + ".lock"); err != nil {
		t.Errorf("the lock file must stay: %v", err)
	}
}

func TestTheMachinesOwnDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "folder", "a.log")
	w := New(OS(), path, true, begin(), journal.Beat{})
	if err := w.Place(); err != nil {
		t.Fatal(err)
	}
	w.Start()
	for n := 1; n <= 3; n++ {
		w.Append(event(n))
	}
	waitFor(t, func() bool { return w.Acknowledged() == 3 })
	mustHold(t, OS(), path, 3)
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	w.Retry()
	waitFor(t, func() bool { _, err := os.Stat(path); return err == nil })
	mustClose(t, w)
	mustHold(t, OS(), path, 3)
	names, err := OS().Names(filepath.Dir(path))
	if err != nil || strings.Join(names, " ") != "a.log a.log.lock" {
		t.Errorf("the folder holds %v, %v", names, err)
	}
}

func waitFor(t testing.TB, done func() bool) {
	t.Helper()
	for deadline := time.Now().Add(10 * time.Second); !done(); time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("not done in 10 s")
		}
	}
}

// BenchmarkAppendAcknowledged is the time from handing an event over to its being synced.
func BenchmarkAppendAcknowledged(b *testing.B) {
	disk := toldDisk{OS(), make(chan struct{}, 1)}
	w := New(disk, filepath.Join(b.TempDir(), "a.log"), true, begin(), journal.Beat{})
	if err := w.Place(); err != nil {
		b.Fatal(err)
	}
	w.Start()
	n := 0
	for b.Loop() {
		n++
		disk.forget()
		w.Append(event(n))
		<-disk.synced
		for w.Acknowledged() < n {
			runtime.Gosched()
		}
	}
	if err := w.Close(); err != nil {
		b.Fatal(err)
	}
}

// forget drops what was told of a sync before.
func (d toldDisk) forget() {
	select {
	case <-d.synced:
	default:
	}
}

// toldDisk tells of each sync, so that whoever waits for one does not take the processor from it.
type toldDisk struct {
	Disk
	synced chan struct{}
}

type toldFile struct {
	File
	synced chan struct{}
}

func (d toldDisk) Open(name string, flag int) (File, error) {
	f, err := d.Disk.Open(name, flag)
	return toldFile{f, d.synced}, err
}

func (d toldDisk) Holds(name string, f File) bool { return d.Disk.Holds(name, f.(toldFile).File) }

func (f toldFile) Sync() error {
	defer func() {
		select {
		case f.synced <- struct{}{}:
		default:
		}
	}()
	return f.File.Sync()
}

// BenchmarkPlainFsync is the reference for BenchmarkAppendAcknowledged: the same bytes, one write, one fsync.
func BenchmarkPlainFsync(b *testing.B) {
	line := bytes.SplitAfter(written(b, 1), []byte("\n"))[1]
	f, err := os.Create(filepath.Join(b.TempDir(), "plain"))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := f.Write(line); err != nil {
			b.Fatal(err)
		}
		if err := f.Sync(); err != nil {
			b.Fatal(err)
		}
	}
	if err := f.Close(); err != nil {
		b.Fatal(err)
	}
}
