package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// A pipe cannot be read twice, as a journal must be whose lines are in no order.
func TestAJournalComesThroughAPipe(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	written := make(chan error)
	go func() {
		written <- os.WriteFile(pipe, []byte(strings.Join(shuffled(1, lines(t, phoneLine)), "\n")), 0o600)
	}()
	if a := hoppertally(t, "", "replay", pipe); a.code != exitOK || a.out != shiftReport {
		t.Errorf("exit %d, %s\n%s", a.code, a.err, a.out)
	}
	if err := <-written; err != nil {
		t.Error(err)
	}
}
