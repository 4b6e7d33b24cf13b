package replica

import (
	"encoding/json"
	"fmt"
	"hoppertally/sync/wire"
	"math/rand/v2"
	"slices"
	"sort"
	"strings"
)

// world is one phone's replica with a store, a server and a bad network between
// them, all on one simulated clock and one seed.
type world struct {
	r     *rand.Rand
	now   int64
	bad   float64 // chance that a request meets a fault
	s     State
	timer int64 // when the timer goes off; -1 when none is set
	due   []event

	// the store
	cursor  Cursor
	proof   Proof
	base    Base
	rows    map[int64]Own
	counter int64
	pages   []wire.Item // as pulled in cursor.Epoch
	pieces  []wire.Item // of the snapshot that was fetched last

	// the server
	epoch    string
	epochs   int
	log      []wire.Item
	backup   []wire.Item
	earlier  map[string]bool // epochs that the folder knows
	copied   folder          // an older copy of the server's folder
	refusedB map[string]bool // ids the server refuses as malformed
	told     map[string]bool // ids ever acknowledged as in the log
	token    bool
	out      map[string]bool // authors whose session is over
	requests int
	notes    map[string]int
}

type event struct {
	at int64
	in Input
}

func newWorld(seed uint64) *world {
	w := &world{earlier: map[string]bool{}, r: rand.New(rand.NewPCG(seed, 7)), rows: map[int64]Own{}, refusedB: map[string]bool{}, told: map[string]bool{}, out: map[string]bool{}, notes: map[string]int{}, timer: -1, epoch: "e0", token: true}
	w.step(Started{SignedIn: true})
	w.step(Leads{true})
	w.step(Visible{true})
	return w
}

func (w *world) moment() Moment {
	return Moment{MonoMS: w.now, WallMS: 1_700_000_000_000 + w.now, Segment: "s", Seed: w.r.Uint64()}
}

func (w *world) step(in Input) {
	w.timer = -1
	for _, e := range w.s.Step(w.moment(), in) {
		w.carryOut(e)
	}
}

// later delivers in after a delay that is sometimes longer than any lease.
func (w *world) later(in Input) {
	delay := 20 + w.r.Int64N(400)
	if w.r.Float64() < w.bad/4 {
		delay += PushTimeoutMS + 2*LeaseGraceMS
	}
	w.due = append(w.due, event{w.now + delay, in})
}

// reach runs do at the server unless the request is lost, and tells op's fate
// unless the answer is lost.
func (w *world) reach(op int64, needsToken bool, do func() Input) {
	w.requests++
	fate := 1.0
	if w.bad > 0 {
		fate = w.r.Float64() / w.bad // below 1: a fault
	}
	switch {
	case fate < 0.2: // lost on the way there, noticed
		w.later(Failed{Op: op, Why: NoServer})
	case fate < 0.3: // lost on the way there, silence
	case fate < 0.4:
		w.later(Failed{Op: op, Why: ServerBusy, RetryMS: w.r.Int64N(5_000)})
	case needsToken && (!w.token || fate < 0.5):
		w.token = false
		w.later(Failed{Op: op, Why: TokenOld})
	case fate < 0.7: // done, answer lost
		do()
		w.later(Failed{Op: op, Why: NoServer})
	case fate < 0.8: // done, silence
		do()
	case fate < 0.9: // answered twice
		in := do()
		w.later(in)
		w.later(in)
	default:
		w.later(do())
	}
}

