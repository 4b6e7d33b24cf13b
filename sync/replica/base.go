package replica

import "hoppertally/sync/wire"

// Base is what the phone's copy of the log stands on. The zero value is the
// beginning of the log, of which everything was fetched.
type Base struct {
	Seq     int64 `json:"seq"` // the snapshot holds the log up to here
	FloorMS int64 `json:"floor_ms"`
	Tail    int64 `json:"tail"`  // entries that came with it, on top of its state
	Scope   Scope `json:"scope"` // what the server leaves out of this phone's copy
}

// Scope says what a phone may hold. "" leaves it to the server: as much as the
// session may see.
type Scope string

const (
	Full  Scope = "full"
	Plain Scope = "plain" // without what is not for everybody's eyes
)

// Limits of when a phone takes a snapshot instead of reading on.
const (
	FirstMax  = 500  // entries that a new phone reads from the beginning
	FarMax    = 5000 // entries behind the head
	WindowMax = 4000 // entries since the snapshot, if it did not bring more itself
)

// Snapshot is the server's answer to [FetchBase]. What is in its pieces is opaque to
// the sync: the driver keeps them until the store has them.
type Snapshot struct {
	Epoch string
	Base  Base
	Head  int64 // of the log, at least Base.Seq; 0 if the server did not say
	Proof string
}

// SnapshotOf is what the sync needs of the list of a snapshot's pieces.
func SnapshotOf(s *wire.Snapshot) Snapshot {
	return Snapshot{Epoch: s.Epoch, Base: Base{Seq: s.Seq, FloorMS: s.FloorMS, Tail: s.Tail}, Head: s.Head, Proof: s.Proof}
}

// BaseAnswered tells that a whole snapshot is there, its pieces checked by their hashes.
type BaseAnswered struct {
	Op       int64
	Snapshot Snapshot
}

// Outside tells that an entry from the server reaches behind the phone's base: what
// the phone shows is no longer exact, and only a new snapshot makes it so.
type Outside struct{}

// Wants says what this phone may hold, by the people who use it.
type Wants struct{ Scope Scope }

// FetchBase asks for a snapshot with at least the log up to After inside.
type FetchBase struct {
	Op, TimeoutMS int64
	After         int64
	Scope         Scope
	Proof         string
}

// StoreBase puts a snapshot in the place of what was pulled and moves the store's cursor
// From → To, in one transaction. When the store's
// cursor is not From the driver writes nothing and answers [Reread]. See
// [Cursor.Follows].
type StoreBase struct {
	Op       int64
	From, To Cursor
	Base     Base
	Proof    Proof
}

func (BaseAnswered) input() {}
func (Outside) input()      {}
func (Wants) input()        {}
func (FetchBase) effect()   {}
func (StoreBase) effect()   {}

// Base is what the store's copy of the log stands on.
func (s *State) Base() Base { return s.base }

// IsOutside tells whether a new snapshot is asked for because the old base no
// longer holds.
func (s *State) IsOutside() bool { return s.outside }

// needsBase tells whether a snapshot comes before reading on.
func (s *State) needsBase() bool {
	since := s.cursor.After - s.base.Seq
	switch {
	case s.cursor.Epoch == "" || s.noBase:
		return false
	case s.outside, s.scope != s.base.Scope && s.cursor.After > 0:
		return true
	case s.cursor.After == 0:
		return max(s.head, s.poked) > FirstMax
	}
	return max(s.head, s.poked)-s.cursor.After > FarMax || since > max(WindowMax, 2*s.base.Tail)
}

// based checks a snapshot and has it stored.
func (s *step) based(op int64, snap Snapshot) {
	s.told(snap.Epoch, snap.Head, snap.Proof)
	if snap.Epoch != s.cursor.Epoch {
		s.answered()
		s.reset(snap.Epoch, snap.Base.Seq)
		return
	}
	if snap.Base.Seq < s.cursor.After {
		s.circle("base")
		return
	}
	if !s.spread(&s.bases, "base") {
		return
	}
	s.answered()
	to := Cursor{Epoch: snap.Epoch, After: snap.Base.Seq}
	s.wantPull = snap.Head == 0
	s.heard(op, max(snap.Head, snap.Base.Seq))
	s.do(StoreBase{Op: s.write(change{cursor: &to, base: &snap.Base, anew: true}), From: s.cursor, To: to, Base: snap.Base, Proof: s.shown()})
}

// spread notes one more of what must not happen often; false when it does, and then
// there is a pause.
func (s *step) spread(times *[]int64, what string) bool {
	*times = append(*times, s.at.MonoMS)
	for len(*times) > 0 && (*times)[0] < s.at.MonoMS-resetWindowMS {
		*times = (*times)[1:]
	}
	if len(*times) > LoopMax {
		*times = nil
		s.pauseLoop(what)
		return false
	}
	return true
}
