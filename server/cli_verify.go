package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"time"

	"hoppertally/server/backup"
	"hoppertally/server/house"
	"hoppertally/server/store"
)

type verifyCmd struct {
	Backup         string `arg:"" optional:"" type:"path" help:"Backup to rehearse a restore of, into a temporary folder. Without it: check the data folder."`
	Data           string `default:"data" type:"path" help:"Folder that holds the shop's data. The server must not be running on it. Where nothing can be written, a copy in the temporary folder is checked."`
	PassphraseFile string `type:"path" help:"File whose first line is the passphrase of an encrypted backup."`
}

func (c verifyCmd) Run(ctx context.Context, s *streams) error {
	if c.Backup != "" {
		return rehearse(ctx, s, c.Backup, c.PassphraseFile)
	}
	if err := shopIn(c.Data); err != nil {
		return err
	}
	log := newLog(s.err, "warn")
	h, err := house.Open(c.Data, house.Options{Slog: log})
	if cannotWrite(err) {
		return c.aside(ctx, s, err, log)
	}
	if err != nil {
		return cannotOpen(err, c.Data)
	}
	defer h.Close()
	fmt.Fprintf(s.out, "opens     yes\n")
	return advise(inspect(ctx, s, h), c.Data)
}

// cannotWrite tells whether a folder does not open because nothing can be written there.
func cannotWrite(err error) bool {
	var refused *store.AccessError
	return errors.Is(err, store.ErrDiskLow) || errors.As(err, &refused)
}

// aside checks a copy of the folder, which itself stays as it is, for why is what keeps
// it from being opened.
func (c verifyCmd) aside(ctx context.Context, s *streams, why error, log *slog.Logger) error {
	dir, err := store.CopyAside(c.Data, []string{os.TempDir(), "/dev/shm"})
	switch {
	case errors.Is(err, store.ErrDiskLow):
		return fmt.Errorf("%w\nNor can a copy be checked: %v. Set TMPDIR to a folder with more room", why, err)
	case err != nil:
		return cannotOpen(err, c.Data)
	}
	return errors.Join(c.inspectCopy(ctx, s, dir, why, log), os.RemoveAll(dir))
}

func (c verifyCmd) inspectCopy(ctx context.Context, s *streams, dir string, why error, log *slog.Logger) error {
	fmt.Fprintf(s.out, "copy      checked instead of the folder, because of this: %v\n", why)
	h, err := house.Open(dir, house.Options{Slog: log, MinFree: store.AsideRoom})
	if err != nil {
		return advise(err, c.Data)
	}
	fmt.Fprintf(s.out, "opens     yes\n")
	return advise(errors.Join(inspect(ctx, s, h), h.Close()), c.Data)
}

// inspect checks the disk's records and their hashes, and proves the invariants
// of the books, twice: two folds of one log must agree.
func inspect(ctx context.Context, s *streams, h *house.House) error {
	if err := h.Verify(ctx); err != nil {
		return err
	}
	hash, n, err := h.Books.Check()
	if err != nil {
		return fmt.Errorf("the books do not add up: %w", err)
	}
	again, err := h.Refold()
	if err != nil {
		return err
	}
	if again != hash {
		return fmt.Errorf("two folds of one log differ: %s and %s", hash, again)
	}
	refused, err := h.Quarantine(1000)
	if err != nil {
		return err
	}
	last, err := lastReceived(h)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "log       %d entries in epoch %s, every hash right; the last came %s\nbooks     %d entries folded, in balance to the milligram\nstate     %s\nstore     %s\nattention %d\nrefused   %d kept in quarantine\n",
		h.Head(), h.Epoch(), last, n, hash, h.Digest(), h.Books.Open(), len(refused))
	return nil
}

// lastReceived is when the last entry came.
func lastReceived(h *house.House) (string, error) {
	if h.Head() == 0 {
		return "never", nil
	}
	p, err := h.Pull(h.Head()-1, 1, 1)
	if err != nil {
		return "", err
	}
	return dateOf(p.Entries[0].ReceivedMS), nil
}

func dateOf(ms int64) string { return time.UnixMilli(ms).UTC().Format("2006-01-02 15:04:05 UTC") }

// rehearse restores a backup into a temporary folder, inspects that, and throws
// it away.
func rehearse(ctx context.Context, s *streams, file, passphraseFile string) (err error) {
	dir, err := os.MkdirTemp("", "hoppertally-rehearsal-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	if _, err := restoreInto(ctx, s, dir, file, passphraseFile); err != nil {
		return err
	}
	fmt.Fprintln(s.out, "This backup can be restored. Nothing was changed.")
	return nil
}

