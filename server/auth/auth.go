// Package auth knows who is at the other end: people's passphrases and invite
// codes, the sessions of their devices, and the keys that sign access tokens.
//
// It keeps everything in the store's side area and asks a [Directory], the books
// themselves, who works here and in which role. So a role changed in the books
// holds from the next request on.
//
//   - An access token is a JWT signed with Ed25519 and good for 15 minutes.
//   - A refresh token is 256 random bits, kept only as its hash and exchanged for
//     a new one each time. See [Auth.Refresh] for what happens when an answer is lost.
//   - Codes (invitation, first run) are 80 random bits in letters a person can type.
//
// All methods may be called from several goroutines at once.
package auth

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"time"
)

// Side is the part of the store that keeps what is not an entry. Keys are ours.
type Side interface {
	// Read gives a copy of the value, nil when there is none.
	Read(key string) ([]byte, error)
	// Write stores all changes or none, and returns when they are on disk. A nil value deletes.
	Write(changes map[string][]byte) error
	// Each calls fn in ascending order of key; key and value are fn's to keep.
	Each(prefix string, fn func(key string, value []byte) error) error
}

// Person is somebody who works in the shop, as the books have it.
type Person struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Role string `json:"role"`
	Gone bool   `json:"-"`
}

// Directory is the books' list of people.
type Directory interface {
	Person(id string) (Person, bool)
	Named(name string) (Person, bool) // letters' case does not matter; false if two bear it
}

// Config is what [Open] needs. The zero value of Now, Cost and Rand is the real thing.
type Config struct {
	Side     Side
	People   Directory
	ServerID string           // the audience of every token
	Now      func() time.Time // nil: time.Now
	Cost     Cost             // of a passphrase; zero: DefaultCost
}

// Auth keeps keys, passphrases, invitations and sessions. Use [Open].
type Auth struct {
	side     Side
	people   Directory
	serverID string
	now      func() time.Time
	cost     Cost
	// These bound the memory that passphrases take at a time.
	ownSlot, strangersSlot chan struct{}
	queue                  chan struct{} // strangers at work or waiting
	limit                  *limiter
	codeMu                 sync.Mutex // held while a code is used

	mu       sync.Mutex
	keys     []key // newest first
	sessions map[string]*session
	setUp    bool   // somebody is in charge
	setCode  string // of this start, "" when it was used or is not needed

	phones     map[string]*Phone
	phoneLast  int64               // the highest number of a phone
	contacts   map[string]struct{} // phones whose last contact is only in memory
	contactsMS time.Time           // when contacts were last written

	audit audit
}

// Open reads keys and sessions, and makes the first key of a new store.
func Open(cfg Config) (*Auth, error) {
	a := &Auth{
		side: cfg.Side, people: cfg.People, serverID: cfg.ServerID, now: cfg.Now, cost: cfg.Cost,
		ownSlot: make(chan struct{}, 1), strangersSlot: make(chan struct{}, 1), queue: make(chan struct{}, queueMax), sessions: map[string]*session{}, phones: map[string]*Phone{}, contacts: map[string]struct{}{},
	}
	if a.now == nil {
		a.now = time.Now
	}
	if a.cost == (Cost{}) {
		a.cost = DefaultCost
	}
	a.limit = newLimiter(a.now)
	if err := a.loadKeys(); err != nil {
		return nil, err
	}
	if err := a.loadSessions(); err != nil {
		return nil, err
	}
	if err := a.loadPhones(); err != nil {
		return nil, err
	}
	if err := errors.Join(a.dropDesk(), a.endLeft()); err != nil {
		return nil, err
	}
	if err := a.loadEvents(); err != nil {
		return nil, err
	}
	if err := a.loadSetUp(); err != nil {
		return nil, err
	}
	return a, nil
}

// Error is a refusal. Code is stable and has a row in the server's problem table.
type Error struct {
	Code string
	Wait time.Duration // how long to wait before the next try; 0 when it is of no use
}

func (e *Error) Error() string {
	if e.Wait > 0 {
		return fmt.Sprintf("%s, wait %v", e.Code, e.Wait)
	}
	return e.Code
}

// Codes of an [Error].
const (
	CodeNoToken    = "auth.none"       // no access token came with the request
	CodeToken      = "auth.token"      // not a token of this server
	CodeExpired    = "auth.expired"    // was good once: refresh
	CodeEnded      = "auth.ended"      // the session is over: sign in again
	CodeWrong      = "auth.wrong"      // name and passphrase do not go together
	CodeCode       = "auth.code"       // no such code, or used, or too old
	CodeGone       = "auth.gone"       // no longer works here
	CodeSlow       = "auth.slow"       // too many wrong tries: wait
	CodePassphrase = "auth.passphrase" // too short or too long
	CodeOld        = "auth.old"        // not the passphrase until now
	CodeSetUpDone  = "setup.done"      // somebody set the shop up already
	CodeSetUpCode  = "setup.code"      // not the code on the terminal
	CodeNoPerson   = "people.unknown"  // nobody of that id
	CodeNoSession  = "people.session"  // that person has no such session
	CodeNoPhone    = "phone.unknown"   // no such device
	CodePhoneName  = "phone.name"      // too long a name
	CodeRevoked    = "phone.revoked"   // a manager shut this device out
	CodePhoneTaken = "phone.taken"     // the device is another's: it did not show its secret
)

func refuse(code string) error { return &Error{Code: code} }

// random gives n bytes from the system. It cannot fail: crypto/rand ends the
// program when the system has none.
func random(n int) []byte {
	b := make([]byte, n)
	rand.Read(b)
	return b
}

func hashOf(secret string) string {
	h := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(h[:])
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

var b64 = base64.RawURLEncoding

// store writes one record as JSON.
func (a *Auth) store(key string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("auth: encode %s: %w", key, err)
	}
	return a.write(map[string][]byte{key: b})
}

func (a *Auth) write(changes map[string][]byte) error {
	if err := a.side.Write(changes); err != nil {
		return fmt.Errorf("auth: write: %w", err)
	}
	return nil
}

// load reads one record; ok is false when there is none.
func (a *Auth) load(key string, v any) (ok bool, err error) {
	b, err := a.side.Read(key)
	if err != nil {
		return false, fmt.Errorf("auth: read %s: %w", key, err)
	}
	if b == nil {
		return false, nil
	}
	if err := json.Unmarshal(b, v); err != nil {
		return false, fmt.Errorf("auth: decode %s: %w", key, err)
	}
	return true, nil
}

func each[T any](a *Auth, prefix string, fn func(key string, v T)) error {
	return a.side.Each(prefix, func(key string, b []byte) error {
		var v T
		if err := json.Unmarshal(b, &v); err != nil {
			return fmt.Errorf("auth: decode %s: %w", key, err)
		}
		fn(key, v)
		return nil
	})
}
