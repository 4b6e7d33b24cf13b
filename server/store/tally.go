package store

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"math/bits"

	badger "github.com/dgraph-io/badger/v4"
)

// tallied are the areas whose keys and values add up to a sum that is kept with
// them. The log has its chain of hashes instead.
var tallied = [...]byte{idPrefix, quarantinePrefix, devicePrefix, metaPrefix, kvPrefix}

var areaNames = map[byte]string{
	idPrefix: "the index of ids", quarantinePrefix: "the quarantine", devicePrefix: "what is known of the devices",
	metaPrefix: "the state of the log", kvPrefix: "the side area with who may sign in",
}

// tally is what the areas must add up to after a number of changes. It is
// written in the transaction of each change, so that it is true of any moment:
// the database drops keys of a damaged table without a word.
type tally struct {
	changes int64 // transactions so far
	areas   [len(tallied)]area
}

// area adds up one prefix. The sum does not depend on the order; addition of
// hashes finds chance damage, and nobody forges our own disk.
type area struct {
	n   int64
	sum [4]uint64 // of SHA-256 over key length, key, value: a 256-bit number, lowest first
}

func areaOf(key []byte) int {
	for i, p := range tallied {
		if key[0] == p {
			return i
		}
	}
	return -1
}

func pairHash(key, val []byte) (h [4]uint64) {
	d := sha256.New()
	d.Write(binary.BigEndian.AppendUint32(nil, uint32(len(key))))
	d.Write(key)
	d.Write(val)
	var b hash
	d.Sum(b[:0])
	for i := range h {
		h[i] = binary.BigEndian.Uint64(b[8*i:])
	}
	return h
}

func (a *area) add(h [4]uint64, n int64) {
	carry := uint64(0)
	for i := range h {
		a.sum[i], carry = bits.Add64(a.sum[i], h[i], carry)
	}
	a.n += n
}

func (a *area) take(h [4]uint64) {
	borrow := uint64(0)
	for i := range h {
		a.sum[i], borrow = bits.Sub64(a.sum[i], h[i], borrow)
	}
	a.n--
}

// plus is t after one more change.
func (t tally) plus(diff [len(tallied)]area) tally {
	t.changes++
	for i, d := range diff {
		t.areas[i].add(d.sum, d.n)
	}
	return t
}

func (t tally) append(dst []byte) []byte {
	dst = binary.BigEndian.AppendUint64(dst, uint64(t.changes))
	for _, a := range t.areas {
		dst = binary.BigEndian.AppendUint64(dst, uint64(a.n))
		for _, x := range a.sum {
			dst = binary.BigEndian.AppendUint64(dst, x)
		}
	}
	return dst
}

func readTally(b []byte) (t tally, err error) {
	if len(b) != 8+len(tallied)*40 {
		return t, errShort
	}
	next := func() (x uint64) {
		x, b = binary.BigEndian.Uint64(b), b[8:]
		return x
	}
	t.changes = int64(next())
	for i := range t.areas {
		t.areas[i].n = int64(next())
		for j := range t.areas[i].sum {
			t.areas[i].sum[j] = next()
		}
	}
	return t, nil
}

// compare holds what was counted against what was written; the error is a
// *BadRecordError.
func (t tally) compare(counted tally) error {
	for i, a := range t.areas {
		if c := counted.areas[i]; a != c {
			return &BadRecordError{What: fmt.Sprintf("%s is not as it was written (%d of %d keys are there)", areaNames[tallied[i]], c.n, a.n)}
		}
	}
	return nil
}

// countAll adds up the areas as a transaction sees them.
func countAll(t *badger.Txn) (c tally, err error) {
	for i, p := range tallied {
		err := scan(t, []byte{p}, func(key, val []byte) error {
			c.areas[i].add(pairHash(key, val), 1)
			return nil
		})
		if err != nil {
			return c, err
		}
	}
	return c, nil
}

var errNoTally = &BadRecordError{What: "the sums over the database are missing"}

// checkTally reads the tally and counts everything under it.
func checkTally(t *badger.Txn) (want tally, err error) {
	b, err := get(t, tallyKey)
	if err != nil {
		return want, fmt.Errorf("store: read the sums: %w", err)
	}
	if b == nil {
		return want, errNoTally
	}
	if want, err = readTally(b); err != nil {
		return want, &BadRecordError{What: "the sums over the database: " + err.Error()}
	}
	counted, err := countAll(t)
	if err != nil {
		return want, err
	}
	return want, want.compare(counted)
}

// change is a transaction that keeps the tally. A key of a tallied area is
// written by one goroutine at a time.
type change struct {
	s    *Store
	t    *badger.Txn
	diff [len(tallied)]area
}

func (s *Store) change() *change { return &change{s: s, t: s.db.NewTransaction(true)} }

// set writes a pair; both belong to the transaction from now on.
func (c *change) set(key, val []byte) error {
	if err := c.forget(key); err != nil {
		return err
	}
	return c.add(key, val)
}

// add is set for a key that is surely not there.
func (c *change) add(key, val []byte) error {
	if i := areaOf(key); i >= 0 {
		c.diff[i].add(pairHash(key, val), 1)
	}
	return c.t.Set(key, val)
}

func (c *change) delete(key []byte) error {
	if err := c.forget(key); err != nil {
		return err
	}
	return c.t.Delete(key)
}

func (c *change) forget(key []byte) error {
	i := areaOf(key)
	if i < 0 {
		return nil
	}
	old, err := get(c.t, key)
	if err != nil || old == nil {
		return err
	}
	c.diff[i].take(pairHash(key, old))
	return nil
}

// commit makes the change durable, with the tally, and has the witness remember
// it. head is the log's new head, nil if the change does not concern the log. An
// error of badger leaves open what is on disk; badger.ErrTxnTooBig does not.
func (c *change) commit(head *mark) error {
	s := c.s
	s.writing.Lock()
	defer s.writing.Unlock()
	next := s.tally.plus(c.diff)
	err := c.t.Set(tallyKey, next.append(nil))
	if err == nil {
		err = c.t.Commit()
	}
	if err != nil {
		return errors.Join(err, s.rereadTally(err))
	}
	s.tally = next
	if head != nil {
		s.durable = *head
	}
	if s.witness == nil {
		return nil
	}
	if err := s.witness.write(witnessed{s.durable, next.changes}); err != nil {
		s.opts.Logger.Error("the witness of the log's head is not written", "error", err)
	}
	return nil
}

// rereadTally finds out what a failed commit left.
func (s *Store) rereadTally(why error) error {
	if errors.Is(why, badger.ErrTxnTooBig) {
		return nil
	}
	return s.view(func(t *badger.Txn) error {
		b, err := get(t, tallyKey)
		if err != nil || b == nil {
			return err
		}
		now, err := readTally(b)
		if err == nil {
			s.tally = now
		}
		return err
	})
}
