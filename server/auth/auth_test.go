package auth

import (
	"bytes"
	"errors"
	"maps"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// mapSide is a side area in memory. fail makes the next Write fail.
type mapSide struct {
	mu   sync.Mutex
	kv   map[string][]byte
	fail error
}

func (m *mapSide) Read(key string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return bytes.Clone(m.kv[key]), nil
}

func (m *mapSide) Write(changes map[string][]byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.fail != nil {
		err := m.fail
		m.fail = nil
		return err
	}
	for k, v := range changes {
		if v == nil {
			delete(m.kv, k)
		} else {
			m.kv[k] = bytes.Clone(v)
		}
	}
	return nil
}

func (m *mapSide) Each(prefix string, fn func(string, []byte) error) error {
	m.mu.Lock()
	all := maps.Clone(m.kv)
	m.mu.Unlock()
	for _, k := range slices.Sorted(maps.Keys(all)) {
		if strings.HasPrefix(k, prefix) {
			if err := fn(k, bytes.Clone(all[k])); err != nil {
				return err
			}
		}
	}
	return nil
}

// people is a directory in memory.
type people map[string]Person

func (p people) Person(id string) (Person, bool) { v, ok := p[id]; return v, ok }

func (p people) Named(name string) (Person, bool) {
	for _, v := range p {
		if strings.EqualFold(v.Name, name) {
			return v, true
		}
	}
	return Person{}, false
}

// shop is an Auth on a clock that the test moves.
type shop struct {
	*Auth
	t      *testing.T
	side   *mapSide
	people people
	now    time.Time
}

// cheap makes tests quick; nothing in the code depends on the cost.
var cheap = Cost{Time: 1, Memory: 64, Threads: 1}

func newShop(t *testing.T) *shop {
	s := &shop{t: t, side: &mapSide{kv: map[string][]byte{}}, now: time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC), people: people{
		"p-ana": {ID: "p-ana", Name: "Ana Ríos", Role: "coater"},
		"p-bo":  {ID: "p-bo", Name: "Bo Lind", Role: "manager"},
		"p-old": {ID: "p-old", Name: "Olaf", Role: "clerk", Gone: true},
	}}
	s.restart()
	return s
}

// restart is the server stopped and started on the same store.
func (s *shop) restart() {
	s.t.Helper()
	a, err := Open(Config{Side: s.side, People: s.people, ServerID: "srv-1", Now: func() time.Time { return s.now }, Cost: cheap})
	if err != nil {
		s.t.Fatal(err)
	}
	s.Auth = a
}

func (s *shop) later(d time.Duration) { s.now = s.now.Add(d) }

func (s *shop) signIn(person string) Grant {
	s.t.Helper()
	return s.signInOn("dev-1", person)
}

func (s *shop) signInOn(device, person string) Grant {
	s.t.Helper()
	code, _, err := s.Invite(person)
	if err != nil {
		s.t.Fatal(err)
	}
	g, err := s.SignInByCode(code, dev(device))
	if err != nil {
		s.t.Fatal(err)
	}
	return g
}

func (s *shop) refresh(token string) Grant {
	s.t.Helper()
	g, err := s.Refresh(token)
	if err != nil {
		s.t.Fatalf("refresh: %v", err)
	}
	return g
}

// refused checks for an *Error with that code.
func refused(t *testing.T, what string, err error, code string) *Error {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) || e.Code != code {
		t.Errorf("%s: got %v, want %s", what, err, code)
		return &Error{}
	}
	return e
}

func (s *shop) good(what, access string) Reader {
	s.t.Helper()
	r, err := s.Verify(access)
	if err != nil {
		s.t.Errorf("%s: got %v, want a good token", what, err)
	}
	return r
}

func TestAnAccessTokenSpeaksForItsPersonAndDeviceForFifteenMinutes(t *testing.T) {
	s := newShop(t)
	g := s.signIn("p-ana")
	if r := s.good("at once", g.Access); r.ID != "p-ana" || r.Device != "dev-1" || r.Role != "coater" || r.Session != g.Session {
		t.Errorf("reader = %+v", r)
	}
	s.later(AccessLife)
	s.good("after 15 min", g.Access)
	s.later(leeway + time.Second)
	_, err := s.Verify(g.Access)
	refused(t, "after 15 min and the leeway", err, CodeExpired)
	_, err = s.Verify("")
	refused(t, "no token", err, CodeNoToken)
}

