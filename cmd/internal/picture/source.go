package picture

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"strings"

	"rafter/overlay/theme"
)

// What a zip with a theme in it may be: bytes of the file, files in it, and bytes of all of them unpacked. A theme's
// pictures are packed already, so that no honest one is much larger unpacked.
const (
	maxZip      = 32 << 20
	maxZipFiles = 64
	maxUnzipped = 64 << 20
)

// openTheme opens what a path names: a folder, out of which nothing in it leads, not by a symbolic link either, or a
// zip, which is read as a whole. What it returns is good until done is called.
func openTheme(name string) (fsys fs.FS, done func() error, err error) {
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return nil, nil, fmt.Errorf("theme: %w", err)
	case info.IsDir():
		root, err := os.OpenRoot(name)
		if err != nil {
			return nil, nil, fmt.Errorf("theme: %w", err)
		}
		return root.FS(), root.Close, nil
	case !info.Mode().IsRegular() || !strings.EqualFold(path.Ext(name), ".zip"):
		return nil, nil, fmt.Errorf("theme: %s is a file; name the folder that %s is in, or a .zip of it", name, theme.File)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, nil, fmt.Errorf("theme: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxZip+1)) // one more, so that too long is seen
	if err != nil {
		return nil, nil, fmt.Errorf("theme: %w", err)
	}
	fsys, err = unzip(data)
	if err != nil {
		return nil, nil, fmt.Errorf("theme: %s: %w", name, err)
	}
	return fsys, func() error { return nil }, nil
}

// unzip returns the files of a zip that has a theme at its top or in one folder. Nothing is unpacked before it is read,
// and then no more than the zip has said.
func unzip(data []byte) (fs.FS, error) {
	if len(data) > maxZip {
		return nil, fmt.Errorf("the zip is longer than %d MiB", maxZip>>20)
	}
	if n := filesSaid(data); n > maxZipFiles {
		return nil, fmt.Errorf("the zip has %d files: a theme has at most %d", n, maxZipFiles)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, fmt.Errorf("no zip, or a broken one (%w): pack it again", err)
	}
	if len(z.File) > maxZipFiles {
		return nil, fmt.Errorf("the zip has %d files: a theme has at most %d", len(z.File), maxZipFiles)
	}
	var size uint64
	seen := map[string]bool{}
	top := ""
	for _, f := range z.File {
		if err := checkEntry(f); err != nil {
			return nil, err
		}
		if seen[f.Name] {
			return nil, fmt.Errorf("the zip has %q twice: pack it again", f.Name)
		}
		seen[f.Name] = true
		if size += f.UncompressedSize64; f.UncompressedSize64 > maxUnzipped || size > maxUnzipped {
			return nil, fmt.Errorf("the zip is over %d MiB unpacked: a theme is smaller", maxUnzipped>>20)
		}
		if dir, name := path.Split(f.Name); name == theme.File && strings.Count(dir, "/") == 1 {
			if top != "" {
				return nil, fmt.Errorf("the zip has a theme in %s and in %s: pack one of them", top, path.Clean(dir))
			}
			top = path.Clean(dir)
		}
	}
	if top == "" || seen[theme.File] {
		return z, nil
	}
	return fs.Sub(z, top)
}

// checkEntry refuses what is no ordinary file or folder below the top.
func checkEntry(f *zip.File) error {
	const encrypted = 1 // bit 0 of the flags: APPNOTE.TXT 6.3.10, 4.4.4, from memory
	name := strings.TrimSuffix(f.Name, "/")
	mode := f.Mode()
	switch {
	case !fs.ValidPath(name) || name == "." || strings.ContainsAny(name, "\\:\x00"):
		return fmt.Errorf("the zip has %q, which leads out of it: pack the theme's folder again", f.Name)
	case !mode.IsRegular() && !mode.IsDir() || mode.IsDir() != strings.HasSuffix(f.Name, "/"):
		return fmt.Errorf("the zip has %q, which is no ordinary file: pack the file itself", f.Name)
	case f.Flags&encrypted != 0:
		return fmt.Errorf("the zip's %q is encrypted: pack it without a password", f.Name)
	case f.Method != zip.Store && f.Method != zip.Deflate:
		return fmt.Errorf("the zip's %q is packed in a way that is not known here: pack it as a plain zip", f.Name)
	}
	return nil
}

// filesSaid is how many files the zip's last record speaks of, so that a list of a million is not read: APPNOTE.TXT
// 6.3.10, 4.3.16, from memory. 0 where there is no such record.
func filesSaid(data []byte) int {
	const record, total = 22, 10
	at := bytes.LastIndex(data, []byte("PK\x05\x06"))
	if at < 0 || at+record > len(data) {
		return 0
	}
	return int(binary.LittleEndian.Uint16(data[at+total:]))
}
