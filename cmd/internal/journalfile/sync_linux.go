package journalfile

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

const foldersSync = true

// syncData leaves out what fsync writes besides the bytes and the size: the time of change.
func syncData(f *os.File) error {
	for {
		if err := unix.Fdatasync(int(f.Fd())); !errors.Is(err, unix.EINTR) {
			return err
		}
	}
}
