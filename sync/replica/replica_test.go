package replica

import (
	"hoppertally/sync/wire"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// After any history of faults, once the network heals everything recorded reaches
// the server once, and the phone has the server's whole log. Five minutes and the
// longest pause of the loop breaker are the bound.
func TestWhateverHappensTheOutboxEmptiesAfterHealing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(rapid.Uint64().Draw(t, "seed"))
		w.bad = rapid.Float64Range(0, 0.9).Draw(t, "bad")
		for range rapid.IntRange(1, 60).Draw(t, "moves") {
			switch rapid.SampledFrom([]string{"record", "record", "record", "malformed", "run", "run", "others", "restart", "restore", "backup", "hide", "show", "lead", "live", "session ends", "signs in", "copy", "go back", "outside", "wants", "many"}).Draw(t, "move") {
			case "record":
				w.record(false)
			case "malformed":
				w.record(true)
			case "run":
				w.run(rapid.Int64Range(1, 90_000).Draw(t, "ms"))
			case "others":
				w.others()
			case "restart":
				w.restart()
			case "restore":
				w.restore()
			case "backup":
				w.backup = append([]wire.Item(nil), w.log...)
			case "copy":
				w.copyFolder()
			case "go back":
				w.goBack()
			case "hide":
				w.step(Visible{false})
			case "show":
				w.step(Visible{true})
			case "lead":
				w.step(Leads{false})
				w.run(500)
				w.step(Leads{true})
			case "outside":
				w.step(Outside{})
			case "wants":
				w.step(Wants{rapid.SampledFrom([]Scope{"", Full, Plain}).Draw(t, "scope")})
			case "many":
				if len(w.log) < 1500 {
					w.many()
				}
			case "live":
				w.step(LiveClosed{})
			case "session ends":
				w.out[rapid.SampledFrom([]string{"ana", "bo"}).Draw(t, "whose")] = true
			case "signs in":
				clear(w.out)
				w.step(Seats{})
			}
			if w.timer < 0 {
				t.Fatal("a step left no timer")
			}
		}
		w.bad = 0
		clear(w.out)
		w.step(Seats{})
		w.step(Visible{true})
		w.run(5*60_000 + LoopPauseMS + PollLiveMS)
		w.check(t)
	})
}

func (w *world) inBackup(n int64) bool {
	for _, it := range w.backup {
		if it.Device == "d1" && it.N == n {
			return true
		}
	}
	return false
}

func (w *world) check(t *rapid.T) {
	for n := int64(1); n <= w.counter; n++ {
		o, kept := w.rows[n]
		id := o.ID
		if !kept {
			if !w.inBackup(n) {
				t.Errorf("entry %d is gone from the phone and in no backup", n)
			}
			continue
		}
		if w.refusedB[id] {
			if o.Mark != Refused {
				t.Errorf("malformed entry %d ends as %q, want refused", n, o.Mark)
			}
			continue
		}
		if o.Mark != Accepted {
			t.Errorf("entry %d ends as %q, want accepted", n, o.Mark)
		}
	}
	count := map[string]int{}
	for _, it := range w.log {
		count[it.ID]++
	}
	for id := range w.told {
		if count[id] != 1 {
			t.Errorf("acknowledged entry %s stands %d times in the log, want once", id, count[id])
		}
	}
	if end := (Cursor{w.epoch, int64(len(w.log))}); !end.Follows(w.cursor) {
		t.Errorf("cursor %v, want %s/%d", w.cursor, w.epoch, len(w.log))
	}
	if len(w.pages) != len(w.log) {
		t.Errorf("the phone has %d entries of the log, want %d", len(w.pages), len(w.log))
	}
	for i := range min(len(w.pages), len(w.log)) {
		if w.pages[i].ID != w.log[i].ID {
			t.Errorf("the phone's entry %d is %s, want %s", i, w.pages[i].ID, w.log[i].ID)
		}
	}
	if w.s.outside || w.s.scope != w.base.Scope && w.cursor.After > 0 || w.s.base != w.base {
		t.Errorf("outside %v, wants %q, base in the store %+v, in memory %+v", w.s.outside, w.s.scope, w.base, w.s.base)
	}
	if st := w.s.Status(); st.Unsent != 0 || st.Online != Yes || st.LastSyncMS == 0 {
		t.Errorf("status %+v, want nothing unsent, online, synced", st)
	}
}

