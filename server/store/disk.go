package store

import (
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	badger "github.com/dgraph-io/badger/v4"
)

// watchEvery is how often the free space is looked at between commits.
const watchEvery = 2 * time.Second

// DiskLow tells whether entries are refused because the disk is nearly full. It
// follows the disk both ways.
func (s *Store) DiskLow() bool { return s.low.Load() }

// watchDisk looks at the free space until the store closes.
//
// The ballast is a file of a quarter of MinFree that is really laid out on the
// disk. When somebody else has filled the disk it is given up, so that what
// badger still has to write (a table that waits for room, the tables at closing)
// finds it.
func (s *Store) watchDisk() {
	defer close(s.watched)
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for {
		s.lookAtDisk()
		select {
		case <-s.closing:
			return
		case <-tick.C:
		}
	}
}

func (s *Store) lookAtDisk() {
	free, err := s.opts.free(s.dir)
	if err != nil {
		s.opts.Logger.Error("ask for the free space", slog.Any("error", err))
		return
	}
	s.noteSpace(free)
	if err := s.manifestRoom(); err != nil {
		s.opts.Logger.Debug("no room beforehand for the list of tables", slog.Any("error", err))
	}
	switch {
	case free < s.opts.MinFree/8:
		s.dropBallast()
	case free > s.opts.MinFree*2:
		if err := layBallast(filepath.Join(s.dir, ballastName), s.opts.MinFree/4); err != nil {
			s.opts.Logger.Warn("no ballast on the disk", slog.Any("error", err))
		}
	}
}

// manifestRoom gives badger's list of tables blocks beyond its end. A line of it that
// is half written on a full disk, with a whole one behind it, is damage.
func (s *Store) manifestRoom() error {
	f, err := os.OpenFile(filepath.Join(s.dir, databaseName, badger.ManifestFilename), os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return err
	}
	return reserve(f, st.Size()+64<<10)
}

// noteSpace moves DiskLow and says so once.
func (s *Store) noteSpace(free int64) {
	low := free < s.opts.MinFree
	if s.low.Swap(low) == low {
		return
	}
	if low {
		s.opts.Logger.Error("the disk is nearly full: no more entries are taken until there is room; phones keep what they record",
			slog.Int64("free_mb", free>>20), slog.Int64("needed_mb", s.opts.MinFree>>20))
		return
	}
	s.opts.Logger.Info("there is room on the disk again: entries are taken", slog.Int64("free_mb", free>>20))
}

// room is asked before each commit of entries.
func (s *Store) room() error {
	free, err := s.opts.free(s.dir)
	if err != nil {
		return fmt.Errorf("store: ask for the free space: %w", err)
	}
	s.noteSpace(free)
	if free < s.opts.MinFree {
		return fmt.Errorf("%w: %d MB free, %d MB needed", ErrDiskLow, free>>20, s.opts.MinFree>>20)
	}
	return nil
}

// closeRoom is what closing may write: two memory tables of 8 MB, and a merge.
const closeRoom = 32 << 20

func (s *Store) roomToClose() bool {
	free, err := s.opts.free(s.dir)
	if err != nil || free >= min(closeRoom, s.opts.MinFree/4) {
		return true
	}
	s.opts.Logger.Warn("no room on the disk to close the database: it is left as it is, nothing is lost", slog.Int64("free_mb", free>>20))
	return false
}

func layBallast(name string, size int64) error {
	if st, err := os.Stat(name); err == nil && st.Size() == size {
		return nil
	}
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	if err := errors.Join(allocate(f, size), f.Close()); err != nil {
		return errors.Join(err, os.Remove(name))
	}
	return nil
}

func (s *Store) dropBallast() {
	if err := os.Remove(filepath.Join(s.dir, ballastName)); err != nil && !errors.Is(err, os.ErrNotExist) {
		s.opts.Logger.Warn("the ballast does not go", slog.Any("error", err))
	}
}
