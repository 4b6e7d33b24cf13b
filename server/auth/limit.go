package auth

import (
	"strings"
	"sync"
	"time"
)

// Limits of wrong tries. A wait grows with each wrong try and is never longer
// than waitMax; nobody is ever locked out for good.
const (
	freePerson  = 4                // wrong tries for one name without a wait
	freeAddress = 12               // and from one address, behind which a whole shop may sit
	waitMax     = time.Minute      // the longest wait between two tries
	forgetAfter = 15 * time.Minute // without a wrong try, all is forgotten
	triesMax    = 10_000           // names and addresses remembered
)

// limiter counts wrong tries per name and per address, in memory only: whoever
// can restart the server needs no passphrase.
//
// Somebody who keeps trying for a name makes its owner wait too. So an address
// from which that name signed in before is only counted for itself.
type limiter struct {
	now   func() time.Time
	mu    sync.Mutex
	tries map[string]*tries
	known map[string]time.Time // address and name that went together
}

type tries struct {
	wrong int
	last  time.Time
}

func newLimiter(now func() time.Time) *limiter {
	return &limiter{now: now, tries: map[string]*tries{}, known: map[string]time.Time{}}
}

// try says how long to wait before a try is looked at; 0 is now, and then the try
// counts as wrong until passed says otherwise: many at once gain nothing.
// who may be "".
func (l *limiter) try(address, who string) (wait time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	at, name := "@"+address, l.nameKey(address, who)
	wait = l.left(at, freeAddress)
	if who != "" {
		wait = max(wait, l.left(name, freePerson))
	}
	if wait > 0 {
		return wait
	}
	l.count(at)
	if who != "" {
		l.count(name)
	}
	return 0
}

func (l *limiter) nameKey(address, who string) string {
	if !l.known[pair(address, who)].IsZero() {
		return pair(address, who)
	}
	return who
}

func (l *limiter) left(key string, free int) time.Duration {
	t := l.tries[key]
	if t == nil {
		return 0
	}
	gone := l.now().Sub(t.last)
	if gone > forgetAfter {
		delete(l.tries, key)
		return 0
	}
	return max(0, pause(t.wrong-free)-gone)
}

// pause is 1 s after the first wrong try that is not free, doubling up to waitMax.
func pause(n int) time.Duration {
	if n <= 0 {
		return 0
	}
	return min(waitMax, time.Second<<min(n-1, 10))
}

func (l *limiter) count(key string) {
	t := l.tries[key]
	if t == nil {
		if len(l.tries) >= triesMax {
			l.drop()
		}
		t = &tries{}
		l.tries[key] = t
	}
	if l.now().Sub(t.last) > forgetAfter {
		t.wrong = 0
	}
	t.wrong++
	t.last = l.now()
}

// drop makes room: what is old enough goes, else the oldest.
func (l *limiter) drop() {
	var oldest string
	for k, t := range l.tries {
		if l.now().Sub(t.last) > forgetAfter {
			delete(l.tries, k)
		} else if oldest == "" || t.last.Before(l.tries[oldest].last) {
			oldest = k
		}
	}
	if len(l.tries) >= triesMax {
		delete(l.tries, oldest)
	}
}

// passed takes back what try counted, and the wrong tries for the name.
func (l *limiter) passed(address, who string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	back := 1
	if t := l.tries[l.nameKey(address, who)]; who != "" && t != nil {
		back = t.wrong
	}
	if t := l.tries["@"+address]; t != nil {
		t.wrong = max(0, t.wrong-back)
	}
	if who == "" {
		return
	}
	delete(l.tries, l.nameKey(address, who))
	if len(l.known) >= triesMax {
		clear(l.known)
	}
	l.known[pair(address, who)] = l.now()
}

func pair(address, who string) string { return address + "\n" + who }

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
