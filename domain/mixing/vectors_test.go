package mixing_test

import (
	"encoding/json"
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/mixing"
)

var update = flag.Bool("update", false, "write the vectors anew")

const vectorsFile = "../../testdata/mixing/vectors.jsonl"

// vector is what one cut and one path gave when they were written. Native and
// WebAssembly read the same file, so that they agree with each other.
type vector struct {
	Feed  ledger.Content `json:"feed"`
	Net   measure.Mass   `json:"net"`
	Back  mixing.Return  `json:"back"`
	After ledger.Content `json:"after"`
	Left  ledger.Content `json:"left"`

	Stretches []mixing.Stretch `json:"stretches"` // in an interval of 12 h with a break from 4 h to 5 h
	Flows     []mixing.Flow    `json:"flows"`
	Path      []measure.Mass   `json:"path"`
	Rest      measure.Mass     `json:"rest"`
}

// reckon sets what a vector gives.
func (v *vector) reckon() {
	v.After, v.Left = mixing.Spray(nil, v.Feed.Clone(), v.Net, v.Back)
	var clock mixing.Clock
	clock.Set(0, 12*hour, []mixing.Span{{From: 4 * hour, To: 5 * hour}}, v.Stretches)
	v.Path, v.Rest = clock.Path(nil, v.Feed.Total(), v.Net, v.Flows)
}

// TestVectors holds the program to the bytes in testdata; `go test ./domain/mixing -run
// Vectors -update` writes them anew, which no change should need that keeps the books.
func TestVectors(t *testing.T) {
	if *update {
		writeVectors(t)
	}
	text, err := os.ReadFile(vectorsFile)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	if len(lines) != 60 {
		t.Errorf("%d vectors; want 60", len(lines))
	}
	for i, line := range lines {
		var want vector
		if err := json.Unmarshal([]byte(line), &want); err != nil {
			t.Fatal(err)
		}
		got := want
		got.reckon()
		if jsonOf(t, got) != line {
			t.Errorf("vector %d: %s; want %s", i+1, jsonOf(t, got), line)
		}
	}
}

func writeVectors(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	var lines strings.Builder
	for i := range 60 {
		v := vector{Feed: randomFeed(r), Back: mixing.Return(r.Intn(950_001))}
		v.Net = measure.Mass(r.Int63n(int64(v.Feed.Total()) + 1))
		switch i % 8 {
		case 0:
			v.Net = v.Feed.Total()
		case 1:
			v.Net = v.Feed.Total() - min(v.Feed.Total(), 3)
		case 2:
			v.Back = 0
		case 3:
			v.Back = mixing.ReturnMax
		}
		for at := int64(0); at < 12*hour; at += 1 + r.Int63n(4*hour) {
			v.Stretches = append(v.Stretches, mixing.Stretch{End: at, Area: r.Int63n(5000)})
			v.Flows = append(v.Flows, mixing.Flow{At: at, Mass: measure.Mass(r.Int63n(2_000_000) - 1_000_000)})
		}
		v.reckon()
		lines.WriteString(jsonOf(t, v) + "\n")
	}
	if err := os.MkdirAll(filepath.Dir(vectorsFile), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(vectorsFile, []byte(lines.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

func jsonOf(t *testing.T, v vector) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// No float decides a milligram: the package has none, nor a number or function that is one.
func TestNoFloat(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		seen++
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, im := range f.Imports {
			if strings.HasPrefix(im.Path.Value, `"math`) && im.Path.Value != `"math/bits"` {
				t.Errorf("%s imports %s", name, im.Path.Value)
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.Ident:
				if strings.HasPrefix(n.Name, "float") || strings.HasPrefix(n.Name, "complex") {
					t.Errorf("%s has a %s", name, n.Name)
				}
			case *ast.BasicLit:
				if n.Kind == token.FLOAT || n.Kind == token.IMAG {
					t.Errorf("%s has the number %s", name, n.Value)
				}
			}
			return true
		})
	}
	if seen < 5 {
		t.Errorf("only %d files were looked at", seen)
	}
}
