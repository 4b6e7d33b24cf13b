package backup_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/server/auth"
	"hoppertally/server/backup"
	"hoppertally/server/books"
	"hoppertally/server/house"
	"hoppertally/server/store"
)

var silent = slog.New(slog.DiscardHandler)

func openHouse(t *testing.T, dir string) *house.House {
	t.Helper()
	h, err := house.Open(dir, house.Options{MinFree: 1 << 20, Cost: auth.Cost{Time: 1, Memory: 64, Threads: 1}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { h.Close() })
	return h
}

// grow adds n entries to the log.
func grow(t *testing.T, h *house.House, n int) {
	t.Helper()
	for range n {
		var d form.Fields = &kind.PlaceSet{Place: fmt.Sprintf("pl-%d", h.Head()), Name: "Shelf", Kind: "shelf"}
		if err := h.Desk.Record(context.Background(), "p-mia", books.Draft{Kind: "place.set", Body: d}); err != nil {
			t.Fatal(err)
		}
	}
}

func named(name string) func(store.BackupInfo) string {
	return func(store.BackupInfo) string { return name }
}

func TestAnEncryptedBackupNeedsItsPassphrase(t *testing.T) {
	data := t.TempDir()
	h := openHouse(t, data)
	grow(t, h, 5)
	if err := os.WriteFile(filepath.Join(data, "root.key"), []byte("secret"), 0o600); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	f, err := backup.Write(dir, named("b"), "correct horse", h.Backup)
	if err != nil || !f.Encrypted || f.Seq != 5 || f.Shop != h.ServerID() {
		t.Fatalf("%+v, %v", f, err)
	}
	if b, err := os.ReadFile(f.Path); err != nil || bytes.Contains(b, []byte(h.ServerID())) {
		t.Errorf("the shop's id stands in the file in the clear, %v", err)
	}
	if _, err := backup.Check(f.Path, ""); !errors.Is(err, backup.ErrNeedsPassphrase) {
		t.Errorf("without passphrase: %v", err)
	}
	if _, err := backup.Restore(context.Background(), f.Path, "wrong horse", filepath.Join(dir, "x"), silent); !errors.Is(err, backup.ErrPassphrase) {
		t.Errorf("wrong passphrase: %v", err)
	}
	to := filepath.Join(dir, "restored")
	if _, err := backup.Restore(context.Background(), f.Path, "correct horse", to, silent); err != nil {
		t.Fatal(err)
	}
	if b, err := os.ReadFile(filepath.Join(to, "root.key")); string(b) != "secret" || err != nil {
		t.Errorf("the key beside the database: %q, %v", b, err)
	}
	if r := openHouse(t, to); r.Head() != 5 || r.ServerID() != h.ServerID() || r.Epoch() == h.Epoch() {
		t.Errorf("restored: %d entries of %s in epoch %s", r.Head(), r.ServerID(), r.Epoch())
	}
	b, err := os.ReadFile(f.Path)
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)-20] ^= 1
	if err := os.WriteFile(f.Path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := backup.Check(f.Path, "correct horse"); !errors.Is(err, store.ErrBackup) {
		t.Errorf("damaged: %v", err)
	}
}

func TestABackupNeverReplacesAFileAndLeavesNothingBehind(t *testing.T) {
	h := openHouse(t, t.TempDir())
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "mine"), []byte("precious"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := backup.Write(dir, named("mine"), "", h.Backup); !errors.Is(err, backup.ErrExists) {
		t.Errorf("over a file: %v", err)
	}
	broken := errors.New("the disk is gone")
	if _, err := backup.Write(dir, named("b"), "", func(io.Writer, bool) error { return broken }); !errors.Is(err, broken) {
		t.Errorf("a maker that fails: %v", err)
	}
	cut := func(w io.Writer, _ bool) error { _, err := w.Write([]byte("hoppertally backup 2\n")); return err }
	if _, err := backup.Write(dir, named("b"), "", cut); !errors.Is(err, store.ErrBackup) {
		t.Errorf("half a backup: %v", err)
	}
	if got := list(t, dir); got != "mine" {
		t.Errorf("the folder holds %s", got)
	}
}

func list(t *testing.T, dir string) string {
	t.Helper()
	all, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range all {
		names = append(names, e.Name())
	}
	return strings.Join(names, " ")
}

// clock is a time that a test moves.
type clock struct {
	mu sync.Mutex
	at time.Time
}

