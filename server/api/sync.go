package api

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"strconv"
	"strings"

	"hoppertally/domain/kind"
	"hoppertally/server/store"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
	"hoppertally/sync/wire"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/utils"
	"github.com/valyala/fasthttp"
)

// Log is the store as this package needs it; package store says what each does.
type Log interface {
	ServerID() string
	Epoch() string
	Head() int64
	Stands() store.Standing
	Confirm(ctx context.Context, proof string) error
	HaveN(device string) (int64, error)
	BackupSeq() int64
	Backups() store.Backups
	DiskLow() bool
	Push(ctx context.Context, req store.PushRequest) ([]hub.Result, error)
	Pull(after int64, most, maxBytes int) (store.Page, error)
	Window(floorMS int64, ids []string, last int64, fn func(store.Record) error) error
	Subscribe() (heads <-chan int64, cancel func())
	Ready() error // nil while entries can be taken in
}

// MinClient is the oldest phone program that may still sync.
const MinClient = "1"

// proofHeader carries what a phone was last told of the log.
const proofHeader = "X-Hoppertally-Proof"

// confirm looks whether the log still is the one that the phone knows. When it returns
// without an error, epoch and head are those to answer with.
func (s *Server) confirm(c *fiber.Ctx) error {
	return s.Log.Confirm(c.UserContext(), utils.CopyString(c.Get(proofHeader)))
}

func (s *Server) hello(c *fiber.Ctx) error {
	if err := s.confirm(c); err != nil {
		return err
	}
	at := s.Log.Stands()
	out := wire.Hello{Server: s.serverID, Epoch: at.Epoch, Head: at.Head, Proof: at.Proof, NowMS: s.Now().UnixMilli(), MinClient: MinClient, Latest: s.Version}
	if c.Get(fiber.HeaderAuthorization) != "" {
		r, err := s.reader(c)
		if err != nil {
			return err
		}
		s.heard(c, r.Device, entry.Clock{})
		have, err := s.Log.HaveN(r.Device)
		if err != nil {
			return err
		}
		state := s.Log.Backups()
		out.IsSignedIn, out.HaveN, out.BackupSeq, out.BackupMS, out.BackupBad = true, have, s.Log.BackupSeq(), state.LastMS, state.Fault != ""
		out.Revoked = r.Revoked
	}
	return sendJSON(c, wire.Append(nil, &out))
}

// pushProblem says what is wrong with the body of a push.
func pushProblem(err error) error {
	var fault *entry.Error
	switch {
	case !errors.As(err, &fault):
		return err
	case fault.Code == entry.TooLarge:
		return problem("request.too_many", "at most "+strconv.Itoa(EntriesMax))
	}
	return problem("request.body", err.Error())
}

func (s *Server) push(c *fiber.Ctx) error {
	b, err := jsonBody(c)
	if err != nil {
		return err
	}
	now, entries, err := wire.ReadPush(b, EntriesMax)
	if err != nil {
		return pushProblem(err)
	}
	r := readerOf(c)
	if now.Segment != "" {
		s.heard(c, r.Device, now)
	}
	if err := s.confirm(c); err != nil {
		return err
	}
	results, err := s.Log.Push(c.UserContext(), store.PushRequest{Author: r.ID, Device: r.Device, Now: now, Entries: entries})
	if err != nil {
		return err
	}
	s.metrics.pushed(results)
	s.tell(results, r.ID, r.Device)
	return sendJSON(c, appendResults(make([]byte, 0, 256*len(results)+256), results, s.Log.Stands()))
}

// tell logs what a manager or the person who runs the server may ask about.
func (s *Server) tell(results []hub.Result, person, device string) {
	for _, r := range results {
		if r.Outcome == hub.Held || r.Outcome == hub.Refused {
			s.log.Info("entry "+string(r.Outcome), slog.String("entry", r.ID), slog.String("reason", r.Reason),
				slog.String("person", person), slog.String("device", device))
		}
	}
}

