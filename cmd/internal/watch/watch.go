// Package watch reads a folder again whenever something in it changes, and keeps what was read last: so that a theme
// that is saved is seen at once. It knows neither themes nor windows, and whoever asks never waits for a disk.
package watch

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
)

// Settle is how long after the first sign of a change the folder is read: an editor writes, renames and removes within
// it. What comes later is read once more.
const Settle = 20 * time.Millisecond

// maxFolders bounds the folders that are watched: the one named, those above it, and those below it.
const maxFolders = 64

// Result is what reading came to.
type Result[T any] struct {
	Value T
	Err   error
}

// Watch reads what is at a path again and again, in a goroutine of its own, until it is closed.
type Watch[T any] struct {
	path   string // absolute
	wants  func(name string) bool
	read   func() (T, error)
	events *fsnotify.Watcher
	newest chan Result[T]
	done   chan struct{}
}

// Start watches a folder, or a single file such as a zip. It does not read at first: whoever starts does so next. wants
// tells of a file's name in the folder whether it matters; read and wants are called in another goroutine. The error
// says why the system does not let it watch.
func Start[T any](path string, wants func(name string) bool, read func() (T, error)) (*Watch[T], error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	events, err := fsnotify.NewWatcher()
	if err != nil {
		return nil, fmt.Errorf("changes of %s cannot be seen: %w", path, err)
	}
	w := &Watch[T]{path: path, wants: wants, read: read, events: events, newest: make(chan Result[T], 1), done: make(chan struct{})}
	if err := w.look(); err != nil {
		return nil, errors.Join(fmt.Errorf("changes of %s cannot be seen: %w", path, err), events.Close())
	}
	go w.run()
	return w, nil
}

// Next returns what was read last, once; false where nothing was read since. It never waits.
func (w *Watch[T]) Next() (Result[T], bool) {
	select {
	case r := <-w.newest:
		return r, true
	default:
		return Result[T]{}, false
	}
}

// Results is where each reading is put, in the place of one that nobody has taken.
func (w *Watch[T]) Results() <-chan Result[T] { return w.newest }

// Close ends the watch. It waits for a reading that is under way.
func (w *Watch[T]) Close() error {
	err := w.events.Close()
	<-w.done
	return err
}

func (w *Watch[T]) run() {
	defer close(w.done)
	for {
		select {
		case e, open := <-w.events.Events:
			if !open {
				return
			}
			if !w.concerns(e) {
				continue
			}
		case _, open := <-w.events.Errors: // events were lost, perhaps ours
			if !open {
				return
			}
		}
		if !w.settle() {
			return
		}
		_ = w.look() // what cannot be watched cannot be read either, and reading says why
		w.publish()
	}
}

// settle lets the rest of a change pass; false where the watch was closed.
func (w *Watch[T]) settle() (open bool) {
	ctx, cancel := context.WithTimeout(context.Background(), Settle)
	defer cancel()
	for {
		select {
		case <-ctx.Done():
			return true
		case _, open = <-w.events.Events:
		case _, open = <-w.events.Errors:
		}
		if !open {
			return false
		}
	}
}

// publish reads, and puts the result in the place of one that nobody has taken.
func (w *Watch[T]) publish() {
	v, err := w.read()
	select {
	case <-w.newest:
	default:
	}
	w.newest <- Result[T]{v, err}
}

// concerns tells whether an event is about the path, something in it, or a folder above it.
func (w *Watch[T]) concerns(e fsnotify.Event) bool {
	base := filepath.Base(e.Name)
	switch {
	case e.Op == fsnotify.Chmod: // as programs that only look cause it
		return false
	case e.Name == w.path || below(w.path, e.Name):
		return true
	}
	if !below(e.Name, w.path) {
		return false
	}
	info, err := os.Lstat(e.Name) // a folder counts whatever its name; of one that is gone nobody can tell
	return w.wants(base) || err == nil && info.IsDir() || err != nil && filepath.Ext(base) == ""
}

func below(path, folder string) bool {
	return strings.HasPrefix(path, strings.TrimSuffix(folder, string(filepath.Separator))+string(filepath.Separator))
}

// look puts the watches where they belong: on the folder that the path is in, or the nearest above it that there is,
// since a folder that is replaced takes its own watch along; and on the path with the folders in it.
func (w *Watch[T]) look() error {
	for _, old := range w.events.WatchList() {
		_ = w.events.Remove(old) // it may be gone
	}
	above := filepath.Dir(w.path)
	err := w.events.Add(above)
	for err != nil && above != filepath.Dir(above) {
		above = filepath.Dir(above)
		err = w.events.Add(above)
	}
	if err != nil {
		return err
	}
	if info, err := os.Stat(w.path); err != nil || !info.IsDir() {
		return nil
	}
	// WalkDir does not follow a link at its root, unless its name ends in a separator.
	count := 0
	return filepath.WalkDir(w.path+string(filepath.Separator), func(name string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return nil // removed meanwhile, which is an event of its own
		}
		if count++; count > maxFolders {
			return fs.SkipAll
		}
		return w.events.Add(filepath.Clean(name))
	})
}
