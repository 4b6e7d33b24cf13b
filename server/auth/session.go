package auth

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"
)

const (
	sessionPrefix = "auth/session/"
	authorPrefix  = "auth/author/" // who ever signed in on a device
)

// Limits of sessions.
const (
	Grace          = 60 * time.Second     // a refresh token's life after its successor was seen
	IdleMax        = 180 * 24 * time.Hour // a session nobody refreshed for so long is over
	sessionsMax    = 20                   // of one person; the longest unused makes room
	refreshesMax   = 16                   // refresh tokens that a session remembers, those that are over included
	refreshSecrets = 32                   // bytes: 256 bits
)

// session is one person on one device.
type session struct {
	ID         string    `json:"id"`
	Person     string    `json:"person"`
	Device     string    `json:"device"`
	AppVersion string    `json:"app_version"`
	MadeMS     int64     `json:"made_ms"`
	UsedMS     int64     `json:"used_ms"`           // last refresh
	ByCode     bool      `json:"by_code,omitempty"` // begun with an invitation that may still set a passphrase
	Moment     bool      `json:"moment,omitempty"`  // see moment.go; it has no refresh tokens
	Left       bool      `json:"left,omitempty"`    // its person left the shop since: it is over, also if they come back
	Turn       int64     `json:"turn"`              // refreshes so far
	Refreshes  []refresh `json:"refreshes"`
}

// refresh is one refresh token, known by its hash only.
type refresh struct {
	Hash    string `json:"hash"`
	Turn    int64  `json:"turn"`
	UntilMS int64  `json:"until_ms,omitempty"` // 0: no successor was seen yet
}

// Session is what the list of sessions shows.
type Session struct {
	ID         string `json:"id"`
	Device     string `json:"device"`
	AppVersion string `json:"app_version"`
	MadeMS     int64  `json:"made_ms"`
	UsedMS     int64  `json:"used_ms"`
}

// Grant is what signing in and refreshing give.
type Grant struct {
	Access    string
	ExpiresIn time.Duration
	Refresh   string // for the cookie; never in a body or a log; "" of a session for the moment
	Person    Person
	Session   string
}

// Moment tells whether the session is for the moment: see moment.go.
func (g *Grant) Moment() bool { return g.Refresh == "" }

func (a *Auth) loadSessions() error {
	return each(a, sessionPrefix, func(_ string, s session) {
		if a.fresh(&s) { // also of who left, to tell them
			a.sessions[s.ID] = &s
		}
	})
}

// open starts a session. extra is written with it, in one piece. CodePhoneTaken under
// the id of another's device, CodeRevoked on a phone that was shut out, except for a
// manager, who may fetch what waits there.
func (a *Auth) open(p Person, d Device, byCode bool, extra map[string][]byte) (Grant, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if now, known := a.people.Person(p.ID); !known || now.Gone { // meanwhile
		return Grant{}, refuse(CodeGone)
	}
	bind, err := a.admit(d, p)
	if err != nil {
		return Grant{}, err
	}
	if a.revoked(d.ID) && p.Role != manager {
		return Grant{}, refuse(CodeRevoked)
	}
	now := a.now().UnixMilli()
	old, isMoment := a.giveWay(p, d)
	s := &session{ID: b64.EncodeToString(random(16)), Person: p.ID, Device: d.ID, AppVersion: d.AppVersion, MadeMS: now, UsedMS: now, ByCode: byCode, Moment: isMoment}
	secret := ""
	if !isMoment {
		secret = s.issue()
	}
	changes := map[string][]byte{sessionPrefix + s.ID: encode(s), authorKey(d.ID, p.ID): []byte("{}")}
	phone := a.signedIn(d, changes)
	maps.Copy(changes, extra)
	maps.Copy(changes, bind)
	for _, o := range slices.Concat(old, a.crowded(p.ID)) {
		changes[sessionPrefix+o.ID] = nil
	}
	if err := a.write(changes); err != nil {
		return Grant{}, err
	}
	for _, o := range old {
		if err := a.Note(Event{What: EventEnded, Person: o.Person, Device: o.Device, Detail: endedShared}); err != nil {
			return Grant{}, err
		}
	}
	for key := range changes {
		if id, isPhone := strings.CutPrefix(key, phonePrefix); isPhone {
			delete(a.phones, id)
		}
		if id, isSession := strings.CutPrefix(key, sessionPrefix); isSession {
			delete(a.sessions, id)
		}
	}
	a.phones[phone.Device], a.phoneLast = phone, max(a.phoneLast, phone.Number)
	a.sessions[s.ID] = s
	return a.grant(s, p, secret)
}

