package store

import (
	"context"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// A file that badger writes through memory must have all its blocks, or the first page
// that finds no room on the disk ends the program.
func TestABadgerFileHasAllItsBlocks(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, testOptions())
	for n := int64(1); n < 20_000; n += 500 { // more than one memory table
		var raws [][]byte
		for k := range int64(500) {
			raws = append(raws, note("a", n+k, "entry.noted"))
		}
		if _, err := s.Push(context.Background(), push("a", raws...)); err != nil {
			t.Fatal(err)
		}
	}
	seen := map[string]int{}
	for _, pattern := range []string{"*.mem", "*.sst", "*.vlog", "DISCARD"} {
		files, err := filepath.Glob(filepath.Join(dir, databaseName, pattern))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range files {
			info, err := os.Stat(name)
			if os.IsNotExist(err) {
				continue // badger has merged it meanwhile
			}
			if err != nil {
				t.Fatal(err)
			}
			seen[pattern]++
			if has := info.Sys().(*syscall.Stat_t).Blocks * 512; has < info.Size() {
				t.Errorf("%s has blocks for %d of its %d bytes", filepath.Base(name), has, info.Size())
			}
		}
		if seen[pattern] == 0 {
			t.Errorf("no %s: this test looks at nothing", pattern)
		}
	}
}
