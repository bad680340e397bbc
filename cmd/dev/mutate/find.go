package mutate

import (
	"cmp"
	"go/ast"
	"go/token"
	"go/types"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// swaps is what each operator becomes.
var swaps = map[token.Token]token.Token{
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR,
	token.EQL: token.NEQ, token.NEQ: token.EQL,
	token.LAND: token.LOR, token.LOR: token.LAND,
}

// find lists the room's mutants in the order of its code.
func (r *room) find(dir string) {
	for _, s := range r.sources {
		f := finder{room: r, source: s, file: s.file, name: slashed(dir, s.place)}
		ast.Inspect(s.ast, func(n ast.Node) bool {
			if n == nil {
				f.around = f.around[:len(f.around)-1]
				return true
			}
			f.around = append(f.around, n)
			f.visit(n)
			return true
		})
	}
	slices.SortStableFunc(r.mutants, func(a, b *Mutant) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.start, b.start))
	})
}

// finder walks one file.
type finder struct {
	room   *room
	source *source
	file   *token.File
	name   string
	around []ast.Node // from the file down to the node at hand
}

func (f *finder) visit(n ast.Node) {
	switch n := n.(type) {
	case *ast.BinaryExpr:
		if to, ok := swaps[n.Op]; ok {
			f.add(n.OpPos, n.Op.String(), to.String())
		}
	case *ast.Ident:
		if c, ok := f.room.info.Uses[n].(*types.Const); ok && c.Parent() == types.Universe && (n.Name == "true" || n.Name == "false") {
			f.add(n.Pos(), n.Name, strconv.FormatBool(n.Name == "false"))
		}
	case *ast.BasicLit:
		switch n.Kind {
		case token.INT, token.CHAR:
			for _, to := range neighbours(n) {
				f.add(n.Pos(), n.Value, to)
			}
		case token.STRING:
			if row, ok := f.parent().(*ast.CompositeLit); ok && f.isRow(row) && len(row.Elts) > 1 && row.Elts[1] == n {
				name, _ := row.Elts[0].(*ast.BasicLit)
				value, err := strconv.Unquote(n.Value)
				if err != nil || name == nil {
					return
				}
				for _, to := range values(name.Value, value) {
					f.add(n.Pos(), n.Value, strconv.Quote(to))
				}
			}
		}
	}
}

func (f *finder) parent() ast.Node { return f.around[len(f.around)-2] }

// isRow tells whether a literal is a row of a table whose constants are texts: of a struct type named row, the first
// field of which is a name and the second its value.
func (f *finder) isRow(n *ast.CompositeLit) bool {
	named, ok := f.room.info.TypeOf(n).(*types.Named)
	return ok && named.Obj().Name() == "row"
}

// neighbours returns what an integer or character becomes: one more, and for 1 also 0.
func neighbours(n *ast.BasicLit) []string {
	if n.Kind == token.CHAR {
		c, _, _, err := strconv.UnquoteChar(n.Value[1:], '\'')
		if err != nil {
			return nil
		}
		return []string{strconv.QuoteRune(c + 1)}
	}
	v, err := strconv.ParseUint(n.Value, 0, 63)
	if err != nil {
		return nil
	}
	more := strconv.FormatUint(v+1, 10)
	if strings.HasPrefix(n.Value, "0x") {
		more = "0x" + strconv.FormatUint(v+1, 16)
	}
	if v == 1 {
		return []string{"0", more}
	}
	return []string{more}
}

// add notes a mutant at the place where was stands.
func (f *finder) add(at token.Pos, was, now string) {
	m := &Mutant{File: f.name, room: f.room, source: f.source, now: now}
	m.start = f.file.Offset(at)
	m.end = m.start + len(was)
	place := f.file.Position(at)
	m.Line, m.Column = place.Line, place.Column
	m.In = f.in()
	m.Before, m.After = f.context(m)
	m.single = f.mustBeConstant()
	if lit, ok := f.around[len(f.around)-1].(*ast.BasicLit); ok && !m.single {
		m.helper, ok = f.room.spell(f.typed(lit))
		m.single = !ok
	}
	f.room.mutants = append(f.room.mutants, m)
}

