package shop_test

import (
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/shop"
)

var update = flag.Bool("update", false, "write the golden files anew; look at the difference before committing")

// The same journals give the same state hash everywhere: this test runs
// natively and under WebAssembly against one and the same golden file.
func TestStateHashesAreTheSameOnEveryMachine(t *testing.T) {
	const file = "../../testdata/journals/hashes.txt"
	var out strings.Builder
	dir := filepath.Dir(file)
	names, err := filepath.Glob(filepath.Join(dir, "*.journal"))
	if err != nil || len(names) == 0 {
		t.Fatalf("no journals in %s (%v)", dir, err)
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		f := shop.NewFold()
		f.Add(shoptest.Journal(t, string(text))...)
		shoptest.Check(t, f)
		out.WriteString(shoptest.Hash(f) + " " + filepath.Base(name) + "\n")
	}
	h := sha256.New()
	for seed := range uint64(500) {
		f := shop.NewFold()
		f.Add(shoptest.RandomEntries(seed, 60)...)
		h.Write(f.Save())
	}
	out.WriteString(hex.EncodeToString(h.Sum(nil)) + " 500 random journals\n")
	if *update {
		if err := os.WriteFile(file, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if out.String() != string(want) {
		t.Errorf("state hashes\n%swant\n%s", out.String(), want)
	}
}
