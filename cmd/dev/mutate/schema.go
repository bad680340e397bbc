package mutate

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/token"
	"go/types"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// What a test binary is told by its environment: the mutant that it is to be, by its number (0: none); how often a room may
// ask; and a file to which it writes the numbers of the places that it comes to, and how often it asks.
const (
	variable  = "MUTANT"
	budget    = "MUTANT_BUDGET"
	recording = "MUTANT_RECORD"
)

// How a test binary ends that asks too often, or takes too much memory.
const ranAway = 97

// helper is the file that each room is given besides its own: what the changed places ask. It ends a process that runs
// away by counting, not by a goroutine, since some tests count those.
const helper = `package %s

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"strconv"
%s)

var mutantOn, mutantBudget, mutantRecord = mutantBegin()
var mutantSeen [%d]bool
var mutantAsked, mutantNext int

func mutantBegin() (on, budget int, record *os.File) {
	debug.SetMaxStack(64 << 20)
	on, _ = strconv.Atoi(os.Getenv("MUTANT"))
	budget, _ = strconv.Atoi(os.Getenv("MUTANT_BUDGET"))
	if budget == 0 {
		budget = math.MaxInt
	}
	if name := os.Getenv("MUTANT_RECORD"); name != "" {
		var err error
		if record, err = os.OpenFile(name, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666); err != nil {
			panic(err)
		}
	}
	return on, budget, record
}

func mutantIs(n int) bool {
	mutantAsked++
	if mutantAsked > mutantNext {
		mutantLook(n)
	}
	return n == mutantOn
}

func mutantLook(n int) {
	if mutantRecord != nil {
		if at := n - %d; !mutantSeen[at] {
			mutantSeen[at] = true
			fmt.Fprintln(mutantRecord, n)
		}
		if mutantAsked&(mutantAsked-1) == 0 {
			fmt.Fprintln(mutantRecord, -mutantAsked)
		}
		return
	}
	mutantNext = min(mutantAsked+1<<20, mutantBudget)
	heap := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	metrics.Read(heap)
	if mutantAsked > mutantBudget || heap[0].Value.Uint64() > 1<<30 {
		os.Exit(97)
	}
}

func mutantLess[T cmp.Ordered](n int, a, b T) bool   { return a < b || a == b && mutantIs(n) }
func mutantAtMost[T cmp.Ordered](n int, a, b T) bool { return a < b || a == b && !mutantIs(n) }
func mutantMore[T cmp.Ordered](n int, a, b T) bool    { return a > b || a == b && mutantIs(n) }
func mutantAtLeast[T cmp.Ordered](n int, a, b T) bool { return a > b || a == b && !mutantIs(n) }
`

// ordered is the function that stands for each comparison of order.
var ordered = map[token.Token]string{token.LSS: "mutantLess", token.LEQ: "mutantAtMost", token.GTR: "mutantMore", token.GEQ: "mutantAtLeast"}

// spell returns the number of the helper for places of a type; false where the helpers' file cannot name it.
func (r *room) spell(t types.Type) (int, bool) {
	text := ""
	switch t := types.Unalias(t).(type) {
	case *types.Basic:
		text = t.Name()
		if t.Info()&types.IsUntyped != 0 {
			text = types.Default(t).String()
		}
	case *types.Named:
		of := t.Obj()
		switch {
		case t.TypeArgs() != nil || of.Pkg() == nil || of.Parent() != of.Pkg().Scope():
			return 0, false
		case of.Pkg() == r.types:
			text = of.Name()
		case of.Exported():
			text = strconv.Quote(of.Pkg().Path()) + "." + of.Name()
		}
	}
	if text == "" || text == "invalid type" {
		return 0, false
	}
	i := slices.Index(r.helpers, text)
	if i < 0 {
		i = len(r.helpers)
		r.helpers = append(r.helpers, text)
	}
	return i, true
}

