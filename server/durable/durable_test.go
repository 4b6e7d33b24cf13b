package durable

import (
	"os"
	"path/filepath"
	"testing"
)

func TestAFileIsReplacedWholeAndForItsOwnerOnly(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "key")
	if err := os.WriteFile(name, []byte("old and longer"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name+PartSuffix, []byte("what a crash left, longer than the new bytes"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Write(name, []byte("new")); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(name)
	if err != nil || string(b) != "new" {
		t.Errorf("%q, %v", b, err)
	}
	if info, err := os.Stat(name); err != nil || info.Mode() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
		t.Errorf("left in the folder: %v, %v", left, err)
	}
}

func TestAFileThatCannotBeReplacedStays(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "key")
	if err := os.MkdirAll(filepath.Join(name, "a folder in the way"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := Write(name, []byte("new")); err == nil {
		t.Error("a folder was replaced")
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
		t.Errorf("left in the folder: %v, %v", left, err)
	}
}
