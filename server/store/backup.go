package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"

	badger "github.com/dgraph-io/badger/v4"
)

// backupMagic is the first line of a backup; then comes badger's stream, then a
// SHA-256 over everything before it: badger itself reads a stream with a flipped
// bit without a word.
const backupMagic = "hoppertally backup 1\n"

// ErrBackup is returned for a file that is no backup, or not as it was written.
var ErrBackup = errors.New("store: not an undamaged backup")

// Backup writes the whole store as of one moment, while work goes on, and
// returns a seq up to which the log is surely in it. It is plain text and holds
// the side area with its secrets: guard it.
func (s *Store) Backup(w io.Writer) (seq int64, err error) {
	seq = s.Head()
	sum := sha256.New()
	both := io.MultiWriter(w, sum)
	if _, err := io.WriteString(both, backupMagic); err != nil {
		return 0, fmt.Errorf("store: write backup: %w", err)
	}
	if _, err := s.db.Backup(both, 0); err != nil {
		return 0, fmt.Errorf("store: write backup: %w", err)
	}
	if _, err := w.Write(sum.Sum(nil)); err != nil {
		return 0, fmt.Errorf("store: write backup: %w", err)
	}
	return seq, nil
}

// CheckBackup reads a backup to its end and returns ErrBackup unless it is as
// it was written.
func CheckBackup(r io.Reader) error {
	sum := sha256.New()
	magic := make([]byte, len(backupMagic))
	if _, err := io.ReadFull(r, magic); err != nil || string(magic) != backupMagic {
		return ErrBackup
	}
	sum.Write(magic)
	buf := make([]byte, 0, 1<<16)
	for {
		n, err := r.Read(buf[len(buf):cap(buf)])
		buf = buf[:len(buf)+n]
		if tail := len(buf) - sha256.Size; tail > 0 && (len(buf) == cap(buf) || err != nil) {
			sum.Write(buf[:tail]) // all but what may be the sum itself
			buf = buf[:copy(buf, buf[tail:])]
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			return fmt.Errorf("store: read backup: %w", err)
		}
	}
	if !bytes.Equal(buf, sum.Sum(nil)) {
		return ErrBackup
	}
	return nil
}

// Restore makes a store in dir, which must be empty or absent, from a backup: it
// checks the file, loads it, begins a new epoch and verifies the result. On an
// error dir must be thrown away.
func Restore(ctx context.Context, dir string, backup io.ReadSeeker, opts Options) error {
	if have, err := os.ReadDir(dir); err == nil && len(have) > 0 {
		return fmt.Errorf("store: restore: folder %s is not empty", dir)
	}
	if err := CheckBackup(backup); err != nil {
		return err
	}
	opts = opts.withDefaults()
	size, err := backup.Seek(-sha256.Size, io.SeekEnd)
	if err == nil {
		_, err = backup.Seek(int64(len(backupMagic)), io.SeekStart)
	}
	if err != nil {
		return fmt.Errorf("store: read backup: %w", err)
	}
	if err := load(dir, io.LimitReader(backup, size-int64(len(backupMagic))), opts); err != nil {
		return fmt.Errorf("store: restore: %w", err)
	}
	s, err := Open(dir, opts)
	if err != nil {
		return err
	}
	defer s.Close()
	if err := s.newEpoch(); err != nil {
		return err
	}
	return s.Verify(ctx)
}

func load(dir string, stream io.Reader, opts Options) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	db, err := badger.Open(badgerOptions(filepath.Join(dir, "badger"), opts.Logger))
	if err != nil {
		return err
	}
	return errors.Join(db.Load(stream, 16), db.Close())
}

// SetBackedUp notes that the log up to seq is in a verified backup. It never
// goes back.
func (s *Store) SetBackedUp(seq int64) error {
	have, err := s.BackedUp()
	if err != nil || seq <= have {
		return err
	}
	err = s.db.Update(func(t *badger.Txn) error { return t.Set(backupKey, strconv.AppendInt(nil, seq, 10)) })
	if err != nil {
		return fmt.Errorf("store: note the backup: %w", err)
	}
	return nil
}

// BackedUp is the seq up to which the log is in a verified backup, 0 if there is none.
func (s *Store) BackedUp() (int64, error) {
	v, err := s.meta(backupKey)
	if err != nil || v == "" {
		return 0, err
	}
	seq, err := strconv.ParseInt(v, 10, 64)
	if err != nil {
		return 0, &BadRecordError{What: "seq of the backup: " + err.Error()}
	}
	return seq, nil
}