// helperFile returns the text of the room's helper.
func (r *room) helperFile() string {
	imports, functions := "", ""
	for i, t := range r.helpers {
		if path, name, ok := strings.Cut(t, `".`); ok {
			imports += fmt.Sprintf("\tmutant%d %s\"\n", i, path)
			t = fmt.Sprintf("mutant%d.%s", i, name)
		}
		functions += fmt.Sprintf("\nfunc mutantPick%d(n int, was, now %s) %s {\n\tif mutantIs(n) {\n\t\treturn now\n\t}\n\treturn was\n}\n", i, t, t)
	}
	return fmt.Sprintf(helper, r.title, imports, max(len(r.mutants), 1), r.first) + functions
}

// helperPlace is where the helper lies, for the compiler.
func (r *room) helperPlace() string { return filepath.Join(r.dir, "mutant_helper.go") }

// edit replaces source[start:end].
type edit struct {
	start, end int
	text       string
	order      int // of two at one place: what closes comes first, then what opens, then what is replaced
}

// schema returns a file in which every place that can asks which mutant it is. A mutant that is built by itself is put
// in where it is given.
func (r *room) schema(s *source, alone *Mutant) []byte {
	file := s.file
	files := func(p token.Pos) int { return file.Offset(p) }
	at := map[int][]int{} // the place's offset → the numbers of its mutants
	for i, m := range r.mutants {
		if m.source == s && !m.single {
			at[m.start] = append(at[m.start], r.first+i)
		}
	}
	var edits []edit
	if alone != nil {
		edits = append(edits, edit{alone.start, alone.end, alone.now, 1_000_000})
	}
	depth := 0
	around := func(n ast.Node, open, close string) {
		low, high := files(n.Pos()), files(n.End())
		edits = append(edits, edit{low, low, open, depth}, edit{high, high, close, -1_000_000 - depth})
	}
	ast.Inspect(s.ast, func(n ast.Node) bool {
		if n == nil {
			depth--
			return true
		}
		depth++
		switch n := n.(type) {
		case *ast.BinaryExpr:
			low := files(n.OpPos)
			numbers := at[low]
			if len(numbers) == 0 {
				break
			}
			number, op := strconv.Itoa(numbers[0]), ""
			switch n.Op {
			case token.EQL, token.NEQ:
				around(n, "((", ") != mutantIs("+number+"))")
				return true
			case token.LAND, token.LOR:
				// (a != m && b != m) != m is a && b, and where m holds a || b; b is still asked only where it is needed.
				around(n, "((((", ") != mutantIs("+number+"))) != mutantIs("+number+"))")
				op = ") != mutantIs(" + number + ")) " + n.Op.String() + " (("
			default:
				around(n, ordered[n.Op]+"("+number+", ", ")")
				op = ","
			}
			edits = append(edits, edit{low, low + len(n.Op.String()), op, 1_000_000})
		case *ast.Ident:
			if numbers := at[files(n.Pos())]; len(numbers) > 0 {
				around(n, "(", fmt.Sprintf(" != mutantIs(%d))", numbers[0]))
			}
		case *ast.BasicLit:
			numbers := at[files(n.Pos())]
			if len(numbers) == 0 {
				break
			}
			text := n.Value
			for _, number := range numbers {
				m := r.mutants[number-r.first]
				text = fmt.Sprintf("mutantPick%d(%d, %s, %s)", m.helper, number, text, m.now)
			}
			edits = append(edits, edit{files(n.Pos()), files(n.End()), text, 1_000_000})
		}
		return true
	})
	slices.SortStableFunc(edits, func(a, b edit) int { return cmp.Or(cmp.Compare(a.start, b.start), cmp.Compare(a.order, b.order)) })
	var out []byte
	done := 0
	for _, e := range edits {
		out = append(append(out, s.text[done:e.start]...), e.text...)
		done = e.end
	}
	return append(out, s.text[done:]...)
}
