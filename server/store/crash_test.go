package store

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"
)

// The test binary runs itself as a child that pushes into a store until it is
// killed, and prints each entry after it was acknowledged.
const childEnv = "HOPPERTALLY_STORE_CHILD"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childEnv); dir != "" {
		child(dir)
		return
	}
	os.Exit(m.Run())
}

// child pushes from four devices, 1 to 5 entries at a time, poison among them.
func child(dir string) {
	s, err := Open(dir, testOptions())
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	var mu sync.Mutex // one line at a time
	fmt.Println("ready")
	for i := range 4 {
		dev := fmt.Sprintf("dev%d", i)
		n, err := s.HaveN(dev)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		go func() {
			for {
				var raws [][]byte
				for range rand.IntN(5) + 1 {
					n++
					raws = append(raws, note(dev, n, "entry.noted"))
				}
				raws = append(raws, fmt.Appendf(nil, "{poison %s %d", dev, n))
				got, err := s.Push(context.Background(), push(dev, raws...))
				if err != nil {
					fmt.Fprintln(os.Stderr, err)
					os.Exit(1)
				}
				mu.Lock()
				for j, r := range got {
					fmt.Printf("%s %d %x\n", r.Outcome, r.Seq, sha256.Sum256(raws[j]))
				}
				mu.Unlock()
			}
		}()
	}
	time.Sleep(time.Minute) // the parent kills long before
}

func TestKillingTheServerLosesNothingItAcknowledged(t *testing.T) {
	dir := t.TempDir()
	acked := map[string]int64{} // hash of the bytes -> seq, 0 for refused
	for round := range 5 {
		if err := killed(dir, time.Duration(50+rand.IntN(200))*time.Millisecond, acked); err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		s := open(t, dir, testOptions())
		if err := s.Verify(context.Background()); err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		found := map[string]int64{}
		for _, r := range log(t, s) {
			found[fmt.Sprintf("%x", sha256.Sum256(r.Raw))] = r.Seq
		}
		q, err := s.Quarantine(1 << 20)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range q {
			found[fmt.Sprintf("%x", sha256.Sum256(r.Raw))] = 0
		}
		for h, seq := range acked {
			if got, ok := found[h]; !ok || got != seq {
				t.Fatalf("round %d: an entry acknowledged at seq %d is at %d (there: %v)", round, seq, got, ok)
			}
		}
		s.Close()
	}
	if len(acked) < 100 {
		t.Errorf("only %d entries were acknowledged before the kills: the test shows little", len(acked))
	}
	t.Logf("%d acknowledged, none lost", len(acked))
}

// killed runs the child, kills it after d and adds what it acknowledged.
func killed(dir string, d time.Duration, acked map[string]int64) error {
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), childEnv+"="+dir)
	var complaint bytes.Buffer
	c.Stderr = &complaint
	out, err := c.StdoutPipe()
	if err != nil {
		return err
	}
	if err := c.Start(); err != nil {
		return err
	}
	lines := bufio.NewReader(out)
	first, _ := lines.ReadString('\n')
	if strings.TrimSpace(first) == "ready" {
		time.AfterFunc(d, func() { c.Process.Kill() }) // SIGKILL
	}
	for {
		line, err := lines.ReadString('\n')
		if err != nil { // a line without its end was not said
			if err != io.EOF {
				return err
			}
			break
		}
		var outcome, h string
		var seq int64
		if _, err := fmt.Sscan(line, &outcome, &seq, &h); err != nil {
			return fmt.Errorf("line %q: %w", line, err)
		}
		acked[h] = seq
	}
	c.Wait()
	if complaint.Len() > 0 {
		return fmt.Errorf("child: %s", &complaint)
	}
	return nil
}
