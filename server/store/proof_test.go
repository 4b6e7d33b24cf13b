package store

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	badger "github.com/dgraph-io/badger/v4"
)

// notes pushes entries of a device with numbers from one to another.
func notes(t testing.TB, s *Store, device string, from, to int64) {
	t.Helper()
	for n := from; n <= to; n++ {
		mustPush(t, s, device, note(device, n, "entry.noted"))
	}
}

// aged makes a store with three entries and a copy of its folder as it was then, lets it
// go on to five, and puts the copy in its place. The proof is of the five.
func aged(t *testing.T) (dir string, proof string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "shop")
	s := open(t, dir, testOptions())
	notes(t, s, "a", 1, 3)
	s.Close()
	copied := filepath.Join(t.TempDir(), "copy")
	if err := os.CopyFS(copied, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir, testOptions())
	notes(t, s, "a", 4, 5)
	proof = s.Stands().Proof
	s.Close()
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(copied, dir); err != nil {
		t.Fatal(err)
	}
	return dir, proof
}

func confirm(t testing.TB, s *Store, proof string) {
	t.Helper()
	if err := s.Confirm(context.Background(), proof); err != nil {
		t.Fatal(err)
	}
}

// An older copy of a folder opens without a fault: the proof of a phone shows what it is.
func TestAFolderThatWentBackBeginsANewEpoch(t *testing.T) {
	for _, tt := range []struct {
		name  string
		since int64 // entries of another phone that the old copy took before the proof came
	}{
		{"the log is too short", 0}, {"the last entry is another one", 2}, {"the log has grown past it", 4},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir, proof := aged(t)
			s := open(t, dir, testOptions())
			was := s.Epoch()
			notes(t, s, "b", 1, tt.since)
			earlier := s.Stands().Proof
			confirm(t, s, proof)
			now := s.Epoch()
			if now == was {
				t.Fatal("the epoch goes on although the log lacks what a phone knows of it")
			}
			if s.Parted() != 0 {
				t.Errorf("the logs are said to be the same up to %d, which nobody knows", s.Parted())
			}
			confirm(t, s, proof) // the other phones have proofs of that life too
			confirm(t, s, earlier)
			confirm(t, s, s.Stands().Proof)
			if s.Epoch() != now {
				t.Error("one more epoch although this one is known to be new")
			}
			notes(t, s, "a", 4, 5)
			if got := len(log(t, s)); got != int(3+tt.since+2) {
				t.Errorf("%d entries, want 3, those of the other phone, and the two that came again", got)
			}
			s.Close()
			s = open(t, dir, testOptions())
			confirm(t, s, proof)
			if s.Epoch() != now {
				t.Error("what was known of earlier epochs did not outlive the program")
			}
			if err := s.Verify(context.Background()); err != nil {
				t.Error(err)
			}
		})
	}
}

// A copy from before an epoch began: that epoch is none of its own, and whoever has a
// proof of it must not be taken back into the one before.
func TestAProofOfAnEpochThatTheFolderNeverHadShowsThatItWentBack(t *testing.T) {
	dir, _ := aged(t)
	s := open(t, dir, testOptions())
	first := s.Epoch()
	s.Close()
	copied := filepath.Join(t.TempDir(), "copy")
	if err := os.CopyFS(copied, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir, testOptions())
	if err := s.AcceptOlder(context.Background(), BackupInfo{Epoch: first, Seq: 9}); err != nil {
		t.Fatal(err)
	}
	later := s.Stands()
	s.Close()
	s = open(t, copied, testOptions())
	if s.Epoch() != first {
		t.Fatal("the copy is of another epoch")
	}
	confirm(t, s, later.Proof)
	now := s.Epoch()
	if now == first || now == later.Epoch {
		t.Errorf("the epoch is %s, was %s, want a new one", now, first)
	}
	if confirm(t, s, later.Proof); s.Epoch() != now {
		t.Error("the second phone of that epoch began one more")
	}
}

