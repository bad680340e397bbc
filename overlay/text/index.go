package text

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
)

// indexFile lists the faces of a set of fonts.
const indexFile = "fonts/index.json"

// The largest files that Load reads: the widest shipped font has 0.7 MB.
const (
	maxIndexBytes = 256 << 10
	maxFontBytes  = 32 << 20
	maxFaces      = 64
)

// index is the form of the index file. Load uses Name, File and Fallback; the rest is kept for people and for
// the test of the shipped files.
type index struct {
	Faces    []indexFace       `json:"faces"`
	Fallback []string          `json:"fallback"`
	Licences map[string]string `json:"licences"` // file to SHA-256
}

type indexFace struct {
	Name        string `json:"name"`
	File        string `json:"file"`
	Family      string `json:"family"`
	Weight      int    `json:"weight"`
	Licence     string `json:"licence"`
	LicenceFile string `json:"licence_file"`
	SHA256      string `json:"sha256"`
	Origin      string `json:"origin"`
	Made        string `json:"made"`
}

// readIndex reads and checks the index: names are there and unique, files stay inside the folder.
func readIndex(fsys fs.FS) (index, error) {
	data, err := readBounded(fsys, indexFile, maxIndexBytes)
	if err != nil {
		return index{}, err
	}
	var ix index
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&ix); err != nil {
		return index{}, fmt.Errorf("%s: %w", indexFile, err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return index{}, fmt.Errorf("%s: something follows the index; remove it", indexFile)
	}
	if len(ix.Faces) == 0 || len(ix.Faces) > maxFaces {
		return index{}, fmt.Errorf("%s: %d faces; list 1 to %d", indexFile, len(ix.Faces), maxFaces)
	}
	known := map[string]bool{}
	for i, e := range ix.Faces {
		switch {
		case e.Name == "":
			return index{}, fmt.Errorf("%s: face %d has no name", indexFile, i+1)
		case known[e.Name]:
			return index{}, fmt.Errorf("%s: two faces are named %q", indexFile, e.Name)
		case !fs.ValidPath(e.File) || e.File == ".":
			return index{}, fmt.Errorf("%s: face %q: %q is not a file in the folder of the index", indexFile, e.Name, e.File)
		}
		known[e.Name] = true
	}
	for _, name := range ix.Fallback {
		if !known[name] {
			return index{}, fmt.Errorf("%s: fallback %q is not the name of a face", indexFile, name)
		}
	}
	return ix, nil
}

// readBounded reads a whole file of at most limit bytes.
func readBounded(fsys fs.FS, name string, limit int64) ([]byte, error) {
	file, err := fsys.Open(name)
	if err != nil {
		return nil, fmt.Errorf("fonts: %w", err)
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, limit+1))
	if err != nil {
		return nil, fmt.Errorf("fonts: %w", err)
	}
	if int64(len(data)) > limit {
		return nil, fmt.Errorf("fonts: %s is larger than %d bytes", name, limit)
	}
	return data, nil
}