func (c *clock) now() time.Time { c.mu.Lock(); defer c.mu.Unlock(); return c.at }
func (c *clock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

// Whichever of the kept backups is restored, the phones still have what it lacks.
func TestPhonesMayLetGoOfWhatTheOldestKeptBackupHolds(t *testing.T) {
	h := openHouse(t, t.TempDir())
	dir := t.TempDir()
	for _, name := range []string{"notes.txt", "hoppertally-srv-other-20200101T000000.000Z-00000000-1.backup", ".hoppertally-left.part"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	k, err := backup.NewKeeper(backup.Plan{Dir: dir, Every: time.Hour, Keep: 3}, h, silent, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []int64{10, 10, 10, 20, 30} {
		grow(t, h, 10)
		time.Sleep(2 * time.Millisecond) // names count milliseconds
		if err := k.Make(); err != nil {
			t.Fatal(err)
		}
		if got := h.BackupSeq(); got != want {
			t.Errorf("after backup %d at entry %d: phones may let go up to %d, want %d", i+1, h.Head(), got, want)
		}
		if b := h.Backups(); b.Seq != h.Head() || b.Fault != "" || time.Since(time.UnixMilli(b.LastMS)) > time.Minute {
			t.Errorf("the house knows of %+v", b)
		}
	}
	if n := strings.Count(list(t, dir), h.ServerID()); n != 3 {
		t.Errorf("%d of our backups are kept, want 3: %s", n, list(t, dir))
	}
	if got := list(t, dir); !strings.Contains(got, "notes.txt") || !strings.Contains(got, "srv-other") {
		t.Errorf("what is not ours is gone: %s", got)
	}
}

// A backup of an earlier epoch can be restored like any other. It holds of the present
// log what the two have in common.
func TestBackupsFromBeforeARestoreBoundWhatPhonesMayLetGoOf(t *testing.T) {
	for _, tt := range []struct {
		name     string
		restored int   // which of five backups, made each after 10 entries
		keep     int   // files of the plan
		want     int64 // after a backup of the new epoch with 10 entries more
		why      string
	}{
		{"all are kept", 4, 10, 10, "the first holds 10"},
		{"the oldest went", 4, 4, 30, "the third of five is the oldest of four: two old ones would be left beside the new"},
		{"a shorter one was restored", 1, 3, 20, "the others went on from 20 with entries that are none of this log"},
		{"none of the earlier epoch is left", 2, 1, 40, "only the new one, 30 and 10"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			h, dir := openHouse(t, t.TempDir()), t.TempDir()
			var files []string
			for range 5 {
				grow(t, h, 10)
				time.Sleep(2 * time.Millisecond) // names count milliseconds
				f, err := backup.Write(dir, backup.FileName, "", h.Backup)
				if err != nil {
					t.Fatal(err)
				}
				files = append(files, f.Path)
			}
			to := filepath.Join(t.TempDir(), "restored")
			if _, err := backup.Restore(context.Background(), files[tt.restored], "", to, silent); err != nil {
				t.Fatal(err)
			}
			r := openHouse(t, to)
			grow(t, r, 10)
			k, err := backup.NewKeeper(backup.Plan{Dir: dir, Every: time.Hour, Keep: tt.keep}, r, silent, time.Now)
			if err != nil {
				t.Fatal(err)
			}
			if err := k.Make(); err != nil {
				t.Fatal(err)
			}
			if got := r.BackupSeq(); got != tt.want {
				t.Errorf("phones may let go up to %d, want %d (%s): %s", got, tt.want, tt.why, list(t, dir))
			}
		})
	}
}

func TestABackupByHandCountsUnlessAPlanIsAtWork(t *testing.T) {
	h := openHouse(t, t.TempDir())
	grow(t, h, 4)
	info := store.BackupInfo{Epoch: h.Epoch(), Seq: 4, MadeMS: 1}
	if err := errors.Join(h.NotePlan(true), h.NoteHandBackup(info)); err != nil || h.BackupSeq() != 0 {
		t.Errorf("beside a plan: up to %d, %v", h.BackupSeq(), err)
	}
	if err := errors.Join(h.NotePlan(false), h.NoteHandBackup(info)); err != nil || h.BackupSeq() != 4 {
		t.Errorf("without a plan: up to %d, %v", h.BackupSeq(), err)
	}
	if err := h.NoteHandBackup(store.BackupInfo{Epoch: "other", Seq: 1}); err == nil {
		t.Error("a backup of another log counts")
	}
}

func TestTheKeeperMakesBackupsWhenTheyAreDueAndSaysWhenTheyFail(t *testing.T) {
	h := openHouse(t, t.TempDir())
	grow(t, h, 1)
	dir := filepath.Join(t.TempDir(), "backups")
	var said lockedText
	run := func() (stop func()) {
		k, err := backup.NewKeeper(backup.Plan{Dir: dir, Every: 20 * time.Millisecond, Keep: 2}, h, slog.New(slog.NewTextHandler(&said, nil)), time.Now)
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		done := make(chan struct{})
		go func() { defer close(done); k.Run(ctx) }()
		return func() { cancel(); <-done }
	}
	stop := run()
	first := until(t, "the first backup", func() bool { return h.Backups().LastMS > 0 })
	until(t, "the next one", func() bool { return h.Backups().LastMS > first })
	if err := os.Rename(dir, dir+".gone"); err != nil {
		t.Fatal(err)
	}
	until(t, "the failure", func() bool { return h.Backups().Fault != "" })
	last := h.Backups().LastMS
	if err := os.Rename(dir+".gone", dir); err != nil {
		t.Fatal(err)
	}
	until(t, "a good one again", func() bool { return h.Backups().Fault == "" && h.Backups().LastMS > last })
	stop()
	if !strings.Contains(said.String(), "THE BACKUP FAILED") {
		t.Errorf("the log does not say it: %s", said.String())
	}
	if n := len(strings.Fields(list(t, dir))); n != 2 {
		t.Errorf("%d files are kept: %s", n, list(t, dir))
	}
}

// A server that starts again does not make a backup before its time, unless the
// latest is damaged.
func TestTheKeeperGoesOnFromTheLatestGoodBackup(t *testing.T) {
	h := openHouse(t, t.TempDir())
	grow(t, h, 3)
	dir := t.TempDir()
	plan := backup.Plan{Dir: dir, Every: time.Hour, Keep: 5}
	k, err := backup.NewKeeper(plan, h, silent, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if err := k.Make(); err != nil {
		t.Fatal(err)
	}
	at := &clock{at: time.Now()}
	start := func() (done chan struct{}, stop func()) {
		k, err := backup.NewKeeper(plan, h, silent, at.now)
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		done = make(chan struct{})
		go func() { defer close(done); k.Run(ctx) }()
		return done, cancel
	}
	done, stop := start()
	stop()
	<-done
	if n := len(strings.Fields(list(t, dir))); n != 1 {
		t.Errorf("%d backups right after a start, want the one", n)
	}
	at.add(2 * time.Hour)
	done, stop = start()
	until(t, "the one that is due", func() bool { return len(strings.Fields(list(t, dir))) == 2 })
	stop()
	<-done
	at.add(-2 * time.Hour)
	names := strings.Fields(list(t, dir))
	if err := os.Truncate(filepath.Join(dir, names[1]), 100); err != nil {
		t.Fatal(err)
	}
	done, stop = start()
	until(t, "one in place of the damaged", func() bool { return len(strings.Fields(list(t, dir))) == 3 })
	stop()
	<-done
}

func until(t *testing.T, what string, is func() bool) int64 {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); !is(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("%s does not come", what)
		}
	}
	return time.Now().UnixMilli()
}

type lockedText struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedText) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedText) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func TestTheDoorLetsInTheOwnerOnly(t *testing.T) {
	data := t.TempDir()
	h := openHouse(t, data)
	grow(t, h, 7)
	if _, err := backup.Call(data); !errors.Is(err, backup.ErrNobody) {
		t.Errorf("without a server: %v", err)
	}
	d, err := backup.OpenDoor(data, h, silent)
	if err != nil {
		t.Fatal(err)
	}
	if st, err := os.Stat(filepath.Join(data, store.DoorName)); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("the door's file: %v, %v", st.Mode(), err)
	}
	c, err := backup.Call(data)
	if err != nil {
		t.Fatal(err)
	}
	f, err := backup.Write(t.TempDir(), named("b"), "", c.Backup(context.Background()))
	if err != nil || f.Seq != 7 {
		t.Fatalf("%+v, %v", f, err)
	}
	if err := c.Good(context.Background(), f.BackupInfo); err != nil || h.BackupSeq() != 7 {
		t.Errorf("up to %d, %v; want 7", h.BackupSeq(), err)
	}
	bad := f.BackupInfo
	bad.Seq = 100
	if err := c.Good(context.Background(), bad); err == nil || h.BackupSeq() != 7 {
		t.Errorf("a backup beyond the log: %v, %d", err, h.BackupSeq())
	}
	b, err := os.ReadFile(filepath.Join(data, store.DoorName))
	if err != nil {
		t.Fatal(err)
	}
	forged := bytes.Replace(b, []byte(`"secret":"`), []byte(`"secret":"x`), 1)
	if err := os.WriteFile(filepath.Join(data, store.DoorName), forged, 0o600); err != nil {
		t.Fatal(err)
	}
	if c, err = backup.Call(data); err != nil {
		t.Fatal(err)
	}
	if err := c.Backup(context.Background())(io.Discard, false); !errors.Is(err, backup.ErrNobody) {
		t.Errorf("with another secret: %v", err)
	}
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := backup.Call(data); !errors.Is(err, backup.ErrNobody) {
		t.Errorf("after the server ended: %v", err)
	}
}
