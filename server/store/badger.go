package store

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"

	badger "github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/options"
)

// openDatabase has badger open its folder, once nothing there can bring it down.
func openDatabase(dir string, opts Options) (*badger.DB, error) {
	folder := filepath.Join(dir, databaseName)
	if err := preflight(folder, opts.Logger); err != nil {
		return nil, err
	}
	db, err := badger.Open(badgerOptions(folder, opts.Logger))
	if err != nil && strings.Contains(err.Error(), "Cannot acquire directory lock") {
		return nil, ErrInUse
	}
	if err != nil {
		return nil, &BadRecordError{What: "the database does not open: " + firstLine(err.Error())}
	}
	return db, nil
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	return s
}

const (
	memTable      = 2 << 20
	memTableFirst = 8 << 20 // of the first programs
)

// memTableSize is what holds the memory tables that a killed program left in folder:
// badger dies over one that is larger than its own, and keeps a log of twice the size
// beside each. Whatever is not ours at full length is taken for one of the first, until
// the folder was closed once.
func memTableSize(folder string) int64 {
	left, err := filepath.Glob(filepath.Join(folder, "*.mem"))
	if err != nil {
		return memTableFirst // never: the pattern is good
	}
	for _, name := range left {
		if info, err := os.Stat(name); err != nil || info.Size() != 2*memTable {
			return memTableFirst
		}
	}
	return memTable
}

// badgerOptions are small. The large part are the builders of tables: badger keeps up to
// eight of them ready, each grown to hold a whole table unpacked and packed, so small
// tables, and a small level to merge into, are what saves memory. Under make load (30 s,
// 130 000 entries) the builders held 58 MB, and 96 to 120 MB with memory tables of 4 MB
// or tables of 1 to 8 MB; a push took as long. A memory table also bounds a transaction,
// to 15 % of it: 314 KB. Every entry stays below ValueThreshold, so the value log, whose
// collection is unpredictable, is not used.
func badgerOptions(dir string, log *slog.Logger) badger.Options {
	return badger.DefaultOptions(dir).
		WithSyncWrites(true).
		WithLogger(badgerLog{log}).
		WithMemTableSize(memTableSize(dir)).
		WithNumMemtables(2).
		WithNumLevelZeroTables(2).
		WithNumLevelZeroTablesStall(4).
		WithBaseTableSize(512 << 10).
		WithBaseLevelSize(2 << 20).
		WithBlockCacheSize(16 << 20).
		WithIndexCacheSize(8 << 20).
		WithValueThreshold(256 << 10).
		WithValueLogFileSize(1 << 20).
		WithNumCompactors(2).
		WithCompression(options.Snappy).
		WithChecksumVerificationMode(options.OnBlockRead).
		WithDetectConflicts(true)
}

// badgerLog passes on what badger warns of.
type badgerLog struct{ log *slog.Logger }

func (l badgerLog) Errorf(f string, a ...any) { l.log.Error("badger: " + text(f, a)) }

// Warningf passes warnings on, but not the statistics of a cache that is small on
// purpose, which badger gives out as warnings every few minutes.
func (l badgerLog) Warningf(f string, a ...any) {
	if strings.Contains(f, "Cache life expectancy") || strings.Contains(f, "might be too small") {
		l.log.Debug("badger: " + text(f, a))
		return
	}
	l.log.Warn("badger: " + text(f, a))
}

func (l badgerLog) Infof(f string, a ...any) { l.log.Debug("badger: " + text(f, a)) }
func (l badgerLog) Debugf(string, ...any)    {}

func text(f string, a []any) string { return strings.TrimSpace(fmt.Sprintf(f, a...)) }
