package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"hoppertally/sync/replica"
)

// A data folder that goes back in time: somebody stops the server, puts an older copy of
// the folder in its place, and starts the server again. Nothing in the folder is wrong;
// the phones know better. They are the real replica, the server is the built program.

var putBacks = flag.Int("put-backs", 3, "how many times to put an older copy of the folder back under load")

// putBackShop is a shop whose folder can be copied and put back.
type putBackShop struct {
	t                      *testing.T
	bin, port, dir, copied string
	p                      *process
	ana, bea, cid          *replicaPhone // coater, clerk, manager
}

func newPutBackShop(t *testing.T) *putBackShop {
	tmp := t.TempDir()
	s := &putBackShop{t: t, bin: build(t), port: freePort(t), dir: filepath.Join(tmp, "shop"), copied: filepath.Join(tmp, "copy")}
	s.p = launch(t, s.bin, "demo", "--port", s.port, "--data", s.dir)
	s.ana, s.bea, s.cid = newReplica(t, "dev-ana", s.port), newReplica(t, "dev-bea", s.port), newReplica(t, "dev-cid", s.port)
	s.ana.signIn(s.p.codes["coater"])
	s.bea.signIn(s.p.codes["clerk"])
	s.cid.signIn(s.p.codes["manager"])
	return s
}

func (s *putBackShop) phones() []*replicaPhone { return []*replicaPhone{s.ana, s.bea, s.cid} }

func (s *putBackShop) serve(more ...string) {
	s.p = launch(s.t, s.bin, "serve", append([]string{"--addr", "127.0.0.1:" + s.port, "--data", s.dir}, more...)...)
}

// stop ends the server as a service manager does, or kills it.
func (s *putBackShop) stop(kill bool) {
	s.t.Helper()
	if kill {
		s.p.kill(s.t)
		return
	}
	s.p.dead.Do(func() {
		if err := s.p.cmd.Process.Signal(syscall.SIGTERM); err != nil {
			s.t.Fatal(err)
		}
		if err := s.p.cmd.Wait(); err != nil {
			s.t.Fatalf("the server did not end well: %v\n%s", err, s.p.err.String())
		}
	})
}

func (s *putBackShop) copyFolder() {
	s.t.Helper()
	if err := os.RemoveAll(s.copied); err != nil {
		s.t.Fatal(err)
	}
	copyInto(s.t, s.dir, s.copied)
}

func (s *putBackShop) putBack() {
	s.t.Helper()
	if err := os.RemoveAll(s.dir); err != nil {
		s.t.Fatal(err)
	}
	copyInto(s.t, s.copied, s.dir)
}

func copyInto(t *testing.T, from, to string) {
	t.Helper()
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
}

// epoch is what the server calls its log now, asked by somebody who shows nothing.
func (s *putBackShop) epoch() string {
	s.t.Helper()
	var h struct{ Epoch string }
	if why := s.cid.call("GET", "/api/v1/hello", nil, &h); why != "" {
		s.t.Fatal(why)
	}
	return h.Epoch
}

// together lets all phones send and fetch until nothing is left.
func (s *putBackShop) together() {
	s.t.Helper()
	for range 2 { // once to send, once to hear of what the others sent
		for _, r := range s.phones() {
			r.step(replica.SyncNow{})
			r.settle()
		}
	}
}

// holdsEach checks that the server and every phone have each entry, once.
func (s *putBackShop) holdsEach(want map[string]bool) {
	s.t.Helper()
	counted := map[string]int{}
	for _, l := range pullAll(s.t, s.p.base, &phone{http: s.cid.http, access: s.cid.access, epoch: s.epoch()}) {
		counted[idOf(s.t, l.Entry)]++
	}
	for id, n := range counted {
		if n != 1 {
			s.t.Errorf("entry %s stands %d times in the log", id, n)
		}
	}
	for id := range want {
		if counted[id] == 0 {
			s.t.Errorf("entry %s is not in the log", id)
		}
	}
	for _, r := range s.phones() {
		r.holdsOnce(want)
	}
}

