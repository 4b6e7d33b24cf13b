package simtest

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"hoppertally/domain/shop"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

// snapshot is what a phone starts from instead of the whole log, as server/api
// makes it: the books at the floor of a window, and what lies on top up to seq.
type snapshot struct {
	seq    int64
	list   []byte            // the answer behind epoch and head
	pieces map[string][]byte // by hash
}

const (
	pieceBytes = 4 << 10 // small, so that a shop of two hours has several
	staleAfter = 60      // entries behind the head, after which there is a new one
)

// latestSnapshot gives one with at least the log up to after inside.
func (s *server) latestSnapshot(after int64) *snapshot {
	if snap := s.snap; snap != nil && snap.seq >= after && s.head()-snap.seq < staleAfter {
		return snap
	}
	s.snap = s.makeSnapshot()
	return s.snap
}

// makeSnapshot cuts the books where the world wants the window of its phones.
func (s *server) makeSnapshot() *snapshot {
	w := s.books.Window(s.nowMS() + shop.WindowMS - s.w.windowMS)
	seq := s.head()
	before := map[string]bool{}
	for _, id := range w.Before {
		before[id] = true
	}
	var tail []*record
	for _, r := range s.disk.log {
		if r.EffectiveMS >= w.FloorMS || before[r.ID] {
			tail = append(tail, r)
		}
	}
	snap := &snapshot{seq: seq, pieces: map[string][]byte{}}
	list := fmt.Appendf(nil, `"seq":%d,"floor_ms":%d,"tail":%d,"pieces":[`, seq, w.FloorMS, len(tail))
	add := func(kind string, b []byte) {
		name := nameOf(b)
		if len(snap.pieces) > 0 {
			list = append(list, ',')
		}
		snap.pieces[name] = b
		list = fmt.Appendf(list, `{"kind":%q,"sha256":%q,"bytes":%s}`, kind, name, strconv.Itoa(len(b)))
	}
	for state := range slices.Chunk(w.Base.Encode(), pieceBytes) {
		add("state", state)
	}
	page := appendPage(nil, s.disk.epoch, seq, seq, "", tail)
	s.w.serve(page)
	add("page", page)
	snap.list = append(list, "]}"...)
	return snap
}

// nameOf is the hash by which a piece goes.
func nameOf(piece []byte) string {
	sum := sha256.Sum256(piece)
	return hex.EncodeToString(sum[:])
}

// serveSnapshot answers the list of pieces.
func serveSnapshot(after int64, proof string) func(*server, *login, func(reply)) {
	return func(s *server, _ *login, give func(reply)) {
		s.confirm(proof)
		if after > s.head() {
			give(problem(409))
			return
		}
		snap := s.latestSnapshot(after)
		list := fmt.Appendf(nil, `{"epoch":%q,"head":%d,"proof":%q,%s`, s.disk.epoch, s.head(), s.prove(), snap.list)
		if s.w.plants.SnapshotApart {
			list = relabel(list, snap.seq, s.head())
		}
		give(answer(list))
	}
}

// relabel writes the head of the moment over the seq that a snapshot holds: planted.
func relabel(list []byte, seq, head int64) []byte {
	from, to := fmt.Sprintf(`"seq":%d,`, seq), fmt.Sprintf(`"seq":%d,`, head)
	return []byte(strings.Replace(string(list), from, to, 1))
}

func servePiece(name string) func(*server, *login, func(reply)) {
	return func(s *server, _ *login, give func(reply)) {
		if s.snap == nil || s.snap.pieces[name] == nil {
			give(problem(404))
			return
		}
		give(answer(s.snap.pieces[name]))
	}
}

// fetchBase fetches the list, then piece after piece. They stay with the window until the
// store has them.
func (win *window) fetchBase(e replica.FetchBase) {
	fail := func(r reply) { win.step(failure(e.Op, r)) }
	win.get("snapshot", e.TimeoutMS, serveSnapshot(e.After, e.Proof), func(r reply) {
		list, err := wire.ReadSnapshot(r.body)
		if r.status != 200 || err != nil {
			fail(r)
			return
		}
		snap, pieces := replica.SnapshotOf(&list), list.Pieces
		snap.Base.Scope = e.Scope
		var blobs [][]byte
		var next func()
		next = func() {
			if len(blobs) == len(pieces) {
				win.fetched = win.p.w.join(pieces, blobs)
				win.step(replica.BaseAnswered{Op: e.Op, Snapshot: snap})
				return
			}
			win.get("piece", e.TimeoutMS, servePiece(pieces[len(blobs)].SHA256), func(r reply) {
				if r.status != 200 || nameOf(r.body) != pieces[len(blobs)].SHA256 {
					fail(reply{})
					return
				}
				blobs = append(blobs, r.body)
				next()
			})
		}
		next()
	})
}

// fetched is a snapshot put together from its pieces.
type fetched struct {
	state []byte
	pages []wire.Page
}

func (w *World) join(pieces []wire.Piece, blobs [][]byte) (f fetched) {
	for i, p := range pieces {
		if p.Kind == "state" {
			f.state = append(f.state, blobs[i]...)
			continue
		}
		page, err := w.decodePull(blobs[i])
		must(err)
		f.pages = append(f.pages, page)
	}
	return f
}

// own gives a device's entries among those that came with a snapshot.
func (f fetched) own(device string) (items []wire.Item) {
	for _, p := range f.pages {
		for _, it := range p.Items {
			if it.Device == device {
				items = append(items, it)
			}
		}
	}
	return items
}

// base is a stored snapshot.
type base struct {
	replica.Base
	state []byte
	tail  []shop.Entry
}

// storeBase puts a snapshot in the place of everything that was pulled.
func (win *window) storeBase(e replica.StoreBase) {
	p, got := win.p, win.fetched
	win.fetched = fetched{}
	b := &base{Base: e.Base, state: got.state}
	for _, page := range got.pages {
		b.tail = append(b.tail, p.w.entriesOf(page)...)
	}
	for i := range b.tail {
		b.tail[i].Tail = true
	}
	win.books.coming = b
	elsewhere := false
	p.transact(win, false, func(d *disk) error {
		if !e.From.Follows(d.cursor) {
			elsewhere = true
			return nil
		}
		if err := p.room(d, len(b.state)); err != nil {
			return err
		}
		p.w.truth.based(p, e)
		set(d, &d.pages, nil)
		set(d, &d.base, b)
		set(d, &d.cursor, e.To)
		d.keepProof(e.Proof)
		return nil
	}, win.written(replica.Stored{Op: e.Op, Seen: got.own(p.disk.device)}, &elsewhere))
}
