package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// The file head remembers how far the log went. Without it nothing tells a log that
// lost its end from a whole one, and the program must say so.

const (
	headSlot = 4096 // from one slot of the file to the other
	headLen  = 52   // of what a slot holds; the whole file of earlier programs
)

func TestALogWithoutAWholeWitnessIsDamage(t *testing.T) {
	bin := build(t)
	left, ph := killedShop(t, bin)
	for name, spoil := range map[string]func(head string) error{
		"gone":          os.Remove,
		"empty":         func(head string) error { return os.Truncate(head, 0) },
		"half a slot":   func(head string) error { return os.Truncate(head, headLen/2) },
		"zeros":         func(head string) error { return os.WriteFile(head, make([]byte, 2*headSlot), 0o600) },
		"two bad slots": func(head string) error { return overwrite(head, 7, headSlot+9) },
	} {
		t.Run(name, func(t *testing.T) {
			for _, isCut := range []bool{false, true} {
				dir := copyOf(t, left)
				if isCut {
					cutNewestMemoryTable(t, dir)
				}
				if err := spoil(filepath.Join(dir, "head")); err != nil {
					t.Fatal(err)
				}
				for _, args := range [][]string{{"verify"}, {"serve", "--addr", "127.0.0.1:0"}} {
					ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
					out, err := exec.CommandContext(ctx, bin, append(args, "--data", dir)...).CombinedOutput()
					cancel()
					if err == nil || !bytes.Contains(out, []byte("file head")) || !bytes.Contains(out, []byte("What to do")) || stackTrace.Match(out) {
						t.Errorf("%s, memory table cut %v: %v\n%s", args[0], isCut, err, out)
					}
				}
				if !isCut {
					continue
				}
				p := launch(t, bin, "serve", "--addr", "127.0.0.1:0", "--data", dir, "--accept-loss")
				again := *ph
				if err := again.login(p); err != nil || again.epoch == ph.epoch {
					t.Errorf("accepted loss: epoch %s, before %s, %v", again.epoch, ph.epoch, err)
				}
				p.kill(t)
				verify(t, bin, dir) // once and for all
			}
		})
	}
}

func TestAWitnessWithOneWholeSlotIsEnough(t *testing.T) {
	bin := build(t)
	left, _ := killedShop(t, bin)
	says := pristine(t, bin, copyOf(t, left))
	for name, change := range map[string]func(head string) error{
		"the first is torn":          func(head string) error { return overwrite(head, 5) },
		"the second is torn":         func(head string) error { return overwrite(head, headSlot+5) },
		"as earlier programs had it": func(head string) error { return newerSlotFirst(head) },
	} {
		dir := copyOf(t, left)
		if err := change(filepath.Join(dir, "head")); err != nil {
			t.Fatal(err)
		}
		if got := pristine(t, bin, dir); got != says {
			t.Errorf("%s: verify says\n%s\nbefore\n%s", name, got, says)
		}
		if info, err := os.Stat(filepath.Join(dir, "head")); err != nil || info.Size() != 2*headSlot {
			t.Errorf("%s: the witness was not made whole: %v, %v", name, info, err)
		}
	}
	dir := copyOf(t, left) // and one slot is enough to find a lost end
	cutNewestMemoryTable(t, dir)
	if err := newerSlotFirst(filepath.Join(dir, "head")); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(bin, "verify", "--data", dir).CombinedOutput(); err == nil || !bytes.Contains(out, []byte("once reached")) {
		t.Errorf("verify: %v\n%s", err, out)
	}
}

// killedShop is a folder as a killed program leaves it: tables of an earlier run and a
// memory table with the latest entries.
func killedShop(t *testing.T, bin string) (dir string, ph *phone) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "shop")
	p := launch(t, bin, "demo", "--port", "0", "--data", dir)
	ph = signIn(t, p, "clerk", "witness-0")
	for range 2 {
		for range 5 {
			ph.make(100)
			if err := ph.flush(p.base); err != nil {
				t.Fatal(err)
			}
		}
		p.kill(t)
		if ph.n == 500 {
			pristine(t, bin, dir) // and closes it well
			p = launch(t, bin, "serve", "--addr", "127.0.0.1:0", "--data", dir)
		}
	}
	return dir, ph
}

func copyOf(t *testing.T, dir string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "shop")
	if err := os.CopyFS(to, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	return to
}

// cutNewestMemoryTable takes the later half of what the newest memory table holds.
func cutNewestMemoryTable(t *testing.T, dir string) {
	t.Helper()
	tables, err := filepath.Glob(filepath.Join(dir, "badger", "*.mem"))
	if err != nil || len(tables) == 0 {
		t.Fatalf("no memory table: %v", err)
	}
	name := slices.Max(tables)
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(name, int64(len(bytes.TrimRight(b, "\x00"))/2)); err != nil {
		t.Fatal(err)
	}
}

func overwrite(name string, at ...int64) error {
	f, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	for _, i := range at {
		if _, err := f.WriteAt([]byte("torn"), i); err != nil {
			return err
		}
	}
	return nil
}

// newerSlotFirst leaves what a program with one slot would have written: the latest,
// at the front.
func newerSlotFirst(head string) error {
	b, err := os.ReadFile(head)
	if err != nil {
		return err
	}
	newer := b[:headLen]
	if len(b) > headSlot {
		changes := func(slot []byte) string { return string(slot[headLen-12 : headLen-4]) } // big endian
		if second := b[headSlot : headSlot+headLen]; strings.Compare(changes(second), changes(newer)) > 0 {
			newer = second
		}
	}
	return os.WriteFile(head, newer, 0o600)
}

// login asks what the server says to a phone that is signed in.
func (ph *phone) login(p *process) error {
	var hello struct{ Epoch string }
	err := ph.do("GET", p.base+"/api/v1/hello", nil, &hello)
	if err == nil && hello.Epoch == "" {
		err = fmt.Errorf("hello names no epoch")
	}
	ph.epoch = hello.Epoch
	return err
}