// in names the function, or the package's variable or constant, that the node lies in.
func (f *finder) in() string {
	for _, n := range f.around {
		switch n := n.(type) {
		case *ast.FuncDecl:
			if n.Recv == nil {
				return n.Name.Name
			}
			to := n.Recv.List[0].Type
			if star, ok := to.(*ast.StarExpr); ok {
				to = star.X
			}
			if index, ok := to.(*ast.IndexExpr); ok {
				to = index.X
			}
			if id, ok := to.(*ast.Ident); ok {
				return id.Name + "." + n.Name.Name
			}
		case *ast.ValueSpec:
			return n.Names[0].Name
		case *ast.TypeSpec:
			return n.Name.Name
		}
	}
	return filepath.Base(f.name)
}

// widest is how much of the code around a place is shown, in bytes.
const widest = 80

// shown tells whether a node is an expression or a plain statement.
func shown(n ast.Node) bool {
	switch n.(type) {
	case ast.Expr, *ast.ValueSpec, *ast.AssignStmt, *ast.ReturnStmt, *ast.ExprStmt:
		return true
	}
	return false
}

// context returns the widest expression or plain statement around the place that is short enough, before and after.
func (f *finder) context(m *Mutant) (before, after string) {
	from, to := m.start, m.end
	for i := len(f.around) - 1; i >= 0 && shown(f.around[i]); i-- {
		low, high := f.file.Offset(f.around[i].Pos()), f.file.Offset(f.around[i].End())
		if i < len(f.around)-1 && (high-low > widest || strings.Contains(string(f.source.text[low:high]), "\n")) {
			break
		}
		from, to = low, high
	}
	head, tail := string(f.source.text[from:m.start]), string(f.source.text[m.end:to])
	if from == m.start && to == m.end {
		head, tail = f.list()
	}
	return oneLine(head + string(f.source.text[m.start:m.end]) + tail), oneLine(head + m.now + tail)
}

// mustBeConstant tells whether the node stands where only a constant compiles.
func (f *finder) mustBeConstant() bool {
	for i, n := range f.around {
		switch n := n.(type) {
		case *ast.GenDecl:
			if n.Tok == token.CONST {
				return true
			}
		case *ast.ArrayType:
			if i+1 < len(f.around) && n.Len == f.around[i+1] {
				return true
			}
		case *ast.KeyValueExpr:
			list, ok := f.around[i-1].(*ast.CompositeLit)
			if !ok || i+1 == len(f.around) || n.Key != f.around[i+1] {
				continue
			}
			if _, isMap := f.room.info.TypeOf(list).Underlying().(*types.Map); !isMap {
				return true
			}
		}
	}
	return false
}

// list tells a bare literal apart where it is one of many in a call or a row too wide to show: by the first of them.
func (f *finder) list() (head, tail string) {
	var first ast.Expr
	var of ast.Node
	switch n := f.parent().(type) {
	case *ast.CallExpr:
		if of = n; len(n.Args) > 0 {
			first = n.Args[0]
		}
	case *ast.CompositeLit:
		if of = n; len(n.Elts) > 0 {
			first = n.Elts[0]
		}
	}
	last := f.around[len(f.around)-1]
	if first == nil || first == last || first.End()-of.Pos() > widest {
		return "", ""
	}
	return string(f.source.text[f.file.Offset(of.Pos()):f.file.Offset(first.End())]) + ", … ", " …"
}

// typed returns the type of a literal. Inside a constant expression it has none of its own yet, and takes the whole's.
func (f *finder) typed(lit *ast.BasicLit) types.Type {
	t := f.room.info.TypeOf(lit)
	for i := len(f.around) - 1; i >= 0; i-- {
		e, ok := f.around[i].(ast.Expr)
		if !ok || f.room.info.Types[e].Value == nil {
			break
		}
		t = f.room.info.TypeOf(e)
	}
	return t
}
