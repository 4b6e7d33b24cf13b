package auth

import (
	"cmp"
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

// audit is the record: the numbers of the events on disk, happened and refused, each
// ascending. Its lock is taken last.
type audit struct {
	mu   sync.Mutex
	next int64
	kept [2][]int64
}

var (
	eventPrefixes = [2]string{eventPrefix + "h/", eventPrefix + "r/"}
	eventLimits   = [2]int{EventsMax, RefusalsMax}
)

func (a *Auth) loadEvents() error {
	for i, prefix := range eventPrefixes {
		err := a.side.Each(prefix, func(key string, _ []byte) error {
			n, err := eventNumber(key)
			a.audit.kept[i] = append(a.audit.kept[i], n)
			a.audit.next = max(a.audit.next, n+1)
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func eventKey(sort int, n int64) string { return fmt.Sprintf("%s%016x", eventPrefixes[sort], n) }

func eventNumber(key string) (int64, error) {
	n, err := strconv.ParseInt(key[strings.LastIndexByte(key, '/')+1:], 16, 64)
	if err != nil {
		return 0, fmt.Errorf("auth: event %q: %w", key, err)
	}
	return n, nil
}

// Note puts an event on the record, at this moment.
func (a *Auth) Note(e Event) error {
	e.AtMS = a.now().UnixMilli()
	sort := 0
	if e.What == EventRefused {
		sort = 1
	}
	a.audit.mu.Lock()
	defer a.audit.mu.Unlock()
	n := a.audit.next
	kept := append(a.audit.kept[sort], n)
	extra := max(0, len(kept)-eventLimits[sort])
	changes := map[string][]byte{eventKey(sort, n): encode(e)}
	for _, old := range kept[:extra] {
		changes[eventKey(sort, old)] = nil
	}
	if err := a.write(changes); err != nil {
		return err
	}
	a.audit.next, a.audit.kept[sort] = n+1, kept[extra:]
	return nil
}

// Events gives the record, refusals included, the latest first, at most most.
func (a *Auth) Events(most int) ([]Event, error) {
	type numbered struct {
		n int64
		Event
	}
	var all []numbered
	var fault error
	err := each(a, eventPrefix, func(key string, e Event) {
		n, err := eventNumber(key)
		fault = cmp.Or(fault, err)
		all = append(all, numbered{n, e})
	})
	if err = cmp.Or(err, fault); err != nil {
		return nil, err
	}
	slices.SortFunc(all, func(x, y numbered) int { return cmp.Compare(y.n, x.n) })
	list := make([]Event, 0, min(most, len(all)))
	for _, e := range all[:min(most, len(all))] {
		list = append(list, e.Event)
	}
	return list, nil
}
