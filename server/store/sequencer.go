package store

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"runtime"
	"time"

	"hoppertally/sync/entry"
	"hoppertally/sync/hub"

	badger "github.com/dgraph-io/badger/v4"
)

// Limits of a push and of a commit.
const (
	PushMax   = 4096    // entries
	PushBytes = 8 << 20 // bytes of all entries
	GroupMax  = 512     // entries in one commit: many, since a commit waits for the disk
	// LingerMax is how long a group may grow. It never waits idly: it ends when
	// no push is waiting and no goroutine is about to hand one in.
	LingerMax = 5 * time.Millisecond
)

// JudgeFailed is the reason of an entry held because the judge panicked over it.
const JudgeFailed = "entry.judge_failed"

// ErrTooMany is returned for a push beyond PushMax or PushBytes.
var ErrTooMany = fmt.Errorf("store: more than %d entries or %d bytes in one push", PushMax, PushBytes)

// PushRequest is what a device hands in.
type PushRequest struct {
	Author, Device string      // of the session
	Now            entry.Clock // the device's clocks when it sent the push; zero: it told none
	Entries        [][]byte
}

// Push hands in entries and waits until all are durable. There is one result
// per entry, in the same order. The bytes are copied; the caller may reuse them.
//
// ErrDiskLow, ErrTooMany, ErrClosed and errors of the disk concern the push as a
// whole. After any error, that of ctx included, some or all entries may be on the
// log: the device pushes them again and gets duplicates.
func (s *Store) Push(ctx context.Context, req PushRequest) ([]hub.Result, error) {
	j, err := newJob(req)
	if err != nil || len(req.Entries) == 0 {
		return nil, err
	}
	select {
	case <-s.closing:
		return nil, ErrClosed
	default:
	}
	select {
	case s.queue <- j:
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-s.closing:
		return nil, ErrClosed
	}
	select {
	case <-j.done:
		return j.results, j.err
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-s.ended:
	}
	select {
	case <-j.done: // it was the last one
		return j.results, j.err
	default:
		return nil, ErrClosed
	}
}

// job is a push on its way through the sequencer.
type job struct {
	arrived []hub.Arrived // still to decide
	results []hub.Result
	err     error
	done    chan struct{}
}

func newJob(req PushRequest) (*job, error) {
	total := 0
	for _, raw := range req.Entries {
		total += len(raw)
	}
	if len(req.Entries) > PushMax || total > PushBytes {
		return nil, ErrTooMany
	}
	j := &job{done: make(chan struct{}), arrived: make([]hub.Arrived, 0, len(req.Entries)), results: make([]hub.Result, 0, len(req.Entries))}
	all := make([]byte, 0, total)
	for _, raw := range req.Entries {
		from := len(all)
		all = append(all, raw...)
		j.arrived = append(j.arrived, hub.Arrived{Raw: all[from:len(all):len(all)], Author: req.Author, Device: req.Device, Now: req.Now})
	}
	return j, nil
}

// sequencer is the state of the one goroutine that writes the log.
type sequencer struct {
	state      *hub.State
	hub        *hub.Hub
	head       mark
	groupBytes int   // of raw entries in one commit
	carry      *job  // the next push, or one of which a part is committed
	broken     error // a commit failed: what is on disk is not known until the next Open
}

// load reads the state from the database, at start and after decisions that
// were not committed.
func (q *sequencer) load(s *Store) error {
	state, head := hub.NewState(), mark{hash: genesis}
	err := s.view(func(t *badger.Txn) error {
		b, err := get(t, headKey)
		if err != nil || b == nil {
			return err
		}
		if head, err = readMark(b); err != nil {
			return err
		}
		if b, err = get(t, hubKey); err != nil {
			return err
		}
		if err := state.SetHead(b); err != nil {
			return err
		}
		return scan(t, []byte{devicePrefix}, func(key, val []byte) error {
			return state.SetDevice(string(key[1:]), val)
		})
	})
	if err == nil && state.Seq != head.seq {
		err = fmt.Errorf("head at %d, hub at %d", head.seq, state.Seq)
	}
	if err != nil {
		return fmt.Errorf("store: read the state of the hub: %w", err)
	}
	q.state, q.head = state, head
	q.hub = hub.New(state, s.opts.Judge, s.lookup)
	if q.groupBytes == 0 {
		q.groupBytes = int(s.db.MaxBatchSize()) / 2 // the rest is for indexes, quarantine and devices
	}
	return nil
}

