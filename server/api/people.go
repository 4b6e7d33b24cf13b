package api

import (
	"log/slog"

	"hoppertally/server/auth"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/utils"
)

func (s *Server) invite(c *fiber.Ctx) error {
	person := param(c, "id")
	code, until, err := s.Auth.Invite(person)
	if err != nil {
		return err
	}
	s.log.Info("invited", slog.String("person", person), slog.String("by", readerOf(c).ID))
	return c.JSON(struct {
		Link      string `json:"link"`
		ExpiresMS int64  `json:"expires_ms"`
	}{s.origin(c) + "/#in=" + code, until.UnixMilli()})
}

// origin is the address by which the client reached us.
func (s *Server) origin(c *fiber.Ctx) string {
	scheme := "http://"
	if s.isTLS {
		scheme = "https://"
	}
	return scheme + utils.CopyString(string(c.Request().Host()))
}

// own lets people look after their own sessions, and managers after everybody's.
func (s *Server) own(c *fiber.Ctx) (person string, err error) {
	person = param(c, "id")
	if r := readerOf(c); r.Role != "manager" && r.ID != person {
		return "", problem("role.may_not", "your own sessions, or be a manager")
	}
	if _, ok := s.Books.Person(person); !ok {
		return "", &auth.Error{Code: auth.CodeNoPerson}
	}
	return person, nil
}

func (s *Server) sessions(c *fiber.Ctx) error {
	person, err := s.own(c)
	if err != nil {
		return err
	}
	return c.JSON(struct {
		Sessions []auth.Session `json:"sessions"`
	}{s.Auth.Sessions(person)})
}

func (s *Server) endSession(c *fiber.Ctx) error {
	person, err := s.own(c)
	if err != nil {
		return err
	}
	if err := s.Auth.End(person, param(c, "session")); err != nil {
		return err
	}
	s.log.Info("session ended", slog.String("person", person), slog.String("by", readerOf(c).ID))
	return c.SendStatus(fiber.StatusNoContent)
}
