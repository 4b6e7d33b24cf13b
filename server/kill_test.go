package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"hoppertally/sync/entry"
)

// The program as it is built, on a real folder, killed as a cut of the power to
// the process would: nothing that it acknowledged may be gone or stand twice.

var kills = flag.Int("kills", 8, "how many times to kill the program at work")

// killsOfAShop is after how many kills a new shop begins: what verify reads grows
// with each.
const killsOfAShop = 25

func TestNothingAcknowledgedIsLostWhenTheProgramIsKilled(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 0))
	bin := build(t)
	acked, kept := 0, 0
	for left := *kills; left > 0; left -= killsOfAShop {
		a, k := killAShop(t, bin, min(left, killsOfAShop), rnd)
		acked, kept = acked+a, kept+k
	}
	t.Logf("%d kills at work, %d entries acknowledged, none missing or doubled, verify clean each time; %d backups that were made meanwhile, each restored in rehearsal", *kills, acked, kept)
	if acked < 12**kills {
		t.Errorf("only %d entries were acknowledged: this test did not test", acked)
	}
}

// killAShop kills the server of one shop again and again; in every other round it
// is making backups.
func killAShop(t *testing.T, bin string, rounds int, rnd *rand.Rand) (acked, rehearsed int) {
	tmp := t.TempDir()
	dir, kept := filepath.Join(tmp, "shop"), filepath.Join(tmp, "kept")
	// The first server holds the invented shop; its people sign in once and stay
	// signed in over every kill.
	p := launch(t, bin, "demo", "--port", "0", "--data", dir)
	var phones []*phone
	for i, role := range []string{"coater", "coater", "clerk", "manager"} {
		phones = append(phones, signIn(t, p, role, fmt.Sprintf("kill-%d", i)))
	}
	for round := range rounds {
		if round > 0 {
			if round%3 == 0 { // killed while it starts
				early := start(t, bin, "serve", "--addr", "127.0.0.1:0", "--data", dir)
				time.Sleep(time.Duration(rnd.IntN(80)) * time.Millisecond)
				early.kill(t)
			}
			p = launch(t, bin, "serve", "--addr", "127.0.0.1:0", "--data", dir, "--backup-dir", kept, "--backup-every", "1s", "--backup-keep", "2")
		}
		d := time.Duration(50+rnd.IntN(500)) * time.Millisecond
		var byHand *exec.Cmd
		if round%2 == 1 {
			byHand = exec.Command(bin, "backup", filepath.Join(tmp, fmt.Sprintf("hand-%d", round)), "--data", dir)
			if err := byHand.Start(); err != nil {
				t.Fatal(err)
			}
		}
		work(t, p, phones, d)
		if byHand != nil {
			byHand.Wait() // whether it came to its end depends on the kill
		}
		verify(t, bin, dir)
		rehearsed += rehearseAll(t, bin, tmp, kept)
	}
	p = launch(t, bin, "serve", "--addr", "127.0.0.1:0", "--data", dir)
	for _, ph := range phones {
		if err := ph.flush(p.base); err != nil { // what was on its way at the last kill
			t.Fatal(err)
		}
		acked += len(ph.acked)
	}
	log := pullAll(t, p.base, phones[0])
	p.kill(t)
	verify(t, bin, dir)
	checkLog(t, log, phones)
	return acked, rehearsed
}

// rehearseAll restores, in rehearsal, each backup that bears its name: whatever
// was cut off does not. It takes them away, so that each is looked at once.
func rehearseAll(t *testing.T, bin, byHand, kept string) (n int) {
	t.Helper()
	for _, pattern := range []string{filepath.Join(byHand, "hand-*"), filepath.Join(kept, "hoppertally-*")} {
		found, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range found {
			command(t, bin, "verify", name)
			if err := os.Remove(name); err != nil {
				t.Fatal(err)
			}
			n++
		}
	}
	return n
}

