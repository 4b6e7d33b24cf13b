package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"unsafe"

	"golang.org/x/sys/unix"
)

// inCell holds the bars for a child of a test, which puts them up around itself and then
// becomes the program.
const (
	inCell    = "HOPPERTALLY_TEST_CELL"
	buildArch = runtime.GOARCH
)

func TestRunInACell(t *testing.T) {
	spec := os.Getenv(inCell)
	if spec == "" {
		return // this is the parent
	}
	var b bars
	if err := json.Unmarshal([]byte(spec), &b); err != nil {
		t.Fatal(err)
	}
	runtime.LockOSThread() // capabilities and filters are a thread's, and exec takes this one's
	if err := b.folders(); err != nil {
		t.Fatalf("folders: %v", err)
	}
	for c := 0; c <= unix.CAP_LAST_CAP; c++ {
		if !slices.Contains(b.Caps, c) {
			if err := unix.Prctl(unix.PR_CAPBSET_DROP, uintptr(c), 0, 0, 0); err != nil && err != unix.EINVAL {
				t.Fatalf("drop capability %d: %v", c, err)
			}
		}
	}
	if err := unix.Prctl(unix.PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0); err != nil {
		t.Fatal(err)
	}
	if err := filter(b.filter()); err != nil {
		t.Fatalf("filter: %v", err)
	}
	err := syscall.Exec(b.Program[0], b.Program, []string{"PATH=/usr/bin:/bin"})
	t.Fatalf("run %s: %v", b.Program[0], err)
}

// folders makes everything read-only but what the unit names, and hides what it hides.
func (b bars) folders() error {
	if err := unix.Mount("", "/", "", unix.MS_REC|unix.MS_PRIVATE, ""); err != nil {
		return err
	}
	if err := unix.Mount("none", "/mnt", "tmpfs", 0, "mode=0755"); err != nil {
		return err
	}
	for _, name := range []string{"bin", "shop", "backups"} {
		at := filepath.Join("/mnt", name)
		if err := os.Mkdir(at, 0o700); err != nil {
			return err
		}
		if err := unix.Mount(filepath.Join(b.Outside, name), at, "", unix.MS_BIND, ""); err != nil {
			return err
		}
	}
	if err := unix.MountSetattr(unix.AT_FDCWD, "/", unix.AT_RECURSIVE, &unix.MountAttr{Attr_set: unix.MOUNT_ATTR_RDONLY}); err != nil {
		return err
	}
	for _, path := range b.Writable {
		path = strings.TrimPrefix(path, "-")
		if err := unix.MountSetattr(unix.AT_FDCWD, path, 0, &unix.MountAttr{Attr_clr: unix.MOUNT_ATTR_RDONLY}); err != nil {
			return err
		}
	}
	for _, path := range b.Hidden {
		if _, err := os.Stat(path); err != nil {
			continue
		}
		if err := unix.Mount("none", path, "tmpfs", 0, "mode=0755"); err != nil {
			return err
		}
	}
	return nil
}

// Offsets in what a filter sees of a call (linux/seccomp.h).
const (
	callNumber = 0
	firstArg   = 16
)

// filter is the program of the filter: sockets of other families, then other calls.
func (b bars) filter() (f []unix.SockFilter) {
	load := func(at uint32) { f = append(f, unix.SockFilter{Code: unix.BPF_LD | unix.BPF_W | unix.BPF_ABS, K: at}) }
	answer := func(what uint32) { f = append(f, unix.SockFilter{Code: unix.BPF_RET | unix.BPF_K, K: what}) }
	unless := func(value uint32, skip int) {
		f = append(f, unix.SockFilter{Code: unix.BPF_JMP | unix.BPF_JEQ | unix.BPF_K, Jf: uint8(skip), K: value})
	}
	load(callNumber)
	unless(unix.SYS_SOCKET, 2+2*len(b.Families))
	load(firstArg)
	for _, family := range b.Families {
		unless(family, 1)
		answer(unix.SECCOMP_RET_ALLOW)
	}
	answer(unix.SECCOMP_RET_ERRNO | uint32(unix.EAFNOSUPPORT))
	if b.Calls == nil {
		answer(unix.SECCOMP_RET_ALLOW)
		return f
	}
	for _, call := range b.Calls {
		unless(call, 1)
		answer(unix.SECCOMP_RET_ALLOW)
	}
	answer(unix.SECCOMP_RET_ERRNO | uint32(unix.EPERM))
	return f
}

func filter(f []unix.SockFilter) error {
	prog := unix.SockFprog{Len: uint16(len(f)), Filter: &f[0]}
	_, _, errno := unix.RawSyscall(unix.SYS_SECCOMP, unix.SECCOMP_SET_MODE_FILTER, 0, uintptr(unsafe.Pointer(&prog)))
	if errno != 0 {
		return errno
	}
	return nil
}
