package main

import (
	"archive/zip"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// distDir is where build puts its archives; git ignores it.
const distDir = ".dist"

// target is a system that build makes an archive for.
type target struct {
	os, arch string
	window   bool // the window's library builds for it without a C compiler of that system
}

var targets = []target{
	{"linux", "amd64", false},
	{"linux", "arm64", false},
	{"windows", "amd64", true},
	{"windows", "arm64", true},
	{"darwin", "amd64", false},
	{"darwin", "arm64", false},
	{"freebsd", "amd64", false},
}

// build makes one zip a system: the programs that can be built for it here, the README and every licence.
func build(d *dev, args []string) error {
	if err := noWords(parse(d, args, func(*flag.FlagSet) {})); err != nil {
		return err
	}
	lacking := thisSystem(d).install(window)
	if err := os.MkdirAll(distDir, 0o777); err != nil {
		return err
	}
	for _, t := range targets {
		place := filepath.Join(distDir, fmt.Sprintf("rafter-%s-%s.zip", t.os, t.arch))
		native := t.os == runtime.GOOS && t.arch == runtime.GOARCH
		programs := []string{"rafter"}
		if t.window || native && len(lacking) == 0 {
			programs = append(programs, "rafter-window")
		}
		papers, err := d.papers(t, programs)
		if err != nil {
			return err
		}
		if err := d.pack(place, t, native, programs, papers); err != nil {
			return err
		}
		fmt.Fprintf(d.out, "%s: %s\n", place, strings.Join(programs, ", "))
		if len(programs) == 1 {
			fmt.Fprintf(d.say, "  no rafter-window for %s/%s: its library needs a C compiler and headers of that system; run this task there\n", t.os, t.arch)
		}
	}
	return nil
}

// pack builds the programs for t and writes the archive, whole or not at all.
func (d *dev) pack(place string, t target, native bool, programs []string, papers []paper) error {
	scratch, err := os.MkdirTemp("", "rafter-build-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	out, err := os.Create(place + ".part")
	if err != nil {
		return err
	}
	defer os.Remove(place + ".part")
	defer out.Close()
	z := zip.NewWriter(out)
	for _, program := range programs {
		name := program
		if t.os == "windows" {
			name += ".exe"
		}
		cgo := "CGO_ENABLED=0"
		if native && program == "rafter-window" && t.os != "windows" {
			cgo = "CGO_ENABLED=1"
		}
		built := filepath.Join(scratch, name)
		if err := d.quietly([]string{"GOOS=" + t.os, "GOARCH=" + t.arch, "GOAMD64=v1", cgo}, "go", "build", "-trimpath", "-ldflags", "-s -w", "-o", built, "./cmd/"+program); err != nil {
			return err
		}
		if err := addFile(z, built, name, 0o755); err != nil {
			return err
		}
	}
	for _, p := range papers {
		if err := addFile(z, p.place, p.name, 0o644); err != nil {
			return err
		}
	}
	if err := z.Close(); err != nil {
		return err
	}
	if err := out.Close(); err != nil {
		return err
	}
	return os.Rename(place+".part", place)
}

// addFile copies a file into the archive under a name, with Unix permissions.
func addFile(z *zip.Writer, place, name string, mode os.FileMode) error {
	h := &zip.FileHeader{Name: filepath.ToSlash(name), Method: zip.Deflate}
	h.SetMode(mode)
	w, err := z.CreateHeader(h)
	if err != nil {
		return err
	}
	f, err := os.Open(place)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, f)
	return err
}

// paper is a text that goes into every archive.
type paper struct{ place, name string }

// papers lists the README, our licence and those of all that the programs carry for t: fonts, modules, Go itself.
func (d *dev) papers(t target, programs []string) ([]paper, error) {
	found := []paper{{"README.md", "README.md"}, {"LICENSE", "LICENSE"}}
	err := filepath.WalkDir("assets", func(place string, e os.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(place, ".txt") {
			found = append(found, paper{place, "licences/" + filepath.ToSlash(place)})
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	words := []string{"list", "-e", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Dir}}{{end}}{{end}}"}
	for _, program := range programs {
		words = append(words, "./cmd/"+program)
	}
	out, err := d.output([]string{"GOOS=" + t.os, "GOARCH=" + t.arch}, "go", words...)
	if err != nil {
		return nil, err
	}
	root, err := d.output(nil, "go", "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	modules := strings.Fields(out + " go " + root)
	seen := map[string]bool{}
	for i := 0; i+1 < len(modules); i += 2 {
		module, dir := modules[i], modules[i+1]
		if seen[module] {
			continue
		}
		seen[module] = true
		texts, err := filepath.Glob(filepath.Join(dir, "[LCN][IO][CPT]*")) // LICENSE, LICENCE, COPYING, NOTICE
		if err != nil || len(texts) == 0 {
			return nil, fmt.Errorf("no licence found in %s: it may not go into an archive without one", module)
		}
		for _, text := range texts {
			found = append(found, paper{text, "licences/" + module + "/" + filepath.Base(text)})
		}
	}
	return found, nil
}
