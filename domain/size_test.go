package domain

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// ofDomain gives every file of domain that is no test, and serves none.
func ofDomain(t *testing.T, yield func(path string, text []byte)) {
	t.Helper()
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() && d.Name() == "internal" {
			return filepath.SkipDir
		}
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		if err == nil {
			yield(path, text)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// A package that holds much more than the others holds more than one idea, and so does
// a long file. `go test ./domain -run Fifth -v` prints the table.
func TestNoPackageIsMoreThanAFifthOfTheDomain(t *testing.T) {
	lines, files, all := map[string]int{}, map[string]int{}, 0
	ofDomain(t, func(path string, text []byte) {
		n := bytes.Count(text, []byte("\n"))
		folder := filepath.ToSlash(filepath.Dir(path))
		lines[folder] += n
		files[folder]++
		all += n
		if n > 400 {
			t.Errorf("%s has %d lines; a file holds one idea in at most 400", path, n)
		}
	})
	var table strings.Builder
	for _, folder := range slices.SortedFunc(maps.Keys(lines), func(a, b string) int { return lines[b] - lines[a] }) {
		fmt.Fprintf(&table, "%5d lines %4.1f %% %3d files  %s\n", lines[folder], 100*float64(lines[folder])/float64(all), files[folder], folder)
		if lines[folder]*5 > all {
			t.Errorf("%s holds %d of %d lines, more than a fifth", folder, lines[folder], all)
		}
	}
	t.Log("\n" + table.String())
}

// What a package offers says what it is: shapes, units, errors, sources. The bodies of
// entries declare their fields by a method that all have, and that says itself what it does.
func TestExportedNamesAreDocumented(t *testing.T) {
	all, bare := 0, []string{}
	ofDomain(t, func(path string, text []byte) {
		f, err := parser.ParseFile(token.NewFileSet(), path, text, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		see := func(name *ast.Ident, docs ...*ast.CommentGroup) {
			if !name.IsExported() {
				return
			}
			all++
			if !slices.ContainsFunc(docs, func(d *ast.CommentGroup) bool { return d != nil }) {
				bare = append(bare, path+" "+name.Name)
			}
		}
		for _, d := range f.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Recv == nil || isOffered(d.Recv.List[0].Type) {
					see(d.Name, d.Doc)
				}
			case *ast.GenDecl:
				for _, s := range d.Specs {
					switch s := s.(type) {
					case *ast.TypeSpec:
						see(s.Name, d.Doc, s.Doc, s.Comment)
					case *ast.ValueSpec:
						for _, name := range s.Names {
							see(name, d.Doc, s.Doc, s.Comment)
						}
					}
				}
			}
		}
	})
	if len(bare)*20 > all {
		t.Errorf("%d of %d exported names have no comment, more than 5 %%:\n%s", len(bare), all, strings.Join(bare, "\n"))
	}
	t.Logf("%.1f %% of %d exported names are documented", 100-100*float64(len(bare))/float64(all), all)
}

// isOffered tells whether the type of a receiver is exported.
func isOffered(t ast.Expr) bool {
	switch x := t.(type) {
	case *ast.StarExpr:
		return isOffered(x.X)
	case *ast.IndexExpr:
		return isOffered(x.X)
	case *ast.Ident:
		return x.IsExported()
	}
	return false
}
