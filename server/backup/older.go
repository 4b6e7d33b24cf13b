package backup

import (
	"errors"
	"fmt"
	"log/slog"
)

// OlderError says that the data folder lacks what one of its backups holds: an older copy
// of the folder was put in its place. Phones let go of what backups hold, so that they
// cannot send all of it again.
type OlderError struct {
	File File
	Have int64 // the last entry in the folder
}

func (e *OlderError) Error() string {
	return fmt.Sprintf("backup: the data folder is an older copy: it ends at entry %d and lacks entries that the backup %s holds, which goes to entry %d", e.Have, e.File.Path, e.File.Seq)
}

// Compare holds the data folder against the newest backup of it that is good, and returns
// an *OlderError if the folder is the older one.
func (k *Keeper) Compare() error {
	kept, err := k.kept()
	if err != nil {
		return err
	}
	for ; len(kept) > 0; kept = kept[:len(kept)-1] {
		path := kept[len(kept)-1].path
		f, err := Check(path, k.plan.Passphrase)
		if errors.Is(err, ErrPassphrase) || errors.Is(err, ErrNeedsPassphrase) {
			k.log.Error("the latest backup cannot be read with this passphrase, so nobody knows whether it holds more than the data folder", slog.String("file", path))
			return nil
		}
		if err != nil {
			k.log.Error("a backup is not good", slog.String("file", path), slog.Any("error", err))
			continue
		}
		k.latest = f
		if holds, err := k.house.Holds(f.BackupInfo); holds || err != nil {
			return err
		}
		return &OlderError{File: f, Have: k.house.Head()}
	}
	return nil
}