func (w *world) carryOut(e Effect) {
	storeFails := w.r.Float64() < w.bad/8
	storeLies := storeFails && w.r.IntN(2) == 0 // it has kept what it calls failed
	switch e := e.(type) {
	case SetTimer:
		w.timer = w.now + e.AfterMS
	case Refresh:
		w.reach(e.Op, false, func() Input { w.token = true; return Refreshed{Op: e.Op} })
	case Hello:
		w.reach(e.Op, true, func() Input {
			have := int64(0)
			w.confirm(e.Proof)
			for _, it := range w.log {
				have = max(have, it.N)
			}
			return HelloAnswered{Op: e.Op, Hello: wire.Hello{Server: "srv", Epoch: w.epoch, Head: int64(len(w.log)), HaveN: have, BackupSeq: int64(alike(w.backup, w.log)), Proof: w.prove()}}
		})
	case Push:
		if w.out[e.Author] {
			w.later(Failed{Op: e.Op, Why: AuthorOut})
			return
		}
		body := append([]byte(nil), e.Body...)
		if by := authors(body); len(by) != 1 || !by[e.Author] {
			panic(fmt.Sprintf("a push of %q carries entries of %v", e.Author, by))
		}
		w.reach(e.Op, true, func() Input { w.confirm(e.Proof); return w.takePush(e.Op, body) })
	case Pull:
		w.reach(e.Op, true, func() Input { w.confirm(e.Proof); return w.givePage(e.Op, e.Cursor, e.Max) })
	case StorePulled:
		if storeFails {
			w.later(StoreFailed{Op: e.Op})
			return
		}
		if !e.From.Follows(w.cursor) {
			w.later(w.reread())
			return
		}
		w.cursor, w.base = e.To, e.Base
		w.pages = append(w.pages, e.Page.Items...)
		w.putRows(e.Own)
		w.keep(e.Proof)
		w.later(Stored{Op: e.Op})
	case FetchBase:
		w.reach(e.Op, true, func() Input { w.confirm(e.Proof); return w.giveBase(e) })
	case StoreBase:
		if storeFails {
			w.later(StoreFailed{Op: e.Op})
			return
		}
		if !e.From.Follows(w.cursor) {
			w.later(w.reread())
			return
		}
		w.cursor, w.base, w.pages = e.To, e.Base, w.pieces
		w.keep(e.Proof)
		w.later(Stored{Op: e.Op, Seen: w.pieces[len(w.pieces)-int(e.Base.Tail):]})
	case MarkOutcome:
		if storeLies {
			w.putRows(e.Own)
			w.keep(e.Proof)
		}
		if storeFails {
			w.later(StoreFailed{Op: e.Op})
			return
		}
		w.putRows(e.Own)
		w.keep(e.Proof)
		w.later(Stored{Op: e.Op})
	case Forget:
		for _, n := range e.N {
			delete(w.rows, n)
		}
		w.later(Stored{Op: e.Op})
	case Reset:
		if storeFails {
			w.later(StoreFailed{Op: e.Op})
			return
		}
		w.cursor, w.base, w.pages, w.proof = Cursor{Epoch: e.Epoch}, Base{}, nil, Proof{}
		w.putRows(e.Own)
		w.later(Stored{Op: e.Op})
	case ReadStore:
		if !storeFails {
			w.later(w.reread())
		}
	case RaiseCounter:
		w.counter = max(w.counter, e.N)
	case Notify:
		w.notes[e.Code]++
	case OpenLive:
		w.later(LiveOpened{})
	case CloseLive, Changed:
	}
}

func (w *world) putRows(own []Own) {
	for _, o := range own {
		w.rows[o.N] = o
	}
}

func (w *world) keep(p Proof) {
	if p.Beyond(w.proof, w.cursor) {
		w.proof = p
	}
}

// authors tells whose entries a push carries.
func authors(body []byte) map[string]bool {
	var in struct {
		Entries []wireEntry `json:"entries"`
	}
	if err := json.Unmarshal(body, &in); err != nil {
		panic(err)
	}
	by := map[string]bool{}
	for _, e := range in.Entries {
		by[e.By] = true
	}
	return by
}

type wireEntry struct {
	ID     string `json:"id"`
	By     string `json:"by"`
	Device string `json:"device"`
	N      int64  `json:"n"`
}

func (w *world) takePush(op int64, body []byte) Input {
	var in struct {
		Entries []wireEntry `json:"entries"`
	}
	if err := json.Unmarshal(body, &in); err != nil {
		panic(err)
	}
	var out PushAnswered
	out.Op = op
next:
	for _, e := range in.Entries {
		if w.refusedB[e.ID] {
			out.Results = append(out.Results, wire.Result{ID: e.ID, Outcome: "refused", Facts: wire.Facts{Reason: "malformed"}})
			continue
		}
		for _, it := range w.log {
			if it.ID == e.ID {
				out.Results = append(out.Results, wire.Result{ID: e.ID, Outcome: "duplicate", Facts: wire.Facts{Seq: it.Seq, EffectiveMS: it.EffectiveMS}})
				continue next
			}
		}
		it := wire.Item{ID: e.ID, Device: e.Device, N: e.N, Outcome: "accepted", Facts: wire.Facts{Seq: int64(len(w.log) + 1), EffectiveMS: w.now}}
		w.log = append(w.log, it)
		w.told[it.ID] = true
		out.Results = append(out.Results, wire.Result{ID: it.ID, Outcome: "accepted", Facts: wire.Facts{Seq: it.Seq, EffectiveMS: it.EffectiveMS}})
	}
	out.Epoch, out.Head, out.Proof = w.epoch, int64(len(w.log)), w.prove()
	return out
}

