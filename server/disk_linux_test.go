package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A real disk that runs full under the built program: a small file system in
// memory, mounted for the test. Who may not mount runs the test again as root of
// a name space of his own; package store tests the same with an invented disk.

const diskMB = 700

const inNamespace = "HOPPERTALLY_TEST_NAMESPACE"

func TestTheDiskRunsFull(t *testing.T) {
	onASmallDisk(t, func(t *testing.T, disk string) { fillDisk(t, build(t), disk) })
}

// onASmallDisk runs a test on a file system of diskMB, in memory.
func onASmallDisk(t *testing.T, run func(t *testing.T, disk string)) {
	disk := t.TempDir()
	err := syscall.Mount("none", disk, "tmpfs", 0, fmt.Sprintf("size=%dm", diskMB))
	if errors.Is(err, syscall.EPERM) && os.Getenv(inNamespace) == "" {
		again := exec.Command(os.Args[0], append(os.Args[1:], "-test.run=^"+t.Name()+"$", "-test.v")...)
		again.Env = append(os.Environ(), inNamespace+"=1")
		again.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
			UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
			GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}}
		out, err := again.CombinedOutput()
		t.Logf("%s", out)
		if err != nil && bytes.Contains(out, []byte("--- FAIL")) {
			t.Errorf("in a name space: %v", err)
		}
		return
	}
	if err != nil {
		t.Logf("nobody may mount here (%v): only package store tests the full disk", err)
		return
	}
	defer func() {
		if err := syscall.Unmount(disk, 0); err != nil {
			t.Errorf("unmount: %v", err)
		}
	}()
	run(t, disk)
}

func fillDisk(t *testing.T, bin, disk string) {
	data, filler := filepath.Join(disk, "shop"), filepath.Join(disk, "film.mov")
	p := launch(t, bin, "demo", "--port", "0", "--data", data)
	ph := signIn(t, p, "clerk", "disk-0")
	send := func(want string) {
		t.Helper()
		ph.make(20)
		err := ph.flush(p.base)
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Fatalf("push: %v, want %q", err, want)
		}
	}
	for range 50 {
		send("")
	}
	leave(t, filler, disk, 200<<20) // somebody else's file
	send(`"code":"server.full"`)
	ready(t, p.base, http.StatusServiceUnavailable)
	pullAll(t, p.base, ph) // reading goes on
	leave(t, filler, disk, 400<<20)
	send("") // it takes entries again as soon as there is room
	ready(t, p.base, http.StatusOK)

	leave(t, filler, disk, 0)
	send(`"code":"server.full"`)
	waitGone(t, filepath.Join(data, "ballast"))
	waitRoom(t, disk, 32<<20) // a name is gone before its blocks are free
	leave(t, filler, disk, 0) // and they take that too
	send(`"code":"server.full"`)
	pullAll(t, p.base, ph)
	p.end(t)

	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	out, err := exec.CommandContext(ctx, bin, "serve", "--addr", "127.0.0.1:0", "--data", data).CombinedOutput()
	if err == nil || !bytes.Contains(out, []byte("make room on the disk")) || stackTrace.Match(out) {
		t.Errorf("start on a full disk: %v\n%s", err, out)
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	p = launch(t, bin, "serve", "--addr", "127.0.0.1:0", "--data", data)
	send("")
	log := pullAll(t, p.base, ph)
	p.end(t)
	checkLog(t, log, []*phone{ph})
	verify(t, bin, data)
	t.Logf("%d entries acknowledged on a disk of %d MB that ran full to the last byte, none missing", len(ph.acked), diskMB)
}

// leave makes the filler so large that about free bytes are left; 0 really is 0.
func leave(t *testing.T, filler, disk string, free int64) {
	t.Helper()
	f, err := os.OpenFile(filler, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var st syscall.Statfs_t
	if err := syscall.Statfs(disk, &st); err != nil {
		t.Fatal(err)
	}
	size, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		t.Fatal(err)
	}
	grow := int64(st.Bavail)*st.Bsize - free
	if grow < 0 {
		if err := f.Truncate(size + grow); err != nil {
			t.Fatal(err)
		}
		return
	}
	megabyte := make([]byte, 1<<20)
	for grow > 0 && err == nil {
		var n int
		n, err = f.Write(megabyte[:min(grow, 1<<20)])
		grow -= int64(n)
	}
	for free == 0 && err == nil { // what became free meanwhile
		_, err = f.Write(megabyte[:4096])
	}
	if err != nil && !(free == 0 && errors.Is(err, syscall.ENOSPC)) {
		t.Fatal(err)
	}
}

func ready(t *testing.T, base string, want int) {
	t.Helper()
	res, err := http.Get(base + "/readyz")
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if res.StatusCode != want {
		t.Errorf("readyz: %d, want %d", res.StatusCode, want)
	}
}

func waitGone(t *testing.T, name string) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		if _, err := os.Stat(name); errors.Is(err, os.ErrNotExist) {
			return
		}
		if time.Now().After(end) {
			t.Fatalf("%s is not given up", name)
		}
	}
}

// waitRoom waits until free bytes can be written.
func waitRoom(t *testing.T, disk string, free int64) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		var st syscall.Statfs_t
		if err := syscall.Statfs(disk, &st); err != nil {
			t.Fatal(err)
		}
		if int64(st.Bavail)*st.Bsize >= free {
			return
		}
		if time.Now().After(end) {
			t.Fatalf("%d bytes are free, want %d", int64(st.Bavail)*st.Bsize, free)
		}
	}
}

// end asks the program to end, as a service manager does; it must do so in order.
func (p *process) end(t *testing.T) {
	t.Helper()
	p.dead.Do(func() {
		if err := p.cmd.Process.Signal(syscall.SIGTERM); err != nil {
			t.Error(err)
		}
		if err := p.cmd.Wait(); err != nil || stackTrace.MatchString(p.err.String()) {
			t.Errorf("the program ended with %v\n%.3000s", err, p.err.String())
		}
	})
}
