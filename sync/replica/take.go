package replica

// take makes the input part of the state; what follows from it decide says.
func (s *step) take(in Input) {
	switch in := in.(type) {
	case Started:
		s.start(in)
	case Recorded:
		s.recorded(in.Own)
	case Unsure:
		s.wantRead = true
	case Reread:
		s.reread(in)
	case Stored:
		s.stored(in)
	case StoreFailed:
		s.notStored(in)
	case HelloAnswered, Refreshed, PushAnswered, PullAnswered, BaseAnswered:
		s.answer(in)
	case Failed:
		s.failed(in)
	case Outside:
		s.outside = s.leader && s.cursor.After > 0 && !s.noBase // else there is nothing to stand on
	case Wants:
		s.scope = in.Scope
	case SignedIn, Seats, SignedOut:
		s.session(in)
	case Visible, Leads, SyncNow:
		s.window(in)
	case LiveOpened, LiveClosed, Poked:
		s.news(in)
	case Timer:
	}
}

func (s *step) stored(in Stored) {
	if s.ends(in.Op, store) {
		s.apply()
		if marks := s.seen(in.Seen); len(marks) > 0 {
			s.writeMarks(marks)
		}
	} else if s.isMarking(in.Op) {
		s.mark()
	}
}

func (s *step) notStored(in StoreFailed) {
	if s.ends(in.Op, store) || s.isMarking(in.Op) {
		s.dropWrites()
		s.wantHi, s.wantRead = true, true
		s.fail(0)
	}
}

// answer takes what the server said, unless it was no longer waited for.
func (s *step) answer(in Input) {
	switch in := in.(type) {
	case HelloAnswered:
		if s.ends(in.Op, hello) {
			s.greeted(in)
		}
	case Refreshed:
		if s.ends(in.Op, refresh) {
			s.fresh, s.online = true, Yes
		}
	case PushAnswered:
		if s.ends(in.Op, push) {
			s.pushed(in)
		}
	case PullAnswered:
		if s.ends(in.Op, pull) {
			s.pulled(in.Op, in.Page)
		}
	case BaseAnswered:
		if s.ends(in.Op, fetch) {
			s.based(in.Op, in.Snapshot)
		}
	}
}

// session takes who may speak to the server.
func (s *step) session(in Input) {
	switch in := in.(type) {
	case SignedIn:
		s.signedIn, s.ended, s.fresh, s.newer = true, false, true, false
		s.refusals, s.failures, s.notUntil, s.wantHi = 0, 0, 0, true
		if in.Server != "" {
			s.server = in.Server
		}
		s.noSeat = nil
		s.letGo()
	case Seats:
		s.noSeat = nil
		s.letGo()
		if s.ended { // somebody signed in again, perhaps whoever held the phone all along
			s.ended, s.fresh, s.refusals = false, false, 0
			s.wake()
		}
	case SignedOut:
		s.signedIn, s.fresh = false, false
		s.busy = lease{}
		s.dropWrites()
	}
	s.do(Changed{})
}

// window takes what the window is to its person and among the others.
func (s *step) window(in Input) {
	switch in := in.(type) {
	case Visible:
		s.visible = in.Yes
		if in.Yes {
			s.wake()
		}
	case Leads:
		s.leader = in.Yes
		s.busy = lease{}
		s.dropWrites()
		if in.Yes {
			s.wake()
			s.readStore()
		} else {
			s.outside = false // whoever leads finds out by its own books
		}
	case SyncNow:
		s.newer = false
		s.wake()
	}
}

// news takes what the stream of news says, and how it is.
func (s *step) news(in Input) {
	switch in := in.(type) {
	case LiveOpened:
		s.live = s.liveOpened
		if s.at.MonoMS-s.lastHi >= HelloFreshMS {
			s.wantHi = true // whatever was missed while it was closed
		}
	case LiveClosed:
		if s.liveOpened {
			s.live, s.liveOpened = false, false
			s.liveNext = s.at.MonoMS + Backoff(1, s.at.Seed)
		}
	case Poked:
		s.poked, s.pokeOp = max(s.poked, in.Head), s.op
	}
}