// lookup finds an id on the committed log.
func (s *Store) lookup(id string) (o hub.Original, found bool, err error) {
	err = s.view(func(t *badger.Txn) error {
		b, err := get(t, named(idPrefix, id))
		if err != nil || b == nil {
			return err
		}
		m, err := readMark(b)
		if err != nil {
			return &BadRecordError{What: "index of id " + id + ": " + err.Error()}
		}
		b, err = get(t, logKey(m.seq))
		if err != nil {
			return err
		}
		_, rec, err := splitLog(b)
		if err != nil {
			return &BadRecordError{Seq: m.seq, What: err.Error()}
		}
		r, err := readRecord(m.seq, rec)
		if err != nil {
			return &BadRecordError{Seq: m.seq, What: err.Error()}
		}
		found = true
		o = hub.Original{Hash: m.hash, Result: hub.Result{ID: id, Outcome: r.Outcome, Seq: r.Seq,
			ReceivedMS: r.ReceivedMS, EffectiveMS: r.EffectiveMS, Late: r.Late, Reason: r.Reason}}
		return nil
	})
	return o, found, err
}

// share is the part of a push that goes into one commit.
type share struct {
	job *job
	n   int
}

func (s *Store) run() {
	defer close(s.ended)
	for {
		if s.seq.carry == nil {
			select {
			case <-s.closing:
				return
			case d := <-s.doubts:
				d.done <- s.settle(d)
				continue
			case j := <-s.queue:
				s.seq.carry = j
			}
		}
		s.process(s.collect())
	}
}

// collect gathers pushes for one commit, beginning with the one in carry.
func (s *Store) collect() (group []share, size int) {
	bytes := 0
	add := func(j *job) (full bool) {
		n := 0
		for n < len(j.arrived) && size+n < GroupMax && (size+n == 0 || bytes+len(j.arrived[n].Raw) <= s.seq.groupBytes) {
			bytes += len(j.arrived[n].Raw)
			n++
		}
		if n > 0 {
			group = append(group, share{j, n})
			size += n
		}
		if n < len(j.arrived) {
			s.seq.carry = j
			return true
		}
		return size >= GroupMax
	}
	first := s.seq.carry
	s.seq.carry = nil
	if add(first) {
		return group, size
	}
	start := time.Now()
	for yielded := false; time.Since(start) < LingerMax; {
		select {
		case j := <-s.queue:
			if add(j) {
				return group, size
			}
			yielded = false
		default:
			if yielded {
				return group, size
			}
			runtime.Gosched() // lets callers just answered hand in their next: a quarter more per second
			yielded = true
		}
	}
	return group, size
}

// process decides and commits a group and answers the pushes that are complete.
func (s *Store) process(group []share, size int) {
	batch := make([]hub.Arrived, 0, size)
	for _, g := range group {
		batch = append(batch, g.job.arrived[:g.n]...)
	}
	decisions, err := s.commit(batch)
	for _, g := range group {
		j := g.job
		if err != nil {
			j.err, j.results, j.arrived = err, nil, nil
			if s.seq.carry == j {
				s.seq.carry = nil
			}
		} else {
			for _, d := range decisions[:g.n] {
				j.results = append(j.results, d.Result)
			}
			decisions, j.arrived = decisions[g.n:], j.arrived[g.n:]
		}
		if len(j.arrived) == 0 {
			close(j.done)
		}
	}
}

