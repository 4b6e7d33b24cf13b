package replica

import (
	"hoppertally/sync/wire"
	"testing"
)

// The proof of the newest answer goes with each request, and with what it covers into the
// store, from where the next start has it.
func TestTheNewestProofIsShownAndStored(t *testing.T) {
	s, at := started(t, row(1, 50))
	ref := one[Refresh](t, lead(s, at))
	hi := one[Hello](t, s.Step(at, Refreshed{Op: ref.Op}))
	if hi.Proof != "" {
		t.Errorf("a proof %q out of nothing", hi.Proof)
	}
	p := one[Push](t, s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Epoch: "e", Head: 5, Proof: "at 5"}}))
	if p.Proof != "at 5" {
		t.Errorf("the push shows %q, want that of the hello", p.Proof)
	}
	a := s.answer(p)
	a.Epoch, a.Head, a.Proof = "e", 6, "at 6"
	m := one[MarkOutcome](t, s.Step(at, a))
	if want := (Proof{"e", 6, "at 6"}); m.Proof != want {
		t.Errorf("with the marks goes %+v, want %+v", m.Proof, want)
	}
	pull := one[Pull](t, s.Step(at, Stored{Op: m.Op}))
	if pull.Proof != "at 6" {
		t.Errorf("the pull shows %q, want that of the push", pull.Proof)
	}
	page := wire.Page{Epoch: "e", Head: 7, Next: 7, Proof: "at 7", Items: []wire.Item{{ID: "b", N: 1, Outcome: "accepted", Facts: wire.Facts{Seq: 6}}, {ID: "x", Facts: wire.Facts{Seq: 7}}}}
	stored := one[StorePulled](t, s.Step(at, PullAnswered{Op: pull.Op, Page: page}))
	if want := (Proof{"e", 7, "at 7"}); stored.Proof != want {
		t.Errorf("with the page goes %+v, want %+v", stored.Proof, want)
	}
	s.Step(at, Stored{Op: stored.Op})
	f := one[FetchBase](t, s.Step(at, Outside{}))
	if f.Proof != "at 7" {
		t.Errorf("asking for a snapshot shows %q", f.Proof)
	}
	b := one[StoreBase](t, s.Step(at, BaseAnswered{Op: f.Op, Snapshot: Snapshot{Epoch: "e", Base: Base{Seq: 9}, Head: 9, Proof: "at 9"}}))
	if want := (Proof{"e", 9, "at 9"}); b.Proof != want {
		t.Errorf("with the snapshot goes %+v, want %+v", b.Proof, want)
	}

	again, at := &State{}, Moment{MonoMS: 1000, WallMS: 1, Segment: "s"}
	again.Step(at, Started{SignedIn: true, Cursor: b.To, Proof: b.Proof, Own: s.own, Counter: 1})
	again.Step(at, Leads{true})
	ref = one[Refresh](t, again.Step(at, Reread{Cursor: b.To, Proof: b.Proof, Counter: 1, Own: s.own}))
	if hi := one[Hello](t, again.Step(at, Refreshed{Op: ref.Op})); hi.Proof != "at 9" {
		t.Errorf("after a start the hello shows %q, want what the store had", hi.Proof)
	}
}

// A server that was put back and asks for no proof gives out less than it once did: what
// shows it must not be forgotten, by an answer or by an older row of the store.
func TestALowerProofDoesNotTakeThePlaceOfAHigherOne(t *testing.T) {
	s, at, _ := ready(t)
	hi := one[Hello](t, s.Step(at, SyncNow{}))
	pull := one[Pull](t, s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Epoch: "e", Head: 8, Proof: "at 8"}}))
	for _, in := range []Input{
		PullAnswered{Op: pull.Op, Page: wire.Page{Epoch: "e", Head: 6, Next: 6, Proof: "at 6", Items: []wire.Item{{ID: "x", Facts: wire.Facts{Seq: 6}}}}},
		Reread{Cursor: s.cursor, Proof: Proof{"e", 7, "at 7"}},
	} {
		if s.Step(at, in); s.shown().Text != "at 8" {
			t.Errorf("after %T the proof is %q, want the highest", in, s.shown().Text)
		}
	}
	s.Step(at, Reread{Cursor: s.cursor, Proof: Proof{"e", 9, "at 9"}}) // another window's
	if s.shown().Text != "at 9" {
		t.Errorf("the proof is %q, want what another window has stored", s.shown().Text)
	}
}

// A proof is of one epoch: in another one it is not shown, and goes into no store.
func TestAProofOfAnotherEpochIsNotShown(t *testing.T) {
	s, at, _ := ready(t)
	s.Step(at, Reread{Cursor: Cursor{Epoch: "f", After: 3}, Proof: Proof{"e", 9, "of e"}})
	if s.shown() != (Proof{}) {
		t.Errorf("in epoch f the proof %+v is shown", s.shown())
	}
	s.Step(at, Reread{Cursor: Cursor{Epoch: "f", After: 3}, Proof: Proof{"f", 3, "of f"}})
	if s.shown().Text != "of f" {
		t.Errorf("the proof is %+v, want that of f", s.shown())
	}
}

// A push that brings the news of a new epoch starts over at once: the entries go out
// again, also those whose marks were on their way into the store.
func TestAPushAnsweredInANewEpochStartsOver(t *testing.T) {
	s, at, effects := ready(t, row(1, 1<<20), row(2, 1<<20))
	a := s.answer(one[Push](t, effects))
	a.Epoch, a.Head, a.Proof = "e", 6, "e at 6"
	effects = s.Step(at, a)
	marks, second := one[MarkOutcome](t, effects), one[Push](t, effects)
	a = s.answer(second)
	a.Epoch, a.Head, a.Proof = "e2", 4, "e2 at 4"
	effects = s.Step(at, a)
	none[MarkOutcome](t, effects)
	r := one[Reset](t, effects)
	if r.Epoch != "e2" {
		t.Errorf("a reset to %q, want e2", r.Epoch)
	}
	none[Push](t, s.Step(at, Stored{Op: marks.Op}))
	p := one[Push](t, s.Step(at, Stored{Op: r.Op}))
	if got := s.Status().Unsent; got != 2 || p.Proof != "e2 at 4" {
		t.Errorf("%d unsent, want both; the push shows %q", got, p.Proof)
	}
}
