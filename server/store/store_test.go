package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync/atomic"
	"testing"

	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// lenient accepts everything but "odd.*" (held), "bad.*" (refused) and "panic.*".
type lenient struct{ hub.Strict }

func (lenient) Judge(e *entry.Entry, author string, nowMS int64) (hub.Outcome, string) {
	switch e.Kind {
	case "odd.thing":
		return hub.Held, "entry.newer"
	case "bad.thing":
		return hub.Refused, "field.range"
	case "panic.thing":
		panic("the judge meets what it never met")
	}
	return hub.Accepted, ""
}

const t0 = 1_774_987_506_000 // 2026-03-31 20:05:06 UTC

// note is entry n of a device, about 330 bytes.
func note(device string, n int64, kind string) []byte {
	var rnd [10]byte
	copy(rnd[3:], device)
	return entry.Append(nil, entry.Header{
		ID: entry.NewID(n, rnd), Kind: kind, V: 1, By: "rosa", Device: device, N: n, AtMS: t0, AtOffsetMin: -360,
		Clock: entry.Clock{WallMS: t0, MonoMS: 1000, Segment: "s1"}},
		[]byte(`{"from":"box 12","to":"hopper 1","mass_mg":4000000,"why":"topped up before the second rack"}`))
}

func push(device string, raws ...[]byte) PushRequest {
	return PushRequest{Author: "rosa", Device: device, Entries: raws}
}

func testOptions() Options { return Options{Judge: lenient{}, MinFree: 1 << 20} }

func open(t testing.TB, dir string, opts Options) *Store {
	t.Helper()
	s, err := Open(dir, opts)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func mustPush(t testing.TB, s *Store, device string, raws ...[]byte) []hub.Result {
	t.Helper()
	got, err := s.Push(context.Background(), push(device, raws...))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// log reads the whole log through the pull.
func log(t testing.TB, s *Store) (out []Record) {
	t.Helper()
	for after := int64(0); ; {
		p, err := s.Pull(after, 100, 1<<20)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, p.Entries...)
		if after = p.Next; !p.More {
			return out
		}
	}
}

func TestWhatIsPushedIsPulledByteForByte(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	raws := [][]byte{note("a", 1, "entry.noted"), []byte("{poison"), note("a", 2, "odd.thing"), note("a", 3, "bad.thing"), note("a", 4, "panic.thing")}
	got := mustPush(t, s, "a", raws...)
	want := []hub.Result{{Outcome: hub.Accepted, Seq: 1}, {Outcome: hub.Refused, Reason: "entry.syntax"}, {Outcome: hub.Held, Seq: 2, Reason: "entry.newer"},
		{Outcome: hub.Refused, Reason: "field.range"}, {Outcome: hub.Held, Seq: 3, Reason: JudgeFailed}}
	for i, w := range want {
		if g := got[i]; g.Outcome != w.Outcome || g.Seq != w.Seq || g.Reason != w.Reason {
			t.Errorf("entry %d: %+v, want %+v", i, g, w)
		}
	}
	recs := log(t, s)
	if len(recs) != 3 || !bytes.Equal(recs[0].Raw, raws[0]) || !bytes.Equal(recs[1].Raw, raws[2]) || recs[1].Outcome != hub.Held {
		t.Errorf("pulled %+v", recs)
	}
	q, err := s.Quarantine(10)
	if err != nil || len(q) != 2 {
		t.Fatalf("quarantine %+v, %v; want the two refused", q, err)
	}
	kept := [][]byte{q[0].Raw, q[1].Raw}
	for _, raw := range [][]byte{raws[1], raws[3]} {
		if !slices.ContainsFunc(kept, func(k []byte) bool { return bytes.Equal(k, raw) }) {
			t.Errorf("the bytes %q are not in quarantine", raw)
		}
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Error(err)
	}
}

func TestALostAnswerLeadsToDuplicatesOfTheFirst(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, testOptions())
	raws := [][]byte{note("a", 1, "entry.noted"), note("a", 2, "odd.thing"), []byte("{poison")}
	first := mustPush(t, s, "a", raws...)
	s.Close()
	s = open(t, dir, testOptions())
	for range 3 {
		again := mustPush(t, s, "a", raws...)
		for i, r := range again[:2] {
			want := first[i]
			want.Was, want.Outcome = want.Outcome, hub.Duplicate
			if r != want {
				t.Errorf("entry %d again: %+v, want %+v", i, r, want)
			}
		}
		if again[2].Outcome != hub.Refused {
			t.Errorf("poison again: %+v, want refused", again[2])
		}
	}
	q, err := s.Quarantine(10)
	if s.Head() != 2 || len(q) != 1 || err != nil {
		t.Errorf("head %d, %d in quarantine, %v; want 2 and 1", s.Head(), len(q), err)
	}
}