// Two copies of one folder may both have gone on in its epoch. One that was left behind
// with a new epoch does not hold what a backup of the other has: phones have let go of it.
func TestACopyThatWentAnotherWayDoesNotHoldTheBackup(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop")
	s := open(t, dir, testOptions())
	notes(t, s, "a", 1, 3)
	s.Close()
	other := filepath.Join(t.TempDir(), "other")
	if err := os.CopyFS(other, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir, testOptions())
	notes(t, s, "a", 4, 6)
	proof := s.Stands().Proof
	var file bytes.Buffer
	if _, err := s.Backup(&file, "shop", false); err != nil {
		t.Fatal(err)
	}
	backup, err := CheckBackup(bytes.NewReader(file.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	s.Close()

	s = open(t, other, testOptions())
	confirm(t, s, proof) // it went back: a new epoch
	notes(t, s, "b", 1, 9)
	if holds, err := s.Holds(backup); holds || err != nil {
		t.Errorf("it is said to hold a backup of entries that it lacks (%v)", err)
	}
	if err := s.AcceptOlder(context.Background(), backup); err != nil {
		t.Fatal(err)
	}
	if holds, err := s.Holds(backup); !holds || err != nil {
		t.Errorf("it asks again about a backup that was given up (%v)", err)
	}
}

// Only what this folder gave out counts: nobody begins an epoch by making something up.
func TestWhatIsNoProofOfThisFolderChangesNothing(t *testing.T) {
	s, other := open(t, t.TempDir(), testOptions()), open(t, t.TempDir(), testOptions())
	notes(t, s, "a", 1, 3)
	notes(t, other, "a", 1, 9)
	at := s.Stands()
	parts := strings.Split(at.Proof, ".")
	with := func(i int, text string) string {
		p := slices.Clone(parts)
		p[i] = text
		return strings.Join(p, ".")
	}
	for name, proof := range map[string]string{
		"none":                  "",
		"words":                 "the log goes to 900",
		"another folder's":      other.Stands().Proof,
		"another epoch":         with(0, strings.Repeat("0", 32)),
		"a higher seq":          with(1, "900"),
		"a seq below nothing":   with(1, "-1"),
		"another hash":          with(2, strings.Repeat("0", 32)),
		"another code":          with(3, strings.Repeat("0", 32)),
		"no code":               strings.Join(parts[:3], "."),
		"dots":                  "...",
		"too long":              at.Proof + strings.Repeat("0", 9000),
		"its own, which is one": at.Proof,
	} {
		if confirm(t, s, proof); s.Epoch() != at.Epoch {
			t.Fatalf("%s (%.60q) began a new epoch", name, proof)
		}
	}
}

// Every proof that was ever given out holds as long as the log goes on.
func TestEarlierProofsHold(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, testOptions())
	var proofs []string
	for n := int64(1); n <= 40; n++ {
		proofs = append(proofs, s.Stands().Proof)
		notes(t, s, "a", n, n)
	}
	epoch := s.Epoch()
	for _, again := range []bool{false, true} {
		if again {
			s.Close()
			s = open(t, dir, testOptions())
		}
		for i, proof := range proofs {
			if confirm(t, s, proof); s.Epoch() != epoch {
				t.Fatalf("the proof of %d entries of 40 began a new epoch", i)
			}
		}
	}
}

// Many phones come back at once, in the middle of pushes: one epoch begins, the log has
// neither a hole nor an entry twice.
func TestOneEpochBeginsHoweverManyPhonesShowIt(t *testing.T) {
	dir, proof := aged(t)
	s := open(t, dir, testOptions())
	var wg sync.WaitGroup
	for i := range 12 {
		device := string(rune('c' + i))
		wg.Go(func() {
			for n := int64(1); n <= 10; n++ {
				if _, err := s.Push(context.Background(), push(device, note(device, n, "entry.noted"))); err != nil {
					t.Error(err)
				}
				if err := s.Confirm(context.Background(), proof); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	if at := s.at.Load(); len(at.earlier) != 1 || at.head.seq != 123 {
		t.Errorf("%d epochs before this one and %d entries, want 1 and 3 + 12 × 10", len(at.earlier), at.head.seq)
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Error(err)
	}
}

// A folder of the program before has neither secret nor list of epochs: it gets them.
func TestAFolderOfAnOlderProgramGivesProofsToo(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, testOptions())
	notes(t, s, "a", 1, 2)
	err := s.update(func(c *change) error {
		if err := c.delete(epochsKey); err != nil {
			return err
		}
		return c.delete(secretKey)
	})
	if err != nil {
		t.Fatal(err)
	}
	was := s.Stands()
	s.Close()
	for range 2 {
		s = open(t, dir, testOptions())
		confirm(t, s, was.Proof) // under another secret: it says nothing
		now := s.Stands()
		if now.Epoch != was.Epoch || now.Proof == was.Proof {
			t.Errorf("stands at %+v, want epoch %s and a proof of its own", now, was.Epoch)
		}
		if _, ok := s.readProof(now.Proof); !ok {
			t.Error("its own proof is none to it")
		}
		s.Close()
	}
}

// A proof that a log record is damaged under is an error, not a log that went back.
func TestAProofThatCannotBeLookedUpIsAnError(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	notes(t, s, "a", 1, 2)
	at := s.Stands()
	notes(t, s, "a", 3, 3)
	if err := s.db.Update(func(t *badger.Txn) error { return t.Delete(logKey(2)) }); err != nil {
		t.Fatal(err)
	}
	if err := s.Confirm(context.Background(), at.Proof); err == nil || s.Epoch() != at.Epoch {
		t.Errorf("%v, epoch %s; want an error and epoch %s", err, s.Epoch(), at.Epoch)
	}
}
