package journalfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// settle finds a name that is free and locks it, once.
func (w *Writer) settle() error {
	if w.unlock != nil {
		return nil
	}
	folder := filepath.Dir(w.path)
	if err := w.disk.MakeFolder(folder); err != nil {
		return err
	}
	if w.fixed {
		unlock, err := w.disk.Lock(lockName(w.path))
		if errors.Is(err, ErrLocked) {
			return &LockedError{w.path}
		}
		w.unlock = unlock
		return err
	}
	for n := 1; n < maxNames; n++ {
		name := Numbered(w.path, n)
		unlock, err := w.disk.Lock(lockName(name))
		if errors.Is(err, ErrLocked) {
			continue
		}
		if err != nil {
			return err
		}
		if w.missing(name) {
			w.path, w.fixed, w.unlock = name, true, unlock
			return nil
		}
		if err := unlock(); err != nil {
			return err
		}
	}
	return fmt.Errorf("%s and %d names after it are taken: move old logs out of the folder", w.path, maxNames-2)
}

// maxNames bounds the search for a free name: that many games begun in one minute are no games.
const maxNames = 100

func (w *Writer) missing(name string) bool {
	f, err := w.disk.Open(name, os.O_RDONLY)
	if err != nil {
		return errors.Is(err, fs.ErrNotExist)
	}
	_ = f.Close() // only opened to see that it is there
	return false
}

// Numbered returns the nth name for a log: path itself for 1, else the number put before its extension.
func Numbered(path string, n int) string {
	if n == 1 {
		return path
	}
	extension := filepath.Ext(path)
	return strings.TrimSuffix(path, extension) + "-" + strconv.Itoa(n) + extension
}

func lockName(path string) string { return path + ".lock" }

// Name returns the name of the log of a game that begins at t, by the clock on the wall.
func Name(t time.Time) string { return t.Format("2006-01-02-1504") + extension }

const extension = ".log"

// List returns the paths of the logs in a folder, the newest (by name) first. A folder that does not exist has
// none.
func List(disk Disk, folder string) ([]string, error) {
	names, err := disk.Names(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	names = slices.DeleteFunc(names, func(n string) bool { return filepath.Ext(n) != extension })
	slices.SortFunc(names, func(a, b string) int { return compareNames(b, a) })
	for i, n := range names {
		names[i] = filepath.Join(folder, n)
	}
	return names, err
}

// compareNames orders by date and time, then by the number that Numbered adds: -2 comes after none and before -10.
func compareNames(a, b string) int {
	stem := len("2006-01-02-1504")
	a, b = strings.TrimSuffix(a, extension), strings.TrimSuffix(b, extension)
	if c := strings.Compare(a[:min(stem, len(a))], b[:min(stem, len(b))]); c != 0 {
		return c
	}
	if len(a) != len(b) {
		return len(a) - len(b)
	}
	return strings.Compare(a, b)
}
