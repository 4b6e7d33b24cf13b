package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var locks = regexp.MustCompile(`^(\S+)\.(R?)Lock\(\)$`)

// The server catches a panic over one request or one entry and goes on. It must not go
// on with a lock that nobody gives back: each is given back by a defer in the next line.
func TestALockIsGivenBackAlsoWhenSomethingPanics(t *testing.T) {
	seen := 0
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || strings.HasPrefix(path, "load"+string(filepath.Separator)) {
			return err
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		lines := strings.Split(string(b), "\n")
		for i, line := range lines {
			m := locks.FindStringSubmatch(strings.TrimSpace(line))
			if m == nil {
				continue
			}
			seen++
			if want := "defer " + m[1] + "." + m[2] + "Unlock()"; strings.TrimSpace(lines[i+1]) != want {
				t.Errorf("%s:%d: %s is not followed by %s", path, i+1, strings.TrimSpace(line), want)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 40 {
		t.Errorf("only %d locks were looked at", seen)
	}
}
