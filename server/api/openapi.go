package api

import (
	_ "embed"

	"github.com/gofiber/fiber/v2"
)

//go:embed openapi.json
var document []byte

// openAPI is the description of every route, after OpenAPI 3.1.
func (s *Server) openAPI(c *fiber.Ctx) error {
	c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
	return c.Send(document)
}