// An idle phone must not keep the server busy: by hand, one hello each five
// minutes with a live stream makes 12 requests in an hour, plus the first few.
func TestAnIdlePhoneIsQuiet(t *testing.T) {
	w := newWorld(1)
	w.run(60_000)
	before := w.requests
	w.run(60 * 60_000)
	if got := w.requests - before; got > 13 {
		t.Errorf("%d requests in an idle hour, want at most 13", got)
	}
}

// While the server is away the pauses grow: by hand, after 1+2+4+8+16+32 s every
// pause is between 30 and 60 s, so an hour has at most 7+120 tries.
func TestADeadServerIsAskedSeldom(t *testing.T) {
	w := newWorld(1)
	w.bad = 0
	w.run(1_000)
	w.bad = 1
	w.record(false)
	before := w.requests
	w.run(60 * 60_000)
	if got := w.requests - before; got > 400 {
		t.Errorf("%d requests in an hour without answers", got)
	}
}

func started(t *testing.T, own ...Own) (*State, Moment) {
	t.Helper()
	s, at := &State{}, Moment{MonoMS: 1000, WallMS: 1, Segment: "s", Seed: 3}
	s.Step(at, Started{SignedIn: true, Own: own, Cursor: Cursor{Epoch: "e", After: 5}, Counter: int64(len(own))})
	s.Step(at, Visible{true})
	return s, at
}

// one gives the only effect of type E, or fails.
func one[E Effect](t *testing.T, effects []Effect) E {
	t.Helper()
	var found []E
	for _, e := range effects {
		if e, ok := e.(E); ok {
			found = append(found, e)
		}
	}
	if len(found) != 1 {
		var want E
		t.Fatalf("effects %#v: want one %T", effects, want)
	}
	return found[0]
}

func none[E Effect](t *testing.T, effects []Effect) {
	t.Helper()
	for _, e := range effects {
		if e, ok := e.(E); ok {
			t.Fatalf("effect %#v was not expected", e)
		}
	}
}

// lead makes s the window that syncs; its store holds what it had.
func lead(s *State, at Moment) []Effect {
	s.Step(at, Leads{true})
	return s.Step(at, Reread{Cursor: s.cursor, Counter: s.counter, Own: s.own})
}

// ready brings a replica past refresh and hello.
func ready(t *testing.T, own ...Own) (*State, Moment, []Effect) {
	t.Helper()
	s, at := started(t, own...)
	ref := one[Refresh](t, lead(s, at))
	hi := one[Hello](t, s.Step(at, Refreshed{Op: ref.Op}))
	return s, at, s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Server: "srv", Epoch: "e", Head: 5}})
}

func row(n int64, size int) Own {
	return Own{N: n, ID: string(rune('a' + n%26)), Bytes: []byte(`"` + strings.Repeat("x", size-2) + `"`)}
}

