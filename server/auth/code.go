package auth

import (
	"cmp"
	"slices"
	"strings"
	"time"
	"unicode"
)

const (
	invitePrefix = "auth/invite/"
	setUpKey     = "auth/setup"
)

// Limits of codes.
const (
	InviteLife = 72 * time.Hour
	// a used code still works for the device that used it and shows its secret, so that
	// a lost answer does not cost a new invitation; for everybody else it is over at once
	inviteAgain = 10 * time.Minute
	staleMax    = 500 // old codes deleted with a new one
	openMax     = 20  // unused codes of one person; the oldest makes room
)

// letters are digits and capitals without I, L, O and U, which are misread or
// make words (Crockford's base 32).
const letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// newCode is 80 random bits as XXXX-XXXX-XXXX-XXXX.
func newCode() string {
	var out strings.Builder
	for i, b := range random(16) {
		if i > 0 && i%4 == 0 {
			out.WriteByte('-')
		}
		out.WriteByte(letters[b&31])
	}
	return out.String()
}

// plainCode undoes what a person does to a code when typing it. A plain
// code stays as it is.
func plainCode(code string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '-', unicode.IsSpace(r):
			return -1
		case r == 'O':
			return '0'
		case r == 'I', r == 'L':
			return '1'
		}
		return r
	}, strings.ToUpper(code))
}

type invite struct {
	Person   string `json:"person"`
	UntilMS  int64  `json:"until_ms"`
	Reusable bool   `json:"reusable,omitempty"` // of a demonstration: works for anybody, any number of times
	Device   string `json:"device,omitempty"`   // that used it
	Secret   string `json:"secret,omitempty"`   // the hash of that device's; "" it showed none
	UsedMS   int64  `json:"used_ms,omitempty"`
}

// Invite makes a code that signs a person in once, within InviteLife, without a
// passphrase. The code is not kept, only its hash. CodeNoPerson if nobody has
// that id, CodeGone if they left.
func (a *Auth) Invite(person string) (code string, until time.Time, err error) {
	return a.invite(person, InviteLife, false)
}

// DemoCode is Invite for a demonstration: reusable, and good for a year.
func (a *Auth) DemoCode(person string) (string, error) {
	code, _, err := a.invite(person, 365*24*time.Hour, true)
	return code, err
}

func (a *Auth) invite(person string, life time.Duration, reusable bool) (string, time.Time, error) {
	p, ok := a.people.Person(person)
	switch {
	case !ok:
		return "", time.Time{}, refuse(CodeNoPerson)
	case p.Gone:
		return "", time.Time{}, refuse(CodeGone)
	}
	code, until := newCode(), a.now().Add(life)
	changes, err := a.staleInvites(person)
	if err != nil {
		return "", time.Time{}, err
	}
	changes[invitePrefix+hashOf(plainCode(code))] = encode(invite{Person: person, UntilMS: until.UnixMilli(), Reusable: reusable})
	return code, until, a.write(changes)
}

// staleInvites deletes codes that can no longer be used, at most staleMax at a time, and
// the oldest of a person who has openMax.
func (a *Auth) staleInvites(person string) (map[string][]byte, error) {
	changes := map[string][]byte{}
	type open struct {
		key     string
		untilMS int64
	}
	var own []open
	err := each(a, invitePrefix, func(key string, v invite) {
		isOver := a.since(v.UntilMS) > 0 || v.UsedMS != 0 && a.since(v.UsedMS) > inviteAgain
		switch {
		case isOver && len(changes) < staleMax:
			changes[key] = nil
		case !isOver && v.Person == person && v.UsedMS == 0 && !v.Reusable:
			own = append(own, open{key, v.UntilMS})
		}
	})
	slices.SortFunc(own, func(x, y open) int { return cmp.Compare(x.untilMS, y.untilMS) })
	for _, o := range own[:max(0, len(own)-openMax+1)] {
		changes[o.key] = nil
	}
	return changes, err
}

