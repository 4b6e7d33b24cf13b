package api

import (
	"time"

	"github.com/gofiber/fiber/v2"
)

// Limits of how often somebody may ask. They stop what runs in circles, not people:
// a phone that sends a whole shift stays far below.
const (
	rateBurst = 2000              // requests at once
	rateEvery = time.Second / 100 // one more after each

	refusalBurst, refusalEvery = 20, time.Minute // refused sign-ins of one address that go on the record
)

// paced refuses a sender that asks too often: a person, on all their phones together,
// if a token or a cookie proves who it is, else an address. So nobody who shares an
// address with strangers waits for them, and a crowd of addresses has no person's count
// forgotten.
func (s *Server) paced(c *fiber.Ctx, person string) error {
	if person == "" {
		person = s.Auth.Owner(s.refreshTokens(c))
	}
	of, who := s.people, person
	if person == "" {
		of, who = s.strangers, s.home(c)
	}
	if wait := of.Take(who, s.Now()); wait > 0 {
		return &Problem{Code: "request.rate", Wait: max(wait, time.Second)}
	}
	return nil
}