func TestAnIDWithOtherBytesIsQuarantined(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	mustPush(t, s, "a", note("a", 1, "entry.noted"))
	got := mustPush(t, s, "a", note("a", 1, "entry.voided"))
	q, err := s.Quarantine(1)
	if got[0].Outcome != hub.Refused || got[0].Reason != hub.IDReused || err != nil || len(q) != 1 || q[0].Reason != hub.IDReused {
		t.Errorf("result %+v, quarantine %+v, %v", got[0], q, err)
	}
}

func TestAPushLargerThanACommitIsAnsweredWhenAllOfItIsDurable(t *testing.T) {
	for _, tt := range []struct {
		name       string
		n, size    int
		groupBytes int
	}{
		{"4096 small entries go in sixteen commits", PushMax, 0, 0},
		{"40 entries of 60 KB exceed the bytes of a transaction", 40, 60_000, 0},
		{"a transaction that is too big all the same is halved", 40, 60_000, 1 << 30},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := open(t, t.TempDir(), testOptions())
			if tt.groupBytes > 0 {
				s.seq.groupBytes = tt.groupBytes // before the first push: the sequencer is idle
			}
			var raws [][]byte
			for i := range tt.n {
				raw := note("a", int64(i+1), "entry.noted")
				if tt.size > 0 {
					pad := fmt.Appendf(nil, `"body":{"pad":"%s",`, bytes.Repeat([]byte("x"), tt.size))
					raw = bytes.Replace(raw, []byte(`"body":{`), pad, 1)
				}
				raws = append(raws, raw)
			}
			got := mustPush(t, s, "a", raws...)
			for i, r := range got {
				if r.Outcome != hub.Accepted || r.Seq != int64(i+1) || r.Reason != "" {
					t.Fatalf("entry %d: %+v", i, r)
				}
			}
			if len(got) != tt.n || s.Head() != int64(tt.n) {
				t.Errorf("%d results, head %d; want %d", len(got), s.Head(), tt.n)
			}
			if err := s.Verify(context.Background()); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestLimitsOfAPush(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	if _, err := s.Push(context.Background(), push("a", make([][]byte, PushMax+1)...)); !errors.Is(err, ErrTooMany) {
		t.Errorf("one entry too many: %v, want ErrTooMany", err)
	}
	if _, err := s.Push(context.Background(), push("a", make([]byte, PushBytes+1))); !errors.Is(err, ErrTooMany) {
		t.Errorf("one byte too many: %v, want ErrTooMany", err)
	}
	huge := bytes.Repeat([]byte("z"), PushBytes)
	if got := mustPush(t, s, "a", huge); got[0].Reason != "entry.too_large" {
		t.Errorf("the largest push of one entry: %+v, want entry.too_large", got[0])
	}
	q, err := s.Quarantine(1)
	if err != nil || len(q) != 1 || q[0].Bytes != PushBytes || len(q[0].Raw) != QuarantineBytes {
		t.Errorf("quarantine keeps %d of %d bytes, %v", len(q[0].Raw), q[0].Bytes, err)
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Error(err)
	}
}

func TestPullCutsByCountAndBytes(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	for n := int64(1); n <= 5; n++ {
		mustPush(t, s, "a", note("a", n, "entry.noted"))
	}
	one := len(note("a", 1, "entry.noted")) + 20
	for _, tt := range []struct {
		name           string
		after          int64
		most, maxBytes int
		want           []int64
		more           bool
	}{
		{"all", 0, 10, 1 << 20, []int64{1, 2, 3, 4, 5}, false},
		{"by count", 1, 2, 1 << 20, []int64{2, 3}, true},
		{"by bytes", 0, 10, 2 * one, []int64{1, 2}, true},
		{"at least one", 3, 10, 1, []int64{4}, true},
		{"from the head", 5, 10, 1 << 20, nil, false},
	} {
		p, err := s.Pull(tt.after, tt.most, tt.maxBytes)
		var got []int64
		for _, r := range p.Entries {
			got = append(got, r.Seq)
		}
		if err != nil || !slices.Equal(got, tt.want) || p.More != tt.more || p.Head != 5 || p.Epoch != s.Epoch() || (len(got) > 0 && p.Next != got[len(got)-1]) {
			t.Errorf("%s: %v more=%v next=%d, %v; want %v more=%v", tt.name, got, p.More, p.Next, err, tt.want, tt.more)
		}
	}
	var ce *CursorError
	if _, err := s.Pull(6, 1, 1); !errors.As(err, &ce) {
		t.Errorf("a cursor beyond the head: %v, want a *CursorError", err)
	}
}

func TestAppliedSeesEachCommitInOrderBeforeReadersDo(t *testing.T) {
	var s *Store
	var seen []int64
	opts := testOptions()
	opts.Applied = func(rs []Record) {
		if len(rs) == 0 || s.Head() != rs[0].Seq-1 {
			t.Errorf("head is %d when %d records are applied", s.Head(), len(rs))
		}
		for _, r := range rs {
			seen = append(seen, r.Seq)
		}
	}
	s = open(t, t.TempDir(), opts)
	heads, cancel := s.Subscribe()
	for n := int64(1); n <= 20; n++ {
		mustPush(t, s, "a", note("a", 2*n-1, "entry.noted"), []byte("poison"), note("a", 2*n, "odd.thing"))
	}
	for i, seq := range seen {
		if seq != int64(i+1) {
			t.Fatalf("applied %v", seen)
		}
	}
	if len(seen) != 40 {
		t.Errorf("%d records applied before the answer, want 40", len(seen))
	}
	if h := <-heads; h != 40 {
		t.Errorf("the slow subscriber gets head %d, want only the latest, 40", h)
	}
	cancel()
	cancel()
	if _, ok := <-heads; ok {
		t.Error("a cancelled subscription still sends")
	}
}

func TestEverythingIsThereAfterReopening(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, testOptions())
	epoch := s.Epoch()
	mustPush(t, s, "a", note("a", 1, "entry.noted"), note("a", 2, "entry.noted"), note("a", 5, "entry.noted"))
	s.Close()
	s = open(t, dir, testOptions())
	have, err := s.HaveN("a")
	if s.Epoch() != epoch || s.Head() != 3 || have != 2 || err != nil {
		t.Errorf("epoch kept: %v, head %d, have %d, %v; want true, 3, 2", s.Epoch() == epoch, s.Head(), have, err)
	}
	if got := mustPush(t, s, "a", note("a", 6, "entry.noted"))[0]; got.Seq != 4 || got.Reason != "" {
		t.Errorf("the next entry: %+v, want seq 4 without a flag", got)
	}
	var each []int64
	if err := s.Each(func(r Record) error { each = append(each, r.Seq); return nil }); err != nil || !slices.Equal(each, []int64{1, 2, 3, 4}) {
		t.Errorf("each visited %v, %v", each, err)
	}
	stop := errors.New("stop")
	if err := s.Each(func(Record) error { return stop }); !errors.Is(err, stop) {
		t.Errorf("each returned %v, want the error of fn", err)
	}
}

func TestASecondOpenIsRefused(t *testing.T) {
	dir := t.TempDir()
	open(t, dir, testOptions())
	if _, err := Open(dir, testOptions()); !errors.Is(err, ErrInUse) {
		t.Errorf("second open: %v, want ErrInUse", err)
	}
}

func TestLowDisk(t *testing.T) {
	var free atomic.Int64
	free.Store(1000)
	opts := testOptions()
	opts.MinFree = 400
	opts.free = func(string) (int64, error) { return free.Load(), nil }
	dir := t.TempDir()
	s := open(t, dir, opts)
	mustPush(t, s, "a", note("a", 1, "entry.noted"))
	free.Store(399)
	if _, err := s.Push(context.Background(), push("a", note("a", 2, "entry.noted"))); !errors.Is(err, ErrDiskLow) {
		t.Errorf("push below the limit: %v, want ErrDiskLow", err)
	}
	if err := s.KV().Put("x", []byte("y")); err != nil {
		t.Errorf("sign-in must still work: %v", err)
	}
	if got := log(t, s); len(got) != 1 {
		t.Errorf("%d entries can be read, want 1", len(got))
	}
	free.Store(199)
	if err := s.KV().Put("x", []byte("z")); !errors.Is(err, ErrDiskLow) {
		t.Errorf("side area below half of the limit: %v, want ErrDiskLow", err)
	}
	free.Store(1000)
	if got := mustPush(t, s, "a", note("a", 2, "entry.noted"))[0]; got.Seq != 2 {
		t.Errorf("after space was made: %+v, want seq 2", got)
	}
	s.Close()
	free.Store(99)
	if _, err := Open(dir, opts); !errors.Is(err, ErrDiskLow) {
		t.Errorf("open below a quarter of the limit: %v, want ErrDiskLow", err)
	}
}

func TestPushEndsWithItsContextAndWithTheStore(t *testing.T) {
	hold, held := make(chan struct{}), make(chan struct{}, 8)
	opts := testOptions()
	opts.Applied = func([]Record) { held <- struct{}{}; <-hold }
	s := open(t, t.TempDir(), opts)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 2)
	go func() {
		_, err := s.Push(ctx, push("a", note("a", 1, "entry.noted")))
		done <- err
	}()
	<-held
	cancel()
	if err := <-done; !errors.Is(err, context.Canceled) {
		t.Errorf("push whose caller left: %v", err)
	}
	go func() {
		_, err := s.Push(context.Background(), push("a", note("a", 2, "entry.noted")))
		done <- err
	}()
	close(hold)
	if err := <-done; err != nil {
		t.Errorf("the next push: %v", err)
	}
	s.Close()
	if _, err := s.Push(context.Background(), push("a", note("a", 3, "entry.noted"))); !errors.Is(err, ErrClosed) {
		t.Errorf("push after close: %v, want ErrClosed", err)
	}
}

func TestFreeSpaceIsAsked(t *testing.T) {
	n, err := freeBytes(t.TempDir())
	if n <= 0 || err != nil {
		t.Errorf("free bytes = %d, %v", n, err)
	}
	if _, err := freeBytes(filepath.Join(os.TempDir(), "no such folder", "x")); err == nil {
		t.Error("a folder that is not there has free space")
	}
}
