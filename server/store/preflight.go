package store

import (
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"

	badger "github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/options"
	"github.com/dgraph-io/badger/v4/table"
	"github.com/dgraph-io/ristretto/v2/z"
)

// preflight reads badger's files before badger does, for a damaged table makes it
// die in a goroutine of its own, where nobody can catch it. It changes nothing.
// The error is a *BadRecordError.
func preflight(folder string, log *slog.Logger) error {
	tables, err := listedTables(folder)
	if err != nil {
		return err
	}
	for id, compression := range tables {
		name := filepath.Join(folder, table.IDToFilename(id))
		if err := checkTable(name, compression); err != nil {
			return &BadRecordError{What: fmt.Sprintf("file %s: %s", filepath.Base(name), firstLine(err.Error()))}
		}
	}
	return nil
}

// listedTables are the tables that the database's list names. A file that is not
// on it was left behind by a crash; badger removes it.
func listedTables(folder string) (map[uint64]options.CompressionType, error) {
	f, err := os.Open(filepath.Join(folder, badger.ManifestFilename))
	if errors.Is(err, os.ErrNotExist) {
		return nil, noTablesWithoutList(folder)
	}
	if err != nil {
		return nil, fmt.Errorf("store: open the list of tables: %w", err)
	}
	defer f.Close()
	m, _, err := badger.ReplayManifestFile(f, 0, badger.DefaultOptions(folder).WithLogger(nil))
	if err != nil {
		return nil, &BadRecordError{What: "file " + badger.ManifestFilename + ": " + firstLine(err.Error())}
	}
	tables := make(map[uint64]options.CompressionType, len(m.Tables))
	for id, t := range m.Tables {
		tables[id] = t.Compression
	}
	return tables, nil
}

// noTablesWithoutList guards tables whose list is gone: badger would make a new
// list and remove them.
func noTablesWithoutList(folder string) error {
	left, err := filepath.Glob(filepath.Join(folder, "*.sst"))
	if err == nil && len(left) > 0 {
		err = &BadRecordError{What: "file " + badger.ManifestFilename + " is missing"}
	}
	return err
}

// checkTable reads a whole table and its checksums. badger may panic over it.
func checkTable(name string, compression options.CompressionType) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = errors.New("its index cannot be read")
		}
	}()
	m, err := z.OpenMmapFile(name, os.O_RDONLY, 0)
	if err != nil {
		return err
	}
	t, err := table.OpenTable(m, table.Options{ReadOnly: true, ChkMode: options.NoVerification, Compression: compression, BlockSize: 4 << 10})
	if err != nil {
		return err
	}
	return errors.Join(t.VerifyChecksum(), m.Close(-1))
}