func TestBatchesKeepBothLimits(t *testing.T) {
	var many, big []Own
	for n := int64(1); n <= BatchEntriesMax+1; n++ {
		many = append(many, row(n, 100))
		if n <= 30 {
			big = append(big, row(n, 100<<10))
		}
	}
	for _, tt := range []struct {
		name string
		own  []Own
		want int
		why  string
	}{
		{"one more than the count limit waits for the next batch", many, BatchEntriesMax, "one stays"},
		{"bytes stop the batch before the count does", big, 20, "by hand: 20 × 100 KiB and the head fit into 2048 KiB, 21 do not"},
		{"a single entry above the limit goes alone", []Own{row(1, BatchBytesMax), row(2, 100)}, 1, "nothing may wait for ever"},
		{"no entry, no push", nil, 0, "by hand"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, _, effects := ready(t, tt.own...)
			if tt.want == 0 {
				none[Push](t, effects)
				return
			}
			p := one[Push](t, effects)
			if p.Entries != tt.want {
				t.Errorf("%d entries, want %d (%s)", p.Entries, tt.want, tt.why)
			}
			if len(p.Body) > BatchBytesMax && p.Entries > 1 {
				t.Errorf("%d bytes for %d entries", len(p.Body), p.Entries)
			}
		})
	}
}

// answer accepts every entry of a push.
func (s *State) answer(p Push) PushAnswered {
	a := PushAnswered{Op: p.Op}
	for _, n := range s.sent {
		i, _ := s.find(n)
		a.Results = append(a.Results, wire.Result{ID: s.own[i].ID, Outcome: "accepted", Facts: wire.Facts{Seq: 5 + n}})
	}
	return a
}

// The next entries go out while the marks of those before are being stored, but nothing
// counts as sent before the store has it.
func TestTheNextPushDoesNotWaitForTheMarksOfTheOneBefore(t *testing.T) {
	s, at, effects := ready(t, row(1, 1<<20), row(2, 1<<20), row(3, 1<<20))
	first := one[Push](t, effects)
	effects = s.Step(at, s.answer(first))
	marks, second := one[MarkOutcome](t, effects), one[Push](t, effects)
	if got := s.sent; !slices.Equal(got, []int64{2}) {
		t.Errorf("the second push carries %v, want entry 2", got)
	}
	if got := s.Status().Unsent; got != 3 {
		t.Errorf("%d unsent before the store has the marks, want 3", got)
	}
	effects = s.Step(at, s.answer(second))
	all, third := one[MarkOutcome](t, effects), one[Push](t, effects)
	if len(all.Own) != 2 {
		t.Errorf("a write with %d marks, want 2: the one before is not confirmed yet", len(all.Own))
	}
	s.Step(at, Stored{Op: marks.Op})
	if got := s.Status().Unsent; got != 3 {
		t.Errorf("%d unsent after an older write, want 3", got)
	}
	s.Step(at, Stored{Op: all.Op})
	if got := s.Status().Unsent; got != 1 {
		t.Errorf("%d unsent once two are marked, want 1", got)
	}
	effects = s.Step(at, s.answer(third))
	last := one[MarkOutcome](t, effects)
	none[Pull](t, effects)
	if effects = s.Step(at, Stored{Op: last.Op}); s.Status().Unsent != 0 {
		t.Errorf("%d unsent at the end", s.Status().Unsent)
	}
	one[Pull](t, effects)
}

// A write of marks that fails, or of which nothing is heard, has the store read before
// anything else; entries whose mark it lacks go out again.
func TestMarksThatAreNotStoredSendTheirEntriesAgain(t *testing.T) {
	for _, tt := range []struct {
		name string
		end  func(s *State, at *Moment, op int64) []Effect
	}{
		{"the store says no", func(s *State, at *Moment, op int64) []Effect { return s.Step(*at, StoreFailed{Op: op}) }},
		{"the store says nothing", func(s *State, at *Moment, _ int64) []Effect {
			at.MonoMS += StoreTimeoutMS + LeaseGraceMS
			return s.Step(*at, Timer{})
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			own := []Own{row(1, 1<<20), row(2, 1<<20)}
			s, at, effects := ready(t, own...)
			effects = s.Step(at, s.answer(one[Push](t, effects)))
			marks, second := one[MarkOutcome](t, effects), one[Push](t, effects)
			none[ReadStore](t, tt.end(s, &at, marks.Op)) // the push comes first
			effects = s.Step(at, Failed{Op: second.Op, Why: NoServer})
			one[ReadStore](t, effects)
			at.MonoMS += BackoffMaxMS
			effects = s.Step(at, Reread{Cursor: s.cursor, Counter: 2, Own: own})
			if h, ok := effects[1].(Hello); ok {
				effects = s.Step(at, HelloAnswered{Op: h.Op, Hello: wire.Hello{Epoch: "e", Head: 5}})
			}
			one[Push](t, effects)
			if !slices.Equal(s.sent, []int64{1}) {
				t.Errorf("the push carries %v, want entry 1 again", s.sent)
			}
		})
	}
}

