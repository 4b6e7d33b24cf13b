package store

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hoppertally/sync/hub"
)

// backedUp is a store of 50 entries with something in each area and a file
// beside the database, and a backup of it.
func backedUp(t *testing.T) (*Store, []byte) {
	s := open(t, t.TempDir(), testOptions())
	for n := int64(1); n <= 50; n++ {
		mustPush(t, s, "a", note("a", n, "entry.noted"))
	}
	mustPush(t, s, "a", note("a", 51, "bad.thing"))
	if err := s.KV().Put("user/a", []byte("1")); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(s.dir, "certs"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(s.dir, "certs", "root.key"), []byte("secret"), 0o600); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	info, err := s.Backup(&b, "srv-1", true)
	if err != nil || info.Seq != 50 || info.Shop != "srv-1" || info.Epoch != s.Epoch() {
		t.Fatalf("backup %+v, %v; want up to 50", info, err)
	}
	return s, b.Bytes()
}

func reader(b []byte) func() (io.ReadCloser, error) {
	return func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }
}

func TestBackupAndRestore(t *testing.T) {
	s, b := backedUp(t)
	if info, err := CheckBackup(bytes.NewReader(b)); err != nil || info.Seq != 50 {
		t.Fatalf("check: %+v, %v", info, err)
	}
	dir := filepath.Join(t.TempDir(), "restored")
	if _, err := Restore(context.Background(), dir, reader(b), testOptions()); err != nil {
		t.Fatal(err)
	}
	r := open(t, dir, testOptions())
	if v, err := r.KV().Get("user/a"); r.Head() != 50 || r.Epoch() == s.Epoch() || string(v) != "1" || err != nil {
		t.Errorf("restored: head %d, same epoch %v, side area %q, %v; want 50, false, 1", r.Head(), r.Epoch() == s.Epoch(), v, err)
	}
	if f, err := os.ReadFile(filepath.Join(dir, "certs", "root.key")); string(f) != "secret" || err != nil {
		t.Errorf("the file beside the database: %q, %v", f, err)
	}
	if q, err := r.Quarantine(10); len(q) != 1 || err != nil {
		t.Errorf("quarantine: %d, %v; want 1", len(q), err)
	}
	if got := mustPush(t, r, "a", note("a", 50, "entry.noted"), note("a", 52, "entry.noted")); got[0].Outcome != hub.Duplicate || got[1].Seq != 51 {
		t.Errorf("a phone that sends again: %+v", got)
	}
	again := filepath.Join(t.TempDir(), "again")
	if _, err := Restore(context.Background(), again, reader(b), testOptions()); err != nil {
		t.Fatal(err)
	}
	if a := open(t, again, testOptions()); a.Epoch() == r.Epoch() {
		t.Error("two restores share an epoch")
	}
	if _, err := Restore(context.Background(), dir, reader(b), testOptions()); err == nil {
		t.Error("restored over a store that is there")
	}
}

// However often a store was restored, what it has in common with every log that it ever
// was stays known.
func TestAStoreKnowsWhereItPartedFromEveryEarlierEpoch(t *testing.T) {
	s, b := backedUp(t) // 50 entries
	if got := s.Parted(); got != 0 {
		t.Errorf("a store without an earlier epoch parted at %d", got)
	}
	for i, want := range []int64{50, 50} {
		dir := filepath.Join(t.TempDir(), "restored")
		if _, err := Restore(context.Background(), dir, reader(b), testOptions()); err != nil {
			t.Fatal(err)
		}
		r := open(t, dir, testOptions())
		if got := r.Parted(); got != want {
			t.Errorf("restore %d: parted at %d, want %d", i+1, got, want)
		}
		mustPush(t, r, "b", note("b", 1, "entry.noted"))
		var next bytes.Buffer
		if _, err := r.Backup(&next, "srv", false); err != nil {
			t.Fatal(err)
		}
		b = next.Bytes() // 51 entries: longer than where the first two logs parted
	}
}

// The key of the shop's own root lies beside the database: it goes nowhere unless
// the backup is going to be encrypted.
func TestABackupWithoutFilesHoldsNone(t *testing.T) {
	s, _ := backedUp(t)
	var b bytes.Buffer
	if _, err := s.Backup(&b, "srv-1", false); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "restored")
	if _, err := Restore(context.Background(), dir, reader(b.Bytes()), testOptions()); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "certs")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the folder beside the database came back: %v", err)
	}
}

