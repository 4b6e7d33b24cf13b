package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"hoppertally/sync/entry"
	"hoppertally/sync/hub"

	badger "github.com/dgraph-io/badger/v4"
)

// BadRecordError names the first thing on disk that is not as it was written.
type BadRecordError struct {
	Seq  int64 // of the log record; 0 if it is something else
	What string
}

func (e *BadRecordError) Error() string {
	if e.Seq == 0 {
		return "store: damaged: " + e.What
	}
	return fmt.Sprintf("store: damaged: entry %d %s", e.Seq, e.What)
}

// Verify reads the whole store as of one moment and checks that the log is
// there from 1 to its head, that the chain of hashes holds, that the id index
// and the log tell the same, that quarantine and hub state can be read, and that
// every key beside the log is as it was written. It
// returns a *BadRecordError for the first fault. It may run beside pushes.
func (s *Store) Verify(ctx context.Context) error {
	return s.view(func(t *badger.Txn) error {
		head, err := s.verifyHead(t)
		if err != nil {
			return err
		}
		if err := verifyLog(ctx, t, head); err != nil {
			return err
		}
		if err := verifyIDs(t, head.seq); err != nil {
			return err
		}
		if _, err := checkTally(t); err != nil {
			return err
		}
		return scan(t, []byte{quarantinePrefix}, func(key, val []byte) error {
			if what := checkQuarantined(key, val); what != "" {
				return &BadRecordError{What: fmt.Sprintf("quarantine %x: %s", key[1:], what)}
			}
			return nil
		})
	})
}

// Digest is a hash over all that the store holds: equal digests, equal stores.
func (s *Store) Digest() string {
	s.writing.Lock()
	defer s.writing.Unlock()
	h := sha256.Sum256(s.durable.append(s.tally.append(nil)))
	return hex.EncodeToString(h[:])
}

// verifyHead reads the head and the hub's state.
func (s *Store) verifyHead(t *badger.Txn) (mark, error) {
	head := mark{hash: genesis}
	b, err := get(t, headKey)
	if err != nil {
		return head, fmt.Errorf("store: read the head: %w", err)
	}
	if b == nil {
		if s.Head() > 0 {
			return head, &BadRecordError{What: "the head of the log is missing"}
		}
		return head, nil
	}
	if head, err = readMark(b); err != nil {
		return head, &BadRecordError{What: "head of the log: " + err.Error()}
	}
	state := hub.NewState()
	b, err = get(t, hubKey)
	if err != nil {
		return head, fmt.Errorf("store: read the hub: %w", err)
	}
	if err := state.SetHead(b); err != nil {
		return head, &BadRecordError{What: err.Error()}
	}
	if state.Seq != head.seq {
		return head, &BadRecordError{What: fmt.Sprintf("head of the log at %d, hub at %d", head.seq, state.Seq)}
	}
	return head, scan(t, []byte{devicePrefix}, func(key, val []byte) error {
		if err := state.SetDevice(string(key[1:]), val); err != nil {
			return &BadRecordError{What: fmt.Sprintf("device %q: %v", key[1:], err)}
		}
		return nil
	})
}

func verifyLog(ctx context.Context, t *badger.Txn, head mark) error {
	var p entry.Parser
	prev := genesis
	err := walk(t, 1, head.seq, func(seq int64, h hash, rec []byte) (bool, error) {
		if seq%1024 == 0 && ctx.Err() != nil {
			return false, ctx.Err()
		}
		if prev = chain(prev, seq, rec); prev != h {
			return false, &BadRecordError{Seq: seq, What: "does not fit the chain of hashes"}
		}
		return true, verifyRecord(t, &p, seq, rec)
	})
	if err == nil && prev != head.hash {
		return &BadRecordError{Seq: head.seq, What: "is not the one that the head names"}
	}
	return err
}

func verifyRecord(t *badger.Txn, p *entry.Parser, seq int64, rec []byte) error {
	r, err := readRecord(seq, rec)
	if err != nil {
		return &BadRecordError{Seq: seq, What: err.Error()}
	}
	e, err := p.Parse(r.Raw)
	if err != nil {
		return &BadRecordError{Seq: seq, What: err.Error()}
	}
	b, err := get(t, named(idPrefix, e.ID))
	if err != nil {
		return fmt.Errorf("store: read index of %s: %w", e.ID, err)
	}
	if m, err := readMark(b); err != nil || m.seq != seq || m.hash != sha256.Sum256(r.Raw) {
		return &BadRecordError{Seq: seq, What: "is not the one in the index of ids"}
	}
	return nil
}

// verifyIDs finds ids that stand in the index only.
func verifyIDs(t *badger.Txn, head int64) error {
	it := t.NewIterator(badger.IteratorOptions{Prefix: []byte{idPrefix}})
	defer it.Close()
	n := int64(0)
	for it.Rewind(); it.Valid(); it.Next() {
		n++
	}
	if n != head {
		return &BadRecordError{What: fmt.Sprintf("%d ids in the index, %d entries on the log", n, head)}
	}
	return nil
}
