package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"hoppertally/server/durable"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"

	badger "github.com/dgraph-io/badger/v4"
)

// Restore makes a store in dir, which must be empty or absent, from a backup: it
// reads the file once to check it and once to load it, begins a new epoch and
// verifies the result. After an error dir is as empty as it was, or else Open
// answers ErrHalfRestored.
func Restore(ctx context.Context, dir string, open func() (io.ReadCloser, error), opts Options) (info BackupInfo, err error) {
	if have, err := os.ReadDir(dir); err == nil && len(have) > 0 {
		return info, fmt.Errorf("store: restore: folder %s is not empty", dir)
	}
	opts.Judge = nobody{} // no entry comes before the store is opened anew
	opts = opts.withDefaults()
	again := func(fn func(io.Reader) error) error {
		r, err := open()
		if err != nil {
			return err
		}
		return errors.Join(fn(r), r.Close())
	}
	if err := again(func(r io.Reader) (err error) { info, err = CheckBackup(r); return err }); err != nil {
		return info, err
	}
	err = again(func(r io.Reader) error { return load(dir, r, opts) })
	if err == nil {
		err = begin(ctx, dir, opts)
	}
	if err != nil {
		return info, errors.Join(fmt.Errorf("store: restore: %w", err), emptyOut(dir))
	}
	return info, nil
}

// nobody judges: each entry would be held.
type nobody struct{ hub.Strict }

func (nobody) Judge(*entry.Entry, string, int64) (hub.Outcome, string) { return hub.Held, JudgeFailed }

// begin starts the new life of a loaded store.
func begin(ctx context.Context, dir string, opts Options) error {
	s, err := Open(dir, opts)
	if err != nil {
		return err
	}
	err = s.newEpoch(s.Head())
	if err == nil {
		err = s.update(func(c *change) error { return c.set(madeKey, strconv.AppendInt(nil, s.opts.NowMS(), 10)) })
	}
	if err == nil {
		err = s.Verify(ctx)
	}
	return errors.Join(err, s.Close())
}

// load fills dir with what a checked backup holds.
func load(dir string, backup io.Reader, opts Options) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	if err := checkSpace(dir, opts, opts.MinFree/4); err != nil {
		return err
	}
	mark := filepath.Join(dir, restoringName)
	if err := os.WriteFile(mark, nil, 0o600); err != nil {
		return err
	}
	if err := witnessNewDatabase(dir); err != nil {
		return err
	}
	db, err := badger.Open(badgerOptions(filepath.Join(dir, databaseName), opts.Logger))
	if err != nil {
		return err
	}
	batch := db.NewWriteBatch()
	defer batch.Cancel()
	unchecked := 0
	_, err = readBackup(backup, func(p piece) error {
		if unchecked += len(p.key) + len(p.val); unchecked > 1<<20 {
			unchecked = 0
			if err := checkSpace(dir, opts, opts.MinFree/4); err != nil {
				return err // before badger, which would wait for room
			}
		}
		if p.kind == pairPiece {
			return batch.Set(slices.Clone(p.key), slices.Clone(p.val))
		}
		return restoreFile(dir, string(p.key), p.val)
	})
	if err == nil {
		err = batch.Flush()
	}
	if err := errors.Join(err, db.Close()); err != nil {
		return err
	}
	return os.Remove(mark)
}

// restoreFile puts a file beside the database back in its place.
func restoreFile(dir, rel string, b []byte) error {
	local := filepath.FromSlash(rel)
	if !filepath.IsLocal(local) || strings.HasPrefix(local, databaseName+string(filepath.Separator)) || slices.Contains(transient, local) {
		return ErrBackup
	}
	name := filepath.Join(dir, local)
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return err
	}
	return durable.Write(name, b)
}

func emptyOut(dir string) error {
	have, err := os.ReadDir(dir)
	for _, e := range have {
		err = errors.Join(err, os.RemoveAll(filepath.Join(dir, e.Name())))
	}
	return err
}
