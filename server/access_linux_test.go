package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// A folder that cannot be written is not a damaged one.

// contents is a hash of every file of a folder.
func contents(t *testing.T, dir string) string {
	t.Helper()
	var all strings.Builder
	err := filepath.WalkDir(dir, func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		b, err := os.ReadFile(name)
		fmt.Fprintf(&all, "%s %x\n", name, sha256.Sum256(b))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all.String()
}

func TestVerifyOnAFullDiskChangesNothing(t *testing.T) {
	onASmallDisk(t, func(t *testing.T, disk string) {
		bin := build(t)
		left, _ := killedShop(t, bin)
		says := pristine(t, bin, copyOf(t, left))
		dir := filepath.Join(disk, "shop")
		if err := os.CopyFS(dir, os.DirFS(left)); err != nil {
			t.Fatal(err)
		}
		leave(t, filepath.Join(disk, "film.mov"), disk, 0)
		checkInPlace(t, bin, dir, says, "the disk is nearly full")
		cutNewestMemoryTable(t, dir)
		if out, err := exec.Command(bin, "verify", "--data", dir).CombinedOutput(); err == nil || !bytes.Contains(out, []byte("once reached")) {
			t.Errorf("a lost tail on a full disk: %v\n%s", err, out)
		}
	})
}

func TestAReadOnlyFileSystemIsNamed(t *testing.T) {
	onASmallDisk(t, func(t *testing.T, disk string) {
		bin := build(t)
		left, _ := killedShop(t, bin)
		says := pristine(t, bin, copyOf(t, left))
		dir := filepath.Join(disk, "shop")
		if err := os.CopyFS(dir, os.DirFS(left)); err != nil {
			t.Fatal(err)
		}
		if err := syscall.Mount("", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
			t.Fatal(err)
		}
		checkInPlace(t, bin, dir, says, "is read-only")
		for name, dir := range map[string]string{"a shop": dir, "no shop yet": filepath.Join(disk, "new")} {
			out, err := exec.Command(bin, "serve", "--addr", "127.0.0.1:0", "--data", dir).CombinedOutput()
			if err == nil || !bytes.Contains(out, []byte("is read-only")) || !bytes.Contains(out, []byte("mount it for writing")) || bytes.Contains(out, []byte("damaged:")) {
				t.Errorf("serve, %s: %v\n%s", name, err, out)
			}
		}
	})
}

// checkInPlace has verify check a folder in which it cannot write.
func checkInPlace(t *testing.T, bin, dir, says, why string) {
	t.Helper()
	was := contents(t, dir)
	t.Setenv("TMPDIR", t.TempDir())
	out, err := exec.Command(bin, "verify", "--data", dir).Output()
	note, rest, _ := strings.Cut(string(out), "\n")
	if err != nil || !strings.HasPrefix(note, "copy ") || !strings.Contains(note, why) || rest != says {
		t.Errorf("verify: %v\n%s\nwant a note that %s, and\n%s", err, out, why, says)
	}
	if contents(t, dir) != was {
		t.Error("verify changed the folder")
	}
	if left, err := filepath.Glob(filepath.Join(os.TempDir(), "hoppertally-copy-*")); err != nil || len(left) > 0 {
		t.Errorf("copies are left: %v, %v", left, err)
	}
}

// Root may write everywhere, so there the program runs as another user.
func TestAWrongOwnerIsNamed(t *testing.T) {
	bin := build(t)
	left, _ := killedShop(t, bin)
	stranger := &syscall.SysProcAttr{}
	if os.Geteuid() == 0 {
		stranger.Credential = &syscall.Credential{Uid: 65534, Gid: 65534}
		openWay(t, bin, left)
	}
	for name, lock := range map[string]func(dir string) error{
		"the folder is another's": func(dir string) error { return os.Chmod(dir, 0o500) },
		"one file is, as after a command of root's": func(dir string) error {
			return os.Chmod(filepath.Join(dir, "badger", "MANIFEST"), 0o400)
		},
	} {
		dir := copyOf(t, left)
		if os.Geteuid() == 0 {
			openWay(t, dir)
			if name != "the folder is another's" {
				give(t, dir, 65534)
				if err := os.Chown(filepath.Join(dir, "badger", "MANIFEST"), 0, 0); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := lock(dir); err != nil {
			t.Fatal(err)
		}
		for _, args := range [][]string{{"serve", "--addr", "127.0.0.1:0"}, {"person", "list"}} {
			cmd := exec.Command(bin, append(args, "--data", dir)...)
			cmd.SysProcAttr = stranger
			out, err := cmd.CombinedOutput()
			if err == nil || !bytes.Contains(out, []byte("this program runs as")) && !bytes.Contains(out, []byte("permission denied")) ||
				!bytes.Contains(out, []byte("chown -R")) || bytes.Contains(out, []byte("damaged:")) {
				t.Errorf("%s: %s: %v\n%s", name, args[0], err, out)
			}
		}
		os.Chmod(dir, 0o700) // so that it can be removed
	}
}

// openWay lets others as far as the file.
func openWay(t *testing.T, paths ...string) {
	t.Helper()
	for _, path := range paths {
		for dir := filepath.Dir(path); dir != "/"; dir = filepath.Dir(dir) {
			info, err := os.Stat(dir)
			if err != nil {
				t.Fatal(err)
			}
			if info.Mode().Perm()&1 == 0 {
				if err := os.Chmod(dir, info.Mode().Perm()|0o011); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

func give(t *testing.T, dir string, uid int) {
	t.Helper()
	err := filepath.WalkDir(dir, func(name string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		return os.Chown(name, uid, uid)
	})
	if err != nil {
		t.Fatal(err)
	}
}
