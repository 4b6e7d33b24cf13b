package replica

import (
	"hoppertally/sync/wire"
	"testing"
)

// A window that loses the lead while a snapshot is on its way will not store it. It must
// not wait for it for ever, nor ask for it when the lead comes back: by then whoever led
// may have stored one, and if not, the books say again that they need one. Found by
// simulation.
func TestWhoLosesTheLeadNoLongerWaitsForASnapshot(t *testing.T) {
	s, at, _ := ready(t)
	one[FetchBase](t, s.Step(at, Outside{}))
	none[FetchBase](t, s.Step(at, Leads{false}))
	if s.IsOutside() {
		t.Error("a window that does not lead waits for a snapshot that nobody fetches")
	}
	hi := one[Hello](t, lead(s, at))
	none[FetchBase](t, s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Server: "srv", Epoch: "e", Head: 5}}))
	one[FetchBase](t, s.Step(at, Outside{}))
}

// Who begins a log anew reads it from its beginning: what the old base lacked says
// nothing of it. Found by simulation.
func TestALogThatBeginsAnewNeedsNoOtherSnapshot(t *testing.T) {
	s, at, _ := ready(t)
	s.Step(at, Reread{Cursor: s.cursor, Base: Base{Seq: 5, FloorMS: 1}})
	f := one[FetchBase](t, s.Step(at, Outside{}))
	r := one[Reset](t, s.Step(at, BaseAnswered{Op: f.Op, Snapshot: Snapshot{Epoch: "e2", Base: Base{Seq: 3}}}))
	effects := s.Step(at, Stored{Op: r.Op})
	none[FetchBase](t, effects)
	one[Pull](t, effects)
	if s.IsOutside() {
		t.Error("the wish for another base outlived the log that it spoke of")
	}
}

// A window that follows cannot fetch the snapshot that its books ask for, and must not
// wait for it: it takes over what the one that leads has fetched. Found by simulation.
func TestWhoFollowsDoesNotWaitForASnapshot(t *testing.T) {
	s, at, _ := ready(t)
	s.Step(at, Leads{false})
	none[FetchBase](t, s.Step(at, Outside{}))
	if s.IsOutside() {
		t.Error("a window that follows waits for a snapshot that it cannot fetch")
	}
}
