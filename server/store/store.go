package store

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"hoppertally/sync/hub"

	badger "github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/options"
)

var (
	ErrDiskLow = errors.New("store: the disk is nearly full")
	ErrInUse   = errors.New("store: another process has this folder open")
	ErrClosed  = errors.New("store: closed")
)

// MinFreeDefault is the free space below which entries are refused. It leaves
// room for what badger lays out beforehand (two value logs of 64 MB, memory
// tables) and for a compaction of a log of its size.
const MinFreeDefault = 256 << 20

// Options say how to open a store. Judge is required.
type Options struct {
	Logger *slog.Logger // nil: silent
	// Judge is asked by the sequencer, one entry at a time. It sees the shop as
	// Applied left it, that is without the other entries of the same commit.
	// If it panics the entry is held with reason JudgeFailed.
	Judge hub.Judge
	// Applied is called by the sequencer after each commit with the records in
	// the order of their seq, before the head moves and before the pushes are
	// answered. Entries from before Open come by Each. May be nil.
	Applied func([]Record)
	// NowMS is the server's clock; nil: the system's.
	NowMS func() int64
	// MinFree is the free space in bytes below which Push answers ErrDiskLow;
	// at half of it KV writes do, at a quarter Open does. 0: MinFreeDefault.
	MinFree int64
	// AcceptLoss opens a log that lost its tail (see TailLostError) and gives it
	// a new epoch, so that the phones fill it up again.
	AcceptLoss bool

	free func(dir string) (int64, error) // for tests
}

// TailLostError says that the log ends before an entry that it once held: a
// damaged file was cut off by the database, or an older copy of it was put in
// place. Restore a backup, or open with AcceptLoss.
type TailLostError struct {
	Have, Had int64 // seq
}

func (e *TailLostError) Error() string {
	return fmt.Sprintf("store: the log ends at entry %d but once reached %d", e.Have, e.Had)
}

// Store is an open store. Its methods may be called by many goroutines.
type Store struct {
	dir     string
	opts    Options
	db      *badger.DB
	epoch   string
	witness *witness
	head    atomic.Int64
	pokes   pokes
	side    sync.Mutex // held by an update of the side area

	queue   chan *job
	closing chan struct{}
	ended   chan struct{}
	once    sync.Once
	closed  error

	seq sequencer
}

// Open opens or makes the store in folder dir. It may return ErrDiskLow,
// ErrInUse, a *TailLostError, a *BadRecordError about the head, or an error of
// the disk.
func Open(dir string, opts Options) (*Store, error) {
	opts = opts.withDefaults()
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("store: make folder: %w", err)
	}
	if err := checkSpace(dir, opts, opts.MinFree/4); err != nil {
		return nil, err
	}
	db, err := badger.Open(badgerOptions(filepath.Join(dir, "badger"), opts.Logger))
	if err != nil {
		if strings.Contains(err.Error(), "Cannot acquire directory lock") {
			return nil, ErrInUse
		}
		return nil, fmt.Errorf("store: open: %w", err)
	}
	s := &Store{dir: dir, opts: opts, db: db,
		queue: make(chan *job, 1024), closing: make(chan struct{}), ended: make(chan struct{})}
	if err := s.start(); err != nil {
		db.Close()
		return nil, err
	}
	go s.run()
	return s, nil
}

func (o Options) withDefaults() Options {
	if o.Judge == nil {
		panic("store: Options.Judge is required")
	}
	if o.Logger == nil {
		o.Logger = slog.New(slog.DiscardHandler)
	}
	if o.Applied == nil {
		o.Applied = func([]Record) {}
	}
	if o.NowMS == nil {
		o.NowMS = func() int64 { return time.Now().UnixMilli() }
	}
	if o.MinFree == 0 {
		o.MinFree = MinFreeDefault
	}
	if o.free == nil {
		o.free = freeBytes
	}
	o.Judge = calm{o.Judge, o.Logger}
	return o
}

