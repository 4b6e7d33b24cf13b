package main

import (
	"bytes"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// Phones let go of what backups hold: they cannot refill a folder that is older than its
// newest backup. It is not served until a person has decided.
func TestAFolderOlderThanItsNewestBackupIsNotServed(t *testing.T) {
	s := newPutBackShop(t)
	kept := filepath.Join(t.TempDir(), "kept")
	plan := []string{"--backup-dir", kept, "--backup-every", "1h"}
	s.together()
	s.stop(false)
	s.copyFolder()
	s.serve()
	want := map[string]bool{}
	for range 5 {
		want[s.ana.record()] = true
	}
	s.together()
	s.stop(false)
	s.serve(plan...)
	newest := ""
	for end := time.Now().Add(20 * time.Second); newest == "" && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if found, err := filepath.Glob(filepath.Join(kept, "hoppertally-*.backup")); err != nil || len(found) > 0 {
			newest = found[0]
		}
	}
	for end := time.Now().Add(20 * time.Second); len(s.ana.own) > 0 && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		s.together() // the phones let go of what it holds
	}
	if len(s.ana.own) > 0 {
		t.Fatalf("the phone keeps %d entries although a backup has them", len(s.ana.own))
	}
	s.stop(false)
	s.putBack()

	refused := func() string {
		t.Helper()
		out, err := exec.Command(s.bin, append([]string{"serve", "--addr", "127.0.0.1:" + s.port, "--data", s.dir}, plan...)...).CombinedOutput()
		if err == nil || bytes.Contains(out, []byte("goroutine ")) {
			t.Fatalf("served: %v\n%s", err, out)
		}
		return string(out)
	}
	for range 2 {
		said := refused()
		for _, word := range []string{"older copy", newest, "hoppertally restore", "--accept-loss"} {
			if !strings.Contains(said, word) {
				t.Errorf("it does not say %q: %s", word, said)
			}
		}
	}
	older := s.dir + "-older"
	copyInto(t, s.dir, older)

	// The way out: that backup.
	s.dir += "-restored"
	command(t, s.bin, "restore", newest, "--data", s.dir)
	s.serve(plan...)
	s.together()
	s.holdsEach(want)
	s.stop(false)

	// The other one: what only the backup has is given up, once.
	s.dir = older
	said := refused()
	if !strings.Contains(said, "older copy") {
		t.Error(said)
	}
	s.serve(append(plan, "--accept-loss")...)
	s.stop(false)
	s.serve(plan...)
	s.stop(false)
	verify(t, s.bin, s.dir)
}

// Phones keep what the oldest kept backup lacks, so any kept backup may be restored: a
// newer one beside it is no reason not to serve.
func TestAnOlderKeptBackupMayBeRestored(t *testing.T) {
	s := newPutBackShop(t)
	kept := filepath.Join(t.TempDir(), "kept")
	plan := []string{"--backup-dir", kept, "--backup-every", "1h"}
	newest := func(n int) string {
		t.Helper()
		for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
			if found, err := filepath.Glob(filepath.Join(kept, "hoppertally-*.backup")); err != nil || len(found) == n {
				return found[n-1]
			}
		}
		t.Fatalf("no %d backups", n)
		return ""
	}
	want := map[string]bool{}
	work := func() {
		for range 5 {
			want[s.ana.record()] = true
		}
		s.together()
	}
	work()
	s.stop(false)
	s.serve(plan...)
	older := newest(1)
	work()
	s.stop(false)
	s.serve("--backup-dir", kept, "--backup-every", "1s")
	newest(2)
	s.stop(false)
	s.dir += "-restored"
	command(t, s.bin, "restore", older, "--data", s.dir)
	s.serve(plan...)
	s.together()
	s.holdsEach(want)
	s.stop(false)
}
