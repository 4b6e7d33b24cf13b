package api

import (
	"strings"

	"hoppertally/server/auth"
	"hoppertally/sync/entry"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/utils"
)

// who may use a route.
type who int

const (
	anyone   who = iota
	knownOne     // signed in
	handIn       // signed in, also on a phone that was shut out
	manager
)

type route struct {
	method, path string
	who          who
	handle       fiber.Handler
}

const base = "/api/v1"

// routes is every route but the phone's program. openapi.json describes the same
// list; a test compares the two.
func (s *Server) routes() []route {
	return []route{
		{"GET", "/healthz", anyone, s.healthz},
		{"GET", "/readyz", anyone, s.readyz},
		{"GET", "/metrics", anyone, s.metrics.handler(s)},
		{"GET", base + "/openapi.json", anyone, s.openAPI},

		{"GET", base + "/setup", anyone, s.setUpNeeded},
		{"POST", base + "/setup", anyone, s.setUp},
		{"POST", base + "/session", anyone, s.signIn},
		{"POST", base + "/session/refresh", anyone, s.refresh},
		{"DELETE", base + "/session", anyone, s.signOut},
		{"POST", base + "/people/:id/invite", manager, s.invite},
		{"GET", base + "/people/:id/sessions", knownOne, s.sessions},
		{"DELETE", base + "/people/:id/sessions/:session", knownOne, s.endSession},
		{"POST", base + "/people/:id/sign-out", knownOne, s.signOutAll},
		{"GET", base + "/me", handIn, s.me},
		{"POST", base + "/me/passphrase", knownOne, s.passphrase},
		{"GET", base + "/phones", manager, s.phones},
		{"POST", base + "/phones/:id/name", knownOne, s.namePhone},
		{"POST", base + "/phones/:id/revoke", manager, s.revokePhone},
		{"POST", base + "/phones/:id/restore", manager, s.restorePhone},
		{"GET", base + "/events", manager, s.events},

		{"GET", base + "/hello", anyone, s.hello},
		{"POST", base + "/push", handIn, s.push},
		{"GET", base + "/pull", knownOne, s.pull},
		{"GET", base + "/snapshot", knownOne, s.snapshot},
		{"GET", base + "/snapshot/:sha256", knownOne, s.snapshotPiece},
		{"GET", base + "/live", anyone, s.live},

		{"POST", base + "/calc/:name", knownOne, s.calc},
		{"GET", base + "/export/:file", knownOne, s.export},
	}
}

// guard lets a request through to a route's handler if its sender may.
func (s *Server) guard(r route) fiber.Handler {
	return func(c *fiber.Ctx) error {
		if !strings.HasPrefix(r.path, base) {
			return r.handle(c)
		}
		c.Set(fiber.HeaderCacheControl, "no-store")
		if r.method != fiber.MethodGet && s.crossSite(c) {
			return problem("request.cross_site", "")
		}
		reader, refusal := s.reader(c)
		if refusal != nil && r.who != anyone {
			return refusal
		}
		if err := s.paced(c, reader.ID); err != nil {
			return err
		}
		if r.who == anyone {
			return r.handle(c)
		}
		if reader.Revoked && r.who != handIn {
			return problem(auth.CodeRevoked, "what it recorded it may hand in")
		}
		if r.who == manager && reader.Role != "manager" {
			return problem("role.may_not", "managers only")
		}
		s.heard(c, reader.Device, entry.Clock{})
		return r.handle(c)
	}
}

const readerKey = "reader"

// reader reads the access token of a request. Everything in it is ours to keep.
func (s *Server) reader(c *fiber.Ctx) (auth.Reader, error) {
	if r, ok := c.Locals(readerKey).(auth.Reader); ok { // read before, in the guard
		return r, nil
	}
	r, err := s.Auth.Verify(bearer(c))
	if err == nil {
		c.Locals(readerKey, r)
	}
	return r, err
}

// bearer is the access token of a request, "" without one.
func bearer(c *fiber.Ctx) string {
	head := c.Get(fiber.HeaderAuthorization)
	const scheme = "Bearer "
	if len(head) < len(scheme) || !strings.EqualFold(head[:len(scheme)], scheme) {
		return ""
	}
	return utils.CopyString(head[len(scheme):])
}

// readerOf is who the guard let through.
func readerOf(c *fiber.Ctx) auth.Reader { return c.Locals(readerKey).(auth.Reader) }
