package assets_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/image/font/sfnt"

	"rafter/assets"
)

// maxBytes keeps a clone and the program small.
const maxBytes = 4_000_000

type index struct {
	Faces []struct {
		Name, File, Family, Licence, SHA256, Origin, Made string
		Weight                                            int
		LicenceFile                                       string `json:"licence_file"`
	}
	Fallback []string
	Licences map[string]string
}

func read(t *testing.T, name string) []byte {
	t.Helper()
	data, err := fs.ReadFile(assets.FS, "fonts/"+name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func readIndex(t *testing.T) index {
	t.Helper()
	var ix index
	if err := json.Unmarshal(read(t, "index.json"), &ix); err != nil {
		t.Fatal(err)
	}
	return ix
}

func sum(data []byte) string {
	h := sha256.Sum256(data)
	return hex.EncodeToString(h[:])
}

func TestEveryFontIsTheFileTheIndexDescribes(t *testing.T) {
	origin := regexp.MustCompile(`^(npm|Debian) \S+ [0-9][0-9A-Za-z.+~-]*$`)
	for _, e := range readIndex(t).Faces {
		data := read(t, e.File)
		if got := sum(data); got != e.SHA256 {
			t.Errorf("%s: SHA-256 is %s, the index says %s", e.File, got, e.SHA256)
		}
		if !origin.MatchString(e.Origin) || e.Made == "" {
			t.Errorf("%s: origin %q, made %q; want a package with its version, and how the file was made", e.File, e.Origin, e.Made)
		}
		// Reference library: golang.org/x/image/font/sfnt reads the name table.
		f, err := sfnt.Parse(data)
		if err != nil {
			t.Fatalf("%s: %v", e.File, err)
		}
		full, err := f.Name(nil, sfnt.NameIDFull)
		if err != nil || !strings.HasPrefix(full, e.Family) {
			t.Errorf("%s: the font calls itself %q, the index %q", e.File, full, e.Family)
		}
		wanted := map[int]string{500: "Medium", 600: "SemiBold", 700: "Bold", 800: "ExtraBold", 900: "Black"}[e.Weight]
		if wanted == "" || !strings.HasSuffix(full, wanted) {
			t.Errorf("%s: weight %d does not fit %q", e.File, e.Weight, full)
		}
	}
}

func TestEveryFontHasItsLicence(t *testing.T) {
	ix := readIndex(t)
	says := map[string]string{
		"OFL-1.1":        "SIL OPEN FONT LICENSE Version 1.1",
		"Bitstream-Vera": "Bitstream Vera Fonts Copyright",
	}
	for _, e := range ix.Faces {
		licence := read(t, e.LicenceFile)
		if says[e.Licence] == "" || !strings.Contains(string(licence), says[e.Licence]) {
			t.Errorf("%s: %s does not hold the licence %s", e.File, e.LicenceFile, e.Licence)
		}
		if got := sum(licence); got != ix.Licences[e.LicenceFile] {
			t.Errorf("%s: SHA-256 is %s, the index says %q", e.LicenceFile, got, ix.Licences[e.LicenceFile])
		}
	}
	for name := range ix.Licences {
		// A font under a Reserved Font Name may not be changed and keep its name: the copyright lines reserve none.
		if head, _, _ := strings.Cut(string(read(t, name)), "\n\n"); strings.Contains(head, "Reserved Font Name") {
			t.Errorf("%s reserves a name: %s", name, head)
		}
	}
}

func TestNothingElseIsShipped(t *testing.T) {
	ix := readIndex(t)
	listed := map[string]bool{"index.json": true}
	for _, e := range ix.Faces {
		listed[e.File] = true
	}
	for name := range ix.Licences {
		listed[name] = true
	}
	entries, err := fs.ReadDir(assets.FS, "fonts")
	if err != nil {
		t.Fatal(err)
	}
	var total int64
	for _, e := range entries {
		if !listed[e.Name()] {
			t.Errorf("%s is not in the index", e.Name())
		}
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		total += info.Size()
	}
	if len(entries) != len(listed) {
		t.Errorf("%d files, the index lists %d", len(entries), len(listed))
	}
	if total > maxBytes {
		t.Errorf("%d bytes, at most %d", total, maxBytes)
	}
}
