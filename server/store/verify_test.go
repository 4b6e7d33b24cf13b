package store

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	badger "github.com/dgraph-io/badger/v4"
	"pgregory.net/rapid"
)

// filled is a store of ten entries in two commits, one of them held.
func filled(t testing.TB) *Store {
	s := open(t, t.TempDir(), testOptions())
	for n := int64(1); n <= 9; n++ {
		mustPush(t, s, "a", note("a", n, "entry.noted"))
	}
	mustPush(t, s, "a", note("a", 10, "odd.thing"), []byte("{poison"))
	return s
}

// alter rewrites a value behind the store's back and returns how to undo it.
func alter(t rapid.TB, s *Store, key []byte, change func([]byte) []byte) (undo func()) {
	var old []byte
	set := func(v []byte) error {
		return s.db.Update(func(x *badger.Txn) error {
			if v == nil {
				return x.Delete(key)
			}
			return x.Set(key, v)
		})
	}
	err := s.db.View(func(x *badger.Txn) (err error) { old, err = get(x, key); return err })
	if err == nil {
		err = set(change(bytes.Clone(old)))
	}
	if err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := set(old); err != nil {
			t.Fatal(err)
		}
	}
}

func TestVerifyFindsAFlippedBitAnywhereOnTheLog(t *testing.T) {
	s := filled(t)
	rapid.Check(t, func(t *rapid.T) {
		seq := rapid.Int64Range(1, 10).Draw(t, "seq")
		at := rapid.IntRange(0, 1<<20).Draw(t, "at")
		bit := byte(1) << rapid.IntRange(0, 7).Draw(t, "bit")
		undo := alter(t, s, logKey(seq), func(v []byte) []byte { v[at%len(v)] ^= bit; return v })
		defer undo()
		var bad *BadRecordError
		if err := s.Verify(context.Background()); !errors.As(err, &bad) || bad.Seq != seq {
			t.Fatalf("verify: %v, want entry %d", err, seq)
		}
		if err := s.Each(func(Record) error { return nil }); !errors.As(err, &bad) || bad.Seq != seq {
			t.Fatalf("each: %v, want entry %d", err, seq)
		}
	})
}

func TestVerifyNamesTheFirstFault(t *testing.T) {
	s := filled(t)
	gone := func([]byte) []byte { return nil }
	flip := func(v []byte) []byte { v[len(v)-1] ^= 1; return v }
	id := func(n int64) []byte { return named(idPrefix, string(note("a", n, "entry.noted")[7:43])) }
	var poison []byte
	s.db.View(func(x *badger.Txn) error {
		return scan(x, []byte{quarantinePrefix}, func(k, _ []byte) error { poison = bytes.Clone(k); return nil })
	})
	for _, tt := range []struct {
		name   string
		key    []byte
		change func([]byte) []byte
		seq    int64 // 0: not a log record
	}{
		{"a log record is missing", logKey(4), gone, 4},
		{"the last log record is missing", logKey(10), gone, 10},
		{"a log record is cut", logKey(6), func(v []byte) []byte { return v[:20] }, 6},
		{"an id is missing", id(3), gone, 3},
		{"an id names other bytes", id(3), flip, 3},
		{"an id too many", named(idPrefix, "stray"), func([]byte) []byte { return mark{seq: 1}.append(nil) }, 0},
		{"the head names another record", headKey, flip, 10},
		{"the head is missing", headKey, gone, 0},
		{"the hub's state is cut", hubKey, func(v []byte) []byte { return v[:2] }, 0},
		{"a device's state is cut", named(devicePrefix, "a"), func(v []byte) []byte { return v[:1] }, 0},
		{"a quarantined entry is altered", poison, func(v []byte) []byte { return bytes.Replace(v, []byte(`"Raw":"e`), []byte(`"Raw":"f`), 1) }, 0},
		{"a quarantined entry is cut", poison, func(v []byte) []byte { return v[:9] }, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			defer alter(t, s, tt.key, tt.change)()
			var bad *BadRecordError
			if err := s.Verify(context.Background()); !errors.As(err, &bad) || bad.Seq != tt.seq {
				t.Errorf("verify: %v, want a fault at entry %d", err, tt.seq)
			}
		})
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Errorf("after all was undone: %v", err)
	}
}

