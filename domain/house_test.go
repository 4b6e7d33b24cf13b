package domain

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The arrows of the house point inward. A folder may import the standard
// library except what is forbidden to it, and the modules listed here.
var house = []struct {
	folder  string
	allowed []string // prefixes of import paths
	forbid  []string // of the standard library
}{
	{"domain", []string{"hoppertally/domain/measure", "hoppertally/domain/form", "hoppertally/domain/jsonscan"}, impure},
	{"domain/measure", nil, impure},
	{"domain/jsonscan", nil, impure},
	{"domain/form", []string{"hoppertally/domain/measure", "hoppertally/domain/jsonscan"}, impure},
	{"domain/ledger", []string{"hoppertally/domain/measure"}, impure},
	{"domain/mixing", []string{"hoppertally/domain/ledger", "hoppertally/domain/measure"}, impure},
	{"domain/coating", trade, impure},
	{"domain/reclaim", trade, impure},
	{"domain/reconcile", trade, impure},
	{"domain/gun", trade, impure},
	{"domain/booth", trade, impure},
	{"domain/stock", trade, impure},
	{"domain/calc", with(trade, "hoppertally/domain/calc"), impure},
	{"domain/kind", trade, impure},
	{"domain/shop", with(trade, "hoppertally/domain/kind", "hoppertally/domain/shop"), impure},
	{"domain/view", with(trade, "hoppertally/domain/kind", "hoppertally/domain/shop"), impure},
	{"domain/task", with(trade, "hoppertally/domain/kind", "hoppertally/domain/shop", "hoppertally/domain/view"), impure},
	{"domain/internal", []string{"hoppertally/domain"}, []string{"net", "os/exec"}}, // serves tests only
	{"domain/internal/handsim", nil, impure},                                        // holds the books to account, so it knows none of them
	{"sync/entry", []string{"hoppertally/domain/jsonscan"}, impure},
	{"sync/hub", []string{"hoppertally/sync/entry"}, impure},
	{"sync/wire", []string{"hoppertally/sync/entry", "hoppertally/domain/jsonscan", "hoppertally/domain/form"}, impure},
	{"sync/replica", []string{"hoppertally/sync/entry", "hoppertally/sync/wire"}, impure},
	{"sync/simtest", []string{"hoppertally/sync", "hoppertally/domain"}, impure},
	{"pwa/core", []string{"hoppertally/domain", "hoppertally/sync", "hoppertally/pwa/core", "github.com/valyala/fastjson"}, []string{"net/http", "os/exec"}},
}

// trade is what the rules of the trade may know of each other, and of others' work.
var trade = []string{"hoppertally/domain/measure", "hoppertally/domain/form", "hoppertally/domain/jsonscan", "hoppertally/domain/ledger",
	"hoppertally/domain/coating", "hoppertally/domain/reclaim", "hoppertally/domain/reconcile", "hoppertally/domain/gun", "hoppertally/domain/booth",
	"hoppertally/domain/stock", "github.com/valyala/fastjson", "github.com/lucasb-eyer/go-colorful", "gonum.org/v1/gonum"}

func with(list []string, more ...string) []string { return append(slices.Clone(list), more...) }

// impure is what the core must not touch: clocks are arguments, so are
// randomness and ids; there are no goroutines and no input or output.
var impure = []string{"os", "io/ioutil", "net", "math/rand", "crypto/rand", "syscall", "sync", "sync/atomic", "log", "log/slog", "context", "unsafe"}

func TestArrowsPointInward(t *testing.T) {
	seen := 0
	for _, room := range house {
		err := filepath.WalkDir(filepath.Join("..", room.folder), func(path string, d fs.DirEntry, err error) error {
			if err == nil && d.IsDir() && path != filepath.Join("..", room.folder) && isRoom(filepath.ToSlash(path[len("../"):])) {
				return filepath.SkipDir // it has a row of its own
			}
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			seen++
			f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
			if err != nil {
				return err
			}
			for _, im := range f.Imports {
				name, _ := strconv.Unquote(im.Path.Value)
				if !mayImport(name, room.allowed, room.forbid) {
					t.Errorf("%s imports %s", path, name)
				}
			}
			return nil
		})
		if err != nil {
			t.Errorf("%s: %v", room.folder, err)
		}
	}
	if seen < 40 {
		t.Errorf("only %d files were looked at", seen)
	}
}

func isRoom(folder string) bool {
	for _, room := range house {
		if room.folder == folder {
			return true
		}
	}
	return false
}

func mayImport(name string, allowed, forbid []string) bool {
	first, _, _ := strings.Cut(name, "/")
	if !strings.Contains(first, ".") && first != "hoppertally" {
		return !slices.Contains(forbid, name)
	}
	return slices.ContainsFunc(allowed, func(p string) bool { return name == p || strings.HasPrefix(name, p+"/") })
}
