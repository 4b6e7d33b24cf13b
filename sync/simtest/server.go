package simtest

import (
	"crypto/sha256"
	"fmt"
	"maps"
	"math"
	"slices"

	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// serverDisk is what the server has on disk. Only a commit changes log, ids,
// devices, head and quarantine, all at once.
type serverDisk struct {
	epoch      string
	earlier    map[string]bool // epochs before
	log        []*record
	ids        map[string]*record
	devices    map[string][]byte // what the hub knows of each
	head       []byte            // the hub's state without its devices
	quarantine map[string]bool   // hashes of refused bytes
	sessions   map[string]*login
	authors    map[[2]string]bool // device and person who ever signed in on it
	backupSeq  int64
}

// record is one entry of the log. It is never changed.
type record struct {
	hub.Result
	raw   []byte
	hash  [sha256.Size]byte
	chain [8]byte    // hash of itself and all before
	entry shop.Entry // as the books fold it
	batch string     // the ids of the push that it came in
	wire  []byte     // as it stands in a page
}

// clone copies the disk as a backup does.
func (d *serverDisk) clone() *serverDisk {
	c := *d
	c.log = slices.Clone(d.log)
	c.ids, c.devices, c.quarantine = maps.Clone(d.ids), maps.Clone(d.devices), maps.Clone(d.quarantine)
	c.authors, c.earlier = maps.Clone(d.authors), maps.Clone(d.earlier)
	c.sessions = make(map[string]*login, len(d.sessions))
	for id, l := range d.sessions {
		c.sessions[id] = l.clone()
	}
	return &c
}

// server is the one server: its disk, and the rest, which a crash takes away.
type server struct {
	w    *World
	disk *serverDisk
	up   bool
	life int // counts starts; what an earlier life began is not finished

	state   *hub.State
	hub     *hub.Hub
	books   *shop.Fold
	queue   []*pushing
	working bool
	streams []*stream
	clockMS int64 // server's clock less the true time
	oldAt   int64 // until then it asks for a newer client

	backup *serverDisk   // the last verified one
	epochs int           //
	backs  int           // how often the folder went back in time
	held   []*serverDisk // planted: commits that are acknowledged and not synced
	intake []hub.Arrived // of the commit under way
	snap   *snapshot     // the latest one

	pages map[question][]byte // answers to pulls since the last commit
}

func newServer(w *World) *server {
	s := &server{w: w, disk: &serverDisk{
		ids: map[string]*record{}, devices: map[string][]byte{}, quarantine: map[string]bool{},
		sessions: map[string]*login{}, authors: map[[2]string]bool{},
	}}
	s.disk.head = hub.NewState().AppendHead(nil)
	s.newEpoch()
	s.start()
	return s
}

// newEpoch names a new life of the log.
func (s *server) newEpoch() {
	s.epochs++
	s.disk.earlier = s.disk.knows()
	s.disk.epoch = fmt.Sprintf("epoch-%d", s.epochs)
	s.w.truth.newEpoch(s.disk.epoch, s.disk.log)
}

func (s *server) nowMS() int64 { return s.w.baseMS + s.w.nowMS + s.clockMS }

// start reads the disk: the hub's state, and the books folded from the whole log.
func (s *server) start() {
	s.up = true
	s.life++
	s.queue, s.working, s.streams, s.snap, s.pages = nil, false, nil, nil, map[question][]byte{}
	s.load()
	s.books = shop.NewFold()
	all := make([]shop.Entry, len(s.disk.log))
	for i, r := range s.disk.log {
		all[i] = r.entry
	}
	s.books.Take(all)
	s.endLeft()
}

// load reads the hub's state, at start and after decisions that were not committed.
func (s *server) load() {
	s.state = hub.NewState()
	must(s.state.SetHead(s.disk.head))
	for id, b := range s.disk.devices {
		must(s.state.SetDevice(id, b))
	}
	s.hub = hub.New(s.state, judge{s}, s.lookup)
}

func must(err error) {
	if err != nil {
		panic("simtest: " + err.Error())
	}
}

func (s *server) lookup(id string) (hub.Original, bool, error) {
	r := s.disk.ids[id]
	if r == nil || s.w.plants.DuplicateByBatch && r.batch != s.batchOf(id) {
		return hub.Original{}, false, nil
	}
	return hub.Original{Hash: r.hash, Result: r.Result}, true, nil
}

func (s *server) head() int64 { return int64(len(s.disk.log)) }

// crash ends this life. Who waits for an answer gets none.
func (s *server) crash() {
	if !s.up {
		return
	}
	s.up = false
	s.life++
	s.w.note("server crashes at %d entries", s.head())
	s.unsynced()
	for _, p := range s.queue {
		p.answer(reply{})
	}
	for _, st := range s.streams {
		st.end()
	}
	s.queue, s.streams = nil, nil
}

// restart brings the server back after a while.
func (s *server) restart(afterMS int64) {
	s.w.after(afterMS, func() {
		if !s.up {
			s.w.note("server starts in %s", s.disk.epoch)
			s.start()
		}
	})
}

// takeBackup copies the disk; a verified backup lets phones forget.
func (s *server) takeBackup() {
	if s.w.rng.IntN(10) == 0 {
		s.w.note("backup does not verify")
		return
	}
	s.backup = s.disk.clone()
	s.disk.backupSeq = max(s.disk.backupSeq, int64(len(s.backup.log)))
	s.w.note("backup of %d entries", len(s.backup.log))
}

// restore puts the last verified backup in the place of the disk.
func (s *server) restore() {
	if s.backup == nil {
		return
	}
	s.crash()
	s.w.note("server is restored from %d entries to %d", s.head(), len(s.backup.log))
	s.disk = s.backup.clone()
	s.newEpoch()
	s.w.truth.restored()
	s.restart(1_000 + s.w.rng.Int64N(60_000))
}

// loseTail cuts the end off the log, as a damaged disk does. What is in a backup
// stays: it is the people who run the server that choose to go on with the log.
func (s *server) loseTail() {
	if s.backup == nil || s.head() <= int64(len(s.backup.log)) {
		return
	}
	s.crash()
	kept := int64(len(s.backup.log)) + s.w.rng.Int64N(s.head()-int64(len(s.backup.log)))
	s.w.note("server loses its log after %d of %d entries", kept, s.head())
	log, knows := s.disk.log[:kept], s.disk.knows()
	s.disk = s.backup.clone()
	s.disk.earlier = knows
	state := hub.NewState()
	must(state.SetHead(s.disk.head))
	for _, r := range log[len(s.disk.log):] {
		s.disk.log = append(s.disk.log, r)
		s.disk.ids[r.ID] = r
		state.Seq, state.LastMS = r.Seq, max(state.LastMS, r.ReceivedMS)
	}
	s.disk.head = state.AppendHead(nil)
	s.newEpoch()
	s.w.truth.restored()
	s.restart(1_000 + s.w.rng.Int64N(60_000))
}

// judge is the hub's judge, by the books.
type judge struct{ s *server }

func (j judge) Judge(e *entry.Entry, author string, _ int64) (hub.Outcome, string) {
	own, ok := j.s.w.read(e.ID, e.Raw)
	if !ok {
		return hub.Refused, "malformed"
	}
	if j.s.w.plants.RoleOfSession && own.Body != nil {
		return hub.Accepted, "" // whoever could sign in may record
	}
	outcome, reason := j.s.books.Admit(&own)
	if e.Device == desk {
		outcome, reason = j.s.books.AdmitLocal(&own)
	}
	switch {
	case reason == shop.LastManager && j.s.w.plants.LastManagerGoes:
		return hub.Accepted, ""
	case outcome == shop.Held:
		return hub.Held, reason
	case e.By != author:
		return hub.Held, "entry.other_author"
	}
	switch reason {
	case shop.Barred, shop.Ahead, shop.RuledAhead:
		return hub.Accepted, reason
	}
	return hub.Accepted, ""
}

func (j judge) Speaks(e *entry.Entry, _, device string) bool { return e.Device == device }

func (j judge) Settles(e *entry.Entry) bool {
	own, ok := j.s.w.read(e.ID, e.Raw)
	return ok && j.s.books.Settles(&own)
}

func (j judge) OpenFromMS() int64 {
	switch {
	case j.s.w.plants.OpenForEver:
		return math.MinInt64
	case j.s.w.plants.ReleasesUnheard:
		return j.s.closedByAccepted()
	}
	return j.s.books.OpenFromMS()
}

// closedByAccepted is where the books are open if only closings that were accepted at
// once counted: planted.
func (s *server) closedByAccepted() int64 {
	from := int64(math.MinInt64)
	for _, r := range s.disk.log {
		if b, ok := r.entry.Body.(*kind.BooksClosed); ok && r.Outcome == hub.Accepted {
			from = max(from, min(b.ThroughMS, r.EffectiveMS)+1)
		}
	}
	return from
}

// entryOf turns an envelope into an entry for the fold.
func entryOf(e *entry.Entry) (shop.Entry, error) {
	out := shop.Entry{ID: e.ID, Kind: e.Kind, V: e.V, By: e.By, Device: e.Device, N: e.N, AtMS: e.AtMS, EffectiveMS: e.AtMS, Group: e.Group}
	body, err := kind.Decode(e.Kind, e.V, e.Body)
	if err != nil && err != kind.ErrNewer {
		return out, err
	}
	out.Body = body
	return out, nil
}