// A phone without anything takes the server's epoch as it comes: there is nothing to
// reset, and whoever waits for the first entries need not wait for that write.
func TestANewPhoneAsksForEntriesAtOnce(t *testing.T) {
	s, at := &State{}, Moment{MonoMS: 1000, WallMS: 1, Segment: "s"}
	s.Step(at, Started{})
	s.Step(at, Visible{true})
	lead(s, at)
	hi := one[Hello](t, s.Step(at, SignedIn{Server: "srv"}))
	effects := s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Server: "srv", Epoch: "e", Head: 7}})
	none[Reset](t, effects)
	one[OpenLive](t, effects)
	pull := one[Pull](t, effects)
	if want := (Cursor{Epoch: "e"}); pull.Cursor != want {
		t.Errorf("a pull after %v, want %v", pull.Cursor, want)
	}
	s.Step(at, LiveOpened{})
	stored := one[StorePulled](t, s.Step(at, PullAnswered{Op: pull.Op, Page: wire.Page{Epoch: "e", Head: 7, Next: 7, Items: []wire.Item{{ID: "x", Facts: wire.Facts{Seq: 7}}}}}))
	if !stored.From.Follows(Cursor{}) || stored.From.Follows(Cursor{Epoch: "d"}) {
		t.Errorf("a page after %v must follow an empty store, and no other epoch", stored.From)
	}
	none[Hello](t, s.Step(at, Stored{Op: stored.Op})) // the stream opened right after the first
	at.MonoMS += HelloFreshMS
	one[Hello](t, s.Step(at, LiveOpened{}))
}

// A request that is too large for its deadline on a thin line would be tried for ever.
func TestAThinLineIsAskedForLess(t *testing.T) {
	var own []Own
	for n := int64(1); n <= 400; n++ {
		own = append(own, row(n, 10<<10))
	}
	s, at, effects := ready(t, own...)
	var sizes []int
	fail := func() {
		p := one[Push](t, effects)
		sizes = append(sizes, len(p.Body)>>10)
		at.MonoMS += 30_000
		s.Step(at, Failed{Op: p.Op, Why: NoServer})
		at.MonoMS += BackoffMaxMS
		effects = s.Step(at, Timer{})
		if h, ok := effects[0].(Hello); ok {
			effects = s.Step(at, HelloAnswered{Op: h.Op, Hello: wire.Hello{Epoch: "e", Head: 5}})
		}
	}
	for range 8 {
		fail()
	}
	want := []int{2040, 1020, 510, 250, 120, 60, 60, 60} // by hand: whole entries of 10 KiB below 2048, 1024 … 64 KiB
	if !slices.Equal(sizes, want) {
		t.Errorf("pushes of %v KiB, want %v", sizes, want)
	}
	p := one[Push](t, effects)
	a := PushAnswered{Op: p.Op}
	for i, n := range s.sent {
		a.Results = append(a.Results, wire.Result{ID: s.own[n-1].ID, Outcome: "accepted", Facts: wire.Facts{Seq: int64(6 + i)}})
	}
	if p = one[Push](t, s.Step(at, a)); len(p.Body)>>10 != 120 {
		t.Errorf("after an answer a push of %d KiB, want 120", len(p.Body)>>10)
	}
}