// One more entry is sent after the copy was made, and its phone says so. With the old copy
// in place another phone's entry takes its number. Whoever comes first, both are there.
func TestAnEntryThatWasSentAfterTheCopyComesBack(t *testing.T) {
	s := newPutBackShop(t)
	for _, isFirst := range []bool{true, false} {
		t.Run(fmt.Sprintf("its phone comes first %v", isFirst), func(t *testing.T) {
			want := map[string]bool{}
			s.together()
			s.stop(false)
			s.copyFolder()
			s.serve()
			want[s.ana.record()] = true
			s.ana.step(replica.SyncNow{})
			s.ana.settle()
			if st := s.ana.state.Status(); st.Unsent != 0 {
				t.Fatalf("%+v, want all sent", st)
			}
			s.stop(false)
			s.putBack()
			s.serve()
			was := s.epoch()
			s.ana.told = nil
			if isFirst {
				s.ana.restart() // the app is opened again: all that it knows is in its store
			}
			want[s.bea.record()] = true
			s.bea.step(replica.SyncNow{})
			s.bea.settle()
			s.ana.step(replica.SyncNow{})
			s.ana.settle()
			s.together()
			if !slices.Contains(s.ana.told, "new_epoch") || s.epoch() == was {
				t.Errorf("the phone was told %v, the epoch is %s, was %s", s.ana.told, s.epoch(), was)
			}
			s.holdsEach(want)
		})
	}
	s.stop(true)
	verify(t, s.bin, s.dir)
	if said := s.p.err.String(); !strings.Contains(said, "WENT BACK IN TIME") {
		t.Errorf("the server's log does not say what happened: %s", said)
	}
}

// Under load, killed or ended, again and again: refilled, nothing doubled, nothing lost.
func TestAFolderThatIsPutBackUnderLoadIsRefilled(t *testing.T) {
	s := newPutBackShop(t)
	want := map[string]bool{}
	for round := range *putBacks {
		isKilled := round%2 == 0
		s.load(want, 150*time.Millisecond)
		s.stop(isKilled)
		s.copyFolder()
		s.serve()
		s.load(want, time.Duration(100+round%3*100)*time.Millisecond)
		s.together()
		s.stop(isKilled)
		s.putBack()
		s.serve()
		was := s.epoch()
		s.load(want, 150*time.Millisecond)
		s.together()
		if s.epoch() == was {
			t.Errorf("round %d: the epoch goes on", round)
		}
		s.holdsEach(want)
		if t.Failed() {
			break
		}
	}
	s.stop(true)
	verify(t, s.bin, s.dir)
	t.Logf("%d times put back, %d entries of three phones, each once in the log", *putBacks, len(want))
	if len(want) < 20**putBacks {
		t.Errorf("only %d entries were made: this test did not test", len(want))
	}
}

// load has all phones record and sync side by side for a while.
func (s *putBackShop) load(want map[string]bool, d time.Duration) {
	var mu sync.Mutex
	var wg sync.WaitGroup
	for _, r := range s.phones() {
		wg.Go(func() {
			for end := time.Now().Add(d); time.Now().Before(end); {
				id := r.record()
				mu.Lock()
				want[id] = true
				mu.Unlock()
				r.step(replica.SyncNow{})
				for len(r.inbox) > 0 {
					in := r.inbox[0]
					r.inbox = r.inbox[1:]
					r.step(in)
				}
			}
		})
	}
	wg.Wait()
}