// restoreInto restores a file and inspects what came of it.
func restoreInto(ctx context.Context, s *streams, dir, file, passphraseFile string) (info store.BackupInfo, err error) {
	passphrase, err := backup.Passphrase(passphraseFile)
	if err != nil {
		return info, &exit{exitUsage, err}
	}
	if have, err := os.ReadDir(dir); err == nil && len(have) > 0 {
		return info, &exit{exitUsage, fmt.Errorf("the folder %s is not empty; restore into a new one", dir)}
	}
	log := newLog(s.err, "warn")
	info, err = backup.Restore(ctx, file, passphrase, dir, log)
	if err != nil {
		return info, adviseBackup(err, file)
	}
	fmt.Fprintf(s.out, "backup    made %s by shop %s, up to entry %d\n", dateOf(info.MadeMS), info.Shop, info.Seq)
	h, err := openHouse(dir, house.Options{Slog: log})
	if err != nil {
		return info, err
	}
	return info, errors.Join(inspect(ctx, s, h), h.Close())
}

// advise adds to an error about a data folder what can be done.
func advise(err error, dir string) error {
	var (
		lost    *store.TailLostError
		blind   *store.NoWitnessError
		refused *store.AccessError
		bad     *store.BadRecordError
		older   *backup.OlderError
	)
	switch {
	case errors.As(err, &blind):
		return fmt.Errorf(`%w

What to do: if the folder was copied without that file, copy it again, all of it, while no
server runs on it. Otherwise keep %s as it is, and restore the newest backup into a new
folder:
  hoppertally restore FILE --data NEWFOLDER
The phones then send again what that backup lacks. Without a backup: serve with
--accept-loss, and the phones send again what they have`, err, dir)
	case errors.As(err, &lost):
		return fmt.Errorf(`%w

What to do: keep the folder %s as it is, and restore the newest backup into a new one:
  hoppertally restore FILE --data NEWFOLDER
The phones then send again what that backup lacks. Without a backup: serve with
--accept-loss, and the phones send again what they have`, err, dir)
	case errors.As(err, &older):
		return fmt.Errorf(`%w

Phones let go of what a backup holds, so they cannot send all of it again.
What to do: keep the folder %s as it is, and restore that backup into a new one:
  hoppertally restore %s --data NEWFOLDER
The phones then send again what it lacks. To give up what only that backup holds: serve
with --accept-loss, and the phones send again what they have`, err, dir, older.File.Path)
	case errors.As(err, &refused) && refused.IsReadOnly():
		return fmt.Errorf(`%w

What to do: mount it for writing, and start again. Nothing is damaged. A disk that became
read-only by itself may be failing: look into the system's log first (dmesg), and check the
folder with hoppertally verify --data %s`, err, dir)
	case errors.As(err, &refused):
		return fmt.Errorf(`%w

What to do: run this as the user who owns the folder, or give all of it to the user who is
to serve it. Nothing is damaged; often a command was run as root.
  chown -R USER %s`, err, dir)
	case errors.As(err, &bad):
		return fmt.Errorf(`%w

What to do: do not serve this folder, and keep %s as it is: the disk may be failing.
Restore the newest backup into a new folder, best on another disk:
  hoppertally verify FILE
  hoppertally restore FILE --data NEWFOLDER
The phones then send again what that backup lacks`, err, dir)
	case errors.Is(err, store.ErrDiskLow):
		return fmt.Errorf(`%w

What to do: make room on the disk that holds %s, then try again. Nothing is damaged;
the phones keep what they record until then`, err, dir)
	case errors.Is(err, store.ErrHalfRestored):
		return fmt.Errorf(`%w

What to do: empty the folder %s and restore once more`, err, dir)
	}
	return err
}

// adviseBackup adds to an error about a backup what can be done.
func adviseBackup(err error, file string) error {
	var bad *store.BadRecordError
	switch {
	case errors.Is(err, backup.ErrNeedsPassphrase), errors.Is(err, backup.ErrPassphrase):
		return &exit{exitUsage, fmt.Errorf("%w: give --passphrase-file", err)}
	case errors.Is(err, store.ErrDiskLow):
		return fmt.Errorf(`%w

What to do: make room on the disk of the new folder, or take another disk; verify FILE
works in the folder that TMPDIR names. Nothing is wrong with the backup`, err)
	case errors.Is(err, store.ErrBackup), errors.As(err, &bad):
		return fmt.Errorf(`%s cannot be restored: %w

What to do: take the backup before it, or another copy of this one, and try it with
  hoppertally verify FILE
Make a new backup now if the server still runs`, file, err)
	}
	return err
}
