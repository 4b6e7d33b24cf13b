package store

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"

	badger "github.com/dgraph-io/badger/v4"
)

// A data folder can go back in time without damage: somebody puts an older copy of it
// in its place, or a virtual machine goes back to a snapshot. Nothing in the folder
// tells. The phones do: each answer gives them a proof of how far the log goes, and they
// show it with each request. A log that has another entry there, or none, went back. It
// begins a new epoch, and the phones fill it up as after a restore.
//
// A proof is epoch, seq, the chain's hash there and a code over the three (HMAC, RFC
// 2104) under a secret of the folder, so nobody can make up one that does not hold. It
// tells no more than that such a log was: whoever shows it need not be trusted.

// Standing is the log at one moment.
type Standing struct {
	Epoch string
	Head  int64  // seq of the latest entry
	Proof string // of both, to be shown again: see [Store.Confirm]
}

const proofHashBytes = 16 // of each SHA-256: accidents and guesses are 2^-128

func (s *Store) prove(epoch string, head mark) string {
	text := epoch + "." + strconv.FormatInt(head.seq, 10) + "." + hex.EncodeToString(head.hash[:proofHashBytes])
	return text + "." + s.proofCode(text)
}

func (s *Store) proofCode(text string) string {
	h := hmac.New(sha256.New, s.secret)
	h.Write([]byte("hoppertally proof of the log\n" + text))
	return hex.EncodeToString(h.Sum(nil)[:proofHashBytes])
}

// proof is what one says.
type proof struct {
	epoch string
	seq   int64
	hash  []byte
}

// proofMax is more than a proof has: 32 + 1 + 19 + 1 + 32 + 1 + 32.
const proofMax = 128

// readProof reads a proof that this folder gave out; any other is none.
func (s *Store) readProof(text string) (p proof, ok bool) {
	cut := strings.LastIndexByte(text, '.')
	if len(text) > proofMax || cut < 0 || !hmac.Equal([]byte(text[cut+1:]), []byte(s.proofCode(text[:cut]))) {
		return p, false
	}
	parts := strings.Split(text[:cut], ".")
	if len(parts) != 3 {
		return p, false
	}
	seq, err := strconv.ParseInt(parts[1], 10, 64)
	hash, err2 := hex.DecodeString(parts[2])
	return proof{parts[0], seq, hash}, err == nil && err2 == nil
}

// Confirm looks whether the log is the one of which a proof was given out. If it is
// not, it went back in time, and a new epoch has begun when Confirm returns. A proof that
// this folder did not give out says nothing. An error is of ctx, of the disk, or ErrClosed.
func (s *Store) Confirm(ctx context.Context, text string) error {
	p, ok := s.readProof(text)
	if !ok {
		return nil
	}
	if holds, err := s.holds(p); holds || err != nil {
		return err
	}
	return s.doubt(ctx, doubt{proof: p})
}

// AcceptOlder begins a new epoch although a checked backup holds what the log lacks: see
// [Store.Holds]. That backup is given up: nobody is asked about it again.
func (s *Store) AcceptOlder(ctx context.Context, b BackupInfo) error {
	return s.doubt(ctx, doubt{proof: proof{b.Epoch, b.Seq, b.head[:proofHashBytes]}, givenUp: givenUp(b)})
}

// holds tells whether the log is the one that a proof speaks of, or goes on from it.
func (s *Store) holds(p proof) (bool, error) {
	at := s.at.Load()
	switch {
	case p.epoch != at.epoch:
		return slices.Contains(at.earlier, p.epoch), nil
	case p.seq > at.head.seq:
		return false, nil
	case p.seq == at.head.seq:
		return string(at.head.hash[:proofHashBytes]) == string(p.hash), nil
	}
	h, err := s.hashAt(p.seq)
	return string(h[:proofHashBytes]) == string(p.hash), err
}

// hashAt is the chain's hash at a seq of the log.
func (s *Store) hashAt(seq int64) (h hash, err error) {
	if seq == 0 {
		return genesis, nil
	}
	err = s.view(func(t *badger.Txn) error {
		return walk(t, seq, seq, func(_ int64, at hash, _ []byte) (bool, error) { h = at; return true, nil })
	})
	return h, err
}

// doubt asks the sequencer to look once more, in its place among the commits.
type doubt struct {
	proof   proof
	givenUp string // a backup, see AcceptOlder; "" where a phone doubts
	done    chan error
}

func (s *Store) doubt(ctx context.Context, d doubt) error {
	d.done = make(chan error, 1)
	select {
	case s.doubts <- d:
	case <-ctx.Done():
		return ctx.Err()
	case <-s.closing:
		return ErrClosed
	}
	select {
	case err := <-d.done:
		return err
	case <-ctx.Done():
		return ctx.Err()
	case <-s.ended:
		return ErrClosed
	}
}

// settle begins a new epoch unless another doubt already did.
func (s *Store) settle(d doubt) error {
	if s.seq.broken != nil {
		return s.seq.broken
	}
	if d.givenUp == "" {
		if holds, err := s.holds(d.proof); holds || err != nil {
			return err
		}
	}
	// Where the two logs part is not known: nothing of an earlier epoch counts as the same.
	if err := s.newEpoch(0, d.proof.epoch, d.givenUp); err != nil {
		return err
	}
	s.opts.Logger.Error("THE DATA FOLDER WENT BACK IN TIME: it is an older copy. A new epoch begins, and the phones send again what they have. "+
		"If a backup is newer than the copy, restore that: phones have let go of what it holds. Put copies back by `hoppertally restore` only", "was_in", d.proof.epoch, "was_at", d.proof.seq, "is_at", s.Head())
	return nil
}

// keepSecret makes the secret of the proofs, once in the life of a folder.
func (s *Store) keepSecret() error {
	if len(s.secret) > 0 {
		return nil
	}
	secret := randomHex()
	if err := s.update(func(c *change) error { return c.set(secretKey, []byte(secret)) }); err != nil {
		return fmt.Errorf("store: write the secret of the proofs: %w", err)
	}
	s.secret = []byte(secret)
	return nil
}
