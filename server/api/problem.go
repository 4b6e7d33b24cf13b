package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"strconv"
	"time"

	"hoppertally/domain/calc"
	"hoppertally/domain/form"
	"hoppertally/domain/view"
	"hoppertally/server/auth"
	"hoppertally/server/store"

	"github.com/gofiber/fiber/v2"
)

// row is one line of the problem table: what a code means on the wire. The words
// for a person stand in the phone's language tables, under the same code.
type row struct {
	Code   string
	Status int
	Title  string
}

// Table is every code that an answer of this server can carry as a problem
// document (RFC 9457), and nothing else: a code that is not here cannot be sent.
var Table = []row{
	{"request.body", 400, "the body is not what this address takes"},
	{"request.encoding", 415, "the body is packed in a way that is not known here"},
	{"request.field", 422, "a field of the request cannot stand"},
	{"request.too_large", 413, "the request is too large"},
	{"request.too_many", 413, "too many entries at once"},
	{"request.header", 431, "the header of the request is too large"},
	{"request.slow", 408, "the request took too long to arrive"},
	{"request.method", 405, "this address takes another method"},
	{"request.unknown", 404, "there is no such address"},
	{"request.host", 421, "this server does not go by that name"},
	{"request.cross_site", 403, "another site's page sent this"},
	{"request.rate", 429, "too many requests"},
	{"request.bad", 400, "the request makes no sense"},

	{auth.CodeNoToken, 401, "sign in first"},
	{auth.CodeToken, 401, "the access token is not good here"},
	{auth.CodeExpired, 401, "the access token has expired"},
	{auth.CodeEnded, 401, "the session is over"},
	{auth.CodeWrong, 401, "name and passphrase do not go together"},
	{auth.CodeCode, 401, "the code is unknown, used or too old"},
	{auth.CodeGone, 403, "this person no longer works here"},
	{auth.CodeSlow, 429, "too many wrong tries"},
	{auth.CodePassphrase, 422, "the passphrase is too short or too long"},
	{auth.CodeSetUpDone, 409, "the shop is set up already"},
	{auth.CodeSetUpCode, 403, "that is not the code on the terminal"},
	{auth.CodeNoPerson, 404, "there is no such person"},
	{auth.CodeNoSession, 404, "that person has no such session"},
	{auth.CodeOld, 403, "that is not the passphrase until now"},
	{auth.CodeNoPhone, 404, "there is no such phone"},
	{auth.CodePhoneName, 422, "the name of a phone is too long"},
	{auth.CodeRevoked, 403, "a manager shut this phone out"},
	{auth.CodePhoneTaken, 403, "the device is another's"},
	{"role.may_not", 403, "this is for another role"},
	{"scope.denied", 403, "this role may not see prices"},

	{"sync.epoch", 409, "the server's log began anew"},
	{"sync.cursor", 409, "the cursor lies past the end of the log"},
	{"snapshot.none", 404, "there is no snapshot yet"},
	{"snapshot.gone", 404, "there is a newer snapshot"},
	{"calc.unknown", 404, "there is no such calculation"},
	{"calc.input", 422, "an input of the calculation cannot stand"},
	{"export.unknown", 404, "there is nothing of that name to export"},
	{"export.format", 404, "that is not to be had in this format"},
	{"thing.unknown", 404, "there is no such thing in the books"},

	{"metrics.denied", 403, "this is for the server's own machine"},
	{"server.busy", 503, "too much at once; try again"},
	{"server.full", 503, "the server's disk is full; nothing was stored"},
	{"server.internal", 500, "something went wrong inside"},
}

var table = func() map[string]row {
	m := make(map[string]row, len(Table))
	for _, r := range Table {
		m[r.Code] = r
	}
	return m
}()

// Problem is a refusal on its way to the client.
type Problem struct {
	Code   string
	Detail string         // for this once, in English, without secrets
	Field  string         // of the request, when one is at fault
	Wait   time.Duration  // sent as Retry-After
	More   map[string]any // further members of the document
}

func (p *Problem) Error() string { return p.Code + ": " + p.Detail }

func problem(code, detail string) *Problem { return &Problem{Code: code, Detail: detail} }

