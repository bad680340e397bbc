// Package journalfile keeps a game's log on disk: one goroutine writes, syncs and acknowledges, off the path of
// whoever plays, and puts the file right when the disk comes back. It must not decide anything about the game,
// read a clock or make its caller wait for a disk.
//
// The log is only ever added to, one write and one sync for all that has gathered. After any failed write or
// sync nothing more is added: what the file holds is then unknown, so a whole new file is written from memory,
// synced and renamed over it.
package journalfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"

	"rafter/engine/journal"
)

// Writer adds to one log. Append, Beat, Retry, Finish, Status and Acknowledged may be called from any goroutine
// and return at once, whatever the disk does.
type Writer struct {
	disk         Disk
	acknowledged atomic.Int64
	wake         chan struct{} // one place: there is something to do
	done         chan struct{} // closed when the writing goroutine has ended

	mu      sync.Mutex
	waiting []journal.Record // bounded by the game: the host takes no more than journal.MaxEvents
	beat    *journal.Beat    // the newest alone: an older one says nothing that it does not
	retry   bool
	finish  bool
	closing bool
	started bool
	status  Status

	// What follows belongs to the writing goroutine, or to the caller before Start.
	path    string
	fixed   bool // path may not be changed to a free name beside it
	unlock  func() error
	file    File // nil while the log cannot be written
	torn    int64
	tornTo  string
	encoder journal.Encoder
	kept    []journal.Record // all that the log shall hold, but beats
	safe    int              // of kept: synced
	last    journal.Beat
	buffer  []byte
	spare   []journal.Record
	err     error
}

// Status is how the log stands.
type Status struct {
	// Path is where the log is, or where it would be if it could be written.
	Path string
	// Waiting is the number of records (events mostly) that are in memory alone.
	Waiting int
	// Err is why the log cannot be written now; nil if it can.
	Err error
}

// LockedError says that another program has the log open for writing. errors.Is finds ErrLocked.
type LockedError struct{ Path string }

// Error says what is locked and what to do.
func (e *LockedError) Error() string {
	return e.Path + ": another rafter program has this game open: go on there, or close it, or name another log with --log"
}

// Unwrap returns ErrLocked.
func (e *LockedError) Unwrap() error { return ErrLocked }

// New prepares a log that does not exist yet. The records, the header first, are what it shall hold from the
// beginning. Unless exact, a number is added to a name that is taken. Nothing is written before Place or Start.
// A name that is a symbolic link stands for where it leads, so that a log has one lock whatever it is called by.
func New(disk Disk, path string, exact bool, records []journal.Record, last journal.Beat) *Writer {
	path = disk.Resolve(path)
	return &Writer{
		disk: disk, path: path, fixed: exact, kept: records, last: last,
		wake: make(chan struct{}, 1), done: make(chan struct{}), status: Status{Path: path, Waiting: len(records)},
	}
}

// Place tries to make the file now; it is for the caller who wants to know before Start. A *LockedError means
// that another program writes there; after any other error the Writer may be started and goes on trying.
func (w *Writer) Place() error {
	w.err = w.place()
	w.publish()
	return w.err
}

// Start begins to write. Close ends it.
func (w *Writer) Start() {
	w.mu.Lock()
	w.started = true
	w.retry = w.file == nil && w.err == nil // not tried yet
	w.mu.Unlock()
	go w.run()
	w.signal()
}

// Append hands over a record; it is on disk when Acknowledged or Status says so.
func (w *Writer) Append(r journal.Record) {
	w.mu.Lock()
	w.waiting = append(w.waiting, r)
	w.beat = nil // older than r, which carries its own instant
	w.mu.Unlock()
	w.signal()
}

// Beat hands over the running clock's reading; one that is not written yet is replaced.
func (w *Writer) Beat(b journal.Beat) {
	w.mu.Lock()
	w.beat = &b
	w.mu.Unlock()
	w.signal()
}

// Retry has a log that cannot be written tried again, and one that can be looked for at its place.
func (w *Writer) Retry() {
	w.mu.Lock()
	w.retry = true
	w.mu.Unlock()
	w.signal()
}

// Finish ends the writing goroutine as soon as everything handed over is on disk. Nothing may be handed over
// after it but Retry.
func (w *Writer) Finish() {
	w.mu.Lock()
	w.finish = true
	w.mu.Unlock()
	w.signal()
}

// Finished tells whether the writing goroutine has ended.
func (w *Writer) Finished() bool {
	select {
	case <-w.done:
		return true
	default:
		return false
	}
}

// Acknowledged returns the number of the last event that is synced, with all before it; 0 for none.
func (w *Writer) Acknowledged() int { return int(w.acknowledged.Load()) }

// Status returns how the log stands.
func (w *Writer) Status() Status {
	w.mu.Lock()
	defer w.mu.Unlock()
	s := w.status
	s.Waiting += len(w.waiting)
	return s
}

// Close tries once more to write what waits, ends the goroutine and lets go of the file. The error says what
// is not on disk.
func (w *Writer) Close() error {
	w.mu.Lock()
	started := w.started
	w.closing = true
	w.mu.Unlock()
	if started {
		w.signal()
		<-w.done
	} else {
		w.release()
	}
	if s := w.Status(); s.Waiting > 0 {
		return fmt.Errorf("%d of the game's records are not on disk (%s): %w", s.Waiting, s.Path, s.Err)
	}
	return nil
}

