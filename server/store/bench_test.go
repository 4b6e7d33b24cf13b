package store

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"

	"hoppertally/sync/hub"

	badger "github.com/dgraph-io/badger/v4"
)

// connections push b.N times in all, from 64 devices at once.
const connections = 64

func fromAll(b *testing.B, each func(dev string, n int64) error) {
	var left atomic.Int64
	left.Store(int64(b.N))
	b.ResetTimer()
	var wg sync.WaitGroup
	for c := range connections {
		wg.Go(func() {
			dev := fmt.Sprintf("d%02d", c)
			for n := int64(1); left.Add(-1) >= 0; n++ {
				if err := each(dev, n); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	wg.Wait()
	b.StopTimer()
}

func perSecond(b *testing.B, entries int64) {
	b.ReportMetric(float64(entries)/b.Elapsed().Seconds(), "entries/s")
}

// BenchmarkSingles: 64 connections, each pushes one entry and waits for the answer.
func BenchmarkSingles(b *testing.B) {
	s := open(b, b.TempDir(), testOptions())
	fromAll(b, func(dev string, n int64) error {
		_, err := s.Push(context.Background(), push(dev, note(dev, n, "entry.noted")))
		return err
	})
	perSecond(b, s.Head())
}

// BenchmarkSinglesCommitEach is the way without a sequencer: the same records,
// each in a commit of its own, one after the other because they share the seq.
func BenchmarkSinglesCommitEach(b *testing.B) {
	db, err := badger.Open(badgerOptions(b.TempDir(), testOptions().withDefaults().Logger))
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	var mu sync.Mutex
	head := mark{hash: genesis}
	fromAll(b, func(dev string, n int64) error {
		mu.Lock()
		defer mu.Unlock()
		raw := note(dev, n, "entry.noted")
		return db.Update(func(t *badger.Txn) (err error) {
			r := Record{Seq: head.seq + 1, ReceivedMS: t0, EffectiveMS: t0, Outcome: hub.Accepted, Raw: raw}
			c := &change{t: t} // the same keys and hashes, and no tally to write
			if head, err = writeRecord(c, head, r, string(raw[7:43]), hash{}); err != nil {
				return err
			}
			return t.Set(headKey, head.append(nil))
		})
	})
	perSecond(b, head.seq)
}

// BenchmarkOneConnection: a single phone, one entry at a time: the wait for one commit.
func BenchmarkOneConnection(b *testing.B) {
	s := open(b, b.TempDir(), testOptions())
	for n := int64(1); b.Loop(); n++ {
		if _, err := s.Push(context.Background(), push("a", note("a", n, "entry.noted"))); err != nil {
			b.Fatal(err)
		}
	}
	perSecond(b, s.Head())
}

// BenchmarkBatchesOf500: one phone empties a long outbox.
func BenchmarkBatchesOf500(b *testing.B) {
	s := open(b, b.TempDir(), testOptions())
	raws := make([][]byte, 500)
	n := int64(0)
	for b.Loop() {
		for i := range raws {
			n++
			raws[i] = note("a", n, "entry.noted")
		}
		if _, err := s.Push(context.Background(), push("a", raws...)); err != nil {
			b.Fatal(err)
		}
	}
	perSecond(b, s.Head())
}

// BenchmarkBadgerBatchesOf500 is badger alone: the same bytes under short keys,
// 500 in a synced commit, nothing checked, hashed, indexed or judged.
func BenchmarkBadgerBatchesOf500(b *testing.B) {
	db, err := badger.Open(badgerOptions(b.TempDir(), testOptions().withDefaults().Logger))
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	n := int64(0)
	for b.Loop() {
		err := db.Update(func(t *badger.Txn) error {
			for range 500 {
				n++
				if err := t.Set(logKey(n), note("a", n, "entry.noted")); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	perSecond(b, n)
}

// BenchmarkPull reads a log of 10,000 entries in pages of 500.
func BenchmarkPull(b *testing.B) {
	s := tenThousand(b)
	for b.Loop() {
		for after, more := int64(0), true; more; {
			p, err := s.Pull(after, 500, 4<<20)
			if err != nil {
				b.Fatal(err)
			}
			after, more = p.Next, p.More
		}
	}
	perSecond(b, s.Head()*int64(b.N))
}

// BenchmarkVerify checks a log of 10,000 entries.
func BenchmarkVerify(b *testing.B) {
	s := tenThousand(b)
	for b.Loop() {
		if err := s.Verify(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
	perSecond(b, s.Head()*int64(b.N))
}

func tenThousand(b *testing.B) *Store {
	s := open(b, b.TempDir(), testOptions())
	for n := int64(1); n <= 10_000; n += 500 {
		var raws [][]byte
		for i := range int64(500) {
			raws = append(raws, note("a", n+i, "entry.noted"))
		}
		mustPush(b, s, "a", raws...)
	}
	return s
}
