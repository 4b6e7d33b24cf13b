package simtest

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

const (
	accessMS = 15 * 60_000
	graceMS  = 60_000 // a refresh token's life after its successor was seen used
)

// login is one person on one device, as the server's auth keeps it: an old refresh
// token dies when its successor is seen used, not when it is made.
type login struct {
	id             string
	person, device string
	turn           int64
	tokens         []refreshToken
}

type refreshToken struct {
	turn, untilMS int64 // untilMS 0: no successor was seen yet
}

const tokensMax = 16

func (l *login) clone() *login {
	c := *l
	c.tokens = slices.Clone(l.tokens)
	return &c
}

// grant is what signing in and refreshing give.
type grant struct {
	access, refresh string
	person          string
}

func (s *server) issue(l *login) grant {
	l.turn++
	l.tokens = append(l.tokens, refreshToken{turn: l.turn})
	if len(l.tokens) > tokensMax {
		l.tokens = slices.Delete(l.tokens, 0, 1)
	}
	refresh := l.id + " " + strconv.FormatInt(l.turn, 10)
	return grant{access: refresh + " " + strconv.FormatInt(s.nowMS()+accessMS, 10), refresh: refresh, person: l.person}
}

// seen notes that the answer of a turn has arrived.
func (s *server) seen(l *login, turn int64) {
	for i := range l.tokens {
		if t := &l.tokens[i]; t.turn < turn && t.untilMS == 0 {
			t.untilMS = s.nowMS() + graceMS
		}
	}
}

// signIn opens a session; false for somebody who does not work here.
func (s *server) signIn(person, device string) (grant, bool) {
	if p := s.books.State().People[person]; p == nil || p.Gone {
		return grant{}, false
	}
	s.w.logins++
	l := &login{id: fmt.Sprint("login-", s.w.logins), person: person, device: device}
	s.disk.sessions[l.id] = l
	s.disk.authors[[2]string{device, person}] = true
	return s.issue(l), true
}

// endLeft ends the sessions of those who do not work here: should they come back, they
// sign in anew.
func (s *server) endLeft() {
	people := s.books.State().People
	maps.DeleteFunc(s.disk.sessions, func(_ string, l *login) bool { p := people[l.person]; return p == nil || p.Gone })
}

// refresh exchanges a refresh token for a new one.
func (s *server) refresh(token string) (grant, bool) {
	id, turn, _ := cutToken(token)
	l := s.disk.sessions[id]
	if l == nil {
		return grant{}, false
	}
	i := slices.IndexFunc(l.tokens, func(t refreshToken) bool { return t.turn == turn })
	if i < 0 {
		return grant{}, false
	}
	if until := l.tokens[i].untilMS; until != 0 && s.nowMS() > until {
		delete(s.disk.sessions, id)
		return grant{}, false
	}
	if p := s.books.State().People[l.person]; p == nil || p.Gone {
		return grant{}, false
	}
	s.seen(l, turn)
	return s.issue(l), true
}

// who reads an access token; nil when it does not count any more.
func (s *server) who(access string) *login {
	id, turn, until := cutToken(access)
	l := s.disk.sessions[id]
	if l == nil || s.nowMS() > until {
		return nil
	}
	s.seen(l, turn)
	return l
}

func cutToken(token string) (id string, turn, untilMS int64) {
	id, rest, _ := strings.Cut(token, " ")
	first, last, _ := strings.Cut(rest, " ")
	turn, _ = strconv.ParseInt(first, 10, 64)
	untilMS, _ = strconv.ParseInt(last, 10, 64)
	return id, turn, untilMS
}
