package store

import (
	"bytes"
	"context"
	"errors"
	"path/filepath"
	"testing"

	"hoppertally/sync/hub"
)

func TestBackupAndRestore(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	for n := int64(1); n <= 50; n++ {
		mustPush(t, s, "a", note("a", n, "entry.noted"))
	}
	if err := s.KV().Put("user/a", []byte("1")); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	seq, err := s.Backup(&b)
	if err != nil || seq != 50 {
		t.Fatalf("backup up to %d, %v; want 50", seq, err)
	}
	if err := errors.Join(s.SetBackedUp(50), s.SetBackedUp(20)); err != nil {
		t.Fatal(err)
	}
	if n, err := s.BackedUp(); n != 50 || err != nil {
		t.Errorf("backed up to %d, %v; want 50", n, err)
	}
	dir := filepath.Join(t.TempDir(), "restored")
	if err := Restore(context.Background(), dir, bytes.NewReader(b.Bytes()), testOptions()); err != nil {
		t.Fatal(err)
	}
	r := open(t, dir, testOptions())
	if v, err := r.KV().Get("user/a"); r.Head() != 50 || r.Epoch() == s.Epoch() || string(v) != "1" || err != nil {
		t.Errorf("restored: head %d, same epoch %v, side area %q, %v; want 50, false, 1", r.Head(), r.Epoch() == s.Epoch(), v, err)
	}
	if got := mustPush(t, r, "a", note("a", 50, "entry.noted"), note("a", 51, "entry.noted")); got[0].Outcome != hub.Duplicate || got[1].Seq != 51 {
		t.Errorf("a phone that sends again: %+v", got)
	}
	for _, at := range []int{0, len(backupMagic) + 5, b.Len() / 2, b.Len() - 1} {
		bad := bytes.Clone(b.Bytes())
		bad[at] ^= 0x40
		if err := CheckBackup(bytes.NewReader(bad)); !errors.Is(err, ErrBackup) {
			t.Errorf("a bit flipped at byte %d: %v, want ErrBackup", at, err)
		}
	}
	for _, cut := range []int{0, 5, len(backupMagic), len(backupMagic) + 31, b.Len() - 1} {
		if err := CheckBackup(bytes.NewReader(b.Bytes()[:cut])); !errors.Is(err, ErrBackup) {
			t.Errorf("cut after %d bytes: %v, want ErrBackup", cut, err)
		}
	}
	if err := Restore(context.Background(), dir, bytes.NewReader(b.Bytes()), testOptions()); err == nil {
		t.Error("restored over a store that is there")
	}
}
