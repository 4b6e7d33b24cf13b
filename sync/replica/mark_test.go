package replica

import (
	"slices"
	"testing"

	"hoppertally/sync/wire"
)

// A mark that was stored although its write was reported as failed must not outlive
// the epoch that it speaks of: the entry would never be sent to the restored server,
// and be let go of by a backup that does not have it. Found by simulation.
func TestAMarkKeptInSpiteOfAFailureIsUndoneInANewEpoch(t *testing.T) {
	s, at, effects := ready(t, row(1, 50))
	p := one[Push](t, effects)
	m := one[MarkOutcome](t, s.Step(at, PushAnswered{Op: p.Op, Pushed: wire.Pushed{Results: []wire.Result{{ID: "b", Outcome: "accepted", Facts: wire.Facts{Seq: 6}}}}}))
	one[ReadStore](t, s.Step(at, StoreFailed{Op: m.Op}))
	s.Step(at, Reread{Cursor: s.cursor, Base: s.base, Counter: 1, Own: m.Own})
	at.MonoMS += BackoffMaxMS
	hi := one[Hello](t, s.Step(at, Timer{}))
	r := one[Reset](t, s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Server: "srv", Epoch: "e2", Head: 3, BackupSeq: 6}}))
	if len(r.Own) != 1 || r.Own[0].Mark != Unsent {
		t.Errorf("reset writes %+v, want entry 1 unsent", r.Own)
	}
}

// A mark speaks of one epoch: a store may hold one that memory did not know of when a new
// epoch took the others back. Its entry goes out again, and no backup lets go of it.
func TestAMarkOfAnotherEpochReadsAsUnsent(t *testing.T) {
	stale, refused := row(1, 50), row(2, 50)
	stale.Mark, stale.Epoch, stale.Seq, stale.EffectiveMS = Accepted, "before", 3, 7
	refused.Mark, refused.Reason = Refused, "malformed"
	for _, tt := range []struct {
		name string
		read func() (*State, []Effect)
	}{
		{"at the start", func() (*State, []Effect) { s, _, effects := ready(t, stale, refused); return s, effects }},
		{"read again", func() (*State, []Effect) {
			s, at, _ := ready(t)
			return s, s.Step(at, Reread{Cursor: s.cursor, Counter: 2, Own: []Own{stale, refused}})
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, effects := tt.read()
			if p := one[Push](t, effects); p.Entries != 1 {
				t.Errorf("%d entries go out, want the one with the old mark", p.Entries)
			}
			none[Forget](t, effects)
			if st := s.Status(); st.Unsent != 1 || st.Refused != 1 {
				t.Errorf("status %+v, want one unsent and one refused", st)
			}
		})
	}
}

// A version that noted no epoch took its marks back in a new one: they are of the store's.
func TestAMarkWithoutAnEpochIsOfTheStores(t *testing.T) {
	old := row(1, 50)
	old.Mark, old.Seq = Held, 3
	s, at, effects := ready(t, old)
	none[Push](t, effects)
	if got := s.Own()[0]; got.Mark != Held || got.Epoch != "e" {
		t.Errorf("read as %q of epoch %q, want held in e", got.Mark, got.Epoch)
	}
	at.MonoMS += PollMS
	hi := one[Hello](t, s.Step(at, Timer{}))
	r := one[Reset](t, s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Epoch: "e2", Head: 3}}))
	if len(r.Own) != 1 || r.Own[0].Mark != Unsent || r.Own[0].Epoch != "" {
		t.Errorf("reset writes %+v, want the entry unsent", r.Own)
	}
}

// A mark carries the epoch of the answer that gave it: a push's or a page's.
func TestMarksCarryTheirEpoch(t *testing.T) {
	s, at, effects := ready(t, row(1, 50))
	m := one[MarkOutcome](t, s.Step(at, s.answer(one[Push](t, effects))))
	if got := m.Own[0]; got.Mark != Accepted || got.Epoch != "e" {
		t.Errorf("the push marks %+v, want accepted in e", got)
	}
	s, at, effects = ready(t, row(1, 50))
	s.Step(at, Failed{Op: one[Push](t, effects).Op, Why: AuthorOut})
	pull := one[Pull](t, s.Step(at, Poked{Head: 6}))
	page := wire.Page{Epoch: "e", Head: 6, Next: 6, Items: []wire.Item{{ID: "b", N: 1, Outcome: "held", Facts: wire.Facts{Seq: 6}}}}
	stored := one[StorePulled](t, s.Step(at, PullAnswered{Op: pull.Op, Page: page}))
	if got := stored.Own[0]; got.Mark != Held || got.Epoch != "e" {
		t.Errorf("the page marks %+v, want held in e", got)
	}
}

// A phone that hears of a backup while its copy of the log is old lets go of what both
// have as soon as it has caught up, not at the next hello: a hidden phone's is far off.
func TestWhatABackupHasGoesOnceTheLogIsHere(t *testing.T) {
	own := row(1, 50)
	own.Mark, own.Epoch, own.Seq = Accepted, "e", 7
	s, at := started(t, own)
	s.Step(at, Visible{false})
	ref := one[Refresh](t, lead(s, at))
	hi := one[Hello](t, s.Step(at, Refreshed{Op: ref.Op}))
	effects := s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Epoch: "e", Head: 7, BackupSeq: 7}})
	none[Forget](t, effects)
	pull := one[Pull](t, effects)
	stored := one[StorePulled](t, s.Step(at, PullAnswered{Op: pull.Op, Page: wire.Page{Epoch: "e", Head: 7, Next: 7, Items: []wire.Item{{ID: "x", Facts: wire.Facts{Seq: 6}}, {ID: "b", N: 1, Outcome: "accepted", Facts: wire.Facts{Seq: 7}}}}}))
	f := one[Forget](t, s.Step(at, Stored{Op: stored.Op}))
	if !slices.Equal(f.N, []int64{1}) {
		t.Errorf("lets go of %v, want entry 1", f.N)
	}
	none[Forget](t, s.Step(at, Stored{Op: f.Op}))
}
