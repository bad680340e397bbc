package journalfile

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/gofrs/flock"
)

// Disk is what the log needs of a file system; tests give one that fails.
type Disk interface {
	// Open is os.OpenFile. A file opened to append to is held until it is closed: ErrLocked where another holds it,
	// whatever name either opened it by.
	Open(name string, flag int) (File, error)
	Rename(from, to string) error
	Remove(name string) error
	// MakeFolder makes name and the folders above it.
	MakeFolder(name string) error
	// SyncFolder makes a file's creation or renaming in it survive a power cut.
	SyncFolder(name string) error
	// Holds tells whether name still leads to f: a log may be deleted, or its stick pulled, while it is written.
	Holds(name string, f File) bool
	// Resolve returns the name that symbolic links lead to from name; name itself where it leads nowhere yet.
	Resolve(name string) string
	// Names lists the files in a folder.
	Names(folder string) ([]string, error)
	// Lock takes name, a file of its own, for this process or returns ErrLocked. The lock ends with the process
	// at the latest. The file is never removed: who has it open could then hold the lock together with who makes
	// it anew.
	Lock(name string) (unlock func() error, err error)
}

// File is what the log needs of an open file.
type File interface {
	io.Reader
	io.Writer
	io.Seeker
	Truncate(size int64) error
	Sync() error
	Close() error
}

// ErrLocked says that another program is writing the log.
var ErrLocked = errors.New("another program is writing it")

// OS returns the machine's own file system.
func OS() Disk { return osDisk{} }

type osDisk struct{}

type osFile struct{ *os.File }

func (f osFile) Sync() error { return syncData(f.File) }

func (osDisk) Open(name string, flag int) (File, error) {
	f, err := os.OpenFile(name, flag, 0o600) // the names of minors may be in it
	if err != nil {
		return nil, err
	}
	if flag&os.O_APPEND != 0 {
		if err := hold(f); err != nil {
			return nil, errors.Join(err, f.Close())
		}
	}
	return osFile{f}, nil
}

func (osDisk) Rename(from, to string) error { return os.Rename(from, to) }
func (osDisk) Remove(name string) error     { return os.Remove(name) }
func (osDisk) MakeFolder(name string) error { return os.MkdirAll(name, 0o700) }

func (osDisk) Holds(name string, f File) bool {
	there, err := os.Stat(name)
	if err != nil {
		return false
	}
	ours, err := f.(osFile).Stat()
	return err == nil && os.SameFile(there, ours)
}

func (osDisk) Resolve(name string) string {
	if end, err := filepath.EvalSymlinks(name); err == nil {
		return end
	}
	return name
}

func (osDisk) Names(folder string) ([]string, error) {
	entries, err := os.ReadDir(folder)
	var names []string
	for _, e := range entries {
		if e.Type().IsRegular() {
			names = append(names, e.Name())
		}
	}
	return names, err
}

func (osDisk) SyncFolder(name string) error {
	if !foldersSync {
		return nil
	}
	folder, err := os.Open(name)
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}

func (osDisk) Lock(name string) (func() error, error) {
	lock := flock.New(name)
	ok, err := lock.TryLock()
	if err != nil {
		return nil, fmt.Errorf("cannot lock %s: %w", filepath.Base(name), err)
	}
	if !ok {
		return nil, ErrLocked
	}
	return lock.Unlock, nil
}
