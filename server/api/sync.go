package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"math"
	"strconv"
	"strings"

	"hoppertally/domain/form"
	"hoppertally/domain/shop"
	"hoppertally/server/store"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"

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
	type hello struct {
		ServerID  string `json:"server_id"`
		Epoch     string `json:"epoch"`
		Head      int64  `json:"head"`
		Proof     string `json:"proof"`
		NowMS     int64  `json:"now_ms"`
		MinClient string `json:"min_client"`
		Latest    string `json:"latest"`
		HaveN     *int64 `json:"have_n,omitempty"`
		BackupSeq *int64 `json:"backup_seq,omitempty"`
		BackupAt  *int64 `json:"backup_at,omitempty"`
		BackupBad *bool  `json:"backup_failed,omitempty"`
	}
	if err := s.confirm(c); err != nil {
		return err
	}
	at := s.Log.Stands()
	out := hello{ServerID: s.serverID, Epoch: at.Epoch, Head: at.Head, Proof: at.Proof, NowMS: s.Now().UnixMilli(), MinClient: MinClient, Latest: s.Version}
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
		backup := s.Log.BackupSeq()
		state := s.Log.Backups()
		isBad := state.Fault != ""
		out.HaveN, out.BackupSeq, out.BackupAt, out.BackupBad = &have, &backup, &state.LastMS, &isBad
	}
	return c.JSON(out)
}

// clockForm is the phone's clocks as it sent a push.
type clockForm struct{ entry.Clock }

func (f *clockForm) Fields(v *form.Visitor) {
	v.Int("wall_ms", &f.WallMS, -entry.IntMax, entry.IntMax, "ms")
	v.Int("mono_ms", &f.MonoMS, 0, entry.IntMax, "ms")
	v.ID("segment", &f.Segment)
}

// readPush takes a push apart without reading the entries: {now?, entries}.
// What is wrong inside an entry is that entry's own affair.
func readPush(b []byte) (now entry.Clock, entries [][]byte, err error) {
	b = bytes.TrimSpace(b)
	if len(b) < 2 || b[0] != '{' || b[len(b)-1] != '}' {
		return now, nil, problem("request.body", "one JSON object")
	}
	// With other brackets the object is a list of `"key": value`, and can be cut as one.
	b[0], b[len(b)-1] = '[', ']'
	fields, err := entry.Split(b, 2)
	if err != nil {
		return now, nil, problem("request.body", err.Error())
	}
	seen := map[string]bool{}
	for _, f := range fields {
		before, value, _ := bytes.Cut(f, []byte(":"))
		key := string(bytes.TrimSpace(before))
		if seen[key] { // of two lists one would be dropped without a word
			return now, nil, problem("request.body", key+" stands twice")
		}
		seen[key] = true
		switch key {
		case `"now"`:
			var clock clockForm
			if err := form.Decode(value, &clock); err != nil {
				return now, nil, err
			}
			now = clock.Clock
		case `"entries"`:
			if entries, err = entry.Split(value, EntriesMax); err != nil {
				return now, nil, splitProblem(err)
			}
		default:
			return now, nil, problem("request.body", "only now and entries are known here")
		}
	}
	return now, entries, nil
}

func splitProblem(err error) error {
	if fault, ok := err.(*entry.Error); ok && fault.Code == entry.TooLarge {
		return problem("request.too_many", "at most "+strconv.Itoa(EntriesMax))
	}
	return problem("request.body", err.Error())
}

func (s *Server) push(c *fiber.Ctx) error {
	b, err := jsonBody(c)
	if err != nil {
		return err
	}
	now, entries, err := readPush(b)
	if err != nil {
		return err
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

// appendResults writes the answer to a push. A seq holds in any epoch that began since
// the commit: it goes on with the same log.
func appendResults(dst []byte, results []hub.Result, at store.Standing) []byte {
	dst = append(dst, `{"results":[`...)
	for i, r := range results {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = appendText(append(dst, `{"id":`...), r.ID)
		dst = appendText(append(dst, `,"outcome":`...), string(r.Outcome))
		if r.Was != "" {
			dst = appendText(append(dst, `,"stands":`...), string(r.Was))
		}
		dst = appendFacts(dst, r.Seq, r.ReceivedMS, r.EffectiveMS, r.Late, r.Reason)
		dst = append(dst, '}')
	}
	dst = appendText(append(dst, `],"epoch":`...), at.Epoch)
	dst = strconv.AppendInt(append(dst, `,"head":`...), at.Head, 10)
	dst = appendText(append(dst, `,"proof":`...), at.Proof)
	return append(dst, '}')
}

func appendFacts(dst []byte, seq, receivedMS, effectiveMS int64, late bool, reason string) []byte {
	dst = strconv.AppendInt(append(dst, `,"seq":`...), seq, 10)
	dst = strconv.AppendInt(append(dst, `,"received_at":`...), receivedMS, 10)
	dst = strconv.AppendInt(append(dst, `,"effective_at":`...), effectiveMS, 10)
	dst = strconv.AppendBool(append(dst, `,"late":`...), late)
	return appendText(append(dst, `,"reason":`...), reason)
}

// appendText writes a JSON string.
func appendText(dst []byte, s string) []byte {
	b, err := json.Marshal(s)
	if err != nil {
		panic("api: a text that is no JSON: " + err.Error()) // no string fails
	}
	return append(dst, b...)
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
			if page.Entries[i].Raw, err = shop.Plain(page.Entries[i].Raw); err != nil {
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
	may := shop.SeesPrices(readerOf(c).Role)
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

// appendPage writes a page of the log. The entries' own bytes go in unaltered.
func appendPage(dst []byte, p store.Page) []byte {
	dst = appendText(append(dst, `{"epoch":`...), p.Epoch)
	dst = strconv.AppendInt(append(dst, `,"head":`...), p.Head, 10)
	dst = strconv.AppendInt(append(dst, `,"next":`...), p.Next, 10)
	dst = strconv.AppendBool(append(dst, `,"more":`...), p.More)
	if p.Proof != "" { // it has none as a piece of a snapshot
		dst = appendText(append(dst, `,"proof":`...), p.Proof)
	}
	dst = append(dst, `,"entries":[`...)
	for i, r := range p.Entries {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = appendText(append(dst, `{"outcome":`...), string(r.Outcome))
		dst = appendFacts(dst, r.Seq, r.ReceivedMS, r.EffectiveMS, r.Late, r.Reason)
		dst = append(append(dst, `,"entry":`...), r.Raw...)
		dst = append(dst, '}')
	}
	return append(dst, `]}`...)
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