// badgerOptions are small: measured with 200,000 documents, 86 MB of memory
// against 236 MB by default. Every entry stays below ValueThreshold, so the
// value log, whose collection is unpredictable, is not used.
func badgerOptions(dir string, log *slog.Logger) badger.Options {
	return badger.DefaultOptions(dir).
		WithSyncWrites(true).
		WithLogger(badgerLog{log}).
		WithMemTableSize(8 << 20).
		WithNumMemtables(2).
		WithNumLevelZeroTables(2).
		WithNumLevelZeroTablesStall(4).
		WithBaseTableSize(2 << 20).
		WithBlockCacheSize(16 << 20).
		WithIndexCacheSize(8 << 20).
		WithValueThreshold(256 << 10).
		WithValueLogFileSize(64 << 20).
		WithNumCompactors(2).
		WithCompression(options.Snappy).
		WithChecksumVerificationMode(options.OnBlockRead).
		WithDetectConflicts(true)
}

// start reads what the database remembers and holds it against the witness.
func (s *Store) start() (err error) {
	if s.epoch, err = s.meta(epochKey); err != nil {
		return err
	}
	if s.epoch == "" {
		if err := s.newEpoch(); err != nil {
			return err
		}
	}
	if err := s.seq.load(s); err != nil {
		return err
	}
	s.head.Store(s.seq.head.seq)
	if s.witness, err = openWitness(filepath.Join(s.dir, "head")); err != nil {
		return err
	}
	err = s.compareWitness()
	var lost *TailLostError
	if errors.As(err, &lost) && s.opts.AcceptLoss {
		s.opts.Logger.Warn("the log lost its tail, a new epoch begins", "have", lost.Have, "had", lost.Had)
		err = s.newEpoch()
	}
	if err == nil {
		err = s.witness.write(s.seq.head)
	}
	if err != nil {
		s.witness.close()
	}
	return err
}

func (s *Store) newEpoch() error {
	var b [16]byte
	rand.Read(b[:])
	s.epoch = hex.EncodeToString(b[:])
	err := s.db.Update(func(t *badger.Txn) error { return t.Set(epochKey, []byte(s.epoch)) })
	if err != nil {
		return fmt.Errorf("store: write the epoch: %w", err)
	}
	return nil
}

// meta reads a short value, empty if there is none.
func (s *Store) meta(key []byte) (v string, err error) {
	err = s.view(func(t *badger.Txn) error {
		b, err := get(t, key)
		v = string(b)
		return err
	})
	if err != nil {
		return "", fmt.Errorf("store: read %s: %w", key, err)
	}
	return v, nil
}

// view reads as of one moment. badger may panic over a damaged table; that
// becomes a *BadRecordError. fn must not call code from outside this package,
// whose panics would be taken for damage.
func (s *Store) view(fn func(*badger.Txn) error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &BadRecordError{What: fmt.Sprintf("the database fails over one of its tables: %v", p)}
		}
	}()
	return s.db.View(fn)
}

// get reads a copy of a value, nil if there is none.
func get(t *badger.Txn, key []byte) ([]byte, error) {
	it, err := t.Get(key)
	if errors.Is(err, badger.ErrKeyNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return it.ValueCopy(nil)
}

func checkSpace(dir string, opts Options, least int64) error {
	free, err := opts.free(dir)
	if err != nil {
		return fmt.Errorf("store: ask for the free space: %w", err)
	}
	if free < least {
		return fmt.Errorf("%w: %d MB free, %d MB needed", ErrDiskLow, free>>20, least>>20)
	}
	return nil
}

// Head is the seq of the latest entry that readers may see, 0 of an empty log.
func (s *Store) Head() int64 { return s.head.Load() }

// Epoch names this life of the log: a random text made with the store and anew
// at every restore.
func (s *Store) Epoch() string { return s.epoch }

// Close ends the sequencer, after what it is committing, and closes the
// database. Pushes that wait are answered with ErrClosed. Nobody may read any more.
func (s *Store) Close() error {
	s.once.Do(func() {
		close(s.closing)
		<-s.ended
		s.pokes.close()
		s.witness.close()
		if err := s.db.Close(); err != nil {
			s.closed = fmt.Errorf("store: close: %w", err)
		}
	})
	return s.closed
}

// badgerLog passes on what badger warns of.
type badgerLog struct{ log *slog.Logger }

func (l badgerLog) Errorf(f string, a ...any)   { l.log.Error("badger: " + text(f, a)) }
func (l badgerLog) Warningf(f string, a ...any) { l.log.Warn("badger: " + text(f, a)) }
func (l badgerLog) Infof(f string, a ...any)    { l.log.Debug("badger: " + text(f, a)) }
func (l badgerLog) Debugf(string, ...any)       {}

func text(f string, a []any) string { return strings.TrimSpace(fmt.Sprintf(f, a...)) }
