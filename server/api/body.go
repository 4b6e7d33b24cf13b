package api

import (
	"bytes"
	"fmt"
	"io"
	"mime"
	"net/url"

	"hoppertally/domain/form"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/utils"
	"github.com/klauspost/compress/gzip"
)

// body gives the request's body, unpacked, as a copy that is ours to keep.
//
// It reads the raw bytes on purpose: fiber's own Body() unpacks without a limit,
// and what it lends is overwritten by the next request.
func body(c *fiber.Ctx) ([]byte, error) {
	raw := c.Request().Body()
	if len(raw) > BodyMax {
		return nil, problem("request.too_large", fmt.Sprintf("at most %d bytes", BodyMax))
	}
	switch enc := c.Get(fiber.HeaderContentEncoding); enc {
	case "", "identity":
		return bytes.Clone(raw), nil
	case "gzip":
		return unpack(raw)
	default:
		return nil, problem("request.encoding", "gzip or nothing")
	}
}

// param is a part of the address, decoded, as a copy that is ours to keep.
func param(c *fiber.Ctx, name string) string {
	raw := utils.CopyString(c.Params(name))
	if plain, err := url.PathUnescape(raw); err == nil {
		return plain
	}
	return raw
}

// unpack unpacks gzip of at most BodyMax bytes.
func unpack(raw []byte) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(raw))
	if err != nil {
		return nil, problem("request.body", "not gzip: "+err.Error())
	}
	var b bytes.Buffer
	b.Grow(min(packedMin*len(raw), BodyMax) + bytes.MinRead)
	if _, err := b.ReadFrom(io.LimitReader(z, BodyMax+1)); err != nil {
		return nil, problem("request.body", "gzip: "+err.Error())
	}
	if b.Len() > BodyMax {
		return nil, problem("request.too_large", fmt.Sprintf("at most %d bytes after unpacking", BodyMax))
	}
	return b.Bytes(), nil
}

// packedMin is how much smaller entries are at least when they are packed.
const packedMin = 4

// jsonBody is body for a request that must say it is JSON: a form on another
// site cannot say that without asking us first.
func jsonBody(c *fiber.Ctx) ([]byte, error) {
	kind, _, err := mime.ParseMediaType(c.Get(fiber.HeaderContentType))
	if err != nil || kind != fiber.MIMEApplicationJSON {
		return nil, problem("request.encoding", "Content-Type must be application/json")
	}
	return body(c)
}

// decode reads a JSON body into a form.
func decode(c *fiber.Ctx, f form.Fields) error {
	b, err := jsonBody(c)
	if err != nil {
		return err
	}
	err = form.Decode(b, f)
	if fault, ok := err.(*form.Error); ok && fault.Code == form.Syntax {
		return problem("request.body", "one JSON object")
	}
	return err
}
