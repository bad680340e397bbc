package house

import (
	"go/ast"
	"go/token"
	"go/types"
)

// construct names what a node is, in the words of the bans; "" for all that no ban speaks of. What needs a
// type is found only in files that compile here.
func construct(info *types.Info, n ast.Node) string {
	switch n := n.(type) {
	case *ast.GoStmt:
		return "a go statement"
	case *ast.ChanType, *ast.SendStmt, *ast.SelectStmt:
		return "a channel"
	case *ast.FuncDecl:
		if n.Recv == nil && n.Name.Name == "init" {
			return "func init"
		}
	case *ast.RangeStmt:
		if _, ok := under(info, n.X).(*types.Map); ok {
			return "a range over a map"
		}
		if n.Tok == token.ASSIGN && (writes(info, n.Key) || writes(info, n.Value)) {
			return "a written package variable"
		}
	case *ast.AssignStmt:
		for _, to := range n.Lhs {
			if n.Tok != token.DEFINE && writes(info, to) {
				return "a written package variable"
			}
		}
	case *ast.IncDecStmt:
		if writes(info, n.X) {
			return "a written package variable"
		}
	case *ast.CallExpr:
		return call(info, n)
	case *ast.UnaryExpr:
		if n.Op == token.ARROW {
			return "a channel"
		}
		return float(info, n)
	case ast.Expr:
		return float(info, n)
	}
	return ""
}

// call names a call of print, or one that writes a package variable: a builtin that changes its argument, or
// a method that takes the variable's address.
func call(info *types.Info, n *ast.CallExpr) string {
	switch f := ast.Unparen(n.Fun).(type) {
	case *ast.Ident:
		builtin := info.Uses[f] == nil || info.Uses[f].Parent() == types.Universe
		switch {
		case builtin && (f.Name == "print" || f.Name == "println"):
			return f.Name
		case builtin && (f.Name == "delete" || f.Name == "clear" || f.Name == "copy") && len(n.Args) > 0 && writes(info, n.Args[0]):
			return "a written package variable"
		}
	case *ast.SelectorExpr:
		s := info.Selections[f]
		if s == nil || s.Kind() != types.MethodVal {
			break
		}
		_, onPointer := s.Obj().(*types.Func).Signature().Recv().Type().(*types.Pointer)
		_, isPointer := s.Recv().Underlying().(*types.Pointer)
		if onPointer && !isPointer && !s.Indirect() && writes(info, f.X) {
			return "a written package variable"
		}
	}
	return float(info, n)
}

// writes tells whether assigning to x changes a package's variable, or something inside it.
func writes(info *types.Info, x ast.Expr) bool {
	for {
		switch e := x.(type) {
		case *ast.ParenExpr:
			x = e.X
		case *ast.IndexExpr:
			x = e.X
		case *ast.SliceExpr:
			x = e.X
		case *ast.StarExpr:
			x = e.X
		case *ast.SelectorExpr:
			if packageVar(info, e.Sel) {
				return true
			}
			x = e.X
		case *ast.Ident:
			return packageVar(info, e)
		default:
			return false
		}
	}
}

func packageVar(info *types.Info, id *ast.Ident) bool {
	v, ok := info.Uses[id].(*types.Var)
	return ok && !v.IsField() && v.Pkg() != nil && v.Parent() == v.Pkg().Scope()
}

// float names an expression or a type that is a float or complex number. Untyped constants are exact.
func float(info *types.Info, x ast.Expr) string {
	if id, ok := x.(*ast.Ident); ok && info.Defs[id] != nil && isFloat(info.Defs[id].Type()) {
		return "a float"
	}
	if tv, ok := info.Types[x]; ok && tv.Type != nil && isFloat(tv.Type) {
		return "a float"
	}
	return ""
}

func isFloat(t types.Type) bool {
	b, ok := t.Underlying().(*types.Basic)
	return ok && b.Info()&(types.IsFloat|types.IsComplex) != 0 && b.Info()&types.IsUntyped == 0
}

func under(info *types.Info, x ast.Expr) types.Type {
	if t := info.TypeOf(x); t != nil {
		return t.Underlying()
	}
	return nil
}
