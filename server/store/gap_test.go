package store

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"

	"hoppertally/sync/hub"

	badger "github.com/dgraph-io/badger/v4"
	"pgregory.net/rapid"
)

// follow pulls from the cursor it reached until stop, then until nothing is
// left, and returns the seqs it saw.
func follow(stop <-chan struct{}, pull func(after int64) []int64) (seen []int64) {
	after := int64(0)
	for last := false; ; {
		select {
		case <-stop:
			last = true
		default:
		}
		got := pull(after)
		if len(got) > 0 {
			seen = append(seen, got...)
			after = got[len(got)-1]
		} else if last {
			return seen
		}
	}
}

func TestAReaderNeverMissesAnEntryOf64Writers(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	const writers, each = 64, 20
	stop := make(chan struct{})
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			dev := fmt.Sprintf("d%02d", w)
			for n := int64(1); n <= each; n++ {
				got, err := s.Push(context.Background(), push(dev, note(dev, n, "entry.noted")))
				if err != nil || got[0].Outcome != hub.Accepted {
					t.Errorf("%v, %v", got, err)
					return
				}
			}
		})
	}
	go func() { wg.Wait(); close(stop) }()
	seen := follow(stop, func(after int64) (seqs []int64) {
		p, err := s.Pull(after, 50, 1<<20)
		if err != nil {
			t.Error(err)
		}
		for _, r := range p.Entries {
			seqs = append(seqs, r.Seq)
		}
		return seqs
	})
	if len(seen) != writers*each {
		t.Fatalf("the reader saw %d of %d entries", len(seen), writers*each)
	}
	for i, seq := range seen {
		if seq != int64(i+1) {
			t.Fatalf("after seq %d came %d", i, seq)
		}
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Error(err)
	}
}

// The way this store does not go, kept to show why: each writer takes a number
// before its own commit, as badger's own sequences do, and a reader who has seen
// number 2 never learns that 1 became visible later.
func TestNumbersTakenOutsideTheCommitLetAReaderMissEntries(t *testing.T) {
	db, err := badger.Open(badgerOptions(t.TempDir(), testOptions().withDefaults().Logger))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	numbers, err := db.GetSequence([]byte("numbers"), 100)
	if err != nil {
		t.Fatal(err)
	}
	defer numbers.Release()
	write := func() (commit func()) {
		n, err := numbers.Next()
		tx := db.NewTransaction(true)
		if err := errors.Join(err, tx.Set(logKey(int64(n)+1), []byte("x"))); err != nil {
			t.Fatal(err)
		}
		return func() {
			if err := tx.Commit(); err != nil {
				t.Fatal(err)
			}
		}
	}
	slow, quick := write(), write() // numbers 1 and 2
	quick()
	var seen []int64
	seen = append(seen, numbersAfter(t, db, 0)...)
	slow()
	seen = append(seen, numbersAfter(t, db, seen[len(seen)-1])...)
	if want := []int64{2}; !slices.Equal(seen, want) {
		t.Errorf("a reader saw %v, want %v and entry 1 missed: then the old way would do", seen, want)
	}
	if all := numbersAfter(t, db, 0); len(all) != 2 {
		t.Errorf("the log holds %v, want both", all)
	}
}

func numbersAfter(t *testing.T, db *badger.DB, after int64) (seqs []int64) {
	err := db.View(func(tx *badger.Txn) error {
		it := tx.NewIterator(badger.IteratorOptions{Prefix: []byte{logPrefix}})
		defer it.Close()
		for it.Seek(logKey(after + 1)); it.Valid(); it.Next() {
			seqs = append(seqs, int64(binary.BigEndian.Uint64(it.Item().Key()[1:])))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return seqs
}

// A phone with poison in its outbox, an answer lost now and then, and a server
// that restarts: the outbox drains, and each entry ends in exactly one place.
func TestPoisonAnywhereNeverStopsAnOutbox(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		dir := t.TempDir()
		s := open(t, dir, testOptions())
		defer func() { s.Close() }()
		outbox := drawOutbox(rt)
		state := make([]hub.Outcome, len(outbox))
		for next := 0; next < len(outbox); {
			n := min(len(outbox)-next, rapid.IntRange(1, 8).Draw(rt, "batch"))
			got, err := s.Push(context.Background(), push("a", outbox[next:next+n]...))
			if err != nil || len(got) != n {
				rt.Fatalf("push of %d: %d results, %v", n, len(got), err)
			}
			if rapid.IntRange(0, 3).Draw(rt, "answer lost") == 0 {
				continue
			}
			for i, r := range got {
				if state[next+i] = r.Outcome; r.Outcome == hub.Duplicate {
					state[next+i] = r.Was
				}
			}
			next += n
			if rapid.IntRange(0, 9).Draw(rt, "restart") == 0 {
				s.Close()
				s = open(t, dir, testOptions())
			}
		}
		onePlace(rt, s, outbox, state)
	})
}

func drawOutbox(t *rapid.T) (outbox [][]byte) {
	for n := int64(1); n <= rapid.Int64Range(1, 30).Draw(t, "entries"); n++ {
		kind := rapid.SampledFrom([]string{"entry.noted", "entry.noted", "odd.thing", "bad.thing", "panic.thing"}).Draw(t, "kind")
		raw := note("a", n, kind)
		switch rapid.IntRange(0, 6).Draw(t, "poison") {
		case 0:
			raw = raw[:rapid.IntRange(0, len(raw)-1).Draw(t, "cut")]
		case 1:
			raw[rapid.IntRange(0, len(raw)-1).Draw(t, "at")] ^= rapid.ByteRange(1, 255).Draw(t, "flip")
		}
		outbox = append(outbox, raw)
	}
	return outbox
}

// onePlace checks that each entry is on the log or in quarantine, not in both,
// as the device was told.
func onePlace(t *rapid.T, s *Store, outbox [][]byte, told []hub.Outcome) {
	var onLog, aside [][]byte
	outcome := map[string]hub.Outcome{}
	if err := s.Each(func(r Record) error {
		onLog = append(onLog, r.Raw)
		outcome[string(r.Raw)] = r.Outcome
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	q, err := s.Quarantine(1000)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range q {
		aside = append(aside, r.Raw)
	}
	count := func(list [][]byte, raw []byte) (n int) {
		for _, b := range list {
			if bytes.Equal(b, raw) {
				n++
			}
		}
		return n
	}
	for i, raw := range outbox {
		l, a := count(onLog, raw), count(aside, raw)
		if l+a != 1 || (told[i] == hub.Refused) != (a == 1) || (l == 1 && outcome[string(raw)] != told[i]) {
			t.Fatalf("entry %d, told %q: %d times on the log, %d times in quarantine\n%s", i, told[i], l, a, raw)
		}
	}
	if len(onLog) != int(s.Head()) {
		t.Fatalf("%d on the log, head %d", len(onLog), s.Head())
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Fatal(err)
	}
}
