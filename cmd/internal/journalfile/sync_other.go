//go:build !linux

package journalfile

import (
	"os"
	"runtime"
)

// A folder's handle cannot be synced on Windows; renaming is durable there by the journal of its file system.
const foldersSync = runtime.GOOS != "windows"

func syncData(f *os.File) error { return f.Sync() }
