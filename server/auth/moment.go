package auth

import (
	"slices"
	"time"
)

// A phone that several people use keeps no manager's session: whoever has it in their
// hand needs no PIN to use what the phone keeps. There a manager signs in for the
// moment. The answer brings an access token and nothing that a browser would keep; with
// that token, while it is good, the phone asks for the next one ([Auth.Prolong]). When
// nobody taps, it does not ask, and the session is over.
//
// Several people use a phone, for one of them, when somebody else has a living session
// on it, or the phone says that it lists somebody else: who must sign in anew, or was
// signed out elsewhere, can still take it over by PIN.
//
// A manager's session that was kept before ends as soon as that is so: at the sign-in
// of the second person, and at the first use after a coater of a shared phone became
// manager.

// MomentLife is how long a session for the moment lives without [Auth.Prolong].
const MomentLife = 10 * time.Minute

// alive tells whether a session goes on: its person stayed, and it has not lain unused
// for too long.
func (a *Auth) alive(s *session) bool {
	return !s.Left && a.fresh(s)
}

// fresh tells whether a session was used of late.
func (a *Auth) fresh(s *session) bool {
	life := IdleMax
	if s.Moment {
		life = MomentLife
	}
	return a.since(s.UsedMS) <= life
}

// several tells whether somebody besides a person uses a device; listed are the people
// whom it lists, that person perhaps among them. The lock is held.
func (a *Auth) several(device, person string, listed []string) bool {
	if slices.ContainsFunc(listed, func(id string) bool { return id != person }) {
		return true
	}
	for _, s := range a.sessions {
		if s.Device == device && s.Person != person && a.alive(s) {
			return true
		}
	}
	return false
}

// keepable ends a manager's kept session on a device that several people use, with
// CodeEnded. The lock is held.
func (a *Auth) keepable(s *session, p Person, listed []string) error {
	if p.Role != manager || s.Moment || !a.several(s.Device, s.Person, listed) {
		return nil
	}
	if err := a.end(s); err != nil {
		return err
	}
	if err := a.Note(Event{What: EventEnded, Person: s.Person, Device: s.Device, Detail: endedShared}); err != nil {
		return err
	}
	return refuse(CodeEnded)
}

// endedShared is the Detail of EventEnded when a phone came to be used by several people.
const endedShared = "shared"

// giveWay gives the managers' sessions on a device that end when somebody signs in on
// it, and tells whether the new one is for the moment. The lock is held.
func (a *Auth) giveWay(p Person, d Device) (ends []*session, isMoment bool) {
	if !a.several(d.ID, p.ID, d.Listed) {
		return nil, false
	}
	for _, s := range a.sessions {
		if who, _ := a.people.Person(s.Person); s.Device == d.ID && who.Role == manager {
			ends = append(ends, s)
		}
	}
	return ends, p.Role == manager
}

// Prolong lets a session for the moment, told by its access token, live on, and gives it
// another one. The error is an *Error with CodeNoToken, CodeToken, CodeExpired or CodeEnded.
func (a *Auth) Prolong(access string) (Grant, error) {
	r, err := a.Verify(access)
	if err != nil {
		return Grant{}, err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.sessions[r.Session]
	if s == nil || !s.Moment {
		return Grant{}, refuse(CodeEnded)
	}
	next := s.clone()
	next.UsedMS = a.now().UnixMilli()
	if err := a.replace(next); err != nil {
		return Grant{}, err
	}
	return a.grant(next, r.Person, "")
}

// EndOn ends every session of a person on a device.
func (a *Auth) EndOn(person, device string) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	changes := map[string][]byte{}
	for _, s := range a.of(person) {
		if s.Device == device {
			changes[sessionPrefix+s.ID] = nil
		}
	}
	return a.endAll(changes)
}
