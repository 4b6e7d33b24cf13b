package simtest

import (
	"fmt"

	"hoppertally/domain/kind"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// person is somebody of the shop; the role is the first one.
type person struct{ id, role string }

var staff = []person{{"mia", "manager"}, {"leo", "clerk"}, {"ana", "coater"}, {"ben", "coater"}, {"eva", "coater"}, {"tom", "clerk"}, {"ida", "coater"}, {"max", "coater"}}

// The small shop of the run.
var (
	places  = []string{"rack", "hop1", "hop2", "bin1", "drum", "ghost"}
	lots    = []string{"A1", "A2", "B1"}
	powders = []string{"pa", "pb", "nopowder"}
	runs    = []string{"r1", "r2", "r3"}
)

// setUp opens the shop at the server's own desk, and backs it up.
func (w *World) setUp() {
	w.people = staff[:max(4, min(len(staff), w.cfg.Phones))]
	bodies := [][2]string{{"shop.set", `{"name":"Shop","zone":"UTC","units":"metric","currency":"EUR","lang":"en"}`}}
	for _, p := range w.people {
		bodies = append(bodies, [2]string{"person.set", personBody(p.id, p.role, false)})
	}
	for _, p := range powders[:2] {
		bodies = append(bodies, [2]string{"powder.set", `{"powder":"` + p + `","name":"A","chemistry":"polyester","sg_milli":1500,"film_um10":{"min":500,"target":700,"max":900},"reclaim_max_pm":300}`})
	}
	bodies = append(bodies, [2]string{"booth.set", `{"booth":"b1","name":"B","te_pm":620,"recovery_pm":910}`})
	for i, kind := range []string{"shelf", "vessel", "vessel", "vessel", "scrap"} {
		bodies = append(bodies, [2]string{"place.set", `{"place":"` + places[i] + `","name":"P","kind":"` + kind + `","booth":"b1"}`})
	}
	s := w.server
	s.queue = append(s.queue, w.atDesk(bodies...))
	s.commit(s.life)
	s.backup = s.disk.clone()
	s.disk.backupSeq = s.head()
}

// desk is the device of the server's own desk.
const desk = "desk"

// atDesk is what somebody records at the server itself, in the manager's name.
func (w *World) atDesk(bodies ...[2]string) *pushing {
	p, now := &pushing{answer: func(reply) {}}, entry.Clock{WallMS: w.server.nowMS(), Segment: desk}
	at, d := now.WallMS, w.server.state.Device(desk)
	if es := w.server.books.Entries(); len(es) > 0 {
		at = max(at, es[len(es)-1].EffectiveMS) // it comes last, also when the server's clock went back
	}
	for i, b := range bodies {
		w.desked++
		h := entry.Header{ID: entry.NewID(w.baseMS, [10]byte{8: byte(w.desked >> 8), 9: byte(w.desked)}), Kind: b[0], V: 1, By: "mia", Device: desk, N: d.HaveN() + 1 + int64(i), AtMS: at,
			Clock: now}
		p.arrived = append(p.arrived, hub.Arrived{Raw: entry.Append(nil, h, []byte(b[1])), Author: "mia", Device: desk, Now: now})
	}
	return p
}

// comeBack makes mia a manager again at the machine, whoever took that from her. At the
// end of a run it looks again each minute: what takes it from her may still be on its way,
// and where the server's clock went back it may count as late as that can.
func (w *World) comeBack() {
	if p := w.server.books.State().People["mia"]; w.server.up && (p == nil || p.Role != "manager" || p.Gone) {
		w.note("at the machine mia becomes manager")
		w.server.enqueue(w.atDesk([2]string{"person.set", personBody("mia", "manager", false)}))
	}
	if !w.live {
		w.after(minuteMS, w.comeBack)
	}
}

func personBody(id, role string, gone bool) string {
	if gone {
		return fmt.Sprintf(`{"person":%q,"name":%q,"role":%q,"gone":true}`, id, id, role)
	}
	return fmt.Sprintf(`{"person":%q,"name":%q,"role":%q}`, id, id, role)
}

// somebody is anybody of the staff, now and then one who has left.
func (w *World) somebody() string { return w.people[w.rng.IntN(len(w.people))].id }

// tap is a person at the phone who records something.
func (p *phone) tap(drafts ...draft) {
	if len(p.windows) == 0 || p.disk.seats.holder == "" {
		return
	}
	win := p.windows[p.w.rng.IntN(len(p.windows))]
	if win.frozen {
		return
	}
	p.request++
	win.record(&recording{request: fmt.Sprint("req-", p.request), by: p.disk.seats.holder, drafts: drafts})
	if p.w.rng.IntN(16) == 0 {
		win.books.fold.State() // somebody looks
	}
}

// work is one thing that somebody does in a day.
func (p *phone) work() {
	r := p.w.rng
	drafts := []draft{p.draft()}
	if r.IntN(5) == 0 {
		drafts = append(drafts, p.draft())
	}
	p.tap(drafts...)
}

func (p *phone) draft() draft {
	w := p.w
	d := draft{id: p.newID(), v: 1}
	d.kind, d.body = p.body()
	switch {
	case w.strikes(UnknownKind):
		if w.rng.IntN(2) == 0 {
			d.v = 2
		} else {
			d.kind = "odd.done"
		}
	case w.strikes(Poison):
		d.poison = true
		d.kind, d.body = "place.weighed", `{"place":"hop1","mass_mg":-1}`
	case w.strikes(SetBack):
		d.at = p.wallMS() - w.rng.Int64N(6*hourMS)
	}
	return d
}

func pick[T any](p *phone, from []T) T { return from[p.w.rng.IntN(len(from))] }

func (p *phone) body() (kind, body string) {
	r := p.w.rng
	mass := r.Int64N(9_000_000)
	switch r.IntN(12) {
	case 0, 1:
		lot := pick(p, lots)
		return "lot.received", fmt.Sprintf(`{"lot":%q,"powder":%q,"batch":%q,"place":%q,"mass_mg":%d}`, lot, pick(p, powders), lot, pick(p, places), mass)
	case 2, 3:
		return "powder.moved", fmt.Sprintf(`{"from":%q,"to":%q,"mass_mg":%d}`, pick(p, places), pick(p, places), mass)
	case 4:
		return "powder.moved", fmt.Sprintf(`{"from":"rack","to":%q,"mass_mg":%d,"lot":%q}`, pick(p, places), mass, pick(p, lots))
	case 5:
		return "powder.recovered", fmt.Sprintf(`{"run":%q,"from":%q,"to":%q,"mass_mg":%d,"sieved":true}`, pick(p, runs), pick(p, places), pick(p, places), mass)
	case 6, 7:
		return "place.weighed", fmt.Sprintf(`{"place":%q,"mass_mg":%d}`, pick(p, places), mass)
	case 8:
		return "run.opened", fmt.Sprintf(`{"run":%q,"booth":"b1","powder":"pa","feed":%q,"mode":%q}`, pick(p, runs), pick(p, places), pick(p, []string{"waste", "collect", "loop"}))
	case 9:
		return "parts.coated", fmt.Sprintf(`{"run":%q,"job":"j1","count":%d,"area_cm2":1200,"coats":1}`, pick(p, runs), r.Int64N(50))
	case 10:
		return "run.closed", fmt.Sprintf(`{"run":%q}`, pick(p, runs))
	}
	if id := p.anEntry(); id != "" && r.IntN(2) == 0 {
		return "entry.voided", fmt.Sprintf(`{"entry":%q,"why":"mistake"}`, id)
	}
	return "film.read", fmt.Sprintf(`{"run":%q,"spots":[%d,%d]}`, pick(p, runs), r.Int64N(1500), r.Int64N(1500))
}

// anEntry is one that the phone knows, of its own or of the log; "" if none.
func (p *phone) anEntry() string {
	own, pages := p.disk.outbox, p.disk.pages
	if n := len(own); n > 0 && p.w.rng.IntN(2) == 0 {
		return own[p.w.rng.IntN(n)].ID
	}
	if len(pages) == 0 {
		return ""
	}
	es := pick(p, pages).entries
	e := es[p.w.rng.IntN(len(es))]
	if b, ok := e.Body.(*kind.PersonSet); ok && b.Person == "mia" {
		return "" // the one manager whom all the models count on
	}
	return e.ID
}

// manager is a phone in the hands of the manager; nil when there is none.
func (w *World) manager() *phone {
	for _, p := range w.phones {
		if p.disk.seats.holder == "mia" {
			return p
		}
	}
	return nil
}

// rule lets a manager decide on an entry that is held.
func (p *phone) rule() {
	for range 8 {
		if len(p.disk.pages) == 0 {
			return
		}
		for _, e := range pick(p, p.disk.pages).entries {
			if e.Outcome == "held" && e.Body != nil && (e.Kind == "books.closed" || p.w.rng.IntN(4) != 0) {
				p.tap(draft{id: p.newID(), v: 1, kind: pick(p, []string{"entry.released", "entry.declined"}), body: fmt.Sprintf(`{"entry":%q}`, e.ID)})
				return
			}
		}
	}
}
