package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"hoppertally/server/backup"
	"hoppertally/server/house"
	"hoppertally/server/store"
)

type backupCmd struct {
	File           string `arg:"" type:"path" help:"Where to write it. A folder: under a name of its own in there. A file that is there is never replaced."`
	Data           string `default:"data" type:"path" help:"Folder that holds the shop's data; a server may be running on it."`
	PassphraseFile string `type:"path" help:"Encrypt the backup: file whose first line is the passphrase. Without it whoever has the backup can read it and sign in, and the key of --https local is left out."`
}

// Run writes one backup and reads it back. A server that runs on the folder makes
// it; else the folder is opened here.
func (c backupCmd) Run(ctx context.Context, s *streams) error {
	passphrase, err := backup.Passphrase(c.PassphraseFile)
	if err != nil {
		return &exit{exitUsage, err}
	}
	if err := shopIn(c.Data); err != nil {
		return err
	}
	dir, name := filepath.Dir(c.File), func(store.BackupInfo) string { return filepath.Base(c.File) }
	if st, err := os.Stat(c.File); err == nil {
		if !st.IsDir() {
			return &exit{exitUsage, fmt.Errorf("%w: %s", backup.ErrExists, c.File)}
		}
		dir, name = c.File, backup.FileName
	}
	make, good, leave, err := c.maker(ctx, s)
	if err != nil {
		return err
	}
	defer leave()
	f, err := backup.Write(dir, name, passphrase, make)
	if err != nil {
		return err
	}
	if err := good(f.BackupInfo); err != nil {
		return fmt.Errorf("the backup %s is good, but the server could not note it: %w", f.Path, err)
	}
	how := "not encrypted: keep it where only you can read it"
	if f.Encrypted {
		how = "encrypted: without the passphrase nobody can restore it"
	}
	fmt.Fprintf(s.out, "%s\n%d entries, %.1f MB, read back and found good; %s\n", f.Path, f.Seq, float64(f.Bytes)/1e6, how)
	return nil
}

// maker finds who has the folder open.
func (c backupCmd) maker(ctx context.Context, s *streams) (make backup.Maker, good func(store.BackupInfo) error, leave func(), err error) {
	call, err := backup.Call(c.Data)
	if err == nil {
		return call.Backup(ctx), func(i store.BackupInfo) error { return call.Good(ctx, i) }, func() {}, nil
	}
	if !errors.Is(err, backup.ErrNobody) {
		return nil, nil, nil, err
	}
	log := newLog(s.err, "warn")
	h, err := openHouse(c.Data, house.Options{Slog: log})
	if err != nil {
		return nil, nil, nil, err
	}
	return h.Backup, h.NoteHandBackup, func() { closeHouse(h, log) }, nil
}

type restoreCmd struct {
	File           string `arg:"" type:"path" help:"The backup."`
	Data           string `default:"data" type:"path" help:"Folder to make; it must be empty or not there."`
	PassphraseFile string `type:"path" help:"File whose first line is the passphrase of an encrypted backup."`
}

func (c restoreCmd) Run(ctx context.Context, s *streams) error {
	if _, err := restoreInto(ctx, s, c.Data, c.File, c.PassphraseFile); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "Restored into %s. Serve it under the address that the phones know:\n  hoppertally serve --data %s\nThe phones notice and send again what this backup lacks.\n", c.Data, c.Data)
	return nil
}

// backupPlan is serve's part about backups.
type backupPlan struct {
	Dir            string        `type:"path" help:"Keep backups in this folder, best on another disk. Without it none are made by themselves."`
	Every          time.Duration `default:"24h" help:"How often."`
	Keep           int           `default:"14" help:"How many are kept; the oldest goes once a new one was read back. Phones keep their own entries until the oldest kept backup holds them."`
	PassphraseFile string        `type:"path" help:"Encrypt them: file whose first line is the passphrase. Keep a copy of it elsewhere."`
}

// attend opens the door for the command line and makes backups by plan, until
// leave is called. A folder that lacks what a backup of the plan holds is an error, unless
// the person accepts that.
func attend(ctx context.Context, h *house.House, dir string, p backupPlan, acceptLoss bool, log *slog.Logger) (leave func(), err error) {
	keeper, err := p.keeper(h, log)
	if err != nil {
		return nil, err
	}
	if err := compare(ctx, h, keeper, acceptLoss); err != nil {
		return nil, advise(err, dir)
	}
	if err := h.NotePlan(keeper != nil); err != nil {
		return nil, err
	}
	door, err := backup.OpenDoor(dir, h, log)
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(ctx)
	var busy sync.WaitGroup
	if keeper != nil {
		busy.Go(func() { keeper.Run(ctx) })
	}
	return func() {
		stop()
		if err := door.Close(); err != nil {
			log.Warn("close the door for the command line", slog.Any("error", err))
		}
		busy.Wait()
	}, nil
}

func compare(ctx context.Context, h *house.House, keeper *backup.Keeper, acceptLoss bool) error {
	if keeper == nil {
		return nil
	}
	err := keeper.Compare()
	if older := (*backup.OlderError)(nil); errors.As(err, &older) && acceptLoss {
		return h.AcceptOlder(ctx, older.File.BackupInfo)
	}
	return err
}

// keeper is nil without a folder.
func (p backupPlan) keeper(h *house.House, log *slog.Logger) (*backup.Keeper, error) {
	if p.Dir == "" {
		return nil, nil
	}
	if p.Every < time.Second || p.Keep < 1 {
		return nil, &exit{exitUsage, errors.New("--backup-every is at least 1s and --backup-keep at least 1")}
	}
	passphrase, err := backup.Passphrase(p.PassphraseFile)
	if err != nil {
		return nil, &exit{exitUsage, err}
	}
	return backup.NewKeeper(backup.Plan{Dir: p.Dir, Every: p.Every, Keep: p.Keep, Passphrase: passphrase}, h, log, time.Now)
}