// crowded gives the sessions that must go so that one more fits, and those that are over.
func (a *Auth) crowded(person string) []*session {
	own := a.of(person)
	isOver := func(s *session) bool { return !a.alive(s) }
	living := slices.DeleteFunc(slices.Clone(own), isOver)
	extra := living[min(len(living), sessionsMax-1):]
	return slices.DeleteFunc(own, func(s *session) bool { return !isOver(s) && !slices.Contains(extra, s) })
}

// of lists a person's sessions, last used first.
func (a *Auth) of(person string) (own []*session) {
	for _, s := range a.sessions {
		if s.Person == person {
			own = append(own, s)
		}
	}
	slices.SortFunc(own, func(x, y *session) int {
		return cmp.Or(cmp.Compare(y.UsedMS, x.UsedMS), cmp.Compare(x.ID, y.ID))
	})
	return own
}

func (a *Auth) grant(s *session, p Person, secret string) (Grant, error) {
	token, err := a.access(s, p)
	if err != nil {
		return Grant{}, err
	}
	g := Grant{Access: token, ExpiresIn: s.accessLife(), Person: p, Session: s.ID}
	if secret != "" {
		g.Refresh = s.ID + "." + secret
	}
	return g, nil
}

// issue makes the refresh token of the next turn.
func (s *session) issue() (secret string) {
	secret = b64.EncodeToString(random(refreshSecrets))
	s.Turn++
	s.Refreshes = append(s.Refreshes, refresh{Hash: hashOf(secret), Turn: s.Turn})
	return secret
}

// trim keeps the list of tokens short. Those that are over go first, oldest
// first; then those that nobody was seen with. The one just used, keep, and the
// newest always stay: however many answers are lost, the phone can try again.
func (s *session) trim(keep int64, now time.Time) {
	for len(s.Refreshes) > refreshesMax {
		at := slices.IndexFunc(s.Refreshes, func(r refresh) bool { return r.UntilMS != 0 && r.UntilMS < now.UnixMilli() && r.Turn != keep })
		if at < 0 {
			at = slices.IndexFunc(s.Refreshes, func(r refresh) bool { return r.Turn != keep })
		}
		s.Refreshes = slices.Delete(s.Refreshes, at, at+1)
	}
}

func (s *session) find(hash string) *refresh {
	for i := range s.Refreshes {
		if same(s.Refreshes[i].Hash, hash) {
			return &s.Refreshes[i]
		}
	}
	return nil
}

// seen notes that the answer of a turn has arrived: every other token of the
// session has its grace left. It tells whether that was news.
func (s *session) seen(turn int64, now time.Time) (news bool) {
	for i := range s.Refreshes {
		if r := &s.Refreshes[i]; r.Turn < turn && r.UntilMS == 0 {
			r.UntilMS = now.Add(Grace).UnixMilli()
			news = true
		}
	}
	return news
}

// confirm is seen, made to last. The lock is held.
func (a *Auth) confirm(s *session, turn int64) error {
	next := s.clone()
	if !next.seen(turn, a.now()) {
		return nil
	}
	return a.replace(next)
}

func (s *session) clone() *session {
	c := *s
	c.Refreshes = slices.Clone(s.Refreshes)
	return &c
}

func (a *Auth) replace(s *session) error {
	if err := a.store(sessionPrefix+s.ID, s); err != nil {
		return err
	}
	a.sessions[s.ID] = s
	return nil
}

