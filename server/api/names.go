package api

import (
	"net/netip"
	"net/url"
	"strings"

	"hoppertally/server/https"

	"github.com/gofiber/fiber/v2"
)

// ours refuses what was sent to a name that is not ours. A browser sends the name that
// stood in the address, and an attacker can have a name of their own lead to this
// machine: its page would be of the same site as we are.
func (s *Server) ours(c *fiber.Ctx) error {
	names := []string{string(c.Request().Header.Host()), string(c.Request().Host())} // the second may stand in the request line (RFC 9112, section 3.2.2)
	if fwd := s.forwarded(c, fiber.HeaderXForwardedHost); fwd != "" {
		names = append(names, fwd)
	}
	for _, name := range names {
		if !s.isOurs(c, name) {
			return problem("request.host", "add a name of this server with --host or --domain")
		}
	}
	return c.Next()
}

// isOurs tells whether a host, with or without a port, leads here: localhost, the address
// at which the connection arrived, or what [Config] names.
func (s *Server) isOurs(c *fiber.Ctx, authority string) bool {
	host, _, ok := https.Authority(authority)
	if !ok {
		return false
	}
	if a, err := netip.ParseAddr(host); err == nil && (a.IsLoopback() || a == addrOf(c.Context().LocalAddr())) {
		return true
	}
	return host == "localhost" || s.names[host]
}

// crossSite tells a request that another site's page makes a browser send: it
// says so itself (Fetch Metadata, W3C), or its Origin (RFC 6454) is not us. A client
// that is no browser says neither. Cookies are SameSite=Strict besides.
func (s *Server) crossSite(c *fiber.Ctx) bool {
	switch c.Get("Sec-Fetch-Site") {
	case "":
	case "same-origin", "none":
		return false
	default:
		return true
	}
	origin := c.Get(fiber.HeaderOrigin)
	if origin == "" {
		return false
	}
	u, err := url.Parse(origin)
	return err != nil || u.Host == "" || !strings.EqualFold(u.Host, s.host(c))
}

// host is the name and port by which the client reached us.
func (s *Server) host(c *fiber.Ctx) string {
	if fwd := s.forwarded(c, fiber.HeaderXForwardedHost); fwd != "" {
		return fwd
	}
	return string(c.Request().Host())
}
