package journalfile

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"syscall"
)

// memory is a disk that can lose power: what was written and not synced, or renamed and its folder not synced,
// may be gone then. It can be told to fail.
type memory struct {
	mu     sync.Mutex
	names  map[string]*inode // as programs see it
	stored map[string]*inode // as it is after a power cut
	locks  map[string]bool
	calls  int
	fails  func(call int, op string) error // nil: never
}

type inode struct {
	data   []byte // as programs see it
	synced []byte // as it is after a power cut
	// doubtful marks where data was in the cache when a sync failed: the cache says that it is clean, and no later
	// sync writes it.
	doubtful [][2]int
}

func newMemory() *memory {
	return &memory{names: map[string]*inode{}, stored: map[string]*inode{}, locks: map[string]bool{}}
}

// fail has all operations from now on end in an error; nil has them go well.
func (m *memory) fail(err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.fails = func(int, string) error { return err }
}

// call counts an operation and returns the error that it shall have.
func (m *memory) call(op string) error {
	m.calls++
	if m.fails == nil {
		return nil
	}
	return m.fails(m.calls, op)
}

func (m *memory) do(op string, f func() error) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := m.call(op); err != nil {
		return err
	}
	return f()
}

func (m *memory) Open(name string, flag int) (File, error) {
	var opened File
	err := m.do("open", func() error {
		node := m.names[name]
		if node == nil {
			if flag&os.O_CREATE == 0 {
				return &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
			}
			node = &inode{}
			m.names[name] = node
		}
		if flag&os.O_TRUNC != 0 {
			node.data, node.doubtful = nil, nil
		}
		opened = &memoryFile{disk: m, node: node}
		return nil
	})
	return opened, err
}

func (m *memory) Rename(from, to string) error {
	return m.do("rename", func() error {
		m.names[to] = m.names[from]
		delete(m.names, from)
		return nil
	})
}

func (m *memory) Remove(name string) error {
	return m.do("remove", func() error {
		if m.names[name] == nil {
			return fs.ErrNotExist
		}
		delete(m.names, name)
		return nil
	})
}

func (m *memory) MakeFolder(string) error { return m.do("folder", func() error { return nil }) }

func (m *memory) SyncFolder(string) error {
	return m.do("sync folder", func() error {
		m.stored = maps.Clone(m.names)
		return nil
	})
}

func (m *memory) Holds(name string, f File) bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.names[name] == f.(*memoryFile).node
}

func (m *memory) Resolve(name string) string { return name }

func (m *memory) Names(folder string) ([]string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var names []string
	for name := range m.names {
		if filepath.Dir(name) == folder {
			names = append(names, filepath.Base(name))
		}
	}
	return slices.Sorted(slices.Values(names)), nil
}

func (m *memory) Lock(name string) (func() error, error) {
	err := m.do("lock", func() error {
		if m.locks[name] {
			return ErrLocked
		}
		m.locks[name] = true
		return nil
	})
	if err != nil {
		return nil, err
	}
	return func() error {
		m.mu.Lock()
		defer m.mu.Unlock()
		m.locks[name] = false
		return nil
	}, nil
}

// powerCut returns disks that may be found after a power cut now: with the folder as last synced or as it is,
// and of each file's unsynced bytes none, half or all.
func (m *memory) powerCut() []*memory {
	m.mu.Lock()
	defer m.mu.Unlock()
	var found []*memory
	for _, folder := range []map[string]*inode{m.stored, m.names} {
		for share := range 3 {
			after := newMemory()
			for name, node := range folder {
				survived := node.survived(share)
				after.names[name] = &inode{data: survived, synced: survived}
			}
			after.stored = maps.Clone(after.names)
			found = append(found, after)
		}
	}
	return found
}

func (n *inode) survived(share int) []byte {
	if len(n.data) < len(n.synced) || !bytes.HasPrefix(n.data, n.synced) {
		if share == 2 {
			return bytes.Clone(n.data)
		}
		return bytes.Clone(n.synced)
	}
	return bytes.Clone(n.data[:len(n.synced)+(len(n.data)-len(n.synced))*share/2])
}

type memoryFile struct {
	disk *memory
	node *inode
	at   int64
}

func (f *memoryFile) Read(p []byte) (n int, err error) {
	err = f.disk.do("read", func() error {
		if f.at >= int64(len(f.node.data)) {
			return io.EOF
		}
		n = copy(p, f.node.data[f.at:])
		f.at += int64(n)
		return nil
	})
	return n, err
}

func (f *memoryFile) Seek(offset int64, whence int) (int64, error) {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	switch whence {
	case io.SeekStart:
		f.at = offset
	case io.SeekEnd:
		f.at = int64(len(f.node.data)) + offset
	}
	return f.at, nil
}

// Write appends; a failing one has written half.
func (f *memoryFile) Write(p []byte) (int, error) {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	err := f.disk.call("write")
	n := len(p)
	if err != nil {
		n /= 2
	}
	f.node.data = append(f.node.data, p[:n]...)
	return n, err
}

func (f *memoryFile) Truncate(size int64) error {
	return f.disk.do("truncate", func() error {
		f.node.data = f.node.data[:size]
		return nil
	})
}

func (f *memoryFile) Sync() error {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	n := f.node
	if err := f.disk.call("sync"); err != nil {
		n.doubtful = append(n.doubtful, [2]int{min(len(n.synced), len(n.data)), len(n.data)})
		return err
	}
	n.synced = bytes.Clone(n.data)
	for _, d := range n.doubtful {
		clear(n.synced[min(d[0], len(n.synced)):min(d[1], len(n.synced))])
	}
	return nil
}

func (f *memoryFile) Close() error { return nil }

var errFull = &fs.PathError{Op: "write", Path: "a.log", Err: syscall.ENOSPC}

var errBroken = errors.New("the disk does not answer")