// commit makes a batch durable and visible. A batch too big for one
// transaction is halved; what follows an entry that closed the books is decided
// when the books know of it.
func (s *Store) commit(batch []hub.Arrived) ([]hub.Decision, error) {
	if s.seq.broken != nil {
		return nil, s.seq.broken
	}
	if err := s.room(); err != nil {
		return nil, err
	}
	decisions, err := s.seq.hub.Decide(batch, s.opts.NowMS())
	if err != nil {
		s.reload()
		return nil, fmt.Errorf("store: decide: %w", err)
	}
	records, head, err := s.write(decisions)
	if errors.Is(err, badger.ErrTxnTooBig) && len(batch) > 1 {
		s.reload()
		first, err := s.commit(batch[:len(batch)/2])
		if err != nil {
			return nil, err
		}
		second, err := s.commit(batch[len(batch)/2:])
		return append(first, second...), err
	}
	if err != nil {
		s.seq.broken = fmt.Errorf("store: commit failed, restart the server: %w", err)
		s.opts.Logger.Error("commit failed, no more entries are taken", "error", err)
		return nil, s.seq.broken
	}
	s.publish(head, records)
	s.warn(decisions)
	if n := len(decisions); n < len(batch) {
		rest, err := s.commit(batch[n:])
		return append(decisions, rest...), err
	}
	return decisions, nil
}

func (s *Store) reload() {
	if err := s.seq.load(s); err != nil {
		s.seq.broken = err
	}
}

// write puts everything that follows from the decisions into one transaction.
func (s *Store) write(decisions []hub.Decision) ([]Record, mark, error) {
	c := s.change()
	defer c.t.Discard()
	head := s.seq.head
	records := make([]Record, 0, len(decisions))
	for i := range decisions {
		d := &decisions[i]
		var err error
		switch d.Outcome {
		case hub.Accepted, hub.Held:
			r := Record{d.Seq, d.ReceivedMS, d.EffectiveMS, d.Outcome, d.Late, d.Reason, d.Raw}
			records = append(records, r)
			head, err = writeRecord(c, head, r, d.ID, d.Hash)
		case hub.Refused:
			err = writeQuarantine(c, d)
		}
		if err != nil {
			return nil, head, err
		}
	}
	if err := s.writeState(c, head); err != nil {
		return nil, head, err
	}
	return records, head, c.commit(&head)
}

func writeRecord(c *change, head mark, r Record, id string, of hash) (mark, error) {
	b := appendRecord(make([]byte, sha256.Size, sha256.Size+64+len(r.Reason)+len(r.Raw)), r)
	head = mark{r.Seq, chain(head.hash, r.Seq, b[sha256.Size:])}
	copy(b, head.hash[:])
	if err := c.add(logKey(r.Seq), b); err != nil {
		return head, err
	}
	return head, c.add(named(idPrefix, id), mark{r.Seq, of}.append(nil))
}

func (s *Store) writeState(c *change, head mark) error {
	for _, id := range s.seq.state.Touched() {
		if err := c.set(named(devicePrefix, id), s.seq.state.AppendDevice(nil, id)); err != nil {
			return err
		}
	}
	if err := c.set(hubKey, s.seq.state.AppendHead(nil)); err != nil {
		return err
	}
	return c.set(headKey, head.append(nil))
}

// publish lets the world see what was committed.
func (s *Store) publish(head mark, records []Record) {
	s.seq.head = head
	if len(records) == 0 {
		return
	}
	s.opts.Applied(records)
	at := *s.at.Load()
	at.head = head
	s.stand(at)
	s.pokes.send(head.seq)
}

func (s *Store) warn(decisions []hub.Decision) {
	for _, d := range decisions {
		if d.Outcome == hub.Refused {
			s.opts.Logger.Warn("entry refused, kept in quarantine", "id", d.ID, "device", d.Device, "reason", d.Reason, "fault", d.Fault)
		}
	}
}
