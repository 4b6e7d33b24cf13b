package store

import (
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"hoppertally/sync/hub"

	badger "github.com/dgraph-io/badger/v4"
)

var (
	ErrDiskLow = errors.New("store: the disk is nearly full")
	ErrInUse   = errors.New("store: another process has this folder open")
	ErrClosed  = errors.New("store: closed")
	// ErrHalfRestored: the folder holds part of a backup only.
	ErrHalfRestored = errors.New("store: a restore into this folder was cut off")
)

// MinFreeDefault is the free space below which entries are refused. It leaves
// room for the ballast, for what badger has still to write of the entries that
// came before, and for a compaction of a log of its size.
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
	// AcceptLoss opens a log that lost its tail (see TailLostError), or may have lost
	// it (see NoWitnessError), and gives it a new epoch, so that the phones fill it up
	// again.
	AcceptLoss bool

	free func(dir string) (int64, error) // for tests
}

// TailLostError says that the database lacks its latest changes: a damaged file
// was cut off by badger, or an older copy of it was put in place. Restore a
// backup, or open with AcceptLoss.
type TailLostError struct {
	Have, Had int64 // seq
	Changes   int64 // transactions that are gone, those beside the log included
}

func (e *TailLostError) Error() string {
	if e.Have == e.Had {
		return fmt.Sprintf("store: the last %d changes beside the log, such as who is signed in, are gone", e.Changes)
	}
	return fmt.Sprintf("store: the log ends at entry %d but once reached %d", e.Have, e.Had)
}

// Store is an open store. Its methods may be called by many goroutines.
type Store struct {
	dir     string
	opts    Options
	db      *badger.DB
	secret  []byte // of the proofs
	at      atomic.Pointer[place]
	witness *witness // nil until start is through
	pokes   pokes
	backed  atomic.Int64 // see BackedUp
	low     atomic.Bool  // the disk is nearly full
	side    sync.Mutex   // held by an update of anything but the log

	writing sync.Mutex // held while a change commits
	tally   tally      // of the last commit
	durable mark       // head of the log by the last commit

	queue   chan *job
	doubts  chan doubt
	closing chan struct{}
	ended   chan struct{}
	watched chan struct{} // closed when the disk is no longer watched
	once    sync.Once
	closed  error

	seq sequencer
}

// Open opens or makes the store in folder dir. Before badger sees them it checks
// that nothing in its files can bring it down, and afterwards that every key
// beside the log is as it was written ([Store.Each] checks the log). It may return
// ErrDiskLow, ErrInUse, ErrHalfRestored, an *AccessError, a *TailLostError, a
// *NoWitnessError, a *BadRecordError, or an error of the disk.
func Open(dir string, opts Options) (*Store, error) {
	opts = opts.withDefaults()
	if err := os.MkdirAll(dir, 0o700); isReadOnly(err) || errors.Is(err, fs.ErrPermission) {
		return nil, &AccessError{dir, err}
	} else if err != nil {
		return nil, fmt.Errorf("store: make folder: %w", err)
	}
	if err := checkAccess(dir); err != nil {
		return nil, err
	}
	if _, err := os.Stat(filepath.Join(dir, restoringName)); err == nil {
		return nil, ErrHalfRestored
	}
	if err := checkSpace(dir, opts, opts.MinFree/4); err != nil {
		return nil, err
	}
	if err := witnessNewDatabase(dir); err != nil {
		return nil, err
	}
	db, err := openDatabase(dir, opts)
	if err != nil {
		return nil, err
	}
	s := &Store{dir: dir, opts: opts, db: db,
		queue: make(chan *job, 1024), doubts: make(chan doubt), closing: make(chan struct{}), ended: make(chan struct{}), watched: make(chan struct{})}
	if err := s.start(); err != nil {
		db.Close()
		return nil, err
	}
	go s.run()
	go s.watchDisk()
	return s, nil
}

// Names inside a data folder.
const (
	databaseName  = "badger"
	witnessName   = "head"
	ballastName   = "ballast"
	restoringName = "restoring" // stands there while a restore is under way
)

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

// start reads what the database remembers and holds it against its own sums and
// against the witness.
func (s *Store) start() (err error) {
	if err = s.loadPlace(); err != nil {
		return err
	}
	if err := s.loadTally(); err != nil {
		return err
	}
	if err := s.seq.load(s); err != nil {
		return err
	}
	s.durable = s.seq.head
	isNew := s.Epoch() == ""
	s.at.Store(&place{epoch: s.Epoch(), earlier: s.at.Load().earlier, head: s.seq.head})
	if err := s.compareWitness(); err != nil {
		if !s.opts.AcceptLoss || !isLoss(err) {
			return err
		}
		s.opts.Logger.Warn("the loss is accepted, a new epoch begins", slog.Any("error", err))
		isNew = true
	}
	if err := s.keepSecret(); err != nil {
		return err
	}
	s.stand(*s.at.Load())
	if isNew { // before the witness, which must not call a loss forgotten that is not on record
		if err := s.newEpoch(s.Head()); err != nil {
			return err
		}
	}
	backed, err := s.loadBackedUp()
	s.backed.Store(backed)
	if err != nil {
		return err
	}
	s.witness, err = makeWitness(filepath.Join(s.dir, witnessName), witnessed{s.durable, s.tally.changes})
	return err
}

// isLoss tells whether an error is one that AcceptLoss is for.
func isLoss(err error) bool {
	var lost *TailLostError
	var blind *NoWitnessError
	return errors.As(err, &lost) || errors.As(err, &blind)
}

// loadTally checks all keys beside the log. A store that is new has none.
func (s *Store) loadTally() error {
	return s.view(func(t *badger.Txn) (err error) {
		s.tally, err = checkTally(t)
		if errors.Is(err, errNoTally) && s.Epoch() == "" {
			return nil
		}
		return err
	})
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
func (s *Store) Head() int64 { return s.at.Load().head.seq }

// Epoch names this life of the log: a random text made with the store, anew at every
// restore, and when the log went back in time.
func (s *Store) Epoch() string { return s.at.Load().epoch }

// Close ends the sequencer, after what it is committing, and closes the
// database. Pushes that wait are answered with ErrClosed. Nobody may read any more.
// On a disk that others have filled to the end the database is left as a killed
// process leaves it, which loses nothing: closing it would write tables.
func (s *Store) Close() error {
	s.once.Do(func() {
		close(s.closing)
		<-s.ended
		<-s.watched
		s.pokes.close()
		s.dropBallast()
		s.closed = s.closeDatabase()
	})
	return s.closed
}

// closeDatabase gives up when the disk has no room for the tables that closing
// writes: badger would wait for it.
func (s *Store) closeDatabase() error {
	if !s.roomToClose() {
		return nil
	}
	done := make(chan error, 1)
	go func() { done <- s.db.Close() }()
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for {
		select {
		case err := <-done:
			s.witness.close()
			if err != nil {
				return fmt.Errorf("store: close: %w", err)
			}
			return nil
		case <-tick.C:
			if !s.roomToClose() {
				return nil
			}
		}
	}
}