// checkLog compares the log with what the phones know.
func checkLog(t *testing.T, log []logged, phones []*phone) {
	t.Helper()
	times := map[string]int{}
	bySeq := map[int64]logged{}
	for i, l := range log {
		if l.Seq != int64(i+1) {
			t.Fatalf("place %d of the log holds number %d", i+1, l.Seq)
		}
		times[idOf(t, l.Entry)]++
		bySeq[l.Seq] = l
	}
	for id, n := range times {
		if n > 1 {
			t.Errorf("entry %s stands in the log %d times", id, n)
		}
	}
	for _, ph := range phones {
		if int64(len(ph.acked)) != ph.n {
			t.Errorf("%s made %d entries and knows %d acknowledged after it sent all", ph.device, ph.n, len(ph.acked))
		}
		for id, a := range ph.acked {
			if l, ok := bySeq[a.seq]; !ok || !bytes.Equal(l.Entry, a.raw) {
				t.Errorf("entry %s was acknowledged as number %d; there stands %.120q", id, a.seq, l.Entry)
			}
		}
	}
}

// build makes the program as a release does.
func build(t *testing.T) string {
	t.Helper()
	bin := filepath.Join(t.TempDir(), "hoppertally")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-o", bin, ".").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	return bin
}

// process is the program at work.
type process struct {
	cmd   *exec.Cmd
	out   *bufio.Reader
	err   bytes.Buffer // read it only after kill
	base  string       // where it listens
	codes map[string]string
	dead  sync.Once
}

func start(t *testing.T, bin string, args ...string) *process {
	t.Helper()
	p := &process{cmd: exec.Command(bin, args...), codes: map[string]string{}}
	p.cmd.Stderr = &p.err
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	p.out = bufio.NewReader(out)
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.kill(t) })
	return p
}

var (
	addressLine = regexp.MustCompile(`http://localhost:(\d+)`)
	inviteLine  = regexp.MustCompile(`^  (\w+) .*#in=(\S+)$`)
)

// launch starts the program and waits until it says where it is and, in the
// demo, which codes sign people in.
func launch(t *testing.T, bin, command string, args ...string) *process {
	t.Helper()
	p := start(t, bin, append([]string{command}, args...)...)
	for p.base == "" || command == "demo" && len(p.codes) < 3 {
		line, err := p.out.ReadString('\n')
		if err != nil {
			p.kill(t)
			t.Fatalf("%s ended before it served: %v\n%s", command, err, p.err.String())
		}
		line = strings.TrimSuffix(line, "\n")
		if m := addressLine.FindStringSubmatch(line); m != nil {
			p.base = "http://127.0.0.1:" + m[1]
		}
		if m := inviteLine.FindStringSubmatch(line); m != nil {
			p.codes[m[1]] = m[2]
		}
	}
	return p
}

// kill is SIGKILL: the program cannot do anything about it.
func (p *process) kill(t *testing.T) {
	p.dead.Do(func() {
		if err := p.cmd.Process.Kill(); err != nil {
			t.Errorf("kill: %v; the program said %s", err, p.err.String())
		}
		if err := p.cmd.Wait(); err == nil || p.cmd.ProcessState.Exited() {
			t.Errorf("the program ended by itself before it was killed: %v\n%s", err, p.err.String())
		}
	})
}

func verify(t *testing.T, bin, dir string) {
	t.Helper()
	if out, err := exec.Command(bin, "verify", "--data", dir).CombinedOutput(); err != nil {
		t.Fatalf("verify after the kill: %v\n%s", err, out)
	}
}

// work has every phone push as fast as it can until the program is killed after d.
func work(t *testing.T, p *process, phones []*phone, d time.Duration) {
	t.Helper()
	var wg sync.WaitGroup
	faults := make(chan error, len(phones))
	killed := make(chan struct{})
	for _, ph := range phones {
		wg.Go(func() {
			for {
				err := ph.flush(p.base)
				if err == nil {
					ph.make(1 + int(ph.n%7))
					continue
				}
				// What a dying server says is no fault; what it says before is.
				select {
				case <-killed:
				default:
					faults <- err
				}
				return
			}
		})
	}
	time.Sleep(d)
	close(killed)
	p.kill(t)
	wg.Wait()
	close(faults)
	for err := range faults {
		t.Error(err)
	}
}

// phone is a device with somebody signed in: like a real one it keeps what it
// made, byte for byte, until the server has it.
type phone struct {
	http                   *http.Client
	device, person, access string
	epoch                  string
	n                      int64    // entries made
	outbox                 [][]byte // not acknowledged yet
	acked                  map[string]ack
}

