package store

import (
	"slices"
	"strconv"
)

// Holds tells whether the log has all that a checked backup has: it goes on from it, or
// somebody gave the backup up, see [Store.AcceptOlder], or restored another one when this
// one was there to choose. That the log once was in the backup's epoch says nothing: of two
// copies of a folder each may have gone on in it.
func (s *Store) Holds(b BackupInfo) (bool, error) {
	at := s.at.Load()
	if b.Epoch != at.epoch && slices.Contains(at.earlier, unnoted) {
		return true, nil // nobody noted which epochs there were
	}
	if slices.Contains(at.earlier, givenUp(b)) {
		return true, nil
	}
	if passedOver, err := s.passedOver(b); passedOver || err != nil {
		return passedOver, err
	}
	if b.Seq > at.head.seq {
		return false, nil
	}
	h, err := s.hashAt(b.Seq)
	return h == b.head, err
}

// givenUp notes among the epochs before that a backup was given up.
func givenUp(b BackupInfo) string { return b.Epoch + "@" + strconv.FormatInt(b.Seq, 10) }

// passedOver tells whether a backup of an epoch before was there when this folder was
// restored. One made later is of another copy that went on: nobody has decided about it.
func (s *Store) passedOver(b BackupInfo) (bool, error) {
	made, err := s.meta(madeKey)
	if err != nil || made == "" {
		return false, err
	}
	ms, err := strconv.ParseInt(made, 10, 64)
	if err != nil {
		return false, &BadRecordError{What: "time of the restore: " + err.Error()}
	}
	return b.MadeMS <= ms && slices.Contains(s.at.Load().earlier, b.Epoch), nil
}