func TestAThinLinePullsLess(t *testing.T) {
	s, at, _ := ready(t)
	effects := s.Step(at, Poked{Head: 9})
	var asked []int64
	for range 8 {
		p := one[Pull](t, effects)
		asked = append(asked, p.Max)
		at.MonoMS += 30_000
		s.Step(at, Failed{Op: p.Op, Why: NoServer})
		at.MonoMS += BackoffMaxMS
		effects = s.Step(at, Timer{})
		if h, ok := effects[0].(Hello); ok {
			effects = s.Step(at, HelloAnswered{Op: h.Op, Hello: wire.Hello{Epoch: "e", Head: 9}})
		}
	}
	if want := []int64{4096, 2048, 1024, 512, 256, 128, 64, 64}; !slices.Equal(asked, want) {
		t.Errorf("pulls of %v, want %v", asked, want)
	}
	p := one[Pull](t, effects)
	e := one[StorePulled](t, s.Step(at, PullAnswered{Op: p.Op, Page: wire.Page{Epoch: "e", Head: 9, Next: 6, More: true, Items: []wire.Item{{ID: "x", Facts: wire.Facts{Seq: 6}}}}}))
	if p = one[Pull](t, s.Step(at, Stored{Op: e.Op})); p.Max != 128 {
		t.Errorf("after a page a pull of %d, want 128", p.Max)
	}
}

func TestAnEntryTheServerCannotTakeDoesNotStopTheOthers(t *testing.T) {
	s, at, effects := ready(t, row(1, 50), row(2, 50), row(3, 50))
	poison := "b" // row 1
	stuck, accepted := "", map[string]bool{}
	for range 40 {
		for _, e := range effects {
			if n, ok := e.(Notify); ok && n.Code == "entry_stuck" {
				stuck = n.Detail
			}
		}
		var in Input = Timer{}
		for _, e := range effects {
			switch e := e.(type) {
			case Push:
				in = Failed{Op: e.Op, Why: Refusal}
				if e.Entries == 1 || stuck == poison {
					a := PushAnswered{Op: e.Op}
					for _, n := range s.sent {
						i, _ := s.find(n)
						a.Results = append(a.Results, wire.Result{ID: s.own[i].ID, Outcome: "accepted", Facts: wire.Facts{Seq: 5 + n}})
						accepted[s.own[i].ID] = true
					}
					if len(s.sent) > 1 || s.own[0].N != s.sent[0] {
						in = a
					}
				}
			case Hello:
				in = HelloAnswered{Op: e.Op, Hello: wire.Hello{Epoch: "e", Head: 5}}
			case MarkOutcome:
				in = Stored{Op: e.Op}
			case Pull:
				in = Failed{Op: e.Op, Why: NoServer}
			}
		}
		at.MonoMS += 100_000
		effects = s.Step(at, in)
	}
	if stuck != poison || !accepted["c"] || !accepted["d"] {
		t.Errorf("stuck %q, accepted %v; want b stuck, c and d accepted", stuck, accepted)
	}
	if got := s.Status().Unsent; got != 1 {
		t.Errorf("%d unsent, want the stuck one to stay visible", got)
	}
}

func TestEndedSessionKeepsEverything(t *testing.T) {
	s, at, effects := ready(t, row(1, 50))
	p := one[Push](t, effects)
	ref := one[Refresh](t, s.Step(at, Failed{Op: p.Op, Why: TokenOld}))
	effects = s.Step(at, Failed{Op: ref.Op, Why: SessionEnded})
	none[Push](t, effects)
	if st := s.Status(); !st.SessionEnded || st.Unsent != 1 || !st.SignedIn {
		t.Errorf("status %+v, want an ended session and the entry still unsent", st)
	}
	at.MonoMS += 1000
	hi := one[Hello](t, s.Step(at, SignedIn{Server: "srv"}))
	one[Push](t, s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Epoch: "e", Head: 5}}))
}

