package replica

import (
	"cmp"
	"slices"
)

// Step takes one input and gives what to do now, in order. The slices inside the
// effects belong to the caller.
func (s *State) Step(at Moment, in Input) []Effect {
	st := step{State: s, at: at, out: make([]Effect, 0, 4)}
	st.watchClock()
	st.take(in)
	st.decide()
	return st.out
}

// step is one call of Step: the state, the moment and the effects so far.
type step struct {
	*State
	at  Moment
	out []Effect
}

func (s *step) do(e Effect) { s.out = append(s.out, e) }

// watchClock forgets every deadline when the monotonic clock began anew: the old
// ones mean nothing on it.
func (s *step) watchClock() {
	if s.segment == s.at.Segment {
		return
	}
	s.segment = s.at.Segment
	s.busy.until, s.marking.until, s.notUntil, s.nextHi, s.liveNext = 0, 0, 0, 0, 0
	s.lastHi = s.at.MonoMS - HelloFreshMS
	s.resets, s.bases = nil, nil
}

func (s *step) start(in Started) {
	*s.State = State{
		started: true, leader: s.leader, visible: s.visible, segment: s.segment, op: s.op,
		cursor: in.Cursor, proof: in.Proof, base: in.Base, scope: in.Base.Scope, counter: in.Counter, server: in.Server, signedIn: in.SignedIn,
		own: known(in.Own, in.Cursor), wantHi: true, batchMax: BatchEntriesMax, bytesMax: BatchBytesMax, pageMax: PageMax,
	}
	s.do(CloseLive{})
	s.do(Changed{})
}

// recorded takes new entries. When their numbers leave some out, another window has
// taken those, or a write that was given up for lost: the store must be read, or
// the entries in between would wait there and the others overtake them.
func (s *step) recorded(own []Own) {
	if len(own) > 0 && own[0].N > s.counter+1 {
		s.wantRead = true
	}
	s.merge(own, nil)
}

func (s *step) merge(own []Own, gone []int64) {
	for _, o := range own {
		s.put(o)
		s.counter = max(s.counter, o.N)
	}
	for _, n := range gone {
		if i, ok := s.find(n); ok {
			s.own = slices.Delete(s.own, i, i+1)
		}
	}
	s.do(Changed{})
}

// wake tries at once and asks how things stand.
func (s *step) wake() {
	s.notUntil, s.liveNext, s.wantHi = 0, 0, true
}

// letGo gives up a request under way: its answer would speak of sessions that are no
// longer those of this phone.
func (s *step) letGo() {
	if s.busy.kind != idle && s.busy.kind != store {
		s.busy, s.sent = lease{}, nil
	}
}

// ends closes the lease if op is the one under way and of that kind.
func (s *step) ends(op int64, kind opKind) bool {
	if s.busy.kind != kind || s.busy.op != op {
		return false
	}
	s.busy = lease{}
	return true
}

// begin opens a lease and gives its op.
func (s *step) begin(kind opKind, timeoutMS int64) int64 {
	s.busy = s.lease(kind, timeoutMS)
	return s.op
}

func (s *step) lease(kind opKind, timeoutMS int64) lease {
	s.op++
	return lease{kind: kind, op: s.op, until: s.at.MonoMS + timeoutMS + LeaseGraceMS}
}

// write stages what becomes true when the store has it.
func (s *step) write(c change) int64 {
	s.staged = c
	return s.begin(store, StoreTimeoutMS)
}

// dropWrites forgets what is being written: whether the store has it, it will say when
// it is read again, or the server when it gets the same entries once more.
func (s *step) dropWrites() {
	for _, o := range s.marked {
		if i, ok := s.find(o.N); ok {
			s.own[i].answered = false
		}
	}
	s.staged, s.marking, s.marked = change{}, lease{}, nil
}

// apply makes the staged change true.
func (s *step) apply() {
	c := s.staged
	s.staged = change{}
	for _, o := range c.marks {
		s.put(o)
	}
	s.merge(nil, c.forget)
	if c.base != nil {
		s.outside = s.outside && !c.anew && *c.base == s.base
		s.base = *c.base
	}
	if c.cursor != nil {
		if c.cursor.Epoch != s.cursor.Epoch {
			s.own = known(s.own, *c.cursor)
		}
		s.cursor = *c.cursor
		s.head = max(s.head, s.cursor.After)
	}
	s.answered()
}

// readStore asks for what the store really holds; nothing else starts before.
func (s *step) readStore() {
	s.dropWrites()
	s.wantRead = false
	s.do(ReadStore{Op: s.begin(store, StoreTimeoutMS)})
}

func (s *step) reread(in Reread) {
	if s.busy.kind == store {
		s.busy = lease{}
	}
	s.dropWrites()
	if in.Cursor.Epoch != s.cursor.Epoch {
		s.head, s.poked, s.backup, s.wantPull = 0, 0, 0, true
	}
	if in.Base != s.base {
		s.base, s.outside = in.Base, false
	}
	s.cursor = in.Cursor
	if in.Proof.Beyond(s.shown(), s.cursor) {
		s.proof = in.Proof
	}
	s.counter = max(s.counter, in.Counter)
	s.head = max(s.head, s.cursor.After)
	own := slices.Clone(in.Own)
	for _, o := range s.own {
		if o.N > in.Counter { // recorded since the store was read
			own = append(own, o)
		}
	}
	s.own = known(own, in.Cursor)
	s.do(Changed{})
}

func byN(a, b Own) int { return cmp.Compare(a.N, b.N) }

// answered notes that the server is there and talks sense.
func (s *step) answered() {
	s.failures, s.refusals = 0, 0
	s.online = Yes
}

// fail backs off; atLeast is the server's own wish in ms.
func (s *step) fail(atLeast int64) {
	s.failures++
	s.notUntil = s.at.MonoMS + max(Backoff(s.failures, s.at.Seed), atLeast)
	s.do(Changed{})
}

// Backoff is the pause after the given number of failures in a row (from 1): it
// doubles from one second to a minute, and the seed spreads it between half of
// that and the whole, so that phones that lost the server together do not come
// back together.
func Backoff(failures int, seed uint64) int64 {
	full := int64(BackoffMaxMS)
	if failures < 7 {
		full = min(full, BackoffFirstMS<<max(failures-1, 0))
	}
	return full/2 + int64(seed%uint64(full/2+1))
}
