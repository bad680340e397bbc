package picture

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"golang.org/x/text/unicode/runenames"

	"rafter/assets"
	"rafter/overlay/text"
)

// Bounds of a user's folder of fonts.
const (
	maxFonts     = 32
	maxFontBytes = 32 << 20 // of one; the largest in use, of Han characters, have some 20
	maxFontsSum  = 64 << 20
)

// Fonts returns the fonts that ship with the program and behind them, for what those lack, the user's own: the .ttf and
// .otf files in dir by name. The same files give the same pictures on every machine. A folder that is not there is an
// empty one. What cannot be used is left out; each error names a file and says why, and the set is good all the same.
func Fonts(dir string) (*text.Fonts, []error) {
	f, err := text.Load(assets.FS)
	if err != nil {
		return nil, []error{err} // the program is damaged
	}
	var bad []error
	names, err := fontFiles(dir)
	if err != nil {
		bad = append(bad, err)
	}
	var sum int64
	for i, name := range names {
		if i == maxFonts {
			return f, append(bad, fmt.Errorf("fonts: %s has more than %d fonts: %s and those after it are left out; take some away", dir, maxFonts, name))
		}
		path := filepath.Join(dir, name) // as a name it is never that of a theme's own font
		data, err := readFont(path, min(maxFontBytes, maxFontsSum-sum))
		if err == nil {
			err = f.Add(path, data)
		}
		sum += int64(len(data))
		if err != nil {
			bad = append(bad, fmt.Errorf("fonts: %s is left out: %w", path, err))
		}
	}
	return f, bad
}

// fontFiles lists what may be a font. Licences and notes lie beside fonts, and some systems keep hidden files of their own.
func fontFiles(dir string) (names []string, err error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("fonts: %w", err)
	}
	for _, e := range entries {
		switch strings.ToLower(filepath.Ext(e.Name())) {
		case ".txt", ".md", ".html", ".pdf":
			continue
		}
		if !strings.HasPrefix(e.Name(), ".") && !e.IsDir() {
			names = append(names, e.Name())
		}
	}
	slices.Sort(names)
	return names, nil
}

// readFont reads a file of at most limit bytes; one that is no file, such as a pipe, is not waited for.
func readFont(path string, limit int64) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("it is not a file")
	}
	if info.Size() > limit {
		return nil, fmt.Errorf("it has %d bytes, and there is room for %d; take a smaller one", info.Size(), limit)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, limit))
}

// MissingGlyph says which character no font here has, and what to do about it; dir is where the user's fonts lie.
func MissingGlyph(r rune, dir string) string {
	name := strings.Trim(runenames.Name(r), "<>") // of thousands that are alike, such as Han characters
	if name == "" {
		name = "(a character without a name)"
	}
	return fmt.Sprintf("%U %s: no font here has it; put one that has into %s", r, name, dir)
}
