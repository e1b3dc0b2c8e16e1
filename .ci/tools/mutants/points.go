package main

import (
	"fmt"
	"go/ast"
	"go/token"
	"go/types"
	"slices"
)

// A point is a place where a small fault can be planted. Its kind is one of
//
//	bound       < for <= and the like
//	comparison  the opposite of a comparison
//	and-or      && for || and the other way round
//	arithmetic  - for +, / for * and the other way round, * for %
//	sign        a number for its negative
//	step        -- for ++ and the other way round
//	loop        break for continue and the other way round
type point struct {
	pos  token.Position
	kind string
}

// An edit puts text into a file in place of the bytes from one offset to another, which may be none.
type edit struct {
	from, to int
	text     string
	closes   bool // it ends what another began
}

// found is a fault with the edits that plant it when it is chosen.
type found struct {
	point
	edits func(number int) []edit
}

// compared names the helper that moves the bound of a comparison; empty where there is no bound.
var compared = map[token.Token]string{
	token.EQL: "", token.NEQ: "", token.LSS: "mutantLess", token.LEQ: "mutantLessOrEqual", token.GTR: "mutantMore", token.GEQ: "mutantMoreOrEqual",
}

// computed names the helper that does one operation, or another in its place.
var computed = map[token.Token]string{
	token.ADD: "mutantAdd", token.SUB: "mutantSubtract", token.MUL: "mutantMultiply", token.QUO: "mutantDivide", token.REM: "mutantRemainder",
}

// finder looks for the points of one file.
type finder struct {
	files  *token.FileSet
	info   *types.Info
	within []ast.Node // from the file to the present node
	all    []found
}

// Visit implements ast.Visitor.
func (f *finder) Visit(n ast.Node) ast.Visitor {
	if n == nil {
		f.within = f.within[:len(f.within)-1]
		return nil
	}
	switch n := n.(type) {
	case *ast.BinaryExpr:
		f.binary(n)
	case *ast.UnaryExpr:
		if n.Op == token.SUB && !f.constant(n) {
			f.add(n.OpPos, "sign", func(number int) []edit { return f.call(n.OpPos, n.X.Pos(), n.End(), "mutantNegative", number) })
		}
	case *ast.IncDecStmt:
		f.step(n)
	case *ast.BranchStmt:
		f.branch(n)
	}
	f.within = append(f.within, n)
	return f
}

func (f *finder) constant(e ast.Expr) bool { return f.info.Types[e].Value != nil }

func (f *finder) add(at token.Pos, kind string, edits func(int) []edit) {
	f.all = append(f.all, found{point{f.files.Position(at), kind}, edits})
}

func (f *finder) offset(p token.Pos) int { return f.files.Position(p).Offset }

func (f *finder) open(at token.Pos, text string) edit {
	return edit{from: f.offset(at), to: f.offset(at), text: text}
}

func (f *finder) close(at token.Pos, text string) edit {
	return edit{from: f.offset(at), to: f.offset(at), text: text, closes: true}
}

// call makes an operator before an operand a call.
func (f *finder) call(from, operand, end token.Pos, helper string, number int) []edit {
	return []edit{{from: f.offset(from), to: f.offset(operand), text: fmt.Sprintf("%s(%d, ", helper, number)}, f.close(end, ")")}
}

func (f *finder) binary(n *ast.BinaryExpr) {
	if f.constant(n) {
		return
	}
	// around puts something before an expression, in place of its operator, and behind it.
	around := func(before, operator, after string) []edit {
		from := f.offset(n.OpPos)
		return []edit{f.open(n.Pos(), before), {from: from, to: from + len(n.Op.String()), text: operator}, f.close(n.End(), after)}
	}
	instead := func(helper string) func(int) []edit {
		return func(number int) []edit { return around(fmt.Sprintf("%s(%d, ", helper, number), ",", ")") }
	}
	switch helper, comparison := compared[n.Op]; {
	case n.Op == token.LAND || n.Op == token.LOR:
		f.add(n.OpPos, "and-or", func(number int) []edit { // by De Morgan, so that no operand stands twice
			turned := fmt.Sprintf(") != mutantOn(%d)", number)
			return around("(((", turned+" "+n.Op.String()+" (", turned+turned+")")
		})
	case comparison:
		f.add(n.OpPos, "comparison", func(number int) []edit {
			return []edit{f.open(n.Pos(), "(("), f.close(n.End(), fmt.Sprintf(") != mutantOn(%d))", number))}
		})
		if helper != "" {
			f.add(n.OpPos, "bound", instead(helper))
		}
	case computed[n.Op] != "" && isNumber(f.info.TypeOf(n)):
		f.add(n.OpPos, "arithmetic", instead(computed[n.Op]))
	}
}

func isNumber(t types.Type) bool {
	basic, ok := t.Underlying().(*types.Basic)
	return ok && basic.Info()&(types.IsInteger|types.IsFloat) != 0
}

func (f *finder) step(n *ast.IncDecStmt) {
	if index, ok := n.X.(*ast.IndexExpr); ok {
		if _, isMap := f.info.TypeOf(index.X).Underlying().(*types.Map); isMap {
			return // an entry has no address
		}
	}
	helper := map[token.Token]string{token.INC: "mutantIncrement", token.DEC: "mutantDecrement"}[n.Tok]
	f.add(n.TokPos, "step", func(number int) []edit {
		return []edit{f.open(n.Pos(), fmt.Sprintf("%s(%d, &", helper, number)), {from: f.offset(n.TokPos), to: f.offset(n.End()), text: ")"}}
	})
}

// branch is a break or continue; a break that ends no loop has nothing that it could continue.
func (f *finder) branch(n *ast.BranchStmt) {
	other := map[token.Token]string{token.BREAK: "continue", token.CONTINUE: "break"}[n.Tok]
	if other == "" || !f.inLoop() {
		return
	}
	label := ""
	if n.Label != nil {
		label = " " + n.Label.Name
	}
	f.add(n.Pos(), "loop", func(number int) []edit {
		return []edit{f.open(n.Pos(), fmt.Sprintf("{ if mutantOn(%d) { %s%s }; ", number, other, label)), f.close(n.End(), " }")}
	})
}

func (f *finder) inLoop() bool {
	for _, n := range slices.Backward(f.within) {
		switch n.(type) {
		case *ast.ForStmt, *ast.RangeStmt:
			return true
		case *ast.FuncDecl, *ast.FuncLit:
			return false
		}
	}
	return false
}

// planted is a file with edits made, which come in the order of the tree. Where several meet, what ends an expression stands
// before what begins one, the innermost first.
func planted(text []byte, edits []edit) []byte {
	var ordered []edit
	for _, e := range slices.Backward(edits) {
		if e.closes {
			ordered = append(ordered, e)
		}
	}
	for _, e := range edits {
		if !e.closes {
			ordered = append(ordered, e)
		}
	}
	slices.SortStableFunc(ordered, func(a, b edit) int { return a.from - b.from })
	var out []byte
	at := 0
	for _, e := range ordered {
		out = append(append(out, text[at:e.from]...), e.text...)
		at = e.to
	}
	return append(out, text[at:]...)
}