func TestTheLoopBreakerStopsCircles(t *testing.T) {
	s, at, effects := ready(t)
	none[Pull](t, effects)
	effects = s.Step(at, Poked{Head: 9})
	pulls := 0
	for range 200 {
		at.MonoMS += 1000
		var in Input = Timer{}
		for _, e := range effects {
			switch e := e.(type) {
			case Pull:
				pulls++
				in = PullAnswered{Op: e.Op, Page: wire.Page{Epoch: "e", Head: 9, Next: 5}} // a stale copy of an old answer
			case Hello:
				in = HelloAnswered{Op: e.Op, Hello: wire.Hello{Epoch: "e", Head: 9}}
			}
		}
		effects = s.Step(at, in)
	}
	if pulls > LoopMax+1 {
		t.Errorf("%d pulls in 200 s at the same place, want at most %d before the long pause", pulls, LoopMax+1)
	}
}

func TestOldAnswersAreIgnored(t *testing.T) {
	s, at, effects := ready(t, row(1, 50))
	p := one[Push](t, effects)
	at.MonoMS += PushTimeoutMS + LeaseGraceMS
	s.Step(at, Timer{}) // the lease is over
	effects = s.Step(at, PushAnswered{Op: p.Op, Pushed: wire.Pushed{Results: []wire.Result{{ID: "b", Outcome: "accepted", Facts: wire.Facts{Seq: 6}}}}})
	none[MarkOutcome](t, effects)
	if got := s.Status(); got.Unsent != 1 || got.Online != No {
		t.Errorf("status %+v, want the entry unsent and the server away", got)
	}
}

func TestBackoffDoublesAndStaysWithinItsBounds(t *testing.T) {
	for _, tt := range []struct {
		failures   int
		least, top int64
	}{
		{1, 500, 1_000}, {2, 1_000, 2_000}, {6, 16_000, 32_000}, {7, 30_000, 60_000}, {1000, 30_000, 60_000},
	} {
		for seed := range uint64(5_000) {
			if got := Backoff(tt.failures, seed*0x9e3779b97f4a7c15); got < tt.least || got > tt.top {
				t.Fatalf("Backoff(%d, %d) = %d, want %d to %d", tt.failures, seed, got, tt.least, tt.top)
			}
		}
	}
}

func TestTheCounterIsRaisedWhenTheServerKnowsMore(t *testing.T) {
	s, at := started(t)
	ref := one[Refresh](t, lead(s, at))
	hi := one[Hello](t, s.Step(at, Refreshed{Op: ref.Op}))
	effects := s.Step(at, HelloAnswered{Op: hi.Op, Hello: wire.Hello{Epoch: "e", Head: 5, HaveN: 40}})
	if got := one[RaiseCounter](t, effects).N; got != 40 {
		t.Errorf("raise to %d, want 40", got)
	}
}

// One author's session is over: their entries wait and say so, the others' go on, and
// nothing is asked again and again meanwhile.
func TestOneWhoMustSignInHoldsUpNobodyElse(t *testing.T) {
	w := newWorld(3)
	w.run(5_000)
	w.out["ana"] = true
	for range 40 {
		w.record(false)
	}
	w.run(10_000)
	was := w.requests
	w.run(60_000)
	waiting := 0
	for n := int64(1); n <= w.counter; n++ {
		o := w.rows[n]
		if (o.Mark == Unsent) != (o.By == "ana") {
			t.Errorf("entry %d of %s is %q", n, o.By, o.Mark)
		}
		if o.By == "ana" {
			waiting++
		}
	}
	st := w.s.Status()
	if waiting == 0 || st.Unsent != waiting || len(st.Waiting) != 1 || st.Waiting[0] != (Waiting{By: "ana", N: waiting}) {
		t.Errorf("%d wait; status %+v", waiting, st)
	}
	if more := w.requests - was; more > 3 {
		t.Errorf("%d requests in a minute of waiting", more)
	}
	delete(w.out, "ana")
	w.step(Seats{})
	w.run(10_000)
	if st := w.s.Status(); st.Unsent != 0 || len(st.Waiting) != 0 {
		t.Errorf("after signing in: %+v", st)
	}
}

