package domain

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Functions stay as short as they were when this was written, and none has more ways
// through it than a reader can follow.
const (
	medianLines, lines90, lines99 = 9, 25, 43
	waysMax                       = 25
)

func TestFunctionsAreShortAndPlain(t *testing.T) {
	var lengths []int
	for _, top := range []string{".", "../sync", "../server", "../pwa", "../testdata"} {
		eachFunction(t, top, func(where string, lines, ways int) {
			lengths = append(lengths, lines)
			if ways > waysMax {
				t.Errorf("%s has %d ways through it, more than %d: part it", where, ways, waysMax)
			}
		})
	}
	slices.Sort(lengths)
	for _, q := range []struct{ percent, most int }{{50, medianLines}, {90, lines90}, {99, lines99}} {
		if got := lengths[(len(lengths)-1)*q.percent/100]; got > q.most {
			t.Errorf("of a hundred functions %d have up to %d lines; at most %d are wanted", q.percent, got, q.most)
		}
	}
}

// eachFunction visits the functions under a folder, but for tests and what npm brought.
func eachFunction(t *testing.T, top string, visit func(where string, lines, ways int)) {
	t.Helper()
	files := token.NewFileSet()
	err := filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Name() == "node_modules" {
			return filepath.SkipDir
		}
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		f, err := parser.ParseFile(files, path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, d := range f.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok && fn.Body != nil {
				from, to := files.Position(fn.Pos()), files.Position(fn.End())
				visit(from.String()+" "+fn.Name.Name, to.Line-from.Line+1, waysThrough(fn))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// waysThrough is the cyclomatic complexity of McCabe: one, and one more for every
// condition, loop, case and further operand of && and ||.
func waysThrough(fn *ast.FuncDecl) int {
	ways := 1
	ast.Inspect(fn, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.IfStmt, *ast.ForStmt, *ast.RangeStmt:
			ways++
		case *ast.CaseClause:
			ways += min(len(n.List), 1)
		case *ast.CommClause:
			if n.Comm != nil {
				ways++
			}
		case *ast.BinaryExpr:
			if n.Op == token.LAND || n.Op == token.LOR {
				ways++
			}
		}
		return true
	})
	return ways
}
