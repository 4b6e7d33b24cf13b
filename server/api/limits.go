package api

import (
	"sync"
	"time"

	"hoppertally/server/auth"

	"github.com/gofiber/fiber/v2"
)

// Limits of how often somebody may ask. They stop what runs in circles, not people:
// a phone that sends a whole shift stays far below.
const (
	rateBurst  = 2000              // requests at once
	rateEvery  = time.Second / 100 // one more after each
	sendersMax = 20_000            // remembered
)

// pacer counts requests by sender, a phone or an address (token bucket).
type pacer struct {
	mu      sync.Mutex
	senders map[string]*sender
}

// sender has used up its burst up to the time due.
type sender struct{ due time.Time }

// wait is how long a sender must wait before its next request; 0 lets this one in.
func (p *pacer) wait(who string, now time.Time) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	s := p.senders[who]
	if s == nil {
		if len(p.senders) >= sendersMax {
			p.forget(now)
		}
		s = &sender{}
		p.senders[who] = s
	}
	due := s.due
	if due.Before(now) {
		due = now
	}
	if over := due.Sub(now) - (rateBurst-1)*rateEvery; over > 0 {
		return over
	}
	s.due = due.Add(rateEvery)
	return 0
}

// forget drops the senders that owe nothing; all of them if that is nobody.
func (p *pacer) forget(now time.Time) {
	for who, s := range p.senders {
		if !s.due.After(now) {
			delete(p.senders, who)
		}
	}
	if len(p.senders) >= sendersMax {
		clear(p.senders)
	}
}

// paced refuses a sender that asks too often.
func (s *Server) paced(who string) error {
	if wait := s.pacer.wait(who, s.Now()); wait > 0 {
		return &Problem{Code: "request.rate", Wait: max(wait, time.Second)}
	}
	return nil
}

// sender is whom a request counts for: the phone of a session, else an address.
func (s *Server) sender(c *fiber.Ctx, r *auth.Reader) string {
	if r != nil {
		return "phone " + r.Device
	}
	return "address " + s.address(c).String()
}
