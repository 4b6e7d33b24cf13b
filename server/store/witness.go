package store

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"os"

	badger "github.com/dgraph-io/badger/v4"
)

// witness is a small file beside the database that remembers the head of the
// log and the number of changes. It is written after each commit without being
// synced: it survives a killed process, and after a power cut it may remember an
// older state, which is as true. It lets Open find a database that lost its tail.
type witness struct{ f *os.File }

func openWitness(name string) (*witness, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("store: open the witness: %w", err)
	}
	return &witness{f}, nil
}

func (w *witness) write(m mark, changes int64) error {
	b := binary.BigEndian.AppendUint64(m.append(nil), uint64(changes))
	b = binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b))
	if _, err := w.f.WriteAt(b, 0); err != nil {
		return fmt.Errorf("store: write the witness: %w", err)
	}
	return nil
}

// read returns what is remembered; a new, torn or damaged file remembers nothing.
func (w *witness) read() (m mark, changes int64, known bool) {
	const n = 8 + sha256.Size + 8
	b := make([]byte, n+4)
	if _, err := io.ReadFull(io.NewSectionReader(w.f, 0, int64(len(b))), b); err != nil {
		return m, 0, false
	}
	if crc32.ChecksumIEEE(b[:n]) != binary.BigEndian.Uint32(b[n:]) {
		return m, 0, false
	}
	m, err := readMark(b[:n-8])
	return m, int64(binary.BigEndian.Uint64(b[n-8:])), err == nil
}

func (w *witness) close() { w.f.Close() }

// compareWitness holds the database against what the witness remembers.
func (s *Store) compareWitness() error {
	m, changes, known := s.witness.read()
	switch {
	case !known:
		return nil
	case m.seq > s.seq.head.seq || changes > s.tally.changes:
		return &TailLostError{Have: s.seq.head.seq, Had: max(m.seq, s.seq.head.seq), Changes: max(0, changes-s.tally.changes)}
	case m.seq == 0:
		return nil
	}
	return s.view(func(t *badger.Txn) error {
		b, err := get(t, logKey(m.seq))
		if err != nil {
			return fmt.Errorf("store: read entry %d: %w", m.seq, err)
		}
		h, _, err := splitLog(b)
		if err != nil || h != m.hash {
			return &BadRecordError{Seq: m.seq, What: "is not the one that the witness file remembers"}
		}
		return nil
	})
}
