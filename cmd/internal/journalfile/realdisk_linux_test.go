package journalfile

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"golang.org/x/sys/unix"

	"rafter/engine/journal"
)

// mount gives a disk of its own in memory, where that is allowed.
func mount(t *testing.T, options string) string {
	t.Helper()
	dir := t.TempDir()
	if err := unix.Mount("rafter-test", dir, "tmpfs", 0, options); err != nil {
		t.Skipf("mounting a small disk is not allowed here (%v); TestAnyOperationMayFail covers the same with one that is made up", err)
	}
	t.Cleanup(func() {
		if err := unix.Unmount(dir, unix.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	return dir
}

func TestADiskThatIsReallyFull(t *testing.T) {
	dir := mount(t, "size=256k")
	path := filepath.Join(dir, "a.log")
	w := New(OS(), path, true, begin(), journal.Beat{})
	if err := w.Place(); err != nil {
		t.Fatal(err)
	}
	w.Start()
	w.Append(event(1))
	waitFor(t, func() bool { return w.Acknowledged() == 1 })
	filler := filepath.Join(dir, "filler")
	if err := os.WriteFile(filler, bytes.Repeat([]byte{1}, 1<<20), 0o600); !errors.Is(err, unix.ENOSPC) {
		t.Fatalf("filling the disk: %v", err)
	}
	n := 1
	for w.Status().Err == nil && n < 1000 {
		n++
		w.Append(event(n))
		waitFor(t, func() bool { return w.Acknowledged() == n || w.Status().Err != nil })
	}
	if s := w.Status(); !errors.Is(s.Err, unix.ENOSPC) || s.Waiting == 0 {
		t.Fatalf("after %d events: %+v", n, s)
	}
	mustHold(t, OS(), path, w.Acknowledged())
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	w.Retry()
	waitFor(t, func() bool { return w.Acknowledged() == n })
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if log := mustHold(t, OS(), path, n); log.Torn != 0 {
		t.Errorf("%d bytes torn", log.Torn)
	}
}

func TestADiskThatCanOnlyBeRead(t *testing.T) {
	dir := mount(t, "size=256k")
	path := filepath.Join(dir, "a.log")
	text := written(t, 2)
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := unix.Mount("", dir, "", unix.MS_REMOUNT|unix.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	w, log, err := Open(OS(), path)
	if err != nil || log.Events != 2 {
		t.Fatalf("opened: %v", err)
	}
	if s := w.Status(); !errors.Is(s.Err, unix.EROFS) {
		t.Fatalf("%+v", s)
	}
	w.Start()
	w.Append(event(3))
	waitFor(t, func() bool { return w.Status().Waiting == 1 })
	if err := unix.Mount("", dir, "", unix.MS_REMOUNT, ""); err != nil {
		t.Fatal(err)
	}
	w.Retry()
	waitFor(t, func() bool { return w.Acknowledged() == 3 })
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	mustHold(t, OS(), path, 3)
}
