package api

import (
	"bytes"
	"net"
	"net/netip"
	"strings"

	"hoppertally/server/https"

	"github.com/gofiber/fiber/v2"
)

// address is where a request came from: what the proxy says, when there is one in
// front that was named on the command line, and never otherwise. What the proxy says
// and is no address counts for nothing.
func (s *Server) address(c *fiber.Ctx) netip.Addr {
	if a, ok := forwardedAddr(s.forwarded(c, fiber.HeaderXForwardedFor)); ok {
		return a
	}
	return addrOf(c.Context().RemoteAddr())
}

// home is what counts as one sender of all that comes from its address.
func (s *Server) home(c *fiber.Ctx) string { return https.Home(s.address(c)).String() }

// forwardedAddr reads an address, in brackets or with a port as some proxies add them.
func forwardedAddr(s string) (netip.Addr, bool) {
	a, err := netip.ParseAddr(strings.TrimSuffix(strings.TrimPrefix(s, "["), "]"))
	if p, portErr := netip.ParseAddrPort(s); portErr == nil {
		a, err = p.Addr(), nil
	}
	return a.Unmap().WithZone(""), err == nil && !a.IsUnspecified()
}

// addrOf is the address of an end of a connection.
func addrOf(a net.Addr) netip.Addr {
	p, err := netip.ParseAddrPort(a.String())
	if err != nil {
		return netip.Addr{}
	}
	return p.Addr().Unmap().WithZone("")
}

// forwarded is what our own proxy says in a header, "" without one. Each proxy adds
// at the end what it saw, behind a comma or in a line of its own, so only the last word
// of the last line is our own proxy's; a client can send all the others.
func (s *Server) forwarded(c *fiber.Ctx, header string) string {
	lines := c.Request().Header.PeekAll(header)
	if !s.Proxied || len(lines) == 0 {
		return ""
	}
	last := lines[len(lines)-1]
	return string(bytes.TrimSpace(last[bytes.LastIndexByte(last, ',')+1:]))
}

// passedOn are the headers by which a proxy tells that a request is another's (RFC 7239,
// RFC 9110 section 7.6.3, and common practice).
var passedOn = []string{fiber.HeaderForwarded, fiber.HeaderVia, fiber.HeaderXForwardedFor, fiber.HeaderXForwardedHost, fiber.HeaderXForwardedProto, "X-Real-Ip"}

// isHere tells whether a request comes from this machine itself: not through a proxy,
// named or not, and with one in front not under the name that is the proxy's.
func (s *Server) isHere(c *fiber.Ctx) bool {
	from := addrOf(c.Context().RemoteAddr())
	if !from.IsLoopback() && from != addrOf(c.Context().LocalAddr()) {
		return false
	}
	for _, name := range passedOn {
		if len(c.Request().Header.Peek(name)) > 0 {
			return false
		}
	}
	host, _, _ := https.Authority(string(c.Request().Host()))
	return !s.Proxied || !s.names[host]
}
