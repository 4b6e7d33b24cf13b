package api

import (
	"log/slog"
	"strings"

	"hoppertally/server/https"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/utils"
)

// noteOrigin remembers under which address a phone just signed in or renewed its
// session. Whoever is not a browser names none, or any: others are shown these addresses,
// so only those count that are ours.
func (s *Server) noteOrigin(c *fiber.Ctx) {
	origin := utils.CopyString(c.Get(fiber.HeaderOrigin))
	host, isOurScheme := strings.CutPrefix(origin, s.scheme())
	if !isOurScheme || !s.isOurs(c, host) {
		return
	}
	isNew, err := s.Origins.Saw(origin)
	switch {
	case err != nil:
		s.log.Error("the address of a phone was not noted", slog.Any("error", err))
	case isNew:
		s.log.Warn("a phone came by an address that none used before: what it has not sent under another stays there", slog.String("origin", origin))
	}
}

// left are the addresses where the phone that asks may have entries that it cannot
// send any more; never null.
func (s *Server) left(c *fiber.Ctx) []https.Used {
	return append([]https.Used{}, s.Origins.Left(s.scheme()+s.host(c))...)
}

func (s *Server) scheme() string {
	if s.isTLS {
		return "https://"
	}
	return "http://"
}
