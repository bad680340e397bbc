package picture

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rafter/overlay/theme"
)

const mine = "format = 1\nname = \"mine\"\nfrom = \"maple\"\n"

// entry is a file of a zip that is made for a test.
type entry struct {
	name, text string
	change     func(*zip.FileHeader)
	size       uint64 // that it says it has unpacked, where that is not so
}

func packed(t testing.TB, entries ...entry) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, e := range entries {
		h := &zip.FileHeader{Name: e.name, Method: zip.Deflate}
		h.SetMode(0o644)
		if strings.HasSuffix(e.name, "/") {
			h.SetMode(fs.ModeDir | 0o755)
			h.Method = zip.Store
		}
		if e.change != nil {
			e.change(h)
		}
		create := w.CreateHeader
		if e.size > 0 {
			h.UncompressedSize64, create = e.size, w.CreateRaw
		}
		f, err := create(h)
		if err == nil && e.text != "" {
			_, err = io.WriteString(f, e.text)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestThemesInAZip(t *testing.T) {
	many := make([]entry, 10_000)
	for i := range many {
		many[i] = entry{name: fmt.Sprintf("f%d", i)}
	}
	link := func(h *zip.FileHeader) { h.SetMode(fs.ModeSymlink | 0o777) }
	whole := packed(t, entry{name: theme.File, text: mine})
	for _, c := range []struct {
		name string
		data []byte
		says string // "" for a theme that is read
	}{
		{"at the top", whole, ""},
		{"in a folder", packed(t, entry{name: "mine/"}, entry{name: "mine/theme.toml", text: mine}, entry{name: "note.txt"}), ""},
		{"at the top and in a folder", packed(t, entry{name: "old/theme.toml", text: "x"}, entry{name: theme.File, text: mine}), ""},
		{"in two folders", packed(t, entry{name: "a/theme.toml"}, entry{name: "b/theme.toml"}), "has a theme in a and in b"},
		{"too deep", packed(t, entry{name: "a/b/theme.toml", text: mine}), "no theme.toml here"},
		{"nothing in it", packed(t), "no theme.toml here"},
		{"no zip", []byte("a theme"), "no zip, or a broken one"},
		{"empty", nil, "no zip, or a broken one"},
		{"cut off", whole[:len(whole)-30], "no zip, or a broken one"},
		{"10,000 files", packed(t, many...), "has 10000 files: a theme has at most 64"},
		{"65 files", packed(t, many[:65]...), "has 65 files"},
		{"a file above", packed(t, entry{name: "../theme.toml"}), `"../theme.toml", which leads out`},
		{"a file above a folder", packed(t, entry{name: "a/../../x"}), "which leads out"},
		{"a file at the root", packed(t, entry{name: "/etc/x"}), "which leads out"},
		{"a file of a drive", packed(t, entry{name: `C:\x`}), "which leads out"},
		{"a symbolic link", packed(t, entry{name: theme.File, text: "/etc/passwd", change: link}), "no ordinary file"},
		{"the same twice", packed(t, entry{name: theme.File, text: mine}, entry{name: theme.File, text: mine}), "twice"},
		{"encrypted", packed(t, entry{name: theme.File, text: mine, change: func(h *zip.FileHeader) { h.Flags |= 1 }}), "is encrypted"},
		{"too large unpacked", packed(t, entry{name: "x", size: maxUnzipped + 1}), "over 64 MiB unpacked"},
		{"too large together", packed(t, entry{name: "x", size: maxUnzipped}, entry{name: "y", text: "0"}), "over 64 MiB unpacked"},
		{"too large for a number", packed(t, entry{name: "x", size: 1<<64 - 1}, entry{name: "y", text: "00"}), "over 64 MiB unpacked"},
		{"a long theme", packed(t, entry{name: theme.File, text: strings.Repeat("#\n", 1<<20)}), "longer than 128 KiB"},
		{"a broken file", bytes.Replace(packed(t, entry{name: theme.File, text: mine, change: func(h *zip.FileHeader) { h.Method = zip.Store }}),
			[]byte("maple"), []byte("chalk"), 1), `"theme.toml" cannot be read`},
		{"a broken list", bytes.Replace(whole, []byte("PK\x01\x02"), []byte("PK\x01\x03"), 1), "no zip, or a broken one"},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "mine.zip")
			if err := os.WriteFile(file, c.data, 0o644); err != nil {
				t.Fatal(err)
			}
			_, err := Load(file)
			if c.says == "" && err != nil || c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)) {
				t.Errorf("%v, want %q", err, c.says)
			}
		})
	}
}

// A zip that says less than it unpacks to is not unpacked further than it says.
func TestAZipThatLies(t *testing.T) {
	data := packed(t, entry{name: theme.File, text: mine + strings.Repeat("#\n", 1000)})
	at := bytes.Index(data, []byte("PK\x01\x02"))
	data[at+24], data[at+25] = 10, 0 // the size unpacked, in the list of files
	fsys, err := unzip(data)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := fs.ReadFile(fsys, theme.File); err == nil || len(got) > 2048 {
		t.Errorf("%d bytes, %v", len(got), err)
	}
}

func TestAFolderIsNotLeft(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "mine"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, theme.File), []byte(mine), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("../theme.toml", filepath.Join(dir, "mine", theme.File)); err != nil {
		t.Skip("no symbolic links here:", err)
	}
	if _, err := Load(filepath.Join(dir, "mine")); err == nil || !strings.Contains(err.Error(), `"theme.toml" cannot be read`) {
		t.Errorf("a theme.toml outside of the folder: %v", err)
	}
	if _, err := Load(dir); err != nil {
		t.Error(err)
	}
	if _, err := Load(filepath.Join(dir, theme.File)); err == nil || !strings.Contains(err.Error(), "name the folder that theme.toml is in") {
		t.Errorf("a file: %v", err)
	}
}

// FuzzUnzip: no zip panics; what is accepted has few files, of local names, and unpacks to no more than the bound. The
// seeds are files in testdata/fuzz/FuzzUnzip.
func FuzzUnzip(f *testing.F) {
	f.Fuzz(func(t *testing.T, data []byte) {
		fsys, err := unzip(data)
		if err != nil {
			return
		}
		files, size := 0, 0
		err = fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			if files++; files > maxZipFiles || !fs.ValidPath(name) || !d.Type().IsRegular() {
				t.Fatalf("file %d is %q, %v", files, name, d.Type())
			}
			one, _ := fs.ReadFile(fsys, name)
			if size += len(one); size > maxUnzipped+maxZipFiles*4096 {
				t.Fatalf("%d bytes", size)
			}
			return nil
		})
		if err != nil {
			t.Skip(err)
		}
	})
}

// The budget is 50 ms a theme, its fonts apart; it is measured, and not tested here, on a machine that does nothing else.
func BenchmarkLoad(b *testing.B) {
	for _, name := range Themes() {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Load(name); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