// problemOf turns any error into a Problem; what nobody foresaw is server.internal.
func problemOf(err error) *Problem {
	var (
		own     *Problem
		refusal *auth.Error
		field   *form.Error
		unknown *calc.UnknownError
		input   *calc.RangeError
		missing *view.Error
		cursor  *store.CursorError
		web     *fiber.Error
	)
	switch {
	case errors.As(err, &own):
		return own
	case errors.As(err, &refusal):
		return &Problem{Code: refusal.Code, Wait: refusal.Wait}
	case errors.As(err, &unknown):
		return &Problem{Code: "calc.unknown", Detail: unknown.Error(), More: map[string]any{"near": unknown.Near}}
	case errors.As(err, &input):
		return &Problem{Code: "calc.input", Field: input.Field, Detail: "got " + input.Got + ", want " + input.Want}
	case errors.As(err, &field):
		return &Problem{Code: "request.field", Field: field.Field, Detail: field.Error()}
	case errors.As(err, &missing) && missing.Code == "view.unknown":
		return problem("export.unknown", missing.What)
	case errors.As(err, &missing):
		return problem("thing.unknown", missing.Error())
	case errors.As(err, &cursor):
		return &Problem{Code: "sync.cursor", Detail: cursor.Error(), More: map[string]any{"head": cursor.Head}}
	case errors.Is(err, store.ErrDiskLow):
		return &Problem{Code: "server.full", Wait: time.Minute}
	case errors.Is(err, store.ErrClosed), errors.Is(err, context.Canceled):
		return &Problem{Code: "server.busy", Wait: 5 * time.Second}
	case errors.Is(err, store.ErrTooMany):
		return problem("request.too_many", "")
	case errors.As(err, &web):
		return webProblem(web)
	}
	return &Problem{Code: "server.internal"}
}

// webProblem is what fiber itself found wrong.
func webProblem(e *fiber.Error) *Problem {
	switch e.Code {
	case fiber.StatusNotFound:
		return problem("request.unknown", "")
	case fiber.StatusMethodNotAllowed:
		return problem("request.method", "")
	case fiber.StatusRequestEntityTooLarge:
		return problem("request.too_large", fmt.Sprintf("at most %d bytes", BodyMax))
	case fiber.StatusRequestHeaderFieldsTooLarge:
		return problem("request.header", "")
	case fiber.StatusRequestTimeout:
		return problem("request.slow", "")
	case fiber.StatusServiceUnavailable:
		return problem("server.busy", "")
	}
	if e.Code >= 400 && e.Code < 500 {
		return problem("request.bad", e.Message)
	}
	return &Problem{Code: "server.internal"}
}

// send writes the problem document. It is the one place where refusals leave.
func (p *Problem) send(c *fiber.Ctx) error {
	r, ok := table[p.Code]
	if !ok {
		panic("api: problem code " + p.Code + " has no row in the table")
	}
	doc := map[string]any{"type": "urn:hoppertally:problem:" + r.Code, "title": r.Title, "status": r.Status, "code": r.Code}
	if p.Detail != "" {
		doc["detail"] = p.Detail
	}
	if p.Field != "" {
		doc["field"] = p.Field
	}
	for k, v := range p.More {
		doc[k] = v
	}
	if p.Wait > 0 {
		c.Set(fiber.HeaderRetryAfter, strconv.Itoa(int(math.Ceil(p.Wait.Seconds()))))
	}
	if r.Status == fiber.StatusUnauthorized {
		c.Set(fiber.HeaderWWWAuthenticate, `Bearer realm="hoppertally"`)
	}
	body, err := json.Marshal(doc)
	if err != nil {
		return fmt.Errorf("encode problem %s: %w", p.Code, err)
	}
	c.Set(fiber.HeaderCacheControl, "no-store")
	c.Set(fiber.HeaderContentType, "application/problem+json")
	return c.Status(r.Status).Send(body)
}

// onError is fiber's error handler: everything that a handler returns or the
// server itself refuses ends here.
func (s *Server) onError(c *fiber.Ctx, err error) error {
	s.head(c)
	p := problemOf(err)
	if table[p.Code].Status >= 500 {
		s.log.LogAttrs(c.UserContext(), slog.LevelError, "request failed", slog.String("method", c.Method()), slog.String("path", c.Path()),
			slog.String("code", p.Code), slog.Any("error", err))
	}
	return p.send(c)
}
