package house

import (
	"fmt"
	"go/ast"
	"slices"
	"strings"
)

// ban is something that rooms may not use. A room is banned if a pattern of in covers it and none of but does.
type ban struct {
	what    []string // import paths (with all below), package.Name, or a construct that syntax.go finds
	in, but []string // patterns of rooms; no in: everywhere
	tests   bool     // holds in _test.go files too
	instead string   // the reason, and what to use
}

var (
	programs  = []string{"cmd/**"}
	pure      = []string{"engine/**", "overlay/**"}
	openEnded = []string{"overlay/output/web", "overlay/output/window"} // the two overlay rooms with goroutines
	exact     = []string{"engine/**", "overlay/frame", "overlay/paint", "overlay/raster", "overlay/tick", "overlay/layout"}
	wallClock = []string{"cmd/internal/host", "cmd/internal/networktest", "cmd/dev/**"}
)

var bans = []ban{
	// What other people's packages are for, and where.
	{what: []string{"github.com/hajimehoshi/ebiten"}, but: []string{"overlay/output/window"},
		instead: "importing Ebitengine needs a display to start; go through overlay/output/window"},
	{what: []string{"github.com/ebitengine/oto"}, but: []string{"cmd/internal/horn"},
		instead: "one sound context a process, and a missing device is no error; go through cmd/internal/horn"},
	{what: []string{"github.com/gorilla/websocket"}, but: []string{"overlay/output/web", "cmd/internal/serve", "cmd/internal/follow", "cmd/internal/source"},
		instead: "one writer owns a connection; go through overlay/output/web, serve or follow"},
	{what: []string{"github.com/fsnotify/fsnotify"}, but: []string{"cmd/internal/watch"},
		instead: "a watch of a file dies with the first editor that writes by renaming; go through cmd/internal/watch"},
	{what: []string{"golang.org/x/image/vector", "golang.org/x/image/font.Drawer"},
		instead: "its large shapes are floats, which differ between processors; draw with overlay/raster (tests may compare with it)"},
	{what: []string{"os/exec"}, but: []string{"cmd/internal/ffmpeg", "cmd/internal/ocr", "cmd/dev/**"},
		instead: "child processes are started, watched and stopped in cmd/internal/ffmpeg, and in cmd/internal/ocr for the reader"},
	{what: []string{"unsafe"}, tests: true, instead: "a slice and a copy do"},
	{what: []string{"reflect"}, instead: "compare comparable values with ==, or write the method"},
	{what: []string{"math/rand", "math/rand/v2"}, but: []string{"engine/enginetest", "cmd/internal/networktest"},
		instead: "the same log gives the same pixels; only tests, engine/enginetest and networktest draw lots, from a seed"},

	// What comes in as an argument.
	{what: []string{"time.Now", "time.Since", "time.Until", "time.Sleep", "time.After", "time.AfterFunc", "time.Tick", "time.NewTimer", "time.NewTicker"},
		but: wallClock, instead: "only cmd/internal/host reads the time of day; take an instant or a now function"},
	{what: []string{"fmt.Print", "fmt.Printf", "fmt.Println", "println", "print"}, but: programs,
		instead: "only programs speak; return the value or take an io.Writer"},
	{what: unseeded, tests: true, instead: "a run must be repeatable; draw from rand.New with a seed that the failure prints"},
	{what: []string{"a dot import"}, tests: true, instead: "a name should say where it comes from"},

	// What makes one run differ from the next.
	{what: []string{"sync", "sync/atomic"}, in: pure, but: openEnded, instead: "nothing here is shared; one goroutine owns each thing, in cmd"},
	{what: []string{"a go statement", "a channel"}, in: pure, but: openEnded, instead: "nothing here runs by itself; the caller calls"},
	{what: []string{"a range over a map"}, in: []string{"engine/**"}, instead: "the order differs from run to run; range over an array or a sorted slice"},
	{what: []string{"a float"}, in: exact, instead: "floats round differently on other processors; use integers (26.6 pixels, nanoseconds)"},
	{what: []string{"func init"}, tests: true, instead: "nothing happens before main; build it where it is used"},
	{what: []string{"a written package variable"}, instead: "a package's variable is a table that nobody writes; keep state in a value"},
}

// unseeded are the functions that draw from the generator which every process seeds anew.
var unseeded = func() (names []string) {
	for _, p := range []string{"math/rand.", "math/rand/v2."} {
		for _, f := range strings.Fields("Int IntN Intn Int31 Int31n Int32 Int32N Int63 Int63n Int64 Int64N N Uint Uint32 Uint64 UintN Uint32N Uint64N Float32 Float64 Perm Shuffle ExpFloat64 NormFloat64 Read Seed") {
			names = append(names, p+f)
		}
	}
	return names
}()

func (b *ban) covers(name string) bool {
	in := func(p string) bool { return match(p, name) }
	return (len(b.in) == 0 || slices.ContainsFunc(b.in, in)) && !slices.ContainsFunc(b.but, in)
}

// checkBans reports each thing that a room may not use, once a line.
func checkBans(t *tree) (problems []Problem) {
	for _, r := range t.rooms {
		for _, f := range r.files {
			for _, u := range uses(t, r, f) {
				for i := range bans {
					b := &bans[i]
					if (!f.test || b.tests) && b.covers(r.name) && b.names(u.what) {
						problems = append(problems, Problem{f.name, u.line, fmt.Sprintf("%s may not use %s: %s", r.name, u.what, b.instead)})
					}
				}
			}
		}
	}
	return problems
}

// names tells whether the ban is on this use: by its name, or as a package below a banned path.
func (b *ban) names(use string) bool {
	return slices.ContainsFunc(b.what, func(w string) bool {
		return use == w || strings.Contains(w, ".") && strings.Contains(w, "/") && strings.HasPrefix(use, w+"/")
	})
}

// use is something in a file that a ban may name.
type use struct {
	what string
	line int
}

// uses lists the imports, the package.Names and the constructs of a file.
func uses(t *tree, r *room, f *file) (found []use) {
	for _, spec := range f.syntax.Imports {
		found = append(found, use{importPath(spec), t.line(spec.Pos())})
		if spec.Name != nil && spec.Name.Name == "." {
			found = append(found, use{"a dot import", t.line(spec.Pos())})
		}
	}
	ast.Inspect(f.syntax, func(n ast.Node) bool {
		if what := construct(r.info, n); what != "" {
			found = append(found, use{what, t.line(n.Pos())})
		}
		if s, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := s.X.(*ast.Ident); ok && f.names[x.Name] != "" {
				found = append(found, use{f.names[x.Name] + "." + s.Sel.Name, t.line(s.Pos())})
			}
		}
		return true
	})
	return found
}