// SaveIn writes all that the log shall hold to a file in another folder, once it was started and closed, and returns
// the file's path: what one disk would not take need not end with the program.
func (w *Writer) SaveIn(folder string) (path string, err error) {
	other := New(w.disk, filepath.Join(folder, filepath.Base(w.path)), false, w.kept, w.last)
	if err := other.Place(); err != nil {
		other.release()
		return "", err
	}
	return other.path, other.Close()
}

func (w *Writer) signal() {
	select {
	case w.wake <- struct{}{}:
	default:
	}
}

func (w *Writer) run() {
	defer close(w.done)
	defer w.release()
	for range w.wake {
		if w.round() {
			return
		}
	}
}

// round writes what has gathered and tells whether it was the last.
func (w *Writer) round() (over bool) {
	w.mu.Lock()
	records, beat := w.waiting, w.beat
	w.waiting, w.beat = w.spare[:0], nil
	// Until they are written they count as waiting.
	w.status.Waiting += len(records)
	retry, finish, closing := w.retry, w.finish, w.closing
	w.retry = false
	w.mu.Unlock()

	w.kept = append(w.kept, records...)
	if beat != nil {
		w.last = *beat
	}
	if w.file != nil && retry && !w.disk.Holds(w.path, w.file) {
		w.fail(errors.New("the log is gone from its place"))
	}
	if w.file != nil && (len(records) > 0 || beat != nil) {
		if err := w.extend(records, beat); err != nil {
			w.fail(err)
		}
	}
	if w.file == nil && (retry || closing) {
		w.err = w.place()
	}
	clear(records)
	w.spare = records
	w.publish()
	return closing || finish && w.safe == len(w.kept)
}

// extend adds to the file: one write, one sync.
func (w *Writer) extend(records []journal.Record, beat *journal.Beat) error {
	out, err := w.encode(w.buffer[:0], records)
	if err == nil && beat != nil {
		out, err = w.encoder.Append(out, journal.Record{Beat: beat})
	}
	w.buffer = out
	if err != nil {
		return err
	}
	if err := writeSynced(w.file, out); err != nil {
		return err
	}
	w.safe = len(w.kept)
	return nil
}

func (w *Writer) encode(out []byte, records []journal.Record) ([]byte, error) {
	var err error
	for i := 0; i < len(records) && err == nil; i++ {
		out, err = w.encoder.Append(out, records[i])
	}
	return out, err
}

// fail gives the file up: what it holds after a failed write or sync cannot be known.
func (w *Writer) fail(err error) {
	_ = w.file.Close() // nothing that it could say would change what is done next
	w.file, w.err = nil, err
}

// place writes the whole log to a new file beside and renames it to its name.
func (w *Writer) place() error {
	if err := w.settle(); err != nil {
		return err
	}
	if w.torn > 0 {
		if err := w.keepTorn(); err != nil {
			return err
		}
	}
	w.encoder = journal.Encoder{}
	out, err := w.encode(w.buffer[:0], w.kept)
	if err == nil && w.last.At > w.kept[len(w.kept)-1].At() {
		out, err = w.encoder.Append(out, journal.Record{Beat: &w.last})
	}
	w.buffer = out
	if err != nil {
		return err
	}
	beside := w.path + ".new"
	if err := w.create(beside, out); err != nil {
		return errors.Join(err, w.discard(beside))
	}
	if err := w.disk.Rename(beside, w.path); err != nil {
		return errors.Join(err, w.discard(beside))
	}
	if err := w.disk.SyncFolder(filepath.Dir(w.path)); err != nil {
		return err
	}
	file, err := w.disk.Open(w.path, os.O_WRONLY|os.O_APPEND)
	if err != nil {
		return err
	}
	w.file, w.safe = file, len(w.kept)
	return nil
}

// discard removes a half-written file, so that it does not stand in the way of a full disk.
func (w *Writer) discard(name string) error {
	if err := w.disk.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// create writes a file of its own and syncs it.
func (w *Writer) create(name string, content []byte) error {
	f, err := w.disk.Open(name, os.O_WRONLY|os.O_CREATE|os.O_TRUNC)
	if err != nil {
		return err
	}
	return errors.Join(writeSynced(f, content), f.Close())
}

// publish lets the others see how the log stands.
func (w *Writer) publish() {
	for i := w.safe - 1; i >= 0; i-- {
		if e := w.kept[i].Event; e != nil {
			w.acknowledged.Store(int64(e.Number))
			break
		}
	}
	w.mu.Lock()
	w.status = Status{Path: w.path, Waiting: len(w.kept) - w.safe, Err: w.err}
	w.mu.Unlock()
}

// release lets go of the file and the lock.
func (w *Writer) release() {
	if w.file != nil {
		_ = w.file.Close() // synced already
		w.file = nil
	}
	if w.unlock != nil {
		_ = w.unlock() // the process's end does the same
		w.unlock = nil
	}
}

func writeSynced(f File, content []byte) error {
	if _, err := f.Write(content); err != nil {
		return err
	}
	return f.Sync()
}