// SignInByCode starts a session by an invitation. The error is an *Error with
// CodeCode, CodeSlow or CodeGone.
func (a *Auth) SignInByCode(code string, d Device) (Grant, error) {
	a.codeMu.Lock() // one use: looking and marking must not be torn apart
	defer a.codeMu.Unlock()
	if wait := a.limit.code(d); wait > 0 {
		return Grant{}, &Error{Code: CodeSlow, Wait: wait}
	}
	key := invitePrefix + hashOf(plainCode(code))
	var v invite
	ok, err := a.load(key, &v)
	if err != nil {
		return Grant{}, err
	}
	isSame := v.Device == d.ID && v.Secret != "" && same(v.Secret, hashOf(d.Secret))
	spent := v.UsedMS != 0 && (!isSame || a.since(v.UsedMS) > inviteAgain)
	if !ok || a.since(v.UntilMS) > 0 || spent {
		a.limit.wrongCode(d)
		return Grant{}, refuse(CodeCode)
	}
	p, known := a.people.Person(v.Person)
	if !known || p.Gone {
		return Grant{}, refuse(CodeGone)
	}
	a.limit.met(p.Name, d)
	if v.Reusable {
		return a.open(p, d, false, nil)
	}
	if v.UsedMS == 0 {
		v.Device, v.UsedMS = d.ID, a.now().UnixMilli()
		if d.Secret != "" {
			v.Secret = hashOf(d.Secret)
		}
	}
	return a.open(p, d, true, map[string][]byte{key: encode(v)})
}

func (a *Auth) loadSetUp() error {
	var done struct{}
	ok, err := a.load(setUpKey, &done)
	a.setUp = ok
	if err == nil && !ok {
		a.setCode = newCode()
	}
	return err
}

// SetUpCode is the code of this start for setting the shop up, "" when somebody did.
// It lives in memory only: each start makes another.
func (a *Auth) SetUpCode() string {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.setCode
}

// NeedsSetUp tells whether nobody is in charge yet.
func (a *Auth) NeedsSetUp() bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return !a.setUp
}

// MarkSetUp says that somebody is in charge: the code on the terminal is void.
func (a *Auth) MarkSetUp() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	if err := a.write(map[string][]byte{setUpKey: []byte("{}")}); err != nil {
		return err
	}
	a.setUp, a.setCode = true, ""
	return nil
}

// SetUp lets the first manager in. make puts the shop and the person into the
// books and gives the person; it is called once at most at a time, and only when
// the code is right. The code works once: it is void as soon as make succeeded.
// The error is an *Error with CodeSetUpDone, CodeSetUpCode, CodeSlow or
// CodePassphrase, or what make returned.
func (a *Auth) SetUp(code, passphrase string, d Device, make func() (Person, error)) (Grant, error) {
	a.codeMu.Lock()
	defer a.codeMu.Unlock()
	if wait := a.limit.code(d); wait > 0 {
		return Grant{}, &Error{Code: CodeSlow, Wait: wait}
	}
	right := a.SetUpCode()
	switch {
	case right == "":
		return Grant{}, refuse(CodeSetUpDone)
	case !same(plainCode(right), plainCode(code)):
		a.limit.wrongCode(d)
		return Grant{}, refuse(CodeSetUpCode)
	}
	if err := CheckPassphrase(passphrase); err != nil {
		return Grant{}, err
	}
	if err := a.admits(d); err != nil {
		return Grant{}, err
	}
	p, err := make()
	if err != nil {
		return Grant{}, err
	}
	changes := map[string][]byte{setUpKey: []byte("{}"), passPrefix + p.ID: encode(a.passRecord(passphrase))}
	g, err := a.open(p, d, false, changes)
	if err == nil {
		a.mu.Lock()
		defer a.mu.Unlock()
		a.setUp, a.setCode = true, ""
	}
	return g, err
}
