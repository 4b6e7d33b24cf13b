package store

import (
	"encoding/binary"
	"fmt"
	"slices"
	"sync"

	"hoppertally/sync/hub"

	badger "github.com/dgraph-io/badger/v4"
)

// Page is a stretch of the log.
type Page struct {
	Epoch   string
	Head    int64  // seq of the latest entry
	Proof   string // of epoch and head
	Next    int64  // where to go on: seq of the last record here, or after
	More    bool   // there are records beyond Next
	Entries []Record
}

// CursorError is returned for a cursor beyond the head: it belongs to another epoch.
type CursorError struct{ After, Head int64 }

func (e *CursorError) Error() string {
	return fmt.Sprintf("store: no entry %d, the log ends at %d", e.After, e.Head)
}

// Pull reads the records that follow seq after, in order and without a hole, at
// most most of them and about maxBytes of entries, but at least one if there is
// one. It may return a *CursorError, or a *BadRecordError rather than skip.
func (s *Store) Pull(after int64, most, maxBytes int) (Page, error) {
	at := s.Stands()
	head := at.Head
	p := Page{Epoch: at.Epoch, Head: head, Proof: at.Proof, Next: after}
	if after < 0 || after > head {
		return p, &CursorError{after, head}
	}
	last := min(head, after+int64(max(most, 1)))
	size := 0
	err := s.view(func(t *badger.Txn) error {
		return walk(t, after+1, last, func(seq int64, _ hash, rec []byte) (bool, error) {
			if size += len(rec); size > maxBytes && len(p.Entries) > 0 {
				return false, nil
			}
			r, err := readRecord(seq, rec)
			if err != nil {
				return false, &BadRecordError{Seq: seq, What: err.Error()}
			}
			p.Entries = append(p.Entries, r)
			p.Next = seq
			return true, nil
		})
	})
	p.More = p.Next < head
	return p, err
}

// walk reads log records from seq from to seq to, each of which must be there;
// the record is fn's to keep. It ends early when fn returns false.
func walk(t *badger.Txn, from, to int64, fn func(seq int64, h hash, rec []byte) (bool, error)) error {
	it := t.NewIterator(badger.IteratorOptions{PrefetchValues: true, PrefetchSize: int(min(64, max(1, to-from+1))), Prefix: []byte{logPrefix}})
	defer it.Close()
	seq := from
	for it.Seek(logKey(from)); seq <= to && it.Valid(); it.Next() {
		item := it.Item()
		if got := int64(binary.BigEndian.Uint64(item.Key()[1:])); got != seq {
			break
		}
		b, err := item.ValueCopy(nil)
		if err != nil {
			return fmt.Errorf("store: read entry %d: %w", seq, err)
		}
		h, rec, err := splitLog(b)
		if err != nil {
			return &BadRecordError{Seq: seq, What: err.Error()}
		}
		if more, err := fn(seq, h, rec); err != nil || !more {
			return err
		}
		seq++
	}
	if seq <= to {
		return &BadRecordError{Seq: seq, What: "is missing"}
	}
	return nil
}

// scan visits all keys with a prefix, in order; key and value are valid during the call.
func scan(t *badger.Txn, prefix []byte, fn func(key, val []byte) error) error {
	it := t.NewIterator(badger.IteratorOptions{PrefetchValues: true, PrefetchSize: 64, Prefix: prefix})
	defer it.Close()
	for it.Rewind(); it.Valid(); it.Next() {
		item := it.Item()
		if err := item.Value(func(val []byte) error { return fn(item.Key(), val) }); err != nil {
			return err
		}
	}
	return nil
}

// Each calls fn for every record on the log, in order, and checks the chain of
// hashes on the way. It returns fn's error, or a *BadRecordError. It is meant for
// the fold at start, before the first Push.
func (s *Store) Each(fn func(Record) error) error {
	prev := genesis
	return s.each(1, s.Head(), func(seq int64, h hash, rec []byte) error {
		if prev = chain(prev, seq, rec); prev != h {
			return &BadRecordError{Seq: seq, What: "does not fit the chain of hashes"}
		}
		return nil
	}, fn)
}

