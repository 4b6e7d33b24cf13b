package store

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"

	"hoppertally/sync/hub"

	badger "github.com/dgraph-io/badger/v4"
)

// QuarantineBytes is how much of a refused entry is kept. Whatever was once a
// good entry fits; of something longer the head remains, with its length and hash.
const QuarantineBytes = 128 << 10

// Quarantined is a refused entry. The same bytes are kept once, as they first came.
type Quarantined struct {
	ReceivedMS int64
	ID         string // empty if the bytes do not tell
	Device     string // of the entry, likewise
	Reason     string
	Fault      string // in words, for a log
	Bytes      int    // length as it came
	Raw        []byte // at most QuarantineBytes
}

func writeQuarantine(c *change, d *hub.Decision) error {
	key := named(quarantinePrefix, string(d.Hash[:]))
	if old, err := get(c.t, key); err != nil || old != nil {
		return err
	}
	b, err := json.Marshal(Quarantined{d.ReceivedMS, d.ID, d.Device, d.Reason, d.Fault, len(d.Raw), d.Raw[:min(len(d.Raw), QuarantineBytes)]})
	if err != nil {
		return err
	}
	return c.add(key, b)
}

// Quarantine lists the latest refused entries, at most most, the latest first.
func (s *Store) Quarantine(most int) ([]Quarantined, error) {
	var out []Quarantined
	err := s.view(func(t *badger.Txn) error {
		return scan(t, []byte{quarantinePrefix}, func(_, val []byte) error {
			var q Quarantined
			if err := json.Unmarshal(val, &q); err != nil {
				return err
			}
			out = append(out, q)
			if len(out) >= 2*most+100 { // sort now and then, so as not to hold them all
				out = latest(out, most)
			}
			return nil
		})
	})
	if err != nil {
		return nil, fmt.Errorf("store: read the quarantine: %w", err)
	}
	return latest(out, most), nil
}

func latest(q []Quarantined, most int) []Quarantined {
	slices.SortStableFunc(q, func(a, b Quarantined) int { return int(min(max(b.ReceivedMS-a.ReceivedMS, -1), 1)) })
	return q[:min(len(q), most)]
}

// checkQuarantined tells what is wrong with a record of the quarantine.
func checkQuarantined(key, val []byte) string {
	var q Quarantined
	if err := json.Unmarshal(val, &q); err != nil {
		return err.Error()
	}
	if h := sha256.Sum256(q.Raw); q.Bytes == len(q.Raw) && string(h[:]) != string(key[1:]) {
		return "the bytes are not those that came"
	}
	return ""
}
