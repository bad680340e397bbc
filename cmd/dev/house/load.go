package house

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// tree is the module as read: its rooms, and where its files are.
type tree struct {
	dir    string
	module string
	files  *token.FileSet
	rooms  []*room
}

// room is one package of ours.
type room struct {
	name  string // import path without the module: engine/clock
	files []*file
	info  *types.Info // of the files that build here, tests apart; empty where it does not compile
}

// file is one Go file of a room, built on this system or not.
type file struct {
	name   string // engine/clock/clock.go
	test   bool
	syntax *ast.File
	lines  int
	names  map[string]string // a package's name in this file → its import path
}

// listed is what we read of a package from `go list -json`.
type listed struct {
	Dir, ImportPath, Export           string
	Module                            *struct{ Path string }
	GoFiles, CgoFiles, IgnoredGoFiles []string
	TestGoFiles, XTestGoFiles         []string
	Standard, DepOnly                 bool
}

// load lists, parses and, as far as it compiles here, type-checks every room of the module in dir.
func load(dir string) (*tree, error) {
	packages, err := list(dir)
	if err != nil {
		return nil, err
	}
	exports := map[string]string{}
	for _, p := range packages {
		exports[p.ImportPath] = p.Export
	}
	t := &tree{dir: dir, files: token.NewFileSet()}
	gc := importer.ForCompiler(t.files, "gc", func(p string) (io.ReadCloser, error) {
		if exports[p] == "" {
			return nil, fmt.Errorf("no export data of %s", p)
		}
		return os.Open(exports[p])
	})
	for _, p := range packages {
		if p.DepOnly || p.Standard || p.Module == nil {
			continue
		}
		t.module = p.Module.Path
		r, err := t.read(p, gc)
		if err != nil {
			return nil, err
		}
		t.rooms = append(t.rooms, r)
	}
	if len(t.rooms) == 0 {
		return nil, fmt.Errorf("%s: no Go package of a module here; run this at the module's root", dir)
	}
	return t, nil
}

// list runs go list on every package and what it imports, with compiled export data where it compiles.
func list(dir string) ([]listed, error) {
	cmd := exec.Command("go", "list", "-e", "-export", "-deps", "-json="+
		"Dir,ImportPath,Export,Module,GoFiles,CgoFiles,IgnoredGoFiles,TestGoFiles,XTestGoFiles,Standard,DepOnly", "./...")
	cmd.Dir = dir
	var out, said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &said
	// A room that does not compile makes go list fail after it has listed all; vet and the tests say so.
	if err := cmd.Run(); err != nil && out.Len() == 0 {
		return nil, fmt.Errorf("go list: %w: %s", err, bytes.TrimSpace(said.Bytes()))
	}
	var packages []listed
	for dec := json.NewDecoder(&out); ; {
		var p listed
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			return packages, nil
		} else if err != nil {
			return nil, fmt.Errorf("go list: %w", err)
		}
		packages = append(packages, p)
	}
}

// read parses the files of p and type-checks those that build here.
func (t *tree) read(p listed, imp types.Importer) (*room, error) {
	r := &room{name: strings.TrimPrefix(strings.TrimPrefix(p.ImportPath, t.module), "/")}
	r.info = &types.Info{
		Types:      map[ast.Expr]types.TypeAndValue{},
		Uses:       map[*ast.Ident]types.Object{},
		Defs:       map[*ast.Ident]types.Object{},
		Selections: map[*ast.SelectorExpr]*types.Selection{},
	}
	built := slices.Concat(p.GoFiles, p.CgoFiles)
	var check []*ast.File
	for _, name := range slices.Concat(built, p.IgnoredGoFiles, p.TestGoFiles, p.XTestGoFiles) {
		f, err := t.parse(filepath.Join(p.Dir, name), path.Join(r.name, name))
		if err != nil {
			return nil, err
		}
		r.files = append(r.files, f)
		if slices.Contains(built, name) {
			check = append(check, f.syntax)
		}
	}
	// The compiler reports type errors; here what could be resolved is enough.
	conf := types.Config{Importer: imp, FakeImportC: true, Error: func(error) {}}
	_, _ = conf.Check(p.ImportPath, t.files, check, r.info)
	return r, nil
}

func (t *tree) parse(place, name string) (*file, error) {
	src, err := os.ReadFile(place)
	if err != nil {
		return nil, err
	}
	syntax, err := parser.ParseFile(t.files, place, src, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	f := &file{name: name, test: strings.HasSuffix(name, "_test.go"), syntax: syntax, names: map[string]string{}}
	f.lines = bytes.Count(src, []byte("\n"))
	for _, spec := range syntax.Imports {
		p := importPath(spec)
		local := packageName(p)
		if spec.Name != nil {
			local = spec.Name.Name
		}
		f.names[local] = p
	}
	return f, nil
}

func importPath(spec *ast.ImportSpec) string {
	p, _ := strconv.Unquote(spec.Path.Value) // the parser has accepted it
	return p
}

// packageName guesses a package's name from its path: the last element that is not a major version.
func packageName(p string) string {
	base := path.Base(p)
	if len(base) > 1 && base[0] == 'v' && strings.Trim(base[1:], "0123456789") == "" {
		return path.Base(path.Dir(p))
	}
	return base
}

// line returns the line of a place in a file.
func (t *tree) line(p token.Pos) int { return t.files.Position(p).Line }

// ours returns the room of an import path; false for packages of others.
func (t *tree) ours(importPath string) (string, bool) {
	if importPath == t.module {
		return "", true
	}
	return strings.CutPrefix(importPath, t.module+"/")
}
