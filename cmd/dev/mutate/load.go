package mutate

import (
	"bytes"
	"context"
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
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// room is one package whose tests are run, and whose code is changed unless it is left out.
type room struct {
	name    string // from the module's root: engine/clock
	path    string // as it is imported
	dir     string
	title   string // the package's name
	sources []*source
	types   *types.Package
	info    *types.Info
	tested  bool // it has tests
	rapid   bool // its tests draw random games, and take the flags that fix them
	first   int  // the number of its first mutant
	mutants []*Mutant
	helpers []string // the types of which its places are, each with a function of its own
}

// source is one file of a room.
type source struct {
	place string
	text  []byte
	ast   *ast.File
	file  *token.File
}

// listed is what we read of a package from go list.
type listed struct {
	Dir, ImportPath, Export, Name string
	Module                        *struct{ Path string }
	GoFiles                       []string
	TestGoFiles, XTestGoFiles     []string
	TestImports, XTestImports     []string
	Standard, DepOnly             bool
}

const fields = "Dir,ImportPath,Export,Name,Module,GoFiles,TestGoFiles,XTestGoFiles,TestImports,XTestImports,Standard,DepOnly"

// random is the library whose tests draw another seed each time, unless they are told one.
const random = "pgregory.net/rapid"

// load lists, parses and type-checks the packages, and finds the mutants of those that are to be changed.
func load(ctx context.Context, o Options) ([]*room, error) {
	out, err := output(ctx, o.Dir, "list", "-export", "-deps", "-json="+fields, o.Tests)
	if err != nil {
		return nil, err
	}
	var packages []listed
	exports := map[string]string{}
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, fmt.Errorf("go list: %w", err)
		}
		exports[p.ImportPath] = p.Export
		packages = append(packages, p)
	}
	files := token.NewFileSet()
	gc := importer.ForCompiler(files, "gc", func(p string) (io.ReadCloser, error) {
		if exports[p] == "" {
			return nil, fmt.Errorf("no export data of %s", p)
		}
		return os.Open(exports[p])
	})
	var rooms []*room
	found := o.Room == ""
	for _, p := range packages {
		if p.DepOnly || p.Standard || p.Module == nil {
			continue
		}
		r := &room{path: p.ImportPath, dir: p.Dir, title: p.Name, tested: len(p.TestGoFiles)+len(p.XTestGoFiles) > 0}
		r.name = strings.TrimPrefix(strings.TrimPrefix(p.ImportPath, p.Module.Path), "/")
		r.rapid = slices.Contains(p.TestImports, random) || slices.Contains(p.XTestImports, random)
		if err := r.read(p, files, gc); err != nil {
			return nil, err
		}
		if !slices.Contains(o.Except, r.name) && (o.Room == "" || o.Room == r.name) {
			found = true
			r.find(o.Dir)
		}
		rooms = append(rooms, r)
	}
	if !found {
		return nil, fmt.Errorf("there is no room %s among %s", o.Room, o.Tests)
	}
	return rooms, nil
}

func (r *room) read(p listed, files *token.FileSet, imp types.Importer) error {
	var parsed []*ast.File
	for _, name := range p.GoFiles {
		place := filepath.Join(p.Dir, name)
		text, err := os.ReadFile(place)
		if err != nil {
			return err
		}
		syntax, err := parser.ParseFile(files, place, text, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		r.sources = append(r.sources, &source{place, text, syntax, files.File(syntax.Pos())})
		parsed = append(parsed, syntax)
	}
	r.info = &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}}
	var err error
	r.types, err = (&types.Config{Importer: imp}).Check(p.ImportPath, files, parsed, r.info)
	return err
}

// command is a go command that ends with the context: it is asked first, so that it may end its own children.
func command(ctx context.Context, dir string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Dir = dir
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.WaitDelay = 5 * time.Second
	return cmd
}

func output(ctx context.Context, dir string, args ...string) ([]byte, error) {
	cmd := command(ctx, dir, args...)
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go %s: %w\n%s", args[0], err, bytes.TrimSpace(said.Bytes()))
	}
	return out, nil
}