type ack struct {
	seq int64
	raw []byte
}

func signIn(t *testing.T, p *process, role, device string) *phone {
	t.Helper()
	ph := &phone{http: &http.Client{Timeout: 10 * time.Second}, device: device, acked: map[string]ack{}}
	t.Cleanup(ph.http.CloseIdleConnections)
	body, err := json.Marshal(map[string]string{"code": p.codes[role], "device": device})
	if err != nil {
		t.Fatal(err)
	}
	var grant struct {
		Access, Epoch string
		Person        struct{ ID string }
	}
	if err := ph.do("POST", p.base+"/api/v1/session", body, &grant); err != nil {
		t.Fatal(err)
	}
	ph.access, ph.person, ph.epoch = grant.Access, grant.Person.ID, grant.Epoch
	return ph
}

// do makes a request; anything but a whole answer of status 200 is an error.
func (ph *phone) do(method, url string, body []byte, into any) error {
	req, err := http.NewRequest(method, url, bytes.NewReader(body))
	if err != nil {
		return err
	}
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	if ph.access != "" {
		req.Header.Set("Authorization", "Bearer "+ph.access)
	}
	res, err := ph.http.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	if res.StatusCode != http.StatusOK {
		return fmt.Errorf("%s %s: %d %s", method, url, res.StatusCode, b)
	}
	return json.Unmarshal(b, into)
}

// make puts k entries into the outbox: powder carried by the milligram, so that
// the books have something to balance.
func (ph *phone) make(k int) {
	for range k {
		ph.n++
		ms := time.Now().UnixMilli()
		id := entry.NewID(ms, [10]byte{4: ph.device[len(ph.device)-1], 6: byte(ph.n >> 24), 7: byte(ph.n >> 16), 8: byte(ph.n >> 8), 9: byte(ph.n)})
		ph.outbox = append(ph.outbox, entry.Append(nil, entry.Header{ID: id, Kind: "powder.moved", V: 1, By: ph.person, Device: ph.device, N: ph.n, AtMS: ms,
			Clock: entry.Clock{WallMS: ms, MonoMS: ph.n, Segment: "s"}}, []byte(`{"from":"rack-a","to":"drum","mass_mg":1,"lot":"lot-k107"}`)))
	}
}

// flush sends the outbox and takes out what the server says it has.
func (ph *phone) flush(base string) error {
	if len(ph.outbox) == 0 {
		return nil
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, `{"now":{"wall_ms":%d,"mono_ms":%d,"segment":"s"},"entries":[%s]}`, time.Now().UnixMilli(), ph.n, bytes.Join(ph.outbox, []byte(",")))
	var answer struct {
		Results []struct {
			ID, Outcome, Reason string
			Seq                 int64
		}
	}
	if err := ph.do("POST", base+"/api/v1/push", b.Bytes(), &answer); err != nil {
		return err
	}
	if len(answer.Results) != len(ph.outbox) {
		return fmt.Errorf("%d results for %d entries", len(answer.Results), len(ph.outbox))
	}
	for i, r := range answer.Results {
		if r.Outcome != "accepted" && r.Outcome != "duplicate" || r.Seq < 1 {
			return fmt.Errorf("entry %s: %s %s, number %d", r.ID, r.Outcome, r.Reason, r.Seq)
		}
		ph.acked[r.ID] = ack{r.Seq, ph.outbox[i]}
	}
	ph.outbox = nil
	return nil
}

// logged is an entry as the server hands it out.
type logged struct {
	Seq   int64
	Entry json.RawMessage
}

func pullAll(t *testing.T, base string, ph *phone) []logged {
	t.Helper()
	var all []logged
	for after := int64(0); ; {
		var page struct {
			Next    int64
			More    bool
			Entries []logged
		}
		if err := ph.do("GET", fmt.Sprintf("%s/api/v1/pull?epoch=%s&after=%d", base, ph.epoch, after), nil, &page); err != nil {
			t.Fatal(err)
		}
		all = append(all, page.Entries...)
		if !page.More {
			return all
		}
		after = page.Next
	}
}

func idOf(t *testing.T, raw []byte) string {
	t.Helper()
	var e struct{ ID string }
	if err := json.Unmarshal(raw, &e); err != nil {
		t.Fatal(err)
	}
	return e.ID
}
