package watch

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func wants(name string) bool { return filepath.Ext(name) == ".txt" || filepath.Ext(name) == ".png" }

// bench is a watch of a folder with a file a.txt in it, which it reads.
type bench struct {
	*Watch[string]
	t      *testing.T
	folder string
	reads  atomic.Int32
}

func start(t *testing.T) *bench {
	t.Helper()
	return startAt(t, filepath.Join(t.TempDir(), "mine"))
}

func startAt(t *testing.T, folder string) *bench {
	t.Helper()
	b := &bench{t: t, folder: folder}
	b.put("a.txt", "first")
	w, err := Start(folder, wants, func() (string, error) {
		b.reads.Add(1)
		text, err := os.ReadFile(filepath.Join(folder, "a.txt"))
		return string(text), err
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := w.Close(); err != nil {
			t.Error(err)
		}
	})
	b.Watch = w
	return b
}

func (b *bench) put(name, text string) {
	b.t.Helper()
	path := filepath.Join(b.folder, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		b.t.Fatal(err)
	}
}

func (b *bench) must(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

// patience is how long a test waits for what must come; on a busy machine too.
const patience = 5 * time.Second

// until takes results until one is as wanted, and returns how long that took.
func (b *bench) until(want string, err error) time.Duration {
	b.t.Helper()
	began := time.Now()
	var last Result[string]
	for time.Since(began) < patience {
		if r, ok := b.Next(); ok {
			if last = r; r.Value == want && errors.Is(r.Err, err) {
				return time.Since(began)
			}
		}
		time.Sleep(time.Millisecond)
	}
	b.t.Fatalf("want %q, %v; the last was %q, %v", want, err, last.Value, last.Err)
	return 0
}

// quiet fails where something is read though nothing happened.
func (b *bench) quiet() {
	b.t.Helper()
	time.Sleep(3 * Settle)
	if r, ok := b.Next(); ok {
		b.t.Errorf("read again for nothing: %+v", r)
	}
}

func TestAFileThatIsWrittenInPlace(t *testing.T) {
	b := start(t)
	b.quiet()
	b.put("a.txt", "second")
	took := b.until("second", nil)
	t.Logf("%v after the save", took)
	b.quiet()
}

func TestAFileThatIsWrittenBesideAndRenamed(t *testing.T) {
	b := start(t)
	for _, text := range []string{"second", "third", "fourth"} {
		b.put(".a.txt.new", text)
		b.must(os.Rename(filepath.Join(b.folder, ".a.txt.new"), filepath.Join(b.folder, "a.txt")))
		b.until(text, nil)
	}
}

// Some editors move the old file away, and write the new one in its place.
func TestAFileThatIsMovedAwayFirst(t *testing.T) {
	b := start(t)
	for _, text := range []string{"second", "third"} {
		b.must(os.Rename(filepath.Join(b.folder, "a.txt"), filepath.Join(b.folder, "a.txt~")))
		b.put("a.txt", text)
		b.until(text, nil)
	}
}

func TestAFileThatGoesAndComesBack(t *testing.T) {
	b := start(t)
	b.must(os.Remove(filepath.Join(b.folder, "a.txt")))
	b.until("", fs.ErrNotExist)
	b.put("a.txt", "back")
	b.until("back", nil)
}

func TestAFolderThatGoesAndComesBack(t *testing.T) {
	b := start(t)
	for _, text := range []string{"second", "third"} {
		b.must(os.RemoveAll(b.folder))
		b.until("", fs.ErrNotExist)
		b.put("a.txt", text)
		b.until(text, nil)
	}
	b.put("a.txt", "and watched again")
	b.until("and watched again", nil)
}

func TestAFolderThatIsReplaced(t *testing.T) {
	b := start(t)
	for i := range 3 {
		next := b.folder + "-next"
		b.must(os.Mkdir(next, 0o755))
		text := fmt.Sprint("replaced ", i)
		b.must(os.WriteFile(filepath.Join(next, "a.txt"), []byte(text), 0o644))
		b.must(os.Rename(b.folder, fmt.Sprint(b.folder, "-old", i)))
		b.must(os.Rename(next, b.folder))
		b.until(text, nil)
		b.put("a.txt", text+" and edited")
		b.until(text+" and edited", nil)
	}
	b.must(os.WriteFile(filepath.Join(b.folder+"-old0", "a.txt"), []byte("no more ours"), 0o644))
	b.quiet()
}

func TestAFolderAboveThatIsReplaced(t *testing.T) {
	above := filepath.Join(t.TempDir(), "themes")
	b := startAt(t, filepath.Join(above, "mine"))
	b.must(os.Rename(above, above+"-old"))
	b.until("", fs.ErrNotExist)
	b.put("a.txt", "new")
	b.until("new", nil)
	b.put("a.txt", "and edited")
	b.until("and edited", nil)
}

func TestALinkThatIsTurnedElsewhere(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"one", "two"} {
		if err := os.Mkdir(filepath.Join(dir, name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink("one", filepath.Join(dir, "mine")); err != nil {
		t.Skip("no links here: ", err)
	}
	b := startAt(t, filepath.Join(dir, "mine"))
	b.put("a.txt", "second")
	b.until("second", nil)
	b.must(os.WriteFile(filepath.Join(dir, "two", "a.txt"), []byte("the other"), 0o644))
	b.must(os.Symlink("two", filepath.Join(dir, "next")))
	b.must(os.Rename(filepath.Join(dir, "next"), filepath.Join(dir, "mine")))
	b.until("the other", nil)
	b.put("a.txt", "and edited")
	b.until("and edited", nil)
}

func TestABurstOfFiftyWritesIsReadAFewTimes(t *testing.T) {
	b := start(t)
	for i := range 50 {
		b.put("a.txt", fmt.Sprint("write ", i))
	}
	b.until("write 49", nil)
	b.quiet()
	if n := b.reads.Load(); n > 10 {
		t.Errorf("read %d times", n)
	}
}

func TestASingleFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "mine.zip")
	b := &bench{t: t, folder: dir}
	b.put("mine.zip", "first")
	w, err := Start(path, wants, func() (string, error) {
		text, err := os.ReadFile(path)
		return string(text), err
	})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	b.Watch = w
	b.put("another.zip", "of no concern")
	b.quiet()
	b.put("mine.zip", "second")
	b.until("second", nil)
	b.put("mine.new", "third")
	b.must(os.Rename(filepath.Join(dir, "mine.new"), path))
	b.until("third", nil)
}

func TestFoldersInTheFolder(t *testing.T) {
	b := start(t)
	b.put("pictures/deep/logo.png", "1")
	b.until("first", nil)
	b.quiet()
	b.put("pictures/deep/logo.png", "2")
	b.until("first", nil)
}

func TestWhatIsOfNoConcern(t *testing.T) {
	b := start(t)
	b.put(".a.txt.swp", "x")
	b.put("trace", "x")
	b.put("a.txt~", "x")
	b.must(os.Chmod(filepath.Join(b.folder, "a.txt"), 0o600))
	b.must(os.WriteFile(filepath.Join(filepath.Dir(b.folder), "beside.txt"), []byte("x"), 0o644))
	b.quiet()
}

func TestNobodyWaits(t *testing.T) {
	folder := t.TempDir()
	hold := make(chan struct{})
	w, err := Start(folder, wants, func() (int, error) { <-hold; return 1, nil })
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "a.txt"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	time.Sleep(2 * Settle)
	if _, ok := w.Next(); ok {
		t.Error("a result of what is still being read")
	}
	close(hold)
	if err := w.Close(); err != nil {
		t.Error(err)
	}
}
