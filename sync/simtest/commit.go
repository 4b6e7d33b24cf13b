package simtest

import (
	"crypto/sha256"
	"slices"
	"strings"

	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

const groupMax = 256 // entries in one commit

// pushing is a push that waits for its commit.
type pushing struct {
	arrived []hub.Arrived
	results []hub.Result
	answer  func(reply)
}

// enqueue hands a push to the sequencer, which takes all that waits at once.
func (s *server) enqueue(p *pushing) {
	s.queue = append(s.queue, p)
	if s.working {
		return
	}
	s.working = true
	life := s.life
	s.w.after(1+s.w.rng.Int64N(8), func() {
		if s.life == life {
			s.working = false
			s.commit(life)
		}
	})
}

// commit decides, writes, publishes and answers. The server may die between any two.
func (s *server) commit(life int) {
	group := s.queue
	s.queue = nil
	batch := slices.Clip(group[0].arrived)
	for _, p := range group[1:] {
		batch = append(batch, p.arrived...)
	}
	var decisions []hub.Decision
	for len(batch) > 0 {
		n := min(len(batch), groupMax)
		if s.dies() {
			break
		}
		s.intake = batch[:n]
		out, err := s.hub.Decide(batch[:n], s.nowMS())
		must(err)
		if s.dies() {
			break
		}
		records := s.write(out)
		s.w.truth.committed(records)
		if s.dies() {
			break
		}
		s.publish(records)
		if decisions == nil {
			decisions = out
		} else {
			decisions = append(decisions, out...)
		}
		batch = batch[len(out):]
	}
	for _, p := range group {
		if s.life != life || len(decisions) < len(p.arrived) {
			p.answer(reply{})
			continue
		}
		p.results = make([]hub.Result, len(p.arrived))
		for i := range p.results {
			p.results[i] = decisions[i].Result
		}
		decisions = decisions[len(p.arrived):]
		s.w.truth.answered(p.results)
		p.answer(s.answerPush(p.results))
		s.dies()
	}
}

// dies tells whether the server has just died.
func (s *server) dies() bool {
	if s.up && s.w.strikes(Crash) {
		s.crash()
		s.restart(500 + s.w.rng.Int64N(90_000))
	}
	return !s.up
}

// write makes decisions durable, in one piece.
func (s *server) write(decisions []hub.Decision) []*record {
	if s.w.plants.AckBeforeSync {
		s.hold()
	}
	clear(s.pages)
	var records []*record
	for i := range decisions {
		d := &decisions[i]
		switch d.Outcome {
		case hub.Accepted, hub.Held:
			r := s.record(d)
			r.chain = chainOf(s.disk.log, r.hash)
			s.disk.log = append(s.disk.log, r)
			s.disk.ids[r.ID] = r
			records = append(records, r)
		case hub.Refused:
			s.disk.quarantine[string(d.Hash[:])] = true
		case hub.Duplicate:
			if s.w.plants.DateAgain {
				s.dateAgain(d)
			}
		}
	}
	for _, id := range s.state.Touched() {
		s.disk.devices[id] = s.state.AppendDevice(nil, id)
	}
	s.disk.head = s.state.AppendHead(nil)
	return records
}

func (s *server) record(d *hub.Decision) *record {
	own, ok := s.w.read(d.ID, d.Raw)
	if !ok {
		panic("simtest: the server has decided on bytes that nobody can read")
	}
	s.w.decoded[own.ID] = own
	own.EffectiveMS, own.Outcome, own.Reason, own.Late, own.Sent = d.EffectiveMS, string(d.Outcome), d.Reason, d.Late, true
	r := &record{Result: d.Result, raw: d.Raw, hash: sha256.Sum256(d.Raw), entry: own, batch: s.batchOf(d.ID)}
	r.wire = appendRecord(make([]byte, 0, len(r.raw)+160), r)
	return r
}

// publish lets the world see what was committed: first the books, then the poke.
func (s *server) publish(records []*record) {
	if len(records) == 0 {
		return
	}
	es := make([]shop.Entry, len(records))
	for i, r := range records {
		es[i] = r.entry
	}
	s.books.Take(es)
	s.endLeft()
	for _, st := range s.streams {
		st.poke(s.head())
	}
}

// takePush cuts a push without reading its entries, as the API does.
func (s *server) takePush(l *login, body []byte, give func(reply)) {
	now, list, err := wire.ReadPush(body, replica.BatchEntriesMax)
	if err != nil {
		give(problem(400))
		return
	}
	p := &pushing{answer: give, arrived: make([]hub.Arrived, 0, len(list))}
	for _, raw := range list {
		p.arrived = append(p.arrived, hub.Arrived{Raw: raw, Author: l.person, Device: l.device, Now: now})
	}
	if len(list) == 0 {
		give(s.answerPush(nil))
		return
	}
	s.enqueue(p)
}

func (s *server) answerPush(results []hub.Result) reply {
	return answer(appendResults(nil, results, s.disk.epoch, s.head(), s.prove()))
}

// batchOf names the push that carries an entry in the commit under way, for the
// planted fault that knows pushes again instead of entries.
func (s *server) batchOf(id string) string {
	if !s.w.plants.DuplicateByBatch {
		return ""
	}
	var ids []string
	for _, a := range s.intake {
		ids = append(ids, idOf(a.Raw))
	}
	return strings.Join(ids, " ")
}

func idOf(raw []byte) string {
	var p entry.Parser
	e, _ := p.Parse(raw)
	return e.ID
}

// hold keeps what the disk was: planted, a commit that is answered before it is
// synced. A crash within a second brings the old disk back.
func (s *server) hold() {
	s.held = append(s.held, s.disk.clone())
	life := s.life
	s.w.after(1_000, func() {
		if s.life == life && len(s.held) > 0 {
			s.held = s.held[1:]
		}
	})
}

func (s *server) unsynced() {
	if len(s.held) > 0 {
		s.disk = s.held[0]
		s.held = nil
	}
}

// dateAgain gives a known entry another effective time: planted.
func (s *server) dateAgain(d *hub.Decision) {
	r := *s.disk.ids[d.ID]
	r.EffectiveMS, r.entry.EffectiveMS = s.nowMS(), s.nowMS()
	d.EffectiveMS = r.EffectiveMS
	r.wire = appendRecord(nil, &r)
	s.disk.ids[d.ID], s.disk.log[r.Seq-1] = &r, &r
	s.books.Add(r.entry)
}
