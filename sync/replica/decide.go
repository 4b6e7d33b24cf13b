package replica

import (
	"hoppertally/sync/entry"
	"hoppertally/sync/wire"
)

// decide starts what is next and sets the timer. It runs at the end of every step
// and looks at nothing but the state.
func (s *step) decide() {
	s.expire()
	if s.started && s.busy.kind == idle && s.wantRead {
		s.readStore()
	}
	if s.started && s.busy.kind == idle && s.able() && s.at.MonoMS >= s.notUntil {
		s.next()
	}
	s.stream()
	s.do(SetTimer{AfterMS: s.wait()})
}

// able tells whether this window may talk to the server at all.
func (s *step) able() bool { return s.leader && s.signedIn && !s.ended }

// expire frees a lease whose time is over: nobody answered.
func (s *step) expire() {
	if s.marking.kind != idle && s.at.MonoMS >= s.marking.until {
		s.dropWrites()
		s.wantRead = true
	}
	if s.busy.kind == idle || s.at.MonoMS < s.busy.until {
		return
	}
	kind := s.busy.kind
	s.busy, s.sent = lease{}, nil
	if kind == store {
		s.readStore()
		return
	}
	s.less(kind)
	s.online = No
	s.fail(0)
}

// less asks for half as much next time: on a thin line a request that is too large
// for its deadline would never come through. See more.
func (s *step) less(kind opKind) {
	switch kind {
	case push:
		s.bytesMax = max(s.bytesMax/2, BatchBytesMin)
	case pull:
		s.pageMax = max(s.pageMax/2, PageMin)
	}
}

// next starts the one most urgent request. While marks are being stored that can only
// be another push: what it takes along has nothing to do with them.
func (s *step) next() {
	isMarking := s.marking.kind != idle
	switch {
	case isMarking && (!s.fresh || s.isHelloDue()):
	case !s.fresh:
		s.do(Refresh{Op: s.begin(refresh, RefreshTimeoutMS), TimeoutMS: RefreshTimeoutMS})
	case s.isHelloDue():
		s.do(Hello{Op: s.begin(hello, HelloTimeoutMS), TimeoutMS: HelloTimeoutMS, Proof: s.shown().Text})
	case s.push(), isMarking, s.shut:
	case s.needsBase():
		s.do(FetchBase{Op: s.begin(fetch, BaseTimeoutMS), TimeoutMS: BaseTimeoutMS, After: s.cursor.After, Scope: s.scope, Proof: s.shown().Text})
	case s.behind():
		if s.asked = s.base; s.cursor.After == 0 {
			s.asked = Base{Scope: s.scope}
		}
		s.do(Pull{Op: s.begin(pull, PullTimeoutMS), TimeoutMS: PullTimeoutMS, Cursor: s.cursor, Max: s.pageMax, Scope: s.asked.Scope, Proof: s.shown().Text})
	case s.forget():
	default:
		s.caughtUp()
	}
}

func (s *step) isHelloDue() bool {
	return s.wantHi || s.cursor.Epoch == "" && !s.shut || s.at.MonoMS >= s.nextHi || s.newer
}

// push sends the next entries; false when there are none that can go.
func (s *step) push() bool {
	body, sent, author := s.batch()
	if len(sent) == 0 {
		return false
	}
	s.sent, s.sender = sent, author
	s.do(Push{Op: s.begin(push, PushTimeoutMS), TimeoutMS: PushTimeoutMS, Author: author, Body: body, Entries: len(sent), Proof: s.shown().Text})
	return true
}

// caughtUp notes the time when nothing is left to send or to fetch.
func (s *step) caughtUp() {
	if s.busy.kind != idle || s.behind() || s.hasUnsent() {
		return
	}
	if s.lastOK != s.at.WallMS {
		s.lastOK = s.at.WallMS
		s.do(Changed{})
	}
}

func (s *step) hasUnsent() bool {
	for i := range s.own {
		if s.sendable(&s.own[i]) {
			return true
		}
	}
	return false
}

// sendable tells whether an entry can go out as things stand.
func (s *step) sendable(o *Own) bool {
	return o.Mark == Unsent && !o.answered && !s.aside[o.N] && !s.noSeat[o.By]
}

// stream opens the live stream when somebody looks and the server is there.
func (s *step) stream() {
	want := s.able() && s.visible && s.fresh && s.online == Yes && !s.newer && !s.shut
	switch {
	case want && !s.liveOpened && s.at.MonoMS >= s.liveNext:
		s.liveOpened = true
		s.do(OpenLive{})
	case !want && s.liveOpened:
		s.liveOpened, s.live = false, false
		s.do(CloseLive{})
	}
}

func (s *step) pollMS() int64 {
	switch {
	case !s.visible:
		return PollHiddenMS
	case s.live:
		return PollLiveMS
	}
	return PollMS
}

// wait is the time to the next thing that happens by itself, at least 1 ms.
func (s *step) wait() int64 {
	switch {
	case s.started && s.busy.kind == store:
		return max(1, s.busy.until-s.at.MonoMS)
	case !s.started || !s.able():
		return waitMS
	}
	at := max(s.notUntil, s.nextHi)
	if s.wantHi || (s.behind() || s.needsBase()) && !s.shut || s.hasUnsent() || !s.fresh {
		at = s.notUntil
	}
	isMarking := s.marking.kind != idle
	switch {
	case s.busy.kind != idle:
		at = s.busy.until
	case isMarking && (!s.fresh || s.isHelloDue() || !s.hasUnsent()): // what is next waits for it
		at = s.marking.until
	}
	if isMarking {
		at = min(at, s.marking.until)
	}
	if s.visible && !s.liveOpened && s.online == Yes && s.liveNext > s.at.MonoMS {
		at = min(at, s.liveNext)
	}
	return max(1, at-s.at.MonoMS)
}

// batch builds the body of the next push: the oldest entries that can go, in the
// order of the device's counter, up to the first of another author. The order is
// kept across authors, or the server would see gaps where nothing is missing.
func (s *step) batch() (body []byte, sent []int64, author string) {
	var head []byte
	size := 0
	for i := range s.own {
		o := &s.own[i]
		if !s.sendable(o) {
			continue
		}
		if len(sent) == 0 {
			head = wire.BeginPush(nil, entry.Clock{WallMS: s.at.WallMS, MonoMS: s.at.MonoMS, Segment: s.at.Segment})
			size = len(head) + len("}")
		} else if o.By != author || len(sent) == min(s.batchMax, BatchEntriesMax) || size+len(o.Bytes)+1 > s.bytesMax {
			break
		}
		author = o.By
		size += len(o.Bytes) + len(",") // the last comma becomes the bracket
		sent = append(sent, o.N)
	}
	if len(sent) == 0 {
		return nil, nil, ""
	}
	body = append(make([]byte, 0, size), head...)
	i, _ := s.find(sent[0])
	for _, n := range sent { // both ascend
		for s.own[i].N != n {
			i++
		}
		body = append(append(body, s.own[i].Bytes...), ',')
	}
	body[len(body)-1] = ']'
	return append(body, '}'), sent, author
}