func TestTheBooksDecideTheRoleFromTheNextRequestOn(t *testing.T) {
	s := newShop(t)
	g := s.signIn("p-ana")
	s.people["p-ana"] = Person{ID: "p-ana", Name: "Ana Ríos", Role: "clerk"}
	if r := s.good("after the role changed", g.Access); r.Role != "clerk" {
		t.Errorf("role = %s, want clerk", r.Role)
	}
	s.people["p-ana"] = Person{ID: "p-ana", Name: "Ana Ríos", Role: "clerk", Gone: true}
	_, err := s.Verify(g.Access)
	refused(t, "of a person who left", err, CodeEnded)
	_, err = s.Refresh(g.Refresh)
	refused(t, "refresh of a person who left", err, CodeGone)
}

func TestALostAnswerLogsNobodyOut(t *testing.T) {
	s := newShop(t)
	g := s.signIn("p-ana")
	for range 40 { // every answer lost, all shift long
		s.refresh(g.Refresh)
		s.later(20 * time.Minute)
	}
	s.restart()
	next := s.refresh(g.Refresh) // this one arrives
	s.good("token of the answer that arrived", next.Access)
	s.later(Grace)
	s.refresh(g.Refresh) // a request that was under way
	s.later(time.Second)
	_, err := s.Refresh(g.Refresh)
	refused(t, "old token after the grace", err, CodeEnded)
	_, err = s.Verify(next.Access)
	refused(t, "the session it belonged to", err, CodeEnded)
}

func TestReuseAfterTheGraceEndsThatOneSessionOnly(t *testing.T) {
	s := newShop(t)
	stolen, other, bo := s.signIn("p-ana"), s.signIn("p-ana"), s.signInOn("dev-2", "p-bo")
	next := s.refresh(stolen.Refresh)
	s.refresh(next.Refresh) // proves that the answer arrived
	s.later(Grace + time.Second)
	_, err := s.Refresh(stolen.Refresh)
	refused(t, "reuse", err, CodeEnded)
	_, err = s.Refresh(next.Refresh)
	refused(t, "same session", err, CodeEnded)
	s.refresh(other.Refresh)
	s.refresh(bo.Refresh)
}

func TestARefreshTokenThatIsNonsenseEndsNothing(t *testing.T) {
	s := newShop(t)
	g := s.signIn("p-ana")
	for _, token := range []string{"", ".", "x", g.Session, g.Session + ".", g.Session + ".AAAA", "nobody.AAAA"} {
		_, err := s.Refresh(token)
		refused(t, token, err, CodeEnded)
		if who, _, err := s.EndByRefresh(token); who != "" || err != nil {
			t.Errorf("%q ended a session of %q, %v", token, who, err)
		}
	}
	s.refresh(g.Refresh)
}

func TestSessionsOutliveARestartAndEndWhenTold(t *testing.T) {
	s := newShop(t)
	a, b := s.signIn("p-ana"), s.signIn("p-ana")
	s.restart()
	s.good("after a restart", a.Access)
	if list := s.Sessions("p-ana"); len(list) != 2 || list[0].Device != "dev-1" {
		t.Fatalf("sessions = %+v, want 2", list)
	}
	refused(t, "somebody else's session", s.End("p-bo", a.Session), CodeNoSession)
	if err := s.End("p-ana", a.Session); err != nil {
		t.Fatal(err)
	}
	_, err := s.Verify(a.Access)
	refused(t, "ended", err, CodeEnded)
	s.good("the other", b.Access)
	if who, device, err := s.EndByRefresh(b.Refresh); who != "p-ana" || device != "dev-1" || err != nil {
		t.Fatalf("ended the session of %q on %q, %v", who, device, err)
	}
	s.restart()
	if list := s.Sessions("p-ana"); len(list) != 0 {
		t.Errorf("sessions = %+v, want none", list)
	}
}

func TestAPersonHasAtMostTwentySessions(t *testing.T) {
	s := newShop(t)
	first := s.signIn("p-ana")
	for range sessionsMax - 1 {
		s.later(time.Minute)
		s.signIn("p-ana")
	}
	s.refresh(first.Refresh) // 20 fit, and now the second is the longest unused
	s.later(time.Minute)
	s.signIn("p-ana")
	if n := len(s.Sessions("p-ana")); n != sessionsMax {
		t.Errorf("%d sessions, want %d", n, sessionsMax)
	}
	s.refresh(first.Refresh)
}

