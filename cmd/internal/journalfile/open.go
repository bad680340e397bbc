package journalfile

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"rafter/engine"
	"rafter/engine/journal"
)

// Open takes an existing log to go on with it, and returns what it holds.
//
// A tail that was cut off in writing is copied to a file beside (TornCopy names it) and cut from the log. Where
// the log may be read but not written the Writer says so in its Status and goes on in memory.
//
// The errors: fs.ErrNotExist; a *LockedError; a *journal.Error, then the file is left as it is, there is no
// Writer, and the Log, if there is one, holds what is good.
func Open(disk Disk, path string) (*Writer, *journal.Log, error) {
	f, err := disk.Open(path, os.O_RDONLY)
	if err != nil {
		return nil, nil, err
	}
	w := New(disk, path, true, nil, journal.Beat{})
	w.err = w.settle()
	if errors.Is(w.err, ErrLocked) {
		return nil, nil, errors.Join(w.err, f.Close())
	}
	// Read after the lock is taken: what another wrote until then is in it.
	log, err := journal.Read(f)
	_ = f.Close() // only read
	if err != nil {
		w.release()
		return nil, log, err
	}
	w.kept, w.last, w.torn = log.Records, log.Last, log.Torn
	w.safe = len(w.kept)
	if w.err == nil {
		w.err = w.attach(log)
	}
	if errors.Is(w.err, ErrLocked) { // under another name
		w.release()
		return nil, nil, &LockedError{path}
	}
	w.publish()
	return w, log, nil
}

// attach makes the file ready to be added to.
func (w *Writer) attach(log *journal.Log) error {
	f, err := w.disk.Open(w.path, os.O_WRONLY|os.O_APPEND)
	if err != nil {
		return err
	}
	if log.Torn > 0 {
		err := w.keepTorn()
		if err == nil {
			err = errors.Join(f.Truncate(log.Size), f.Sync())
		}
		if err != nil {
			return errors.Join(err, f.Close())
		}
	}
	w.file, w.encoder = f, journal.Continue(log)
	return nil
}

// TornCopy returns where the torn tail of an opened log was copied to; empty if there was none.
func (w *Writer) TornCopy() string { return w.tornTo }

// keepTorn copies the torn tail to a file of its own: it was never acknowledged, but it is not ours to destroy.
func (w *Writer) keepTorn() error {
	f, err := w.disk.Open(w.path, os.O_RDONLY)
	if err != nil {
		return err
	}
	var tail bytes.Buffer
	_, err = f.Seek(-w.torn, io.SeekEnd)
	if err == nil {
		_, err = io.Copy(&tail, io.LimitReader(f, w.torn))
	}
	_ = f.Close() // only read
	if err != nil {
		return err
	}
	for n := 1; n < maxNames; n++ {
		name := Numbered(w.path+".torn", n)
		if !w.missing(name) {
			continue
		}
		if err := w.create(name, tail.Bytes()); err != nil {
			return errors.Join(err, w.discard(name))
		}
		w.tornTo, w.torn = name, 0
		return w.disk.SyncFolder(filepath.Dir(name))
	}
	return fmt.Errorf("%s.torn and %d names after it are taken: move them out of the folder", w.path, maxNames-2)
}

// Read reads a log without taking it, as those do who only show it. The errors are those of journal.Read, or
// fs.ErrNotExist and its like.
func Read(disk Disk, path string) (*journal.Log, error) {
	f, err := disk.Open(path, os.O_RDONLY)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }() // only read
	return journal.Read(f)
}

// Peek tells whose log a file is and whether the game in it was put away, by its first and last line alone: a
// season's logs are looked through at each start. What is wrong with a file beyond that is found when it is read.
func Peek(disk Disk, path string) (id string, ended bool, err error) {
	f, err := disk.Open(path, os.O_RDONLY)
	if err != nil {
		return "", false, err
	}
	defer func() { _ = f.Close() }() // only read
	head, err := bufio.NewReader(io.LimitReader(f, journal.MaxLine)).ReadBytes('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", false, err
	}
	log, err := journal.Read(bytes.NewReader(head))
	if err != nil {
		return "", false, err
	}
	const tailSize = 256 // an end line takes 70
	size, err := f.Seek(0, io.SeekEnd)
	if err == nil {
		_, err = f.Seek(max(size-tailSize, 0), io.SeekStart)
	}
	if err != nil {
		return "", false, err
	}
	tail, err := io.ReadAll(io.LimitReader(f, tailSize))
	return log.Header.ID, journal.IsEnd(lastLine(tail)), err
}

// lastLine returns the last whole line, without its newline.
func lastLine(b []byte) []byte {
	b, whole := bytes.CutSuffix(b, []byte("\n"))
	if !whole {
		return nil
	}
	return b[bytes.LastIndexByte(b, '\n')+1:]
}

// Save writes a whole log in one go, for a game that was not played live. A file that is already there is
// replaced only if it is a log with the same id.
func Save(disk Disk, path string, header journal.Header, events []engine.Event) error {
	old, err := Read(disk, path)
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, journal.Empty):
	case old == nil && err != nil:
		return fmt.Errorf("%s is there already and is left as it is: name another file (%w)", path, err)
	case old.Header.ID != header.ID:
		return fmt.Errorf("%s holds another game and is left as it is: name another file", path)
	}
	records := []journal.Record{{Header: &header}}
	for i := range events {
		records = append(records, journal.Record{Event: &events[i]})
	}
	w := New(disk, path, true, records, journal.Beat{})
	if err := w.Place(); err != nil {
		w.release()
		return err
	}
	return w.Close()
}