func TestPullDoesNotSkipAMissingRecord(t *testing.T) {
	s := filled(t)
	defer alter(t, s, logKey(4), func([]byte) []byte { return nil })()
	var bad *BadRecordError
	if p, err := s.Pull(0, 100, 1<<20); !errors.As(err, &bad) || bad.Seq != 4 {
		t.Errorf("pull gives %d entries and %v, want a fault at entry 4", len(p.Entries), err)
	}
}

// badger opens such a log without a word: measured, half of it gone.
func TestOpenFindsALogThatLostItsTail(t *testing.T) {
	s := filled(t)
	dir := s.dir
	had := s.Epoch()
	s.Close()
	// A copy of the folder from before is put back, the witness remains.
	old := t.TempDir()
	o := open(t, old, testOptions())
	mustPush(t, o, "a", note("a", 1, "entry.noted"))
	o.Close()
	if err := os.RemoveAll(filepath.Join(dir, "badger")); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(filepath.Join(old, "badger"), filepath.Join(dir, "badger")); err != nil {
		t.Fatal(err)
	}
	var lost *TailLostError
	if _, err := Open(dir, testOptions()); !errors.As(err, &lost) || lost.Have != 1 || lost.Had != 10 {
		t.Fatalf("open: %v, want 1 of 10", err)
	}
	opts := testOptions()
	opts.AcceptLoss = true
	s = open(t, dir, opts)
	if s.Epoch() == had || s.Head() != 1 {
		t.Errorf("accepted loss: head %d, same epoch %v; want 1 in a new epoch", s.Head(), s.Epoch() == had)
	}
	s.Close()
	open(t, dir, testOptions()) // the loss is accepted once and for all
}

func TestOpenFindsALogThatWasExchanged(t *testing.T) {
	s := filled(t)
	dir := s.dir
	s.Close()
	w, err := makeWitness(filepath.Join(dir, witnessName), witnessed{mark{seq: 7}, 1})
	if err != nil {
		t.Fatal(err)
	}
	w.close()
	var bad *BadRecordError
	if _, err := Open(dir, testOptions()); !errors.As(err, &bad) || bad.Seq != 7 {
		t.Errorf("open: %v, want a fault at entry 7", err)
	}
}

func TestAFlippedByteInATableOfTheDatabaseIsNeverSilent(t *testing.T) {
	found := 0
	for i := range 12 {
		s := open(t, t.TempDir(), testOptions())
		for n := int64(1); n <= 300; n += 100 {
			var raws [][]byte
			for j := range int64(100) {
				raws = append(raws, note("a", n+j, "entry.noted"))
			}
			mustPush(t, s, "a", raws...)
		}
		want := log(t, s)
		s.Close() // writes the tables
		tables, err := filepath.Glob(filepath.Join(s.dir, "badger", "*.sst"))
		if err != nil || len(tables) == 0 {
			t.Fatalf("tables %v, %v", tables, err)
		}
		b, err := os.ReadFile(tables[0])
		if err != nil {
			t.Fatal(err)
		}
		b[len(b)*i/24] ^= 0x55 // in the first half, where the records are
		if err := os.WriteFile(tables[0], b, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err = Open(s.dir, testOptions())
		if err != nil {
			found++
			continue
		}
		if err := s.Verify(context.Background()); err != nil {
			found++
		} else if got := log(t, s); len(got) != len(want) {
			t.Errorf("byte %d: verified, but %d of %d entries are there", len(b)*i/24, len(got), len(want))
		}
		s.Close()
	}
	if found == 0 {
		t.Error("no flipped byte was found")
	}
	t.Logf("found %d of 12", found)
}
