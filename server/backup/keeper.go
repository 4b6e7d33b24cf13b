package backup

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"hoppertally/server/store"
)

// Plan says where, how often and how many backups are kept.
type Plan struct {
	Dir        string
	Every      time.Duration
	Keep       int    // at least 1
	Passphrase string // empty: not encrypted
}

// RetryMax is how long a backup that failed waits for its next try at most.
const RetryMax = 10 * time.Minute

// Keeper makes backups by a plan.
//
// What phones may let go of is what every kept backup holds: whichever of them is
// restored, the phones still have all that it lacks.
//
// Backups of earlier epochs count too. A seq there names the same entry as here only up
// to where the two logs part: nowhere before the shortest log that an epoch of this store
// ever began with ([store.Store.Parted]), since each went on from a piece of one before.
// So such a file bounds by the smaller of its own seq and that.
type Keeper struct {
	plan  Plan
	house House
	log   *slog.Logger
	now   func() time.Time

	latest File // that was checked by Compare
}

// NewKeeper makes the folder if it is not there.
func NewKeeper(plan Plan, h House, log *slog.Logger, now func() time.Time) (*Keeper, error) {
	if plan.Keep < 1 || plan.Every <= 0 {
		panic("backup: a plan without backups")
	}
	if err := os.MkdirAll(plan.Dir, 0o700); err != nil {
		return nil, fmt.Errorf("folder of the backups: %w", err)
	}
	return &Keeper{plan: plan, house: h, log: log, now: now}, nil
}

// Run makes backups when they are due until ctx is done. The first is due at once
// when there is none, or the latest is no longer good.
func (k *Keeper) Run(ctx context.Context) {
	k.sweep()
	due := k.firstDue()
	for {
		select {
		case <-ctx.Done():
			return
		case <-time.After(due.Sub(k.now())):
		}
		if err := k.Make(); err != nil {
			k.log.Error("THE BACKUP FAILED; the last good one grows old", slog.String("folder", k.plan.Dir), slog.Any("error", err))
			k.house.NoteBackupFault(err)
			due = k.now().Add(min(k.plan.Every, RetryMax))
			continue
		}
		due = k.now().Add(k.plan.Every)
	}
}

// sweep removes what a server that was killed left half written.
func (k *Keeper) sweep() {
	left, err := filepath.Glob(filepath.Join(k.plan.Dir, partPrefix+"*"+partSuffix))
	for _, name := range left {
		err = errors.Join(err, os.Remove(name))
	}
	if err != nil {
		k.log.Warn("half-written backups do not go", slog.Any("error", err))
	}
}

// firstDue looks for the latest backup that is there and checks it.
func (k *Keeper) firstDue() time.Time {
	kept, err := k.kept()
	if err != nil || len(kept) == 0 {
		return k.now()
	}
	last := kept[len(kept)-1]
	f := k.latest
	if f.Path != last.path {
		if f, err = Check(last.path, k.plan.Passphrase); err != nil {
			k.log.Error("the latest backup is not good", slog.String("file", last.path), slog.Any("error", err))
			return k.now()
		}
	}
	if f.Epoch != k.house.Epoch() {
		return k.now() // of a log that was restored from it, or lost
	}
	if err := k.note(f, kept); err != nil {
		k.log.Error("note the latest backup", slog.Any("error", err))
	}
	return time.UnixMilli(f.MadeMS).Add(k.plan.Every)
}

// Make makes one backup now and removes those that are too many.
func (k *Keeper) Make() error {
	f, err := Write(k.plan.Dir, FileName, k.plan.Passphrase, k.house.Backup)
	if err != nil {
		return err
	}
	kept, err := k.kept()
	if err != nil {
		return err
	}
	for len(kept) > k.plan.Keep {
		if err := os.Remove(kept[0].path); err != nil {
			k.log.Warn("an old backup does not go", slog.Any("error", err))
		}
		kept = kept[1:]
	}
	if err := k.note(f, kept); err != nil {
		return err
	}
	k.log.Info("backup made and read back", slog.String("file", f.Path), slog.Int64("entries", f.Seq), slog.Int64("bytes", f.Bytes), slog.Int("kept", len(kept)))
	return nil
}

// note tells the house; kept is ascending and ends with the one just checked.
func (k *Keeper) note(latest File, kept []keptFile) error {
	covers := latest.Seq
	for _, f := range kept {
		covers = min(covers, f.seq)
		if f.epoch != shortEpoch(k.house.Epoch()) {
			covers = min(covers, k.house.Parted())
		}
	}
	return k.house.NoteBackup(latest.BackupInfo, covers)
}

// keptFile is what a file's name tells.
type keptFile struct {
	path        string
	epoch, time string
	seq         int64
}

const nameTime = "20060102T150405.000Z"

// FileName names a backup so that a folder can be read by eye, and by a Keeper.
func FileName(i store.BackupInfo) string {
	return fmt.Sprintf("hoppertally-%s-%s-%s-%d.backup", i.Shop, time.UnixMilli(i.MadeMS).UTC().Format(nameTime), shortEpoch(i.Epoch), i.Seq)
}

func shortEpoch(epoch string) string { return epoch[:min(8, len(epoch))] }

var namePattern = regexp.MustCompile(`^-(\d{8}T\d{6}\.\d{3}Z)-([0-9a-f]{8})-(\d+)\.backup$`)

// kept lists this shop's backups in the folder, the oldest first.
func (k *Keeper) kept() (list []keptFile, err error) {
	all, err := os.ReadDir(k.plan.Dir)
	if err != nil {
		return nil, err
	}
	for _, e := range all {
		rest, ours := strings.CutPrefix(e.Name(), "hoppertally-"+k.house.ServerID())
		m := namePattern.FindStringSubmatch(rest)
		if !ours || m == nil || !e.Type().IsRegular() {
			continue
		}
		seq, err := strconv.ParseInt(m[3], 10, 64)
		if err != nil {
			continue
		}
		list = append(list, keptFile{filepath.Join(k.plan.Dir, e.Name()), m[2], m[1], seq})
	}
	slices.SortFunc(list, func(a, b keptFile) int { return strings.Compare(a.time, b.time) })
	return list, nil
}