func (s *Server) pull(c *fiber.Ctx) error {
	if err := s.confirm(c); err != nil {
		return err
	}
	epoch := s.Log.Epoch()
	if c.Query("epoch") != epoch {
		return &Problem{Code: "sync.epoch", Detail: "this log is of another epoch", More: map[string]any{"epoch": epoch}}
	}
	after, err := number(c, "after", 0, 0, math.MaxInt64)
	if err != nil {
		return err
	}
	most, err := number(c, "max", PageMax, 1, math.MaxInt64)
	if err != nil {
		return err
	}
	isPlain, err := plainScope(c)
	if err != nil {
		return err
	}
	page, err := s.Log.Pull(after, int(min(most, PageMax)), pageBytes)
	if err != nil {
		return err
	}
	if isPlain {
		for i := range page.Entries {
			if page.Entries[i].Raw, err = kind.Redact(page.Entries[i].Raw); err != nil {
				return fmt.Errorf("entry at seq %d: %w", page.Entries[i].Seq, err)
			}
		}
	}
	s.metrics.pulled(len(page.Entries))
	return sendJSON(c, appendPage(nil, page))
}

// sendJSON answers with JSON, packed when it is large and the phone unpacks: an entry
// shrinks to a seventh, and the fastest level costs 3 ms for a thousand of them.
func sendJSON(c *fiber.Ctx, b []byte) error {
	c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
	if len(b) >= packFrom && strings.Contains(c.Get(fiber.HeaderAcceptEncoding), "gzip") {
		c.Set(fiber.HeaderContentEncoding, "gzip")
		b = fasthttp.AppendGzipBytesLevel(nil, b, fasthttp.CompressBestSpeed)
	}
	return c.Send(b)
}

// plainScope reads the query's scope: plain is the books without what is for the
// office only, full is all of them. Absent, it is the most that the session's role
// may see. A phone that a coater uses too asks for plain, whoever is signed in.
func plainScope(c *fiber.Ctx) (isPlain bool, err error) {
	may := kind.SeesPrices(readerOf(c).Role)
	switch scope := c.Query("scope"); scope {
	case "":
		return !may, nil
	case "plain":
		return true, nil
	case "full":
		if !may {
			return false, problem("scope.denied", "plain is what this role may see")
		}
		return false, nil
	default:
		return false, &Problem{Code: "request.field", Field: "scope", Detail: "got " + strconv.Quote(scope) + ", want plain or full"}
	}
}

// appendResults writes the answer to a push. A seq holds in any epoch that began since
// the commit: it goes on with the same log.
func appendResults(dst []byte, results []hub.Result, at store.Standing) []byte {
	out := wire.Pushed{Results: make([]wire.Result, len(results)), Epoch: at.Epoch, Head: at.Head, Proof: at.Proof}
	for i, r := range results {
		out.Results[i] = wire.Result{ID: r.ID, Outcome: string(r.Outcome), Stands: string(r.Was), Facts: said(r.Seq, r.ReceivedMS, r.EffectiveMS, r.Late, r.Reason)}
	}
	return wire.Append(dst, &out)
}

func said(seq, receivedMS, effectiveMS int64, late bool, reason string) wire.Facts {
	return wire.Facts{Seq: seq, ReceivedMS: receivedMS, EffectiveMS: effectiveMS, Late: late, Reason: reason}
}

// appendPage writes a page of the log.
func appendPage(dst []byte, p store.Page) []byte {
	dst = wire.BeginPage(dst, &wire.Page{Epoch: p.Epoch, Head: p.Head, Next: p.Next, More: p.More, Proof: p.Proof})
	for i := range p.Entries {
		r := &p.Entries[i]
		dst = wire.AppendItem(dst, string(r.Outcome), said(r.Seq, r.ReceivedMS, r.EffectiveMS, r.Late, r.Reason), r.Raw)
	}
	return append(dst, wire.EndPage...)
}

// number reads a whole number of the query; absent is other.
func number(c *fiber.Ctx, name string, other, lo, hi int64) (int64, error) {
	text := utils.CopyString(c.Query(name))
	if text == "" {
		return other, nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < lo || n > hi {
		return 0, &Problem{Code: "request.field", Field: name, Detail: "got " + strconv.Quote(text) + ", want a whole number from " + strconv.FormatInt(lo, 10)}
	}
	return n, nil
}
