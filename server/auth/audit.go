package auth

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Limits of the record of sign-ins and of changes to people and phones. Refusals
// are kept apart: whoever hammers at the door must not push out what matters.
const (
	EventsMax   = 5000 // things that happened
	RefusalsMax = 1000 // things that were refused
	eventPrefix = "auth/audit/"
)

// What an [Event] tells of.
const (
	EventSetUp      = "setup"        // the shop got its first manager
	EventSignedIn   = "signed_in"    // somebody, on a device
	EventRefused    = "refused"      // a try to sign in; Detail is the code of the refusal
	EventInvited    = "invited"      // a link was made
	EventEnded      = "ended"        // one session, or all of somebody's when Device is ""
	EventReused     = "token_reused" // an old refresh token came again: its session ended
	EventPassphrase = "passphrase"   // somebody has a new one
	EventPerson     = "person_set"   // somebody was added, changed or left; Detail is role and whether gone
	EventRevoked    = "phone_revoked"
	EventRestored   = "phone_restored"
	EventNamed      = "phone_named"
)

// Event is one line of the record. It holds no secret and no name that was typed
// at the door, which may be a passphrase by mistake.
type Event struct {
	AtMS    int64  `json:"at_ms"`
	What    string `json:"what"`
	Person  string `json:"person"` // whom it concerns
	By      string `json:"by"`     // who did it; "" the person, or the command line
	Device  string `json:"device"`
	Address string `json:"address"`
	Detail  string `json:"detail"`
}

// ring is the numbers of the events of one sort on disk.
type ring struct {
	prefix      string
	max         int64
	first, next int64 // next is free; equal when there are none
}

// audit is the record. Its lock is taken last.
type audit struct {
	mu    sync.Mutex
	rings [2]ring // happened, refused
}

func (a *Auth) loadEvents() error {
	a.audit.rings = [2]ring{{prefix: eventPrefix + "h/", max: EventsMax}, {prefix: eventPrefix + "r/", max: RefusalsMax}}
	for i := range a.audit.rings {
		r, isFirst := &a.audit.rings[i], true
		err := a.side.Each(r.prefix, func(key string, _ []byte) error {
			n, err := strconv.ParseInt(strings.TrimPrefix(key, r.prefix), 16, 64)
			if err != nil {
				return fmt.Errorf("auth: event %q: %w", key, err)
			}
			if isFirst {
				r.first, isFirst = n, false
			}
			r.next = n + 1
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func (r *ring) key(n int64) string { return fmt.Sprintf("%s%016x", r.prefix, n) }

// Note puts an event on the record, at this moment.
func (a *Auth) Note(e Event) error {
	e.AtMS = a.now().UnixMilli()
	a.audit.mu.Lock()
	defer a.audit.mu.Unlock()
	r := &a.audit.rings[0]
	if e.What == EventRefused {
		r = &a.audit.rings[1]
	}
	changes := map[string][]byte{r.key(r.next): encode(e)}
	first := r.first
	for ; r.next+1-first > r.max; first++ {
		changes[r.key(first)] = nil
	}
	if err := a.write(changes); err != nil {
		return err
	}
	r.first, r.next = first, r.next+1
	return nil
}

// Events gives the record, refusals included, the latest first, at most most.
func (a *Auth) Events(most int) ([]Event, error) {
	list := []Event{}
	if err := each(a, eventPrefix, func(_ string, e Event) { list = append(list, e) }); err != nil {
		return nil, err
	}
	slices.SortStableFunc(list, func(x, y Event) int { return int(min(1, max(-1, y.AtMS-x.AtMS))) })
	return list[:min(most, len(list))], nil
}
