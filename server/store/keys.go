package store

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"

	"hoppertally/sync/hub"
)

const (
	logPrefix        = 'l'
	idPrefix         = 'i'
	quarantinePrefix = 'q'
	devicePrefix     = 'd'
	metaPrefix       = 'm'
	kvPrefix         = 'k'
)

var (
	epochKey  = []byte("mepoch")
	headKey   = []byte("mhead")
	hubKey    = []byte("mhub")
	backupKey = []byte("mbackup")
	partedKey = []byte("mparted")
	epochsKey = []byte("mepochs") // all of them, the present one last
	secretKey = []byte("msecret") // of the proofs
	madeKey   = []byte("mmade")   // when a restore made the folder, ms
	tallyKey  = []byte("tally")
)

func logKey(seq int64) []byte {
	return binary.BigEndian.AppendUint64([]byte{logPrefix}, uint64(seq))
}

func named(prefix byte, name string) []byte { return append([]byte{prefix}, name...) }

type hash = [sha256.Size]byte

// genesis stands before the first record of every log.
var genesis = sha256.Sum256([]byte("hoppertally log, version 1"))

// chain is the hash of a record that follows one with hash prev.
func chain(prev hash, seq int64, record []byte) (h hash) {
	d := sha256.New()
	d.Write(prev[:])
	d.Write(binary.BigEndian.AppendUint64(nil, uint64(seq)))
	d.Write(record)
	d.Sum(h[:0])
	return h
}

// mark is a seq with a hash: the head of the log (its chain hash), or where an
// id stands (the hash of its bytes).
type mark struct {
	seq  int64
	hash hash
}

func (m mark) append(dst []byte) []byte {
	return append(binary.BigEndian.AppendUint64(dst, uint64(m.seq)), m.hash[:]...)
}

var errShort = errors.New("wrong length")

func readMark(b []byte) (m mark, err error) {
	if len(b) != 8+sha256.Size {
		return m, errShort
	}
	m.seq = int64(binary.BigEndian.Uint64(b))
	copy(m.hash[:], b[8:])
	return m, nil
}

// Record is an entry on the log. The receiver may keep Raw but not change it.
type Record struct {
	Seq         int64
	ReceivedMS  int64
	EffectiveMS int64
	Outcome     hub.Outcome // accepted or held
	Late        bool
	Reason      string
	Raw         []byte // the device's bytes
}

const recordVersion = 1

const (
	flagHeld = 1 << iota
	flagLate
)

// appendRecord appends all of a record but its seq.
func appendRecord(dst []byte, r Record) []byte {
	flags := byte(0)
	if r.Outcome == hub.Held {
		flags |= flagHeld
	}
	if r.Late {
		flags |= flagLate
	}
	dst = append(dst, recordVersion, flags)
	dst = binary.AppendVarint(dst, r.ReceivedMS)
	dst = binary.AppendVarint(dst, r.EffectiveMS)
	dst = binary.AppendUvarint(dst, uint64(len(r.Reason)))
	dst = append(dst, r.Reason...)
	return append(dst, r.Raw...)
}

var errRecord = errors.New("not the bytes of a record")

// readRecord reads what appendRecord wrote; Raw is part of b.
func readRecord(seq int64, b []byte) (Record, error) {
	r := Record{Seq: seq, Outcome: hub.Accepted}
	if len(b) < 2 || b[0] != recordVersion || b[1] > flagHeld|flagLate {
		return r, errRecord
	}
	if b[1]&flagHeld != 0 {
		r.Outcome = hub.Held
	}
	r.Late = b[1]&flagLate != 0
	b = b[2:]
	for _, p := range []*int64{&r.ReceivedMS, &r.EffectiveMS} {
		n, size := binary.Varint(b)
		if size <= 0 {
			return r, errRecord
		}
		*p, b = n, b[size:]
	}
	n, size := binary.Uvarint(b)
	if size <= 0 || n > uint64(len(b)-size) {
		return r, errRecord
	}
	r.Reason, r.Raw = string(b[size:size+int(n)]), b[size+int(n):]
	return r, nil
}

// splitLog parts a value of the log into chain hash and record.
func splitLog(b []byte) (h hash, record []byte, err error) {
	if len(b) < sha256.Size {
		return h, nil, errShort
	}
	copy(h[:], b)
	return h, b[sha256.Size:], nil
}