func (w *world) givePage(op int64, c Cursor, most int64) Input {
	if c.Epoch != w.epoch {
		return PullAnswered{Op: op, Page: wire.Page{Epoch: w.epoch, Head: int64(len(w.log)), Next: 0, Proof: w.prove()}}
	}
	items := w.log[c.After:min(c.After+min(most, 7), int64(len(w.log)))]
	next := c.After + int64(len(items))
	return PullAnswered{Op: op, Page: wire.Page{Epoch: w.epoch, Head: int64(len(w.log)), Next: next, More: next < int64(len(w.log)), Proof: w.prove(), Items: append([]wire.Item(nil), items...)}}
}

// giveBase makes a snapshot: of its pieces the last three are the tail.
func (w *world) giveBase(e FetchBase) Input {
	head := int64(len(w.log))
	if head == 0 {
		return Failed{Op: e.Op, Why: NoSnapshot}
	}
	if e.After > head {
		return Failed{Op: e.Op, Why: EpochGone}
	}
	w.pieces = slices.Clone(w.log)
	return BaseAnswered{Op: e.Op, Snapshot: Snapshot{Epoch: w.epoch, Base: Base{Seq: head, Tail: min(3, head), Scope: e.Scope}, Head: head, Proof: w.prove()}}
}

// record makes an entry as the phone does: row and counter in one transaction.
func (w *world) record(malformed bool) {
	w.counter++
	id := fmt.Sprintf("id-%d", w.counter)
	by := []string{"ana", "ana", "ana", "bo"}[w.r.IntN(4)]
	o := Own{N: w.counter, ID: id, By: by, RecordedMS: w.now, Bytes: fmt.Appendf(nil, `{"id":%q,"by":%q,"device":"d1","n":%d,"body":{"pad":%q}}`, id, by, w.counter, strings.Repeat("x", w.r.IntN(200)))}
	w.rows[o.N] = o
	w.refusedB[id] = malformed
	w.step(Recorded{Own: []Own{o}})
}

func (w *world) reread() Reread {
	in := Reread{Cursor: w.cursor, Proof: w.proof, Base: w.base, Counter: w.counter}
	for _, o := range w.rows {
		in.Own = append(in.Own, o)
	}
	sort.Slice(in.Own, func(i, j int) bool { return in.Own[i].N > in.Own[j].N })
	return in
}

// restart loses everything that was only in memory.
func (w *world) restart() {
	w.due = nil
	w.s = State{}
	in := w.reread()
	w.step(Started{Cursor: in.Cursor, Proof: in.Proof, Base: in.Base, Counter: in.Counter, Server: "srv", SignedIn: true, Own: in.Own})
	w.step(Leads{true})
	w.step(Visible{true})
}

// restore puts the server back to its last backup, under a new epoch.
func (w *world) restore() {
	w.newEpoch()
	w.log = append([]wire.Item(nil), w.backup...)
}

// many is more than anybody reads on to from the beginning.
func (w *world) many() {
	for range FirstMax + 10 {
		w.others()
	}
	w.due = nil // one poke would do; none must
}

// others lets another phone add to the server's log; the poke sometimes gets lost.
func (w *world) others() {
	n := int64(len(w.log) + 1)
	w.log = append(w.log, wire.Item{ID: fmt.Sprintf("other-%s-%d", w.epoch, n), Device: "d2", Outcome: "accepted", Facts: wire.Facts{Seq: n, EffectiveMS: w.now}})
	if w.r.Float64() >= w.bad {
		w.later(Poked{Head: n})
	}
}

// run lets ms pass, delivering what falls due.
func (w *world) run(ms int64) {
	end := w.now + ms
	for {
		next, at := -1, end+1
		for i, e := range w.due {
			if e.at < at {
				next, at = i, e.at
			}
		}
		if w.timer >= 0 && w.timer < at {
			next, at = -1, w.timer
		}
		if at > end {
			w.now = end
			return
		}
		w.now = max(w.now, at)
		if next < 0 {
			w.step(Timer{})
			continue
		}
		in := w.due[next].in
		w.due = append(w.due[:next], w.due[next+1:]...)
		if _, ok := in.(Reread); ok {
			in = w.reread() // a store answers in order: no write that was told is missing
		}
		w.step(in)
	}
}
