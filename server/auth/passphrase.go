package auth

import (
	"encoding/base64"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
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

func (c Cost) hash(passphrase string) string {
	salt := random(saltBytes)
	sum := argon2.IDKey([]byte(passphrase), salt, c.Time, c.Memory, c.Threads, hashBytes)
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
	got := argon2.IDKey([]byte(passphrase), salt, cost.Time, cost.Memory, cost.Threads, uint32(len(sum)))
	return same(string(got), string(sum)), cost, nil
}

// CheckPassphrase refuses a passphrase that is too short or too long, with CodePassphrase.
func CheckPassphrase(passphrase string) error {
	if n := utf8.RuneCountInString(passphrase); n < PassphraseMin || n > PassphraseMax {
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
	a.slots <- struct{}{}
	defer func() { <-a.slots }()
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
	AppVersion string
	Address    string // where the request came from
}

// SignIn starts a session by name and passphrase. The error is an *Error with
// CodeWrong, CodeSlow (with the time to wait) or CodeGone.
func (a *Auth) SignIn(name, passphrase string, d Device) (Grant, error) {
	who := strings.ToLower(strings.TrimSpace(name))
	if wait := a.limit.try(d.Address, who); wait > 0 {
		return Grant{}, &Error{Code: CodeSlow, Wait: wait}
	}
	p, known := a.people.Named(strings.TrimSpace(name))
	rec := passRecord{Hash: a.nobody()}
	if known {
		if _, err := a.load(passPrefix+p.ID, &rec); err != nil {
			return Grant{}, err
		}
	}
	ok, err := a.compare(&rec, p.ID, passphrase)
	if err != nil {
		return Grant{}, err
	}
	if !known || !ok {
		return Grant{}, refuse(CodeWrong)
	}
	if p.Gone {
		return Grant{}, refuse(CodeGone)
	}
	a.limit.passed(d.Address, who)
	return a.open(p, d.ID, d.AppVersion, nil)
}

// compare also renews a hash that was made at another cost.
func (a *Auth) compare(rec *passRecord, person, passphrase string) (bool, error) {
	a.slots <- struct{}{}
	ok, cost, err := matches(rec.Hash, passphrase)
	<-a.slots
	if ok && cost != a.cost && person != "" {
		err = a.store(passPrefix+person, a.passRecord(passphrase))
	}
	return ok, err
}

// since is how long ago a time in ms was.
func (a *Auth) since(ms int64) time.Duration { return a.now().Sub(time.UnixMilli(ms)) }
