package auth

import (
	"strings"
	"sync"
	"time"

	"hoppertally/server/budget"
)

// Limits of tries to get in. Nobody is ever locked out for good.
//
// Wrong passphrases are counted by name and by the device or else the address that they
// come from. A device is known to be somebody's if they signed in there before and it
// shows its secret: what others try elsewhere never makes its owner wait. Guesses from
// many addresses share the budget of the name, guesses at many names that of the address.
const (
	freePassphrases = 4                // wrong ones of a pair without a wait
	waitMax         = time.Minute      // the longest wait between two tries of a pair
	forgetAfter     = 15 * time.Minute // without a wrong try a pair is forgotten
	countedMax      = 10_000           // pairs remembered

	// Passphrases are looked at as many times at once, and then every so often: from one
	// address or device, also right ones, because looking takes work; and for one name
	// from devices and addresses that are not known to be its owner's.
	workBurst, workEvery = 30, 5 * time.Second
	nameBurst, nameEvery = 60, time.Minute

	// Codes have 80 bits and are beyond guessing at any pace: this only slows a device at an
	// address that runs in circles with wrong ones.
	codeBurst, codeEvery = 13, 30 * time.Second

	queueMax, queueWait = 16, 5 * time.Second // tries from devices that are not known, at work or waiting

	newDeviceBurst, newDeviceEvery = 20, 10 * time.Minute // devices that somebody may sign in on for the first time
)

// limiter counts in memory only: whoever can restart the server needs no passphrase.
type limiter struct {
	now     func() time.Time
	mu      sync.Mutex
	wrong   map[string]*wrong
	known   map[string]bool // name and address that went together
	work    *budget.Budgets // by address or device
	names   *budget.Budgets
	codes   *budget.Budgets // by device and address
	devices *budget.Budgets // by person
}

type wrong struct {
	tries int
	last  time.Time
}

func newLimiter(now func() time.Time) *limiter {
	return &limiter{now: now, wrong: map[string]*wrong{}, known: map[string]bool{}, work: budget.New(workBurst, workEvery),
		names: budget.New(nameBurst, nameEvery), codes: budget.New(codeBurst, codeEvery), devices: budget.New(newDeviceBurst, newDeviceEvery)}
}

// attempt is one try, as it is counted.
type attempt struct {
	pair string // whose wrong tries count together
	work string // whose share of the work it takes
	name string // of whose budget it is, "" if of nobody's
}

// passphrase is a try with a passphrase for a name, on a device that is the owner's own
// or is not.
func (l *limiter) passphrase(name string, d Device, isOwn bool) attempt {
	if own := "device " + d.ID + "\n" + plainName(name); isOwn {
		return attempt{pair: own, work: own}
	}
	a := attempt{pair: placeOf(name, d), work: "address " + d.Address, name: plainName(name)}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.known[a.pair] {
		a.name = ""
	}
	return a
}

// plainName is a name however it was typed.
func plainName(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// placeOf is a name together with an address.
func placeOf(name string, d Device) string { return "address " + d.Address + "\n" + plainName(name) }

// code says how long a device must wait before it tries a code.
func (l *limiter) code(d Device) time.Duration { return l.codes.Wait(codeKey(d), l.now()) }

// wrongCode counts one.
func (l *limiter) wrongCode(d Device) { l.codes.Take(codeKey(d), l.now()) }

// codeKey is a device at an address. Its secret is part of it, for anybody can tell another
// device's id.
func codeKey(d Device) string { return d.Address + "\n" + d.ID + "\n" + hashOf(d.Secret) }

// change is a try with the passphrase until now, in a session.
func (l *limiter) change(r Reader) attempt {
	return attempt{pair: "session " + r.Session, work: "person " + r.ID}
}

// try says how long to wait before a try is looked at; 0 is now, and then it counts as
// wrong until passed says otherwise: many at once gain nothing.
func (l *limiter) try(a attempt) (wait time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.now()
	if wait = l.left(a, now); wait > 0 {
		return wait
	}
	if wait = l.work.Take(a.work, now); wait == 0 && a.name != "" {
		wait = l.names.Take(a.name, now)
	}
	if wait > 0 {
		return wait
	}
	l.count(a.pair, now)
	return 0
}

// left is how long a pair must wait.
func (l *limiter) left(a attempt, now time.Time) time.Duration {
	w := l.wrong[a.pair]
	if w == nil {
		return 0
	}
	gone := now.Sub(w.last)
	if gone > forgetAfter {
		delete(l.wrong, a.pair)
		return 0
	}
	return max(0, pause(w.tries-freePassphrases)-gone)
}

// pause is 1 s after the first wrong try that is not free, doubling up to waitMax.
func pause(n int) time.Duration {
	if n <= 0 {
		return 0
	}
	return min(waitMax, time.Second<<min(n-1, 10))
}

func (l *limiter) count(pair string, now time.Time) {
	w := l.wrong[pair]
	if w == nil {
		if len(l.wrong) >= countedMax {
			l.drop(now)
		}
		w = &wrong{}
		l.wrong[pair] = w
	}
	w.tries++
	w.last = now
}

// drop makes room: what is old enough goes, else the oldest.
func (l *limiter) drop(now time.Time) {
	var oldest string
	for k, w := range l.wrong {
		if now.Sub(w.last) > forgetAfter {
			delete(l.wrong, k)
		} else if oldest == "" || w.last.Before(l.wrong[oldest].last) {
			oldest = k
		}
	}
	if len(l.wrong) >= countedMax {
		delete(l.wrong, oldest)
	}
}

// passed forgets the wrong tries of a pair.
func (l *limiter) passed(a attempt) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.wrong, a.pair)
}

// met remembers that somebody signed in from an address.
func (l *limiter) met(name string, d Device) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.known) >= countedMax {
		clear(l.known)
	}
	l.known[placeOf(name, d)] = true
}

// newDevice says how long somebody must wait before they sign in on one more device.
func (l *limiter) newDevice(person string) time.Duration { return l.devices.Take(person, l.now()) }

// Owner is whose session the first of some refresh tokens belongs to that is good; "" if
// none is. It only tells whom a request counts for.
func (a *Auth) Owner(tokens []string) string {
	a.mu.Lock()
	defer a.mu.Unlock()
	for _, token := range tokens {
		id, secret, _ := strings.Cut(token, ".")
		if s := a.sessions[id]; s != nil && s.find(hashOf(secret)) != nil {
			return s.Person
		}
	}
	return ""
}
