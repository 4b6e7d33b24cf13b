package api

import (
	"sync"
	"time"

	"hoppertally/server/https"

	"github.com/gofiber/fiber/v2"
	"golang.org/x/time/rate"
)

// Limits of how often somebody may ask. They stop what runs in circles, not people:
// a phone that sends a whole shift stays far below.
const (
	rateBurst  = 2000   // requests at once
	rateMore   = 100    // and each second after that
	sendersMax = 20_000 // remembered
)

// pacer counts requests by sender.
type pacer struct {
	mu      sync.Mutex
	senders map[string]*rate.Limiter
}

func newPacer() pacer { return pacer{senders: map[string]*rate.Limiter{}} }

// wait is how long a sender must wait before its next request; 0 lets this one in.
func (p *pacer) wait(who string, now time.Time) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	l := p.senders[who]
	if l == nil {
		if len(p.senders) >= sendersMax {
			p.forget(now)
		}
		l = rate.NewLimiter(rateMore, rateBurst)
		p.senders[who] = l
	}
	r := l.ReserveN(now, 1)
	wait := r.DelayFrom(now)
	if wait > 0 {
		r.CancelAt(now)
	}
	return wait
}

// forget drops the senders that owe nothing; all of them if that is nobody.
func (p *pacer) forget(now time.Time) {
	for who, l := range p.senders {
		if l.TokensAt(now) >= rateBurst {
			delete(p.senders, who)
		}
	}
	if len(p.senders) >= sendersMax {
		clear(p.senders)
	}
}

// paced refuses a sender that asks too often: a person, on all their phones together,
// if a token or a cookie proves who it is, else an address. So nobody who shares an
// address with strangers waits for them, and a crowd of addresses has no person's count
// forgotten.
func (s *Server) paced(c *fiber.Ctx, person string) error {
	if person == "" {
		person = s.Auth.Owner(s.refreshTokens(c))
	}
	of, who := &s.people, person
	if person == "" {
		of, who = &s.strangers, https.Home(s.address(c)).String()
	}
	if wait := of.wait(who, s.Now()); wait > 0 {
		return &Problem{Code: "request.rate", Wait: max(wait, time.Second)}
	}
	return nil
}
