package api

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"strings"
	"sync"

	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/server/store"
	"hoppertally/sync/wire"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/utils"
	"github.com/valyala/fasthttp"
)

// Limits of a snapshot.
const (
	pieceBytes = 512 << 10 // of a piece before it is packed: some 70 KB over the wire
	staleAfter = 2000      // entries behind the head, after which the next phone gets a new one
	keptMax    = 2         // snapshots whose pieces can still be fetched
)

// snapshot is what a phone starts from instead of the whole log: the books at the
// floor of a window, and the log's entries on top of them up to Seq.
type snapshot struct {
	wire.Snapshot
	packed [][]byte // each piece, gzip
}

// snapshots makes and keeps the latest ones.
type snapshots struct {
	mu     sync.Mutex
	latest map[bool][]*snapshot // by whether it is plain, the newest last
}

// snapshot answers the list of pieces. The query's after is the seq that must be
// inside: a phone that found its window broken by an entry asks for a newer one.
func (s *Server) snapshot(c *fiber.Ctx) error {
	if err := s.confirm(c); err != nil {
		return err
	}
	after, err := number(c, "after", 0, 0, math.MaxInt64)
	if err != nil {
		return err
	}
	isPlain, err := plainScope(c)
	if err != nil {
		return err
	}
	snap, err := s.latestSnapshot(after, isPlain)
	if err != nil {
		return err
	}
	list, at := snap.Snapshot, s.Log.Stands()
	list.Epoch, list.Head, list.Proof = at.Epoch, at.Head, at.Proof // one that began since has the same log
	return sendJSON(c, wire.Append(nil, &list))
}

func (s *Server) latestSnapshot(after int64, isPlain bool) (*snapshot, error) {
	head := s.Log.Head()
	if head == 0 {
		return nil, problem("snapshot.none", "nothing was recorded yet")
	}
	if after > head {
		return nil, &store.CursorError{After: after, Head: head}
	}
	q := &s.snapshots
	q.mu.Lock()
	defer q.mu.Unlock()
	kept := q.latest[isPlain]
	if n := len(kept); n > 0 {
		if snap := kept[n-1]; snap.Seq >= after && head-snap.Seq < staleAfter && s.Now().UnixMilli()-snap.FloorMS < 2*shop.WindowMS {
			return snap, nil
		}
	}
	snap, err := s.makeSnapshot(isPlain)
	if err != nil {
		return nil, err
	}
	kept = append(kept, snap)
	if q.latest == nil {
		q.latest = map[bool][]*snapshot{}
	}
	q.latest[isPlain] = kept[max(0, len(kept)-keptMax):]
	return snap, nil
}

// makeSnapshot cuts the books and gathers what belongs on top. The books say up to
// which seq they are folded; the head of the log may be further by now.
func (s *Server) makeSnapshot(isPlain bool) (*snapshot, error) {
	w, seq := s.Books.Window(s.Now().UnixMilli())
	snap := &snapshot{Snapshot: wire.Snapshot{Epoch: s.Log.Epoch(), Seq: seq, FloorMS: w.FloorMS}}
	if isPlain {
		w.Base = w.Base.Redacted()
	}
	for rest := w.Base.Encode(); len(rest) > 0; {
		n := min(len(rest), pieceBytes)
		snap.add("state", rest[:n])
		rest = rest[n:]
	}
	page := store.Page{Epoch: snap.Epoch, Head: seq}
	size := 0
	err := s.Log.Window(w.FloorMS, w.Before, seq, func(r store.Record) (err error) {
		if isPlain {
			if r.Raw, err = kind.Redact(r.Raw); err != nil {
				return err
			}
		}
		if size += len(r.Raw); size > pieceBytes && len(page.Entries) > 0 {
			page.More = true
			snap.add("page", appendPage(nil, page))
			page.Entries, page.More, size = nil, false, len(r.Raw)
		}
		page.Entries, page.Next = append(page.Entries, r), r.Seq
		snap.Tail++
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("snapshot: %w", err)
	}
	page.Next = seq
	snap.add("page", appendPage(nil, page))
	return snap, nil
}

func (snap *snapshot) add(kind string, b []byte) {
	sum := sha256.Sum256(b)
	snap.packed = append(snap.packed, fasthttp.AppendGzipBytesLevel(nil, b, fasthttp.CompressDefaultCompression))
	snap.Pieces = append(snap.Pieces, wire.Piece{Kind: kind, SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(b))})
}

// snapshotPiece answers one piece by its hash. One that is gone belongs to an older
// snapshot: the phone asks for the list again and keeps the pieces that it has.
func (s *Server) snapshotPiece(c *fiber.Ctx) error {
	sum := utils.CopyString(param(c, "sha256"))
	packed := s.snapshots.find(sum, kind.SeesPrices(readerOf(c).Role))
	if packed == nil {
		return problem("snapshot.gone", sum)
	}
	c.Set(fiber.HeaderContentType, fiber.MIMEOctetStream)
	c.Vary(fiber.HeaderAcceptEncoding)
	if strings.Contains(c.Get(fiber.HeaderAcceptEncoding), "gzip") {
		c.Set(fiber.HeaderContentEncoding, "gzip")
		return c.Send(packed)
	}
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return fmt.Errorf("unpack a piece of a snapshot: %w", err)
	}
	return c.SendStream(z)
}

// find gives a piece, packed; nil if there is none, or only one with prices that the
// reader may not see.
func (q *snapshots) find(sum string, seesPrices bool) []byte {
	q.mu.Lock()
	defer q.mu.Unlock()
	for _, isPlain := range []bool{true, false} {
		for _, snap := range q.latest[isPlain] {
			for i, p := range snap.Pieces {
				if p.SHA256 == sum && (isPlain || seesPrices) {
					return snap.packed[i]
				}
			}
		}
	}
	return nil
}
