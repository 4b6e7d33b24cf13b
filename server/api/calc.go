package api

import (
	"hoppertally/domain/calc"

	"github.com/gofiber/fiber/v2"
)

func (s *Server) calc(c *fiber.Ctx) error {
	in, err := jsonBody(c)
	if err != nil {
		return err
	}
	out, err := calc.Run(param(c, "name"), in)
	if err != nil {
		return err
	}
	c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
	return c.Send(out)
}
