package main

import (
	"bytes"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
)

// A byte flipped anywhere in a data folder is found when the folder is opened, or
// by verify, with words on what to do; or it does not matter and everything is as
// it was. Never is anything different without a word, and never does the program
// end in a stack trace.

var flips = flag.Int("flips", 60, "how many bytes to flip, one at a time")

func TestAFlippedByteIsFoundOrHarmless(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	bin := build(t)
	left, closed := dataFolders(t, bin)
	var wg sync.WaitGroup
	var mu sync.Mutex
	count := map[string]int{}
	jobs := make(chan flip)
	for range 2 {
		wg.Go(func() {
			for f := range jobs {
				what := f.try(t, bin)
				mu.Lock()
				count[what]++
				count[filepath.Ext(f.of.files[f.file].name)+" "+what]++
				mu.Unlock()
			}
		})
	}
	for i := range *flips {
		of := left
		if i%2 == 1 {
			of = closed
		}
		jobs <- of.place(rnd)
	}
	close(jobs)
	wg.Wait()
	t.Logf("%d places: %d found at start, %d found by verify, %d harmless; by file %v", *flips, count[atStart], count[byVerify], count[harmless], count)
	if count[atStart] == 0 || count[harmless]+count[atStart]+count[byVerify] != *flips {
		t.Errorf("this is not all of %d, or none was found at all", *flips)
	}
}

const (
	atStart  = "found at start"
	byVerify = "found by verify"
	harmless = "harmless"
)

// folder is the content of a data folder, and what verify says of it.
type folder struct {
	files []content
	says  string
}

// content keeps a file's blocks that are not all zero: badger's files are sparse.
type content struct {
	name   string
	size   int64
	blocks []int64
	bytes  map[int64][]byte
}

const block = 4096

// dataFolders makes a shop at work, once as a killed server leaves it, with
// tables of an earlier run and a journal that is in no table yet, and once as a
// server that ended leaves it.
func dataFolders(t *testing.T, bin string) (left, closed *folder) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "shop")
	for run := range 2 {
		p := launch(t, bin, "demo", "--port", "0", "--data", dir)
		ph := signIn(t, p, "clerk", fmt.Sprintf("flip-%d", run))
		for ph.n < 1500 {
			ph.make(100)
			if err := ph.flush(p.base); err != nil {
				t.Fatal(err)
			}
		}
		signIn(t, p, "manager", fmt.Sprintf("flip-m%d", run)) // newest of all is who may sign in
		p.kill(t)
		if run == 0 {
			pristine(t, bin, dir) // and closes it well
		}
	}
	left = readFolder(t, dir)
	left.says = pristine(t, bin, dir)
	closed = readFolder(t, dir)
	closed.says = pristine(t, bin, dir)
	return left, closed
}

func pristine(t *testing.T, bin, dir string) string {
	t.Helper()
	out, err := exec.Command(bin, "verify", "--data", dir).Output()
	if err != nil {
		t.Fatalf("verify: %v\n%s", err, out)
	}
	return string(out)
}

func readFolder(t *testing.T, dir string) *folder {
	t.Helper()
	f := &folder{}
	err := filepath.WalkDir(dir, func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		b, err := os.ReadFile(name)
		if err != nil || len(b) == 0 {
			return err
		}
		rel, err := filepath.Rel(dir, name)
		c := content{name: rel, size: int64(len(b)), bytes: map[int64][]byte{}}
		for at := 0; at < len(b); at += block {
			part := b[at:min(at+block, len(b))]
			if len(bytes.Trim(part, "\x00")) > 0 {
				c.blocks = append(c.blocks, int64(at))
				c.bytes[int64(at)] = bytes.Clone(part)
			}
		}
		f.files = append(f.files, c)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func (f *folder) write(dir string) error {
	for _, c := range f.files {
		name := filepath.Join(dir, c.name)
		if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
			return err
		}
		w, err := os.OpenFile(name, os.O_CREATE|os.O_WRONLY, 0o600)
		if err != nil {
			return err
		}
		for _, at := range c.blocks {
			if _, err := w.WriteAt(c.bytes[at], at); err != nil {
				return err
			}
		}
		if err := w.Truncate(c.size); err != nil {
			return err
		}
		if err := w.Close(); err != nil {
			return err
		}
	}
	return nil
}

type flip struct {
	of   *folder
	file int
	at   int64
	with byte
}

// place takes every other time any file, small ones too, and any byte of it; else
// a block that is in use, of any file.
func (f *folder) place(rnd *rand.Rand) flip {
	with := byte(1 + rnd.IntN(255))
	if rnd.IntN(2) == 0 {
		i := rnd.IntN(len(f.files))
		return flip{f, i, rnd.Int64N(f.files[i].size), with}
	}
	all := 0
	for _, c := range f.files {
		all += len(c.blocks)
	}
	n := rnd.IntN(all)
	for i, c := range f.files {
		if n < len(c.blocks) {
			from := c.blocks[n]
			return flip{f, i, from + rnd.Int64N(int64(len(c.bytes[from]))), with}
		}
		n -= len(c.blocks)
	}
	panic("unreachable")
}

func (f flip) String() string {
	return fmt.Sprintf("byte %d of %s xor %#x", f.at, f.of.files[f.file].name, f.with)
}

var stackTrace = regexp.MustCompile(`panic|goroutine \d|SIG[A-Z]+|runtime error|fatal error|\.go:\d+`)

// try flips the byte in a copy and has the built program look at it.
func (f flip) try(t *testing.T, bin string) (what string) {
	dir, err := os.MkdirTemp(t.TempDir(), "flip")
	if err != nil {
		t.Error(err)
		return
	}
	defer os.RemoveAll(dir)
	if err := f.of.write(dir); err != nil {
		t.Error(err)
		return
	}
	if err := f.do(dir); err != nil {
		t.Error(err)
		return
	}
	cmd := exec.Command(bin, "verify", "--data", dir)
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	err = cmd.Run()
	switch {
	case stackTrace.MatchString(stderr.String()):
		t.Errorf("%s: the program broke: %.2000s", f, stderr.String())
	case err != nil && !strings.Contains(stderr.String(), "What to do"):
		t.Errorf("%s: no word on what to do: %s", f, stderr.String())
	case err != nil && strings.Contains(stdout.String(), "opens     yes"):
		return byVerify
	case err != nil:
		return atStart
	case stdout.String() != f.of.says:
		t.Errorf("%s: SILENTLY different:\n%s\nbefore:\n%s", f, stdout.String(), f.of.says)
	default:
		return harmless
	}
	return "wrong"
}

func (f flip) do(dir string) error {
	w, err := os.OpenFile(filepath.Join(dir, f.of.files[f.file].name), os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer w.Close()
	var b [1]byte
	if _, err := w.ReadAt(b[:], f.at); err != nil {
		return err
	}
	b[0] ^= f.with
	_, err = w.WriteAt(b[:], f.at)
	return err
}