func TestADamagedBackupIsNeverTaken(t *testing.T) {
	_, b := backedUp(t)
	bad := func(what string, b []byte) {
		t.Helper()
		dir := filepath.Join(t.TempDir(), "x")
		if _, err := CheckBackup(bytes.NewReader(b)); err == nil {
			t.Errorf("%s: taken for good", what)
		}
		if _, err := Restore(context.Background(), dir, reader(b), testOptions()); err == nil {
			t.Errorf("%s: restored", what)
		}
		if left, _ := os.ReadDir(dir); len(left) > 0 {
			t.Errorf("%s: %d things left in the folder", what, len(left))
		}
	}
	step := max(1, len(b)/200)
	for at := 0; at < len(b); at += step {
		flipped := bytes.Clone(b)
		flipped[at] ^= 0x40
		bad("a bit flipped", flipped)
	}
	for at := 0; at < len(b); at += step {
		bad("cut", b[:at])
	}
	bad("cut by its last byte", b[:len(b)-1])
	bad("a byte too many", append(bytes.Clone(b), '\n'))
	bad("another file", []byte("hoppertally, backup 2"))
	bad("an endless head", []byte(backupMagic+strings.Repeat(" ", backupHeadMax+10)))
}

func TestAHalfRestoredFolderIsNotServed(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, restoringName), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(dir, testOptions()); !errors.Is(err, ErrHalfRestored) {
		t.Errorf("open: %v, want ErrHalfRestored", err)
	}
}

// What a backup covers must not outlive the entries that it covered: with a log
// that lost its tail, phones would let go of entries that took those numbers.
func TestALostTailTakesBackWhatWasBackedUp(t *testing.T) {
	s := filled(t)
	dir := s.dir
	if err := s.SetBackedUp(5); err != nil {
		t.Fatal(err)
	}
	if err := s.SetBackedUp(3); err != nil || s.BackedUp() != 5 {
		t.Errorf("it went back to %d, %v", s.BackedUp(), err)
	}
	var beyond *CursorError
	if err := s.SetBackedUp(11); !errors.As(err, &beyond) {
		t.Errorf("a backup beyond the log: %v", err)
	}
	s.Close()
	opts := testOptions()
	opts.AcceptLoss = true
	w, err := makeWitness(filepath.Join(dir, witnessName), witnessed{mark{seq: 20}, 1000}) // it once reached 20, backed up to 5
	if err != nil {
		t.Fatal(err)
	}
	w.close()
	s = open(t, dir, opts)
	if s.BackedUp() != 5 || s.Head() != 10 {
		t.Errorf("backed up to %d of %d", s.BackedUp(), s.Head())
	}
	// The number alone is too high: only a log that really is shorter shows it.
	if err := s.update(func(c *change) error { return c.set(backupKey, []byte("15")) }); err != nil {
		t.Fatal(err)
	}
	if err := s.newEpoch(s.Head()); err != nil {
		t.Fatal(err)
	}
	if n, err := s.loadBackedUp(); n != 10 || err != nil {
		t.Errorf("backed up to %d, %v; want the log's end, 10", n, err)
	}
}

func FuzzCheckBackup(f *testing.F) {
	f.Add([]byte(backupMagic + "{}\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if _, err := CheckBackup(bytes.NewReader(b)); err == nil && !bytes.HasPrefix(b, []byte(backupMagic)) {
			t.Error("taken for a backup")
		}
	})
}

func TestAShopWithoutEntriesHoldsItsBackup(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	var b bytes.Buffer
	if _, err := s.Backup(&b, "srv", false); err != nil {
		t.Fatal(err)
	}
	info, err := CheckBackup(&b)
	if err != nil {
		t.Fatal(err)
	}
	if holds, err := s.Holds(info); !holds || err != nil {
		t.Errorf("it is called older than its own backup: %v, %v", holds, err)
	}
}

func TestARestoreStopsWhenTheDiskFills(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	for n := int64(1); n < 6000; n += 500 {
		var raws [][]byte
		for k := range int64(500) {
			raws = append(raws, note("a", n+k, "entry.noted"))
		}
		mustPush(t, s, "a", raws...)
	}
	var b bytes.Buffer
	if _, err := s.Backup(&b, "srv", false); err != nil {
		t.Fatal(err)
	}
	opts, dir := testOptions(), filepath.Join(t.TempDir(), "new")
	asked := 0
	opts.MinFree = 400
	opts.free = func(string) (int64, error) {
		if asked++; asked > 2 {
			return 99, nil
		}
		return 1000, nil
	}
	if _, err := Restore(context.Background(), dir, reader(b.Bytes()), opts); !errors.Is(err, ErrDiskLow) {
		t.Errorf("restore: %v after %d looks, want ErrDiskLow", err, asked)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
