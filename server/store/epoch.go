package store

import (
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// place is where the log stands. It is never changed, only replaced.
type place struct {
	epoch   string
	earlier []string // epochs before, oldest first; see unnoted
	head    mark
	proof   string
}

// Stands gives epoch, head and proof as of one moment.
func (s *Store) Stands() Standing {
	at := s.at.Load()
	return Standing{at.epoch, at.head.seq, at.proof}
}

// stand lets readers see where the log stands now.
func (s *Store) stand(at place) {
	at.proof = s.prove(at.epoch, at.head)
	s.at.Store(&at)
}

func randomHex() string {
	var b [16]byte
	rand.Read(b[:])
	return hex.EncodeToString(b[:])
}

// newEpoch gives the log a new name; up to parted it is that of the epoch before. also
// names an epoch that the log has heard of and does not know. What a backup holds beyond
// the log's end is none of its entries any more.
func (s *Store) newEpoch(parted int64, also ...string) error {
	at := *s.at.Load()
	was := at.epoch
	at.epoch = randomHex()
	at.earlier = slices.Clone(at.earlier)
	for _, name := range append([]string{was}, also...) {
		if name != "" && !slices.Contains(at.earlier, name) {
			at.earlier = append(at.earlier, name)
		}
	}
	backed, err := s.loadBackedUp()
	if err != nil {
		return err
	}
	if v, err := s.meta(partedKey); err != nil {
		return err
	} else if before, err := strconv.ParseInt(v, 10, 64); err == nil {
		parted = min(parted, before)
	}
	err = s.update(func(c *change) error {
		if err := c.set(epochsKey, []byte(strings.Join(append(at.earlier, at.epoch), " "))); err != nil {
			return err
		}
		if was != "" {
			if err := c.set(partedKey, strconv.AppendInt(nil, parted, 10)); err != nil {
				return err
			}
		}
		if backed > s.Head() {
			if err := c.set(backupKey, strconv.AppendInt(nil, s.Head(), 10)); err != nil {
				return err
			}
		}
		return c.set(epochKey, []byte(at.epoch))
	})
	if err != nil {
		return fmt.Errorf("store: write the epoch: %w", err)
	}
	s.stand(at)
	return nil
}

// Parted is the seq up to which the log is for certain that of every earlier epoch, as
// far as that one went: the least with which an epoch of this store began. 0 when there
// was none before, or a program that did not note it began this one.
func (s *Store) Parted() int64 {
	v, err := s.meta(partedKey)
	if err != nil {
		return 0
	}
	seq, err := strconv.ParseInt(v, 10, 64)
	if err != nil {
		return 0
	}
	return seq
}

// unnoted stands for the epochs before one that an older program began: it did not note
// which there were.
const unnoted = "?"

// loadPlace reads where the log stands, and the secret of its proofs.
func (s *Store) loadPlace() error {
	epoch, err := s.meta(epochKey)
	if err != nil {
		return err
	}
	all, err := s.meta(epochsKey)
	if err != nil {
		return err
	}
	earlier := slices.DeleteFunc(strings.Fields(all), func(name string) bool { return name == epoch })
	if all == "" && epoch != "" {
		earlier = []string{unnoted}
	}
	secret, err := s.meta(secretKey)
	s.secret = []byte(secret)
	s.at.Store(&place{epoch: epoch, earlier: earlier})
	return err
}
