package api

import "github.com/gofiber/fiber/v2"

// policy is what the page may load: itself and nothing from elsewhere. WebAssembly
// needs its own word; styles go through the style sheet only.
const policy = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; " +
	"media-src 'self' blob:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; object-src 'none'; base-uri 'none'; " +
	"frame-ancestors 'none'; form-action 'self'"

// head sets what every answer carries: who we are (so that a phone can tell us
// from a captive portal) and what the browser must not do.
func (s *Server) head(c *fiber.Ctx) {
	c.Set("X-Hoppertally", s.serverID)
	c.Set("Content-Security-Policy", policy)
	c.Set(fiber.HeaderXContentTypeOptions, "nosniff")
	c.Set(fiber.HeaderReferrerPolicy, "no-referrer")
	c.Set("Cross-Origin-Opener-Policy", "same-origin")
	c.Set("Cross-Origin-Resource-Policy", "same-origin")
	c.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=()")
	if s.isTLS && !s.OwnRoot { // the page that leads to trust in an own root is plain HTTP on the same name
		c.Set(fiber.HeaderStrictTransportSecurity, "max-age=31536000")
	}
}

func (s *Server) setHead(c *fiber.Ctx) error {
	s.head(c)
	return c.Next()
}