// An entry that another window stored, or a write that was given up for lost, must
// not wait in the store while later ones overtake it.
func TestANumberLeftOutMakesTheStoreBeRead(t *testing.T) {
	s, at, _ := ready(t)
	effects := s.Step(at, Recorded{Own: []Own{row(2, 50)}})
	one[ReadStore](t, effects)
	none[Push](t, effects)
	p := one[Push](t, s.Step(at, Reread{Cursor: s.cursor, Counter: 2, Own: []Own{row(1, 50), row(2, 50)}}))
	if p.Entries != 2 {
		t.Errorf("%d entries pushed, want both", p.Entries)
	}
}

// The store is asked until it answers, also by a window that does not lead.
func TestADoubtAboutTheStoreIsNotForgotten(t *testing.T) {
	s, at := started(t)
	one[ReadStore](t, s.Step(at, Unsure{}))
	at.MonoMS += StoreTimeoutMS + LeaseGraceMS
	one[ReadStore](t, s.Step(at, Timer{}))
	none[ReadStore](t, s.Step(at, Reread{Cursor: s.cursor, Counter: 1, Own: []Own{row(1, 50)}}))
	if got := s.Status().Unsent; got != 1 {
		t.Errorf("%d unsent, want the one that the store had", got)
	}
}

// A doubt that arises while a request is under way waits for it, and no longer.
func TestADoubtWaitsForTheRequestUnderWay(t *testing.T) {
	s, at, effects := ready(t, row(1, 50))
	p := one[Push](t, effects)
	none[ReadStore](t, s.Step(at, Unsure{}))
	one[ReadStore](t, s.Step(at, Failed{Op: p.Op, Why: NoServer}))
}

// Whoever held the phone when the session ended signs in again: nobody new holds it,
// and still the sync must go on.
func TestANewSessionOfTheSamePersonLetsTheSyncGoOn(t *testing.T) {
	s, at, effects := ready(t, row(1, 50))
	p := one[Push](t, effects)
	ref := one[Refresh](t, s.Step(at, Failed{Op: p.Op, Why: TokenOld}))
	s.Step(at, Failed{Op: ref.Op, Why: SessionEnded})
	ref = one[Refresh](t, s.Step(at, Seats{}))
	one[Hello](t, s.Step(at, Refreshed{Op: ref.Op}))
	if s.Status().SessionEnded {
		t.Error("the session is still said to be over")
	}
}

// A seat that changes hands while no session lives asks once more and no oftener.
func TestSeatsWithoutASessionEndAgain(t *testing.T) {
	s, at, effects := ready(t, row(1, 50))
	p := one[Push](t, effects)
	ref := one[Refresh](t, s.Step(at, Failed{Op: p.Op, Why: TokenOld}))
	s.Step(at, Failed{Op: ref.Op, Why: SessionEnded})
	ref = one[Refresh](t, s.Step(at, Seats{}))
	none[Refresh](t, s.Step(at, Failed{Op: ref.Op, Why: SessionEnded}))
	if !s.Status().SessionEnded {
		t.Error("nobody is signed in, and the status does not say so")
	}
}

// What was read before the doubt arose does not answer it. Found by simulation.
func TestADoubtOutlivesAnAnswerOfBefore(t *testing.T) {
	s, at := started(t)
	one[ReadStore](t, s.Step(at, Unsure{}))
	none[ReadStore](t, s.Step(at, Unsure{})) // a write that began after that reading is in doubt too
	one[ReadStore](t, s.Step(at, Reread{Cursor: s.cursor}))
	none[ReadStore](t, s.Step(at, Reread{Cursor: s.cursor, Counter: 1, Own: []Own{row(1, 50)}}))
	if got := s.Status().Unsent; got != 1 {
		t.Errorf("%d unsent, want the one that the store had", got)
	}
}
