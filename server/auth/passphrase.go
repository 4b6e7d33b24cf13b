package auth

import (
	"encoding/base64"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"
)

const passPrefix = "auth/pass/" // by person

// Length of a passphrase, in characters.
const (
	PassphraseMin = 8
	PassphraseMax = 256
)

// Cost is what guessing a passphrase costs. It is stored with each hash, so it can
// be raised: a hash of another cost is made anew when its owner signs in.
type Cost struct {
	Time    uint32 // passes
	Memory  uint32 // KiB
	Threads uint8
}

// DefaultCost is the second recommended option of RFC 9106, section 4, which is
// for machines with little memory: t = 3, m = 64 MiB, p = 4.
var DefaultCost = Cost{Time: 3, Memory: 64 << 10, Threads: 4}

const (
	saltBytes = 16 // RFC 9106, section 4
	hashBytes = 32
)

// plain is a passphrase in Unicode's normal form C (UAX #15): one keyboard writes é
// as one character, another as two.
func plain(passphrase string) []byte { return norm.NFC.Bytes([]byte(passphrase)) }

func (c Cost) hash(passphrase string) string {
	salt := random(saltBytes)
	sum := argon2.IDKey(plain(passphrase), salt, c.Time, c.Memory, c.Threads, hashBytes)
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, c.Memory, c.Time, c.Threads, b64.EncodeToString(salt), b64.EncodeToString(sum))
}

// matches compares a passphrase with what hash made, whatever its cost was.
func matches(encoded, passphrase string) (ok bool, cost Cost, err error) {
	part := strings.Split(encoded, "$")
	var version int
	if len(part) != 6 || part[1] != "argon2id" {
		return false, cost, fmt.Errorf("auth: a passphrase hash of an unknown kind")
	}
	if _, err := fmt.Sscanf(part[2], "v=%d", &version); err != nil || version != argon2.Version {
		return false, cost, fmt.Errorf("auth: passphrase hash has version %q", part[2])
	}
	if _, err := fmt.Sscanf(part[3], "m=%d,t=%d,p=%d", &cost.Memory, &cost.Time, &cost.Threads); err != nil {
		return false, cost, fmt.Errorf("auth: passphrase hash has cost %q: %w", part[3], err)
	}
	salt, err1 := base64.RawURLEncoding.DecodeString(part[4])
	sum, err2 := base64.RawURLEncoding.DecodeString(part[5])
	if err1 != nil || err2 != nil || len(sum) == 0 || cost.Time == 0 || cost.Threads == 0 {
		return false, cost, fmt.Errorf("auth: a passphrase hash that cannot be read")
	}
	got := argon2.IDKey(plain(passphrase), salt, cost.Time, cost.Memory, cost.Threads, uint32(len(sum)))
	return same(string(got), string(sum)), cost, nil
}

// CheckPassphrase refuses a passphrase that is too short or too long, with CodePassphrase.
func CheckPassphrase(passphrase string) error {
	if n := utf8.RuneCount(plain(passphrase)); n < PassphraseMin || n > PassphraseMax {
		return refuse(CodePassphrase)
	}
	return nil
}

type passRecord struct {
	Hash  string `json:"hash"`
	SetMS int64  `json:"set_ms"`
}

// SetPassphrase gives a person a passphrase in place of the one before.
func (a *Auth) SetPassphrase(person, passphrase string) error {
	if err := CheckPassphrase(passphrase); err != nil {
		return err
	}
	return a.store(passPrefix+person, a.passRecord(passphrase))
}

func (a *Auth) passRecord(passphrase string) passRecord {
	a.ownSlot <- struct{}{}
	defer func() { <-a.ownSlot }()
	return passRecord{a.cost.hash(passphrase), a.now().UnixMilli()}
}

// nobody is what an unknown name is compared with, so that its answer takes as
// long as a wrong passphrase and does not tell who works here.
func (a *Auth) nobody() string {
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", argon2.Version, a.cost.Memory, a.cost.Time, a.cost.Threads)
}

// Device is the other end of a sign-in.
type Device struct {
	ID         string
	Secret     string   // that it made; "" of a program that knows none
	Tokens     []string // refresh tokens of the people who are signed in there
	AppVersion string
	Kind       string   // phone, tablet or computer; "" not known
	Address    string   // where the request came from: what counts as one sender
	Listed     []string // ids of the people whom it lists as its own, see moment.go
}

