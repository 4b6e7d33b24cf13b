package store

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
	"path/filepath"

	"hoppertally/server/durable"

	badger "github.com/dgraph-io/badger/v4"
)

// witness is a small file beside the database that remembers the head of the log and
// the number of changes. It is there before the database, and lets Open find one that
// lost its tail. It is written after each commit without being synced: it survives a
// killed process, and after a power cut it may remember an older state, which is as true.
//
// It has two slots in sectors of their own, written in turns: whatever a power cut
// tears, one of them is whole. Earlier programs wrote the first slot only.
type witness struct {
	f    *os.File
	next int // slot
}

const (
	slots   = 2
	slotAt  = 4096 // distance of the slots, no less than a sector
	slotLen = 8 + sha256.Size + 8 + 4
)

// witnessed is what a witness remembers.
type witnessed struct {
	head    mark
	changes int64
}

func (w witnessed) append(dst []byte) []byte {
	b := binary.BigEndian.AppendUint64(w.head.append(nil), uint64(w.changes))
	return append(dst, binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b))...)
}

// readSlot is false for a slot that is not whole.
func readSlot(b []byte) (w witnessed, isWhole bool) {
	if len(b) < slotLen || crc32.ChecksumIEEE(b[:slotLen-4]) != binary.BigEndian.Uint32(b[slotLen-4:slotLen]) {
		return w, false
	}
	head, err := readMark(b[:8+sha256.Size])
	return witnessed{head, int64(binary.BigEndian.Uint64(b[8+sha256.Size:]))}, err == nil
}

// readWitness gives the newest of the slots that are whole, false if none is.
func readWitness(name string) (w witnessed, known bool, err error) {
	b, err := os.ReadFile(name)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return w, false, fmt.Errorf("store: read the witness: %w", err)
	}
	for at := 0; at < min(len(b), slots*slotAt); at += slotAt {
		if s, isWhole := readSlot(b[at:]); isWhole && (!known || s.changes > w.changes) {
			w, known = s, true
		}
	}
	return w, known, nil
}

// makeWitness puts a new witness in place of any other. Both slots remember the same,
// so that nothing of the one before can speak again.
func makeWitness(name string, w witnessed) (*witness, error) {
	b := make([]byte, slots*slotAt)
	for at := 0; at < len(b); at += slotAt {
		copy(b[at:], w.append(nil))
	}
	if err := durable.Write(name, b); err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	f, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return nil, fmt.Errorf("store: open the witness: %w", err)
	}
	return &witness{f: f}, nil
}

func (w *witness) write(s witnessed) error {
	if _, err := w.f.WriteAt(s.append(nil), int64(w.next)*slotAt); err != nil {
		return fmt.Errorf("store: write the witness: %w", err)
	}
	w.next = (w.next + 1) % slots
	return nil
}

func (w *witness) close() { w.f.Close() }

// witnessNewDatabase makes a witness of nothing where there is no database yet. So a
// database without one has lost it.
func witnessNewDatabase(dir string) error {
	name := filepath.Join(dir, witnessName)
	have, err := os.ReadDir(filepath.Join(dir, databaseName))
	if len(have) > 0 || err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if _, err := os.Stat(name); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	w, err := makeWitness(name, witnessed{})
	if err == nil {
		w.close()
	}
	return err
}

// NoWitnessError says that the file which remembers how far the log went is gone or
// damaged. Nothing tells whether the log's end is its true end. Restore a backup, or
// open with AcceptLoss.
type NoWitnessError struct {
	Have int64 // seq
}

func (e *NoWitnessError) Error() string {
	return fmt.Sprintf("store: the file %s, which remembers how far the log went, is gone or damaged: nothing tells whether entry %d is really the last one", witnessName, e.Have)
}

// compareWitness holds the database against what the witness remembers. The error is
// a *NoWitnessError, a *TailLostError, a *BadRecordError, or one of the disk.
func (s *Store) compareWitness() error {
	w, known, err := readWitness(filepath.Join(s.dir, witnessName))
	switch {
	case err != nil:
		return err
	case !known:
		return &NoWitnessError{Have: s.seq.head.seq}
	case w.head.seq > s.seq.head.seq || w.changes > s.tally.changes:
		return &TailLostError{Have: s.seq.head.seq, Had: max(w.head.seq, s.seq.head.seq), Changes: max(0, w.changes-s.tally.changes)}
	case w.head.seq == 0:
		return nil
	}
	return s.view(func(t *badger.Txn) error {
		b, err := get(t, logKey(w.head.seq))
		if err != nil {
			return fmt.Errorf("store: read entry %d: %w", w.head.seq, err)
		}
		h, _, err := splitLog(b)
		if err != nil || h != w.head.hash {
			return &BadRecordError{Seq: w.head.seq, What: "is not the one that the witness file remembers"}
		}
		return nil
	})
}