// Window calls fn for the records up to seq last that were effective at floorMS or
// later, and for those with the given ids, in order. Time of receipt never goes back
// on the log and nothing is effective after it, so the search for where to begin
// reads a few records only.
func (s *Store) Window(floorMS int64, ids []string, last int64, fn func(Record) error) error {
	seqs := make([]int64, 0, len(ids))
	var from int64
	err := s.view(func(t *badger.Txn) (err error) {
		for _, id := range ids {
			b, err := get(t, named(idPrefix, id))
			if err != nil {
				return err
			}
			m, err := readMark(b)
			if err != nil {
				return &BadRecordError{What: "index of id " + id + ": " + err.Error()}
			}
			seqs = append(seqs, m.seq)
		}
		from, err = firstSince(t, floorMS, last)
		return err
	})
	if err != nil {
		return err
	}
	slices.Sort(seqs)
	for _, seq := range seqs {
		if seq < from {
			if err := s.each(seq, seq, nil, fn); err != nil {
				return err
			}
		}
	}
	return s.each(from, last, nil, func(r Record) error {
		if _, asked := slices.BinarySearch(seqs, r.Seq); r.EffectiveMS < floorMS && !asked {
			return nil
		}
		return fn(r)
	})
}

// firstSince finds the first record received at ms or later, last+1 if there is none.
func firstSince(t *badger.Txn, ms, last int64) (int64, error) {
	lo, hi := int64(1), last+1
	for lo < hi {
		mid := lo + (hi-lo)/2
		var r Record
		err := walk(t, mid, mid, func(seq int64, _ hash, rec []byte) (_ bool, err error) {
			if r, err = readRecord(seq, rec); err != nil {
				err = &BadRecordError{Seq: seq, What: err.Error()}
			}
			return true, err
		})
		if err != nil {
			return 0, err
		}
		if r.ReceivedMS < ms {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo, nil
}

// each reads the records from one seq to another, a stretch in a transaction, and
// lets look see the bytes of each first; look may be nil.
func (s *Store) each(from, to int64, look func(seq int64, h hash, rec []byte) error, fn func(Record) error) error {
	const stretch = 500
	records := make([]Record, 0, stretch)
	for at := from; at <= to; at += stretch {
		records = records[:0]
		err := s.view(func(t *badger.Txn) error {
			return walk(t, at, min(to, at+stretch-1), func(seq int64, h hash, rec []byte) (bool, error) {
				if look != nil {
					if err := look(seq, h, rec); err != nil {
						return false, err
					}
				}
				r, err := readRecord(seq, rec)
				if err != nil {
					return false, &BadRecordError{Seq: seq, What: err.Error()}
				}
				records = append(records, r)
				return true, nil
			})
		})
		if err != nil {
			return err
		}
		for _, r := range records {
			if err := fn(r); err != nil {
				return err
			}
		}
	}
	return nil
}

// HaveN is the device's counter up to which every entry was dealt with, 0 for
// an unknown device.
func (s *Store) HaveN(device string) (n int64, err error) {
	err = s.view(func(t *badger.Txn) error {
		b, err := get(t, named(devicePrefix, device))
		if err != nil || b == nil {
			return err
		}
		state := hub.NewState()
		if err := state.SetDevice(device, b); err != nil {
			return err
		}
		d := state.Device(device)
		n = d.HaveN()
		return nil
	})
	if err != nil {
		return 0, fmt.Errorf("store: read device %q: %w", device, err)
	}
	return n, nil
}

// pokes tells subscribers of a new head.
type pokes struct {
	mu   sync.Mutex
	next int
	subs map[int]chan int64
}

// Subscribe returns a channel that gets the head after it moved, only the
// latest if the reader is slow, and is closed by cancel or Close. Nothing is
// sent for a head from before the call.
func (s *Store) Subscribe() (heads <-chan int64, cancel func()) {
	p := &s.pokes
	p.mu.Lock()
	defer p.mu.Unlock()
	ch := make(chan int64, 1)
	select {
	case <-s.closing:
		close(ch)
		return ch, func() {}
	default:
	}
	if p.subs == nil {
		p.subs = map[int]chan int64{}
	}
	id := p.next
	p.next++
	p.subs[id] = ch
	return ch, func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		if p.subs[id] != nil {
			delete(p.subs, id)
			close(ch)
		}
	}
}

func (p *pokes) send(head int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, ch := range p.subs {
		select {
		case <-ch: // an older head nobody took
		default:
		}
		ch <- head // never blocks: only send fills it, under the lock
	}
}

func (p *pokes) close() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, ch := range p.subs {
		close(ch)
	}
	p.subs = nil
}