// Refresh exchanges a refresh token for a new one and a new access token.
//
// A phone in a steel booth loses answers, and may have no signal for the rest of
// the shift. So the old token does not die when the new one is made but when the
// new one, or the access token that came with it, is first used: that proves the
// answer arrived. Then the old one has [Grace] left, for requests under way.
// Until then each try gives a fresh token of the same session (the server keeps
// hashes only and could not repeat one), and any of them will do.
//
// A token used after its grace was stolen, or its owner's was: this one session
// ends, no other. listed are the people whom the phone lists, see moment.go. The error
// is an *Error with CodeEnded or CodeGone.
func (a *Auth) Refresh(token string, listed ...string) (Grant, error) {
	id, secret, ok := strings.Cut(token, ".")
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.sessions[id]
	if !ok || s == nil {
		return Grant{}, refuse(CodeEnded)
	}
	now := a.now()
	r := s.find(hashOf(secret))
	switch {
	case r == nil: // nonsense must not end somebody's session
		return Grant{}, refuse(CodeEnded)
	case r.UntilMS != 0 && now.UnixMilli() > r.UntilMS, !a.fresh(s):
		if err := a.end(s); err != nil {
			return Grant{}, err
		}
		if r.UntilMS != 0 {
			if err := a.Note(Event{What: EventReused, Person: s.Person, Device: s.Device}); err != nil {
				return Grant{}, err
			}
		}
		return Grant{}, refuse(CodeEnded)
	}
	p, ok := a.people.Person(s.Person)
	switch {
	case !ok || p.Gone:
		return Grant{}, refuse(CodeGone)
	case s.Left:
		if err := a.end(s); err != nil {
			return Grant{}, err
		}
		return Grant{}, refuse(CodeEnded)
	}
	if err := a.keepable(s, p, listed); err != nil {
		return Grant{}, err
	}
	next := s.clone()
	next.seen(r.Turn, now)
	next.UsedMS = now.UnixMilli()
	fresh := next.issue()
	next.trim(r.Turn, now)
	if err := a.replace(next); err != nil {
		return Grant{}, err
	}
	return a.grant(next, p, fresh)
}

// end deletes a session. The lock is held.
func (a *Auth) end(s *session) error {
	if err := a.write(map[string][]byte{sessionPrefix + s.ID: nil}); err != nil {
		return err
	}
	delete(a.sessions, s.ID)
	return nil
}

// Sessions lists where a person is signed in, last used first.
func (a *Auth) Sessions(person string) []Session {
	a.mu.Lock()
	defer a.mu.Unlock()
	list := []Session{}
	for _, s := range slices.DeleteFunc(a.of(person), func(s *session) bool { return !a.alive(s) }) {
		list = append(list, Session{s.ID, s.Device, s.AppVersion, s.MadeMS, s.UsedMS})
	}
	return list
}

// End ends one session of a person; CodeNoSession if there is no such one.
func (a *Auth) End(person, id string) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.sessions[id]
	if s == nil || s.Person != person {
		return refuse(CodeNoSession)
	}
	return a.end(s)
}

// EndAll ends every session of a person but one, except, which may be "".
func (a *Auth) EndAll(person, except string) (ended int, err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	changes := map[string][]byte{}
	for _, s := range a.of(person) {
		if s.ID != except {
			changes[sessionPrefix+s.ID] = nil
		}
	}
	return len(changes), a.endAll(changes)
}

// endAll deletes the sessions of these keys. The lock is held.
func (a *Auth) endAll(changes map[string][]byte) error {
	if len(changes) == 0 {
		return nil
	}
	if err := a.write(changes); err != nil {
		return err
	}
	for key := range changes {
		delete(a.sessions, strings.TrimPrefix(key, sessionPrefix))
	}
	return nil
}

// EndByRefresh ends the session that a refresh token belongs to, and says whose it was
// and on which device; nobody's if there is none.
func (a *Auth) EndByRefresh(token string) (person, device string, err error) {
	id, secret, _ := strings.Cut(token, ".")
	a.mu.Lock()
	defer a.mu.Unlock()
	if s := a.sessions[id]; s != nil && s.find(hashOf(secret)) != nil {
		return s.Person, s.Device, a.end(s)
	}
	return "", "", nil
}

// Author tells whether a person ever signed in on a device: a shared phone may
// send what each of them recorded, whoever is signed in now.
func (a *Auth) Author(device, person string) (bool, error) {
	b, err := a.side.Read(authorKey(device, person))
	return b != nil, err
}

// authorKey parts the two by a character that no id may hold.
func authorKey(device, person string) string { return authorPrefix + device + "\n" + person }
