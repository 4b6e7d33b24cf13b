package store

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"
)

// Whoever restores an older backup has passed over the newer ones that were there. What the
// old folder still backs up afterwards nobody has decided about.
func TestARestoreOfAnOlderBackupPassesOverTheNewerOnesOfThen(t *testing.T) {
	now := int64(1_000)
	opts := testOptions()
	opts.NowMS = func() int64 { return now }
	s := open(t, t.TempDir(), opts)
	backup := func() (BackupInfo, []byte) {
		t.Helper()
		var b bytes.Buffer
		if _, err := s.Backup(&b, "srv", false); err != nil {
			t.Fatal(err)
		}
		info, err := CheckBackup(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		return info, b.Bytes()
	}
	notes(t, s, "a", 1, 3)
	chosen, bytesOf := backup()
	notes(t, s, "a", 4, 6)
	now = 2_000
	passed, _ := backup()

	now = 3_000
	dir := filepath.Join(t.TempDir(), "restored")
	if _, err := Restore(context.Background(), dir, reader(bytesOf), opts); err != nil {
		t.Fatal(err)
	}
	now = 4_000
	notes(t, s, "a", 7, 7)
	later, _ := backup() // somebody went on with the folder of before

	for range 2 { // the second time as the folder is opened again
		r := open(t, dir, opts)
		for _, want := range []struct {
			name  string
			of    BackupInfo
			holds bool
		}{
			{"the one restored", chosen, true}, {"a newer one that was there", passed, true}, {"one made since, by another copy", later, false},
		} {
			if holds, err := r.Holds(want.of); holds != want.holds || err != nil {
				t.Errorf("%s: holds %v (%v), want %v", want.name, holds, err, want.holds)
			}
		}
		r.Close()
	}
}
