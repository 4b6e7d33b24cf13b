package store

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"os"

	badger "github.com/dgraph-io/badger/v4"
)

// witness is a small file beside the database that remembers the head of the
// log. It is written after each commit without being synced: it survives a
// killed process, and after a power cut it may remember an older head, which is
// as true. It lets Open find a log that lost its tail.
type witness struct{ f *os.File }

func openWitness(name string) (*witness, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("store: open the witness: %w", err)
	}
	return &witness{f}, nil
}

func (w *witness) write(m mark) error {
	b := m.append(nil)
	b = binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b))
	if _, err := w.f.WriteAt(b, 0); err != nil {
		return fmt.Errorf("store: write the witness: %w", err)
	}
	return nil
}

// read returns the remembered head; a new or torn file remembers nothing.
func (w *witness) read() (m mark, known bool) {
	b := make([]byte, 8+len(m.hash)+4)
	if _, err := io.ReadFull(io.NewSectionReader(w.f, 0, int64(len(b))), b); err != nil {
		return m, false
	}
	n := len(b) - 4
	if crc32.ChecksumIEEE(b[:n]) != binary.BigEndian.Uint32(b[n:]) {
		return m, false
	}
	m, err := readMark(b[:n])
	return m, err == nil
}

func (w *witness) close() { w.f.Close() }

// compareWitness holds the log against what the witness remembers.
func (s *Store) compareWitness() error {
	m, known := s.witness.read()
	switch {
	case !known || m.seq == 0:
		return nil
	case m.seq > s.seq.head.seq:
		return &TailLostError{Have: s.seq.head.seq, Had: m.seq}
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
