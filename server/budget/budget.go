// Package budget holds whoever asks to so many times at once, and so many after that.
package budget

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// KeysMax is how many keys are remembered.
const KeysMax = 20_000

// Budgets are token buckets, one for each key: a person, an address, a name. Its methods
// may be called from several goroutines at once. Use [New].
type Budgets struct {
	burst int
	every time.Duration

	mu sync.Mutex
	of map[string]*rate.Limiter
}

// New makes budgets of burst tokens, refilled by one every so often.
func New(burst int, every time.Duration) *Budgets {
	return &Budgets{burst: burst, every: every, of: map[string]*rate.Limiter{}}
}

// Take takes one of a key's tokens, or takes none and says how long it is until the next.
func (b *Budgets) Take(key string, now time.Time) (wait time.Duration) {
	return b.reserve(key, now, true)
}

// Wait is how long it is until Take would get a token, 0 if it would now.
func (b *Budgets) Wait(key string, now time.Time) time.Duration { return b.reserve(key, now, false) }

func (b *Budgets) reserve(key string, now time.Time, isKept bool) (wait time.Duration) {
	b.mu.Lock()
	defer b.mu.Unlock()
	l := b.of[key]
	if l == nil {
		if len(b.of) >= KeysMax {
			b.drop(now)
		}
		l = rate.NewLimiter(rate.Every(b.every), b.burst)
		b.of[key] = l
	}
	r := l.ReserveN(now, 1)
	if wait = r.DelayFrom(now); wait > 0 || !isKept {
		r.CancelAt(now)
	}
	return wait
}

// drop makes room: the keys whose budgets are full go, or all if there are none.
func (b *Budgets) drop(now time.Time) {
	for key, l := range b.of {
		if l.TokensAt(now) >= float64(b.burst) {
			delete(b.of, key)
		}
	}
	if len(b.of) >= KeysMax {
		clear(b.of)
	}
}
