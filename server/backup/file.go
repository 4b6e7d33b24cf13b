// Package backup makes, checks and reads the files that a shop's data folder can
// be made anew from, keeps a number of them on a schedule, and lets the command
// line reach a folder that a server has open.
package backup

import (
	"bufio"
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"

	"hoppertally/server/durable"
	"hoppertally/server/store"

	"filippo.io/age"
)

var (
	ErrNeedsPassphrase = errors.New("backup: the file is encrypted, and no passphrase was given")
	ErrPassphrase      = errors.New("backup: that is not the passphrase of this file")
	ErrExists          = errors.New("backup: there is a file of that name already")
)

// File is a backup on a disk that was read back and found good.
type File struct {
	store.BackupInfo
	Path      string
	Bytes     int64
	Encrypted bool
}

// Maker writes a backup: the house, or a server asked through its door. isSealed
// tells that what it writes goes into an encrypted file.
type Maker func(w io.Writer, isSealed bool) error

// Write makes a backup in folder dir under the name that name gives it, encrypted
// if passphrase is not empty. It appears under its name only when it is on the
// disk and was read back and found good; after an error nothing is left. It never
// replaces a file: ErrExists.
func Write(dir string, name func(store.BackupInfo) string, passphrase string, make Maker) (f File, err error) {
	part := filepath.Join(dir, partPrefix+randomName()+partSuffix)
	defer func() {
		if gone := os.Remove(part); gone != nil && !errors.Is(gone, os.ErrNotExist) {
			err = errors.Join(err, gone)
		}
	}()
	if err := writePart(part, passphrase, make); err != nil {
		return f, err
	}
	if f, err = Check(part, passphrase); err != nil {
		return f, fmt.Errorf("read back what was written: %w", err)
	}
	f.Path = filepath.Join(dir, name(f.BackupInfo))
	return f, place(part, f.Path)
}

// Names of files that are not finished.
const (
	partPrefix = ".hoppertally-"
	partSuffix = ".part"
)

func randomName() string {
	var b [6]byte
	rand.Read(b[:])
	return hex.EncodeToString(b[:])
}

func writePart(name, passphrase string, make Maker) (err error) {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	buffered := bufio.NewWriterSize(f, 256<<10)
	if err := fill(buffered, passphrase, make); err != nil {
		return err
	}
	if err := buffered.Flush(); err != nil {
		return err
	}
	return f.Sync()
}

func fill(w io.Writer, passphrase string, make Maker) error {
	if passphrase == "" {
		return make(w, false)
	}
	to, err := age.NewScryptRecipient(passphrase)
	if err != nil {
		return err
	}
	to.SetWorkFactor(workFactor)
	sealed, err := age.Encrypt(w, to)
	if err != nil {
		return err
	}
	if err := make(sealed, true); err != nil {
		return err
	}
	return sealed.Close()
}

// workFactor is the binary logarithm of scrypt's cost; age's own, about a second
// and 256 MB. A variable for the tests, which the race detector slows tenfold.
var workFactor = 18

// place gives a finished file its name and makes that last. A link does not
// replace a file that somebody else put there meanwhile; disks that know no links
// get a plain renaming.
func place(part, path string) error {
	err := os.Link(part, path)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%w: %s", ErrExists, path)
	}
	if err != nil {
		if err := os.Rename(part, path); err != nil {
			return err
		}
	}
	return durable.SyncFolder(filepath.Dir(path))
}

// Check reads a whole backup and returns what it is, or ErrNeedsPassphrase,
// ErrPassphrase, store.ErrBackup, or a *store.BadRecordError.
func Check(path, passphrase string) (f File, err error) {
	r, err := Open(path, passphrase)
	if err != nil {
		return f, err
	}
	defer r.Close()
	st, err := r.file.Stat()
	if err != nil {
		return f, err
	}
	f = File{Path: path, Bytes: st.Size(), Encrypted: r.encrypted}
	f.BackupInfo, err = store.CheckBackup(r)
	return f, err
}

// Restore makes a data folder at dir from the backup at path; see store.Restore.
func Restore(ctx context.Context, path, passphrase, dir string, log *slog.Logger) (store.BackupInfo, error) {
	open := func() (io.ReadCloser, error) { return Open(path, passphrase) }
	return store.Restore(ctx, dir, open, store.Options{Logger: log})
}

// Reader reads a backup in the clear.
type Reader struct {
	file      *os.File
	in        io.Reader
	encrypted bool
}

const agePrefix = "age-encryption.org/"

// Open opens a backup. An encrypted file that is damaged ends with an error.
func Open(path, passphrase string) (*Reader, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	r := &Reader{file: f}
	buffered := bufio.NewReaderSize(f, 256<<10)
	r.in = buffered
	if start, err := buffered.Peek(len(agePrefix)); err == nil && string(start) == agePrefix {
		r.encrypted = true
		if r.in, err = unseal(buffered, passphrase); err != nil {
			return nil, errors.Join(err, f.Close())
		}
	}
	return r, nil
}

func unseal(r io.Reader, passphrase string) (io.Reader, error) {
	if passphrase == "" {
		return nil, ErrNeedsPassphrase
	}
	id, err := age.NewScryptIdentity(passphrase)
	if err != nil {
		return nil, err
	}
	clear, err := age.Decrypt(r, id)
	var none *age.NoIdentityMatchError
	if errors.As(err, &none) {
		return nil, ErrPassphrase
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %v", store.ErrBackup, err)
	}
	return clear, nil
}

// Read gives the backup's bytes; damage to an encrypted file is store.ErrBackup.
func (r *Reader) Read(p []byte) (int, error) {
	n, err := r.in.Read(p)
	if err != nil && err != io.EOF && r.encrypted {
		err = fmt.Errorf("%w: %v", store.ErrBackup, err)
	}
	return n, err
}

func (r *Reader) Close() error { return r.file.Close() }

// Passphrase reads the first line of a file; an empty name gives no passphrase.
func Passphrase(name string) (string, error) {
	if name == "" {
		return "", nil
	}
	b, err := os.ReadFile(name)
	if err != nil {
		return "", fmt.Errorf("read the passphrase of the backups: %w", err)
	}
	line, _, _ := strings.Cut(string(b), "\n")
	if line = strings.TrimRight(line, "\r"); line == "" {
		return "", fmt.Errorf("the first line of %s is empty: it should be the passphrase of the backups", name)
	}
	return line, nil
}