// Every kind of request that carries the proof makes the server look, and its answer is
// of the new epoch already.
func TestEachRequestShowsThatTheFolderWentBack(t *testing.T) {
	s := newPutBackShop(t)
	s.together()
	s.stop(false)
	s.copyFolder()
	s.serve()
	s.ana.record()
	s.ana.step(replica.SyncNow{})
	s.ana.settle()
	proof, cursor := s.ana.proof, s.ana.cursor
	s.stop(false)
	for _, tt := range []struct {
		method, path string
		body         any
	}{
		{"GET", "/api/v1/hello", nil},
		{"POST", "/api/v1/push", map[string]any{"entries": []any{}}},
		{"GET", fmt.Sprintf("/api/v1/pull?epoch=%s&after=%d", cursor.Epoch, cursor.After), nil},
		{"GET", fmt.Sprintf("/api/v1/snapshot?after=%d", cursor.After), nil},
	} {
		t.Run(tt.method+" "+tt.path[:12], func(t *testing.T) {
			s.putBack()
			s.serve()
			defer s.stop(false)
			if got := s.epoch(); got != cursor.Epoch {
				t.Fatalf("the copy is of epoch %s, want %s", got, cursor.Epoch)
			}
			s.ana.shown = proof.Text
			var raw json.RawMessage
			why := s.ana.call(tt.method, tt.path, tt.body, &raw)
			s.ana.shown = ""
			now := s.epoch()
			if now == cursor.Epoch {
				t.Fatalf("the epoch goes on; answered %s %s", raw, why)
			}
			if !strings.Contains(string(raw)+why, now) && !strings.Contains(why, "sync.cursor") {
				t.Errorf("answered %s %s, want something of the new epoch %s", raw, why, now)
			}
		})
	}
}

// A phone cannot make the server begin an epoch by making something up.
func TestAnInventedProofBeginsNoEpoch(t *testing.T) {
	s := newPutBackShop(t)
	s.together()
	was, proof := s.epoch(), s.ana.proof
	parts := strings.Split(proof.Text, ".")
	higher := slices.Clone(parts)
	higher[1] = "999999"
	other := slices.Clone(parts)
	other[2] = strings.Repeat("0", len(other[2]))
	for _, text := range []string{"x", "...", strings.Join(higher, "."), strings.Join(other, "."), strings.Join(parts[:3], ".") + ".", strings.Repeat("9", 4000), proof.Text} {
		for _, path := range []string{"/api/v1/hello", fmt.Sprintf("/api/v1/pull?epoch=%s&after=0", was)} {
			s.ana.shown = text
			var raw json.RawMessage
			if why := s.ana.call("GET", path, nil, &raw); why != "" {
				t.Errorf("%s with %.80q: %s", path, text, why)
			}
			s.ana.shown = ""
		}
		if now := s.epoch(); now != was {
			t.Fatalf("%.80q began a new epoch", text)
		}
	}
}

// A phone that was shut out may only hand in. What it knows of the log is true all the
// same, and what it had sent comes back, to be held.
func TestAPhoneThatIsShutOutShowsItTooAndItsEntriesAreHeld(t *testing.T) {
	s := newPutBackShop(t)
	s.together()
	s.stop(false)
	s.copyFolder()
	s.serve()
	id := s.ana.record()
	s.ana.step(replica.SyncNow{})
	s.ana.settle()
	proof, sent := s.ana.proof, s.ana.own[s.ana.counter].Bytes
	s.stop(false)
	s.putBack()
	s.serve()
	was := s.epoch()
	var none json.RawMessage
	if why := s.cid.call("POST", "/api/v1/phones/dev-ana/revoke", nil, &none); why != "" && !strings.Contains(why, "unexpected end of JSON") {
		t.Fatal(why)
	}
	var raw json.RawMessage
	if why := s.ana.call("GET", "/api/v1/hello", nil, &raw); why != "" && !strings.Contains(why, "phone.revoked") {
		t.Fatal(why)
	}
	s.ana.shown = proof.Text
	var answer struct {
		Epoch   string
		Results []struct{ ID, Outcome, Reason string }
	}
	if why := s.ana.call("POST", "/api/v1/push", map[string]any{"entries": []json.RawMessage{sent}}, &answer); why != "" {
		t.Fatal(why)
	}
	if answer.Epoch == was || len(answer.Results) != 1 || answer.Results[0].ID != id || answer.Results[0].Outcome != "held" {
		t.Errorf("answered %+v, want entry %s held in another epoch than %s", answer, id, was)
	}
}
