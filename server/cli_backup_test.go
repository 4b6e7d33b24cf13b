package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

var digest = regexp.MustCompile(`(?m)^state +(\w+)$`)

// From a shop to a backup and back, each command on its own as somebody types it.
func TestBackupRestoreAndVerifyFromTheCommandLine(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	if a := hoppertally(t, "", "person", "--data", in("shop"), "add", "Mia", "--role", "manager"); a.code != exitOK {
		t.Fatalf("%+v", a)
	}
	if err := os.WriteFile(in("words"), []byte("correct horse\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	step := func(code int, says string, args ...string) typed {
		t.Helper()
		a := hoppertally(t, "", args...)
		if a.code != code || !strings.Contains(a.out+a.err, says) {
			t.Errorf("%q: exit %d, want %d and %q\n%s%s", args, a.code, code, says, a.out, a.err)
		}
		return a
	}
	step(exitUsage, "no shop's data", "backup", in("b"), "--data", in("nowhere"))
	step(exitOK, "not encrypted", "backup", in("b"), "--data", in("shop"))
	step(exitUsage, "file of that name", "backup", in("b"), "--data", in("shop"))
	step(exitOK, "encrypted: without the passphrase", "backup", in("sealed"), "--data", in("shop"), "--passphrase-file", in("words"))
	step(exitOK, "hoppertally-srv-", "backup", dir, "--data", in("shop"))

	was := step(exitOK, "the last came 20", "verify", "--data", in("shop"))
	step(exitOK, "Nothing was changed", "verify", in("b"))
	step(exitUsage, "give --passphrase-file", "verify", in("sealed"))
	step(exitUsage, "first line of", "verify", in("sealed"), "--passphrase-file", os.DevNull)
	step(exitUsage, "give --passphrase-file", "restore", in("sealed"), "--data", in("no"))

	step(exitUsage, "is not empty", "restore", in("b"), "--data", in("shop"))
	step(exitOK, "Serve it under the address", "restore", in("sealed"), "--data", in("again"), "--passphrase-file", in("words"))
	is := step(exitOK, "every hash right", "verify", "--data", in("again"))
	if a, b := digest.FindString(was.out), digest.FindString(is.out); a == "" || a != b {
		t.Errorf("restored books differ: %q and %q", a, b)
	}
	if a := hoppertally(t, "", "person", "--data", in("again"), "list"); !strings.Contains(a.out, "Mia") {
		t.Errorf("people after the restore: %+v", a)
	}

	b, err := os.ReadFile(in("b"))
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)/2] ^= 4
	if err := os.WriteFile(in("bad"), b, 0o600); err != nil {
		t.Fatal(err)
	}
	step(exitFailed, "What to do", "verify", in("bad"))
	step(exitFailed, "What to do", "restore", in("bad"), "--data", in("none"))
	if left, err := os.ReadDir(in("none")); err == nil && len(left) > 0 {
		t.Errorf("a damaged backup left %d things", len(left))
	}
	if err := os.WriteFile(filepath.Join(in("again"), "restoring"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	step(exitFailed, "restore once more", "serve", "--data", in("again"))
	step(exitUsage, "--backup-keep at least 1", "serve", "--data", in("shop"), "--backup-dir", in("kept"), "--backup-keep", "0")
}

// A backup is made through the server that has the folder open; when that was
// killed and its door is still there, the folder is opened again.
func TestABackupWhileTheServerRuns(t *testing.T) {
	bin, dir := build(t), t.TempDir()
	data, kept := filepath.Join(dir, "shop"), filepath.Join(dir, "kept")
	p := launch(t, bin, "demo", "--port", "0", "--data", data)
	ph := signIn(t, p, "clerk", "running-1")
	ph.make(20)
	if err := ph.flush(p.base); err != nil {
		t.Fatal(err)
	}
	command(t, bin, "backup", filepath.Join(dir, "one"), "--data", data)
	p.kill(t)
	command(t, bin, "backup", filepath.Join(dir, "two"), "--data", data)
	for _, name := range []string{"one", "two"} {
		command(t, bin, "verify", filepath.Join(dir, name))
	}
	p = launch(t, bin, "serve", "--addr", "127.0.0.1:0", "--data", data, "--backup-dir", kept, "--backup-every", "1s", "--backup-keep", "2")
	var hello struct {
		Seq int64 `json:"backup_seq"`
		At  int64 `json:"backup_at"`
		Bad bool  `json:"backup_failed"`
	}
	var found []string
	for end := time.Now().Add(time.Minute); len(found) == 0 && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if err := ph.do("GET", p.base+"/api/v1/hello", nil, &hello); err != nil {
			t.Fatal(err)
		}
		found, _ = filepath.Glob(filepath.Join(kept, "hoppertally-*.backup"))
	}
	p.kill(t)
	if len(found) == 0 || hello.Seq < 20 || hello.At == 0 || hello.Bad {
		t.Fatalf("backups %v; hello tells %+v", found, hello)
	}
	command(t, bin, "verify", found[0])
}

// command runs the built program; it must succeed.
func command(t *testing.T, bin string, args ...string) string {
	t.Helper()
	out, err := exec.Command(bin, args...).CombinedOutput()
	if err != nil || bytes.Contains(out, []byte("goroutine ")) {
		t.Fatalf("%q: %v\n%s", args, err, out)
	}
	return string(out)
}