// SignIn starts a session by name and passphrase. The error is an *Error with
// CodeWrong, CodeSlow (with the time to wait) or CodeGone.
func (a *Auth) SignIn(name, passphrase string, d Device) (Grant, error) {
	p, known := a.people.Named(strings.TrimSpace(name))
	isNew, isOwn, err := a.ownership(d, p.ID)
	if err != nil {
		return Grant{}, err
	}
	try := a.limit.passphrase(name, d, isOwn)
	if wait := a.limit.try(try); wait > 0 {
		return Grant{}, &Error{Code: CodeSlow, Wait: wait}
	}
	rec := passRecord{Hash: a.nobody()}
	if known {
		if _, err := a.load(passPrefix+p.ID, &rec); err != nil {
			return Grant{}, err
		}
	}
	ok, err := a.compare(&rec, p.ID, passphrase, isOwn)
	if err != nil {
		return Grant{}, err
	}
	if !known || !ok {
		return Grant{}, refuse(CodeWrong)
	}
	if p.Gone {
		return Grant{}, refuse(CodeGone)
	}
	a.limit.passed(try)
	if isNew {
		if wait := a.limit.newDevice(p.ID); wait > 0 {
			return Grant{}, &Error{Code: CodeSlow, Wait: wait}
		}
	}
	a.limit.met(name, d)
	return a.open(p, d, false, nil)
}

// ownership tells whether a person never signed in on a device, and whether they did and
// the device proves that it is the one: it shows its secret, or the session of somebody
// there.
func (a *Auth) ownership(d Device, person string) (isNew, isOwn bool, err error) {
	isKnown, err := a.Author(d.ID, person)
	if err != nil || !isKnown {
		return true, false, err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	isBound, isRight, err := a.bound(d.ID, d.Secret)
	isProved := isRight || !isBound && slices.ContainsFunc(d.Tokens, func(token string) bool { return a.isOf(token, d.ID) })
	return false, isProved, err
}

// HasPassphrase tells whether somebody can sign in by name.
func (a *Auth) HasPassphrase(person string) (bool, error) {
	b, err := a.side.Read(passPrefix + person)
	return b != nil, err
}

// Invited tells whether a session began with an invitation and has not chosen a
// passphrase yet: then it may, without the old one.
func (a *Auth) Invited(session string) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.sessions[session]
	return s != nil && s.ByCode
}

// ChangePassphrase gives a signed-in person another passphrase. old must be the
// one until now, unless there is none yet, or the session began with an invitation
// and this is its first change: an invitation is how a manager helps somebody who
// forgot. The error is an *Error with CodePassphrase, CodeOld, CodeSlow or CodeEnded.
func (a *Auth) ChangePassphrase(r Reader, old, passphrase string) error {
	if err := CheckPassphrase(passphrase); err != nil {
		return err
	}
	s := a.session(r.Session)
	if s == nil {
		return refuse(CodeEnded)
	}
	var rec passRecord
	has, err := a.load(passPrefix+r.ID, &rec)
	if err != nil {
		return err
	}
	if has && !s.ByCode {
		try := a.limit.change(r)
		if wait := a.limit.try(try); wait > 0 {
			return &Error{Code: CodeSlow, Wait: wait}
		}
		ok, err := a.compare(&rec, "", old, true)
		if err != nil {
			return err
		}
		if !ok {
			return refuse(CodeOld)
		}
		a.limit.passed(try)
	}
	return a.setPassphrase(r, passphrase)
}

// setPassphrase stores it together with the end of the invitation's privilege.
func (a *Auth) setPassphrase(r Reader, passphrase string) error {
	rec := a.passRecord(passphrase)
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.sessions[r.Session]
	if s == nil {
		return refuse(CodeEnded)
	}
	next := s.clone()
	next.ByCode = false
	if err := a.write(map[string][]byte{passPrefix + r.ID: encode(rec), sessionPrefix + s.ID: encode(next)}); err != nil {
		return err
	}
	a.sessions[s.ID] = next
	return nil
}

// session is one of those that go on, nil if it does not.
func (a *Auth) session(id string) *session {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.sessions[id]
}

// compare also renews a hash that was made at another cost.
func (a *Auth) compare(rec *passRecord, person, passphrase string, isOwn bool) (bool, error) {
	ok, cost, err := a.matches(rec.Hash, passphrase, isOwn)
	if ok && cost != a.cost && person != "" {
		err = a.store(passPrefix+person, a.passRecord(passphrase))
	}
	return ok, err
}

// matches takes a slot: somebody's own device never queues behind strangers. Of those only
// so many may wait; one more is told to come back.
func (a *Auth) matches(encoded, passphrase string, isOwn bool) (ok bool, cost Cost, err error) {
	slot := a.ownSlot
	if !isOwn {
		select {
		case a.queue <- struct{}{}:
			defer func() { <-a.queue }()
		default:
			return false, cost, &Error{Code: CodeSlow, Wait: queueWait}
		}
		slot = a.strangersSlot
	}
	slot <- struct{}{}
	defer func() { <-slot }()
	return matches(encoded, passphrase)
}

// since is how long ago a time in ms was.
func (a *Auth) since(ms int64) time.Duration { return a.now().Sub(time.UnixMilli(ms)) }
