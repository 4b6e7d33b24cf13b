package simtest

import (
	"crypto/sha256"
	"fmt"
	"maps"
	"strconv"
	"strings"
)

// The server's folder can go back in time: an older copy of it is put in its place, as an
// image of a disk or of a virtual machine is. Nothing in it tells; phones do, by the
// proofs that they were given (server/store/proof.go).

// goBack copies the folder, and after a while puts the copy in its place.
func (s *server) goBack(afterMS int64) {
	old := s.disk.clone()
	s.w.note("the folder is copied at %d entries of %s", len(old.log), old.epoch)
	s.w.after(afterMS, func() {
		if s.w.live {
			s.putBack(old)
		}
	})
}

// putBack puts an older folder in its place. One that lacks what the newest backup holds
// is not served: phones have let go of that. Its people restore the backup instead.
func (s *server) putBack(old *serverDisk) {
	s.crash()
	if !old.holds(s.backup) && !s.w.plants.BackupsUnread {
		s.w.note("the folder put back is older than the newest backup")
		s.restore()
		return
	}
	s.w.note("the folder goes back from %d entries of %s to %d of %s", s.head(), s.disk.epoch, len(old.log), old.epoch)
	s.disk = old.clone()
	s.backs++
	s.w.truth.wentBack(s.disk.epoch, s.disk.log)
	s.restart(500 + s.w.rng.Int64N(60_000))
}

// holds tells whether a folder goes on from a backup.
func (d *serverDisk) holds(backup *serverDisk) bool {
	if backup == nil {
		return true
	}
	n := len(backup.log)
	return len(d.log) >= n && (n == 0 || d.log[n-1].chain == backup.log[n-1].chain)
}

// knows is what a folder once knew of epochs, with its own.
func (d *serverDisk) knows() map[string]bool {
	all := maps.Clone(d.earlier)
	if all == nil {
		all = map[string]bool{}
	}
	if d.epoch != "" {
		all[d.epoch] = true
	}
	return all
}

// prove is what the server gives out of its log.
func (s *server) prove() string { return s.proofOf(s.head()) }

func (s *server) proofOf(seq int64) string {
	var chain [8]byte
	if seq > 0 {
		chain = s.disk.log[seq-1].chain
	}
	return fmt.Sprintf("%s %d %x", s.disk.epoch, seq, chain)
}

// chainOf is the hash of an entry that follows others.
func chainOf(log []*record, hash [sha256.Size]byte) (c [8]byte) {
	b := hash[:]
	if n := len(log); n > 0 {
		b = append(log[n-1].chain[:], b...)
	}
	sum := sha256.Sum256(b)
	copy(c[:], sum[:])
	return c
}

// confirm begins a new epoch if the log is not the one that a phone was told of.
func (s *server) confirm(proof string) {
	if proof == "" || s.w.plants.NeverAsks {
		return
	}
	parts := strings.Split(proof, " ")
	epoch := parts[0]
	seq, err := strconv.ParseInt(parts[1], 10, 64)
	must(err)
	switch {
	case epoch != s.disk.epoch && s.disk.earlier[epoch]:
		return
	case epoch == s.disk.epoch && seq <= s.head() && s.proofOf(seq) == proof:
		return
	}
	s.w.note("a phone knows %d entries of %s: a new epoch begins", seq, epoch)
	s.disk.earlier[epoch] = true
	s.newEpoch()
	clear(s.pages)
}
