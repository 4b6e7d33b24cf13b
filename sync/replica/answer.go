package replica

import (
	"fmt"
	"hoppertally/sync/wire"
	"slices"
)

// greeted takes the server's hello.
func (s *step) greeted(in HelloAnswered) {
	s.answered()
	s.wantHi = false
	s.nextHi, s.lastHi = s.at.MonoMS+s.pollMS(), s.at.MonoMS
	s.server = in.Server
	s.told(in.Epoch, in.Head, in.Proof)
	if in.NewerClient {
		s.tooOld()
		return
	}
	s.newer, s.shut, s.noBase = false, false, false
	if in.HaveN > s.counter {
		s.counter = in.HaveN
		s.do(RaiseCounter{N: in.HaveN})
		s.do(Notify{Code: "counter_raised", Detail: fmt.Sprint(in.HaveN)})
	}
	if s.cursor == (Cursor{}) && len(s.own) == 0 {
		s.cursor.Epoch = in.Epoch // a new phone: the store learns of it with the first page
	}
	if in.Epoch != s.cursor.Epoch {
		s.reset(in.Epoch, in.Head)
		return
	}
	s.heard(in.Op, in.Head)
	s.backup = in.BackupSeq
	s.caughtUp()
	s.do(Changed{})
}

// forget lets go of own entries that are in a verified backup and in the pulled
// log; false when there are none. Refused ones stay: the server does not have them in
// its log.
func (s *step) forget() bool {
	var gone []int64
	for i := range s.own {
		if o := &s.own[i]; s.covers(o) {
			gone = append(gone, o.N)
		}
	}
	if len(gone) == 0 {
		return false
	}
	s.do(Forget{Op: s.write(change{forget: gone}), N: gone})
	return true
}

// covers tells whether a backup and the phone's copy of the log both have an own entry.
func (s *State) covers(o *Own) bool { return o.inLog() && o.Seq <= min(s.backup, s.cursor.After) }

// reset starts over in another epoch. What no backup covered is unsent again.
func (s *step) reset(epoch string, head int64) {
	if !s.spread(&s.resets, "reset") {
		return
	}
	var again []Own
	for _, o := range s.own {
		if o.inLog() {
			o.unsend()
			again = append(again, o)
		}
	}
	if s.cursor.Epoch != "" {
		s.do(Notify{Code: "new_epoch", Detail: epoch})
	}
	s.head, s.poked, s.backup, s.wantPull = head, 0, 0, true
	s.noBase = false
	to := Cursor{Epoch: epoch}
	s.do(Reset{Op: s.write(change{cursor: &to, marks: again, base: &Base{}}), Epoch: epoch, Own: again})
}

// pauseLoop stops for a while: we and the server go in circles.
func (s *step) pauseLoop(what string) {
	s.loops = 0
	s.notUntil = s.at.MonoMS + LoopPauseMS
	s.do(Notify{Code: "loop", Detail: what})
	s.do(Changed{})
}

// pushed sorts the results onto the own rows and has the store mark them. Entries
// without a result stay unsent.
func (s *step) pushed(in PushAnswered) {
	s.answered()
	s.told(in.Epoch, in.Head, in.Proof)
	if in.Epoch != "" && in.Epoch != s.cursor.Epoch {
		s.sent = nil
		s.dropWrites()
		s.reset(in.Epoch, in.Head)
		return
	}
	byID := make(map[string]wire.Result, len(in.Results))
	for _, r := range in.Results {
		byID[r.ID] = r
	}
	marks := make([]Own, 0, len(s.sent))
	for _, n := range s.sent {
		i, ok := s.find(n)
		if !ok {
			continue
		}
		o := s.own[i]
		r, ok := byID[o.ID]
		if !ok || o.Mark != Unsent {
			continue
		}
		if settle(&o, r, s.cursor.Epoch) {
			marks = append(marks, o)
		}
		if o.Mark == Refused {
			s.do(Notify{Code: "refused", Detail: o.ID})
		}
	}
	s.sent = nil
	if len(marks) == 0 {
		s.circle("push")
		return
	}
	s.loops = 0
	s.batchMax = min(s.batchMax*2, BatchEntriesMax)
	s.bytesMax = min(s.bytesMax*2, BatchBytesMax)
	s.wantPull = true
	s.writeMarks(marks)
}

// writeMarks has the store mark rows, and with them those that it has not confirmed yet.
func (s *step) writeMarks(marks []Own) {
	for _, o := range marks {
		if i, ok := s.find(o.N); ok {
			s.own[i].answered = true
		}
	}
	s.marked = append(s.marked, marks...)
	s.marking = s.lease(store, StoreTimeoutMS)
	s.do(MarkOutcome{Op: s.marking.op, Own: slices.Clone(s.marked), Proof: s.shown()})
}

// mark makes the marks true that the store has now.
func (s *step) mark() {
	for _, o := range s.marked {
		s.put(o)
	}
	s.marking, s.marked = lease{}, nil
	s.answered()
	s.do(Changed{AllSent: s.busy.kind != push && !s.hasUnsent()})
}

func (s *State) isMarking(op int64) bool { return s.marking.kind != idle && s.marking.op == op }

// settle puts a result of the given epoch onto a row; false when the outcome is none that
// we know.
func settle(o *Own, r wire.Result, epoch string) bool {
	switch r.Outcome {
	case "accepted":
		o.Mark = Accepted
	case "held":
		o.Mark = Held
	case "duplicate":
		o.Mark = Accepted
		if r.Stands == "held" {
			o.Mark = Held
		}
	case "refused":
		o.unsend()
		o.Mark, o.Reason = Refused, r.Reason
		return true
	default:
		return false
	}
	o.Epoch, o.Seq, o.EffectiveMS, o.Reason, o.Late = epoch, r.Seq, r.EffectiveMS, r.Reason, r.Late
	return true
}

