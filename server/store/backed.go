package store

import (
	"fmt"
	"strconv"
)

// Backups is how a shop stands with its backups.
type Backups struct {
	LastMS int64  // when the last good one was made; 0: never
	Seq    int64  // the last entry in it
	Fault  string // why the last try brought none; empty if it did
}

// SetBackedUp notes that the log up to seq is in a verified backup. It never
// goes back within an epoch.
func (s *Store) SetBackedUp(seq int64) error {
	if seq > s.Head() {
		return &CursorError{seq, s.Head()}
	}
	err := s.update(func(c *change) error {
		if seq <= s.backed.Load() {
			return nil
		}
		return c.set(backupKey, strconv.AppendInt(nil, seq, 10))
	})
	if err != nil {
		return fmt.Errorf("store: note the backup: %w", err)
	}
	for have := s.backed.Load(); seq > have && !s.backed.CompareAndSwap(have, seq); have = s.backed.Load() {
	}
	return nil
}

// BackedUp is the seq up to which the log is in a verified backup, 0 if there is none.
func (s *Store) BackedUp() int64 { return s.backed.Load() }

func (s *Store) loadBackedUp() (int64, error) {
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
