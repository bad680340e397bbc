//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package journalfile

import (
	"errors"
	"os"
	"syscall"
)

// hold takes an open file itself for this process until it is closed, so that a second name of it (a hard link) is
// locked too; ErrLocked where another has it. Where the file system knows no such lock, the one by name must do.
func hold(f *os.File) error {
	c, err := f.SyscallConn()
	if err != nil {
		return err
	}
	var locked error
	err = c.Control(func(fd uintptr) { locked = syscall.Flock(int(fd), syscall.LOCK_EX|syscall.LOCK_NB) })
	if errors.Is(locked, syscall.EWOULDBLOCK) {
		return ErrLocked
	}
	return err
}