// circle backs off after an answer that brought us nowhere; too many in a row
// make a long pause.
func (s *step) circle(what string) {
	if s.loops++; s.loops >= LoopMax {
		s.pauseLoop(what)
		return
	}
	s.fail(0)
}

// heard takes the head as the server gave it in the answer to op. A poke that came
// before op was sent is thereby old; one that came later may know more.
func (s *step) heard(op, head int64) {
	s.head = head
	if op > s.pokeOp {
		s.poked = 0
	}
}

// behind tells whether the server's log is known to go on.
func (s *State) behind() bool { return s.wantPull || max(s.head, s.poked) > s.cursor.After }

// pulled checks a page and has it stored.
func (s *step) pulled(op int64, p wire.Page) {
	s.told(p.Epoch, p.Head, p.Proof)
	if p.Epoch != s.cursor.Epoch {
		s.answered()
		s.reset(p.Epoch, p.Head)
		return
	}
	if !follows(p, s.cursor.After) {
		s.circle("pull")
		return
	}
	s.heard(op, p.Head)
	s.wantPull = p.More
	if p.Next == s.cursor.After {
		s.answered()
		if p.More || p.Head > p.Next {
			s.circle("pull")
		}
		s.caughtUp()
		return
	}
	s.loops = 0
	s.pageMax = min(s.pageMax*2, PageMax)
	to := Cursor{Epoch: p.Epoch, After: p.Next}
	marks := s.seen(p.Items)
	base := s.asked
	s.do(StorePulled{Op: s.write(change{cursor: &to, marks: marks, base: &base}), From: s.cursor, To: to, Base: base, Page: p, Own: marks, Proof: s.shown()})
}

// follows tells whether a page continues a log at after without going back.
func follows(p wire.Page, after int64) bool {
	last := after
	for _, it := range p.Items {
		if it.Seq <= last {
			return false
		}
		last = it.Seq
	}
	return p.Next >= last && (len(p.Items) > 0 || p.Next == after)
}

// seen gives the own rows that the log knows better: an entry whose answer was
// lost is there all the same.
func (s *step) seen(items []wire.Item) []Own {
	var marks []Own
	for _, it := range items {
		i, ok := s.find(it.N)
		if !ok || s.own[i].ID != it.ID {
			continue
		}
		o, was := s.own[i], s.own[i]
		settle(&o, wire.Result{Outcome: it.Outcome, Facts: it.Facts}, s.cursor.Epoch)
		if !o.same(was) {
			marks = append(marks, o)
		}
	}
	return marks
}

// same tells whether two states of one row are alike; the bytes never change.
func (o Own) same(p Own) bool {
	return o.Mark == p.Mark && o.Epoch == p.Epoch && o.Seq == p.Seq && o.EffectiveMS == p.EffectiveMS && o.Reason == p.Reason && o.Late == p.Late
}

// failed takes a request's failure by its reason.
func (s *step) failed(in Failed) {
	kind := s.busy.kind
	if kind == idle || kind == store || s.busy.op != in.Op {
		return
	}
	s.busy = lease{}
	sent := s.sent
	s.sent = nil
	switch in.Why {
	case TokenOld:
		s.online, s.fresh = Yes, false
		if s.refusals++; s.refusals > 2 {
			s.fail(0)
		}
	case SessionEnded:
		s.online, s.ended, s.fresh = Yes, true, false
		s.do(Notify{Code: "session_ended"})
		s.do(Changed{})
	case TooOld:
		s.online = Yes
		s.tooOld()
	case NoSnapshot:
		s.online, s.noBase, s.outside = Yes, true, false
	case ScopeDenied: // the role has changed, and the log that says so must be read
		s.online, s.scope = Yes, Plain
		s.fail(0)
	case Refusal:
		s.online = Yes
		s.refused(kind, sent)
	case ServerBusy:
		s.online = Yes
		s.fail(in.RetryMS)
	case EpochGone:
		s.online = Yes
		s.wantHi = true
		s.circle("epoch")
	case ShutOut:
		s.online, s.shut, s.wantHi = Yes, true, false
		s.nextHi = s.at.MonoMS + StopMS
		s.do(Notify{Code: "shut_out"})
		s.do(Changed{})
	case AuthorOut:
		if s.noSeat == nil {
			s.noSeat = map[string]bool{}
		}
		s.noSeat[s.sender] = true
		s.do(Notify{Code: "author_out", Detail: s.sender})
		s.do(Changed{})
	case NoServer:
		s.online = No
		s.less(kind)
		s.fail(0)
	default:
		panic("sync/replica: unknown failure " + string(in.Why))
	}
}

func (s *step) tooOld() {
	if !s.newer {
		s.do(Notify{Code: "newer_client"})
	}
	s.newer = true
	s.notUntil = s.at.MonoMS + StopMS
	s.do(Changed{})
}

// refused narrows down which entry the server cannot take in a push: half as many
// next time, and a single one is laid aside so that the others get through.
func (s *step) refused(kind opKind, sent []int64) {
	if kind != push || len(sent) == 0 {
		s.notUntil = s.at.MonoMS + StopMS
		s.do(Notify{Code: "refused"})
		s.do(Changed{})
		return
	}
	if len(sent) > 1 {
		s.batchMax = max(1, len(sent)/2)
		s.fail(0)
		return
	}
	if s.aside == nil {
		s.aside = map[int64]bool{}
	}
	s.aside[sent[0]] = true
	i, _ := s.find(sent[0])
	s.do(Notify{Code: "entry_stuck", Detail: s.own[i].ID})
	s.fail(0)
}