func TestASessionNobodyUsesIsOverAfterHalfAYear(t *testing.T) {
	s := newShop(t)
	g := s.signIn("p-ana")
	s.later(IdleMax + time.Second)
	_, err := s.Refresh(g.Refresh)
	refused(t, "after 180 days", err, CodeEnded)
}

func TestAFailingStoreChangesNothing(t *testing.T) {
	s := newShop(t)
	g := s.signIn("p-ana")
	s.side.fail = errors.New("disk")
	if _, err := s.Refresh(g.Refresh); err == nil {
		t.Error("refresh on a failing store gave a token")
	}
	s.refresh(g.Refresh)
	s.side.fail = errors.New("disk")
	if err := s.End("p-ana", g.Session); err == nil {
		t.Error("end on a failing store said nothing")
	}
	s.refresh(g.Refresh)
}

func TestAKeyThatWasReplacedVerifiesUntilItsLastTokenIsOver(t *testing.T) {
	s := newShop(t)
	old := s.signIn("p-ana")
	if err := s.RotateKeys(); err != nil {
		t.Fatal(err)
	}
	fresh := s.refresh(old.Refresh)
	s.restart()
	s.good("signed before", old.Access)
	s.good("signed after", fresh.Access)
	if a, b := kid(t, old.Access), kid(t, fresh.Access); a == b {
		t.Errorf("both tokens have kid %s", a)
	}
	s.later(AccessLife + leeway + time.Second)
	if err := s.RotateKeys(); err != nil {
		t.Fatal(err)
	}
	n := 0
	for k := range s.side.kv {
		if strings.HasPrefix(k, keyPrefix) {
			n++
		}
	}
	if n != 2 {
		t.Errorf("%d keys kept, want the new one and the one before", n)
	}
}

func TestAKeyOlderThanNinetyDaysIsReplacedAtTheNextStart(t *testing.T) {
	s := newShop(t)
	before := s.keys[0].KID
	s.later(KeyAgeMax)
	s.restart()
	if s.keys[0].KID != before {
		t.Error("replaced at 90 days, want later")
	}
	s.later(time.Second)
	s.restart()
	if s.keys[0].KID == before {
		t.Error("kept past 90 days")
	}
}

func TestOnASharedPhoneEverybodyWhoSignedInIsAnAuthor(t *testing.T) {
	s := newShop(t)
	s.signIn("p-ana")
	for person, want := range map[string]bool{"p-ana": true, "p-bo": false} {
		if got, err := s.Author("dev-1", person); got != want || err != nil {
			t.Errorf("Author(dev-1, %s) = %v, %v; want %v", person, got, err, want)
		}
	}
	if got, _ := s.Author("dev-2", "p-ana"); got {
		t.Error("author on a phone she never held")
	}
}

func TestRefusalsDoNotPushOutWhatHappened(t *testing.T) {
	s := newShop(t)
	note := func(what string, times int) {
		for range times {
			if err := s.Note(Event{What: what, Person: "p-ana"}); err != nil {
				t.Fatal(err)
			}
		}
	}
	note(EventRevoked, 1)
	note(EventRefused, RefusalsMax+7)
	note(EventSignedIn, 2)
	again, err := Open(Config{Side: s.side, People: s.people, ServerID: "srv-1"})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range []*Auth{s.Auth, again} {
		list, err := a.Events(1 << 30)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(list); n != RefusalsMax+3 || list[0].What != EventSignedIn || list[2].What != EventRefused || list[n-1].What != EventRevoked {
			t.Errorf("%d events, first %s, last %s", n, list[0].What, list[n-1].What)
		}
	}
	if err := again.Note(Event{What: EventNamed}); err != nil {
		t.Fatal(err)
	}
	if list, _ := again.Events(1); list[0].What != EventNamed {
		t.Errorf("after a restart the latest is %s", list[0].What)
	}
}

func TestASessionForTheMomentIsOverAlsoAfterARestart(t *testing.T) {
	s := newShop(t)
	s.signIn("p-ana")
	g := s.signIn("p-bo")
	if !g.Moment() || g.ExpiresIn != MomentLife {
		t.Fatalf("granted %+v", g)
	}
	s.later(MomentLife)
	s.restart()
	s.good("on the last moment", g.Access)
	if _, err := s.Prolong(g.Access); err != nil {
		t.Errorf("on the last moment: %v", err)
	}
	s.later(MomentLife + time.Millisecond)
	s.restart()
	if n := len(s.sessions); n != 1 {
		t.Errorf("%d sessions after a restart, want Ana's", n)
	}
}
