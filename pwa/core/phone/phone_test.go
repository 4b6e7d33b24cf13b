package phone

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"testing"

	"hoppertally/domain/kind"
	"hoppertally/domain/shop/statehash"
	"hoppertally/domain/view"
	"hoppertally/sync/entry"
	"hoppertally/sync/replica"

	"pgregory.net/rapid"
)

// rig is a phone with a store of its own and a server that is only a list.
type rig struct {
	t    interface{ Fatalf(string, ...any) }
	r    *rand.Rand
	p    *Phone
	ms   int64
	rows []replica.Own
	n    int64

	cursor replica.Cursor
	base   replica.Base
	pages  [][]byte
	log    []string // items as they travel
	saved  []byte
	at     SavedAt
}

func newRig(t interface{ Fatalf(string, ...any) }, seed uint64) *rig {
	g := &rig{t: t, r: rand.New(rand.NewPCG(seed, 1)), ms: 1_700_000_000_000}
	g.open(false)
	return g
}

func (g *rig) now() Now {
	return Now{WallMS: g.ms, MonoMS: g.ms - 1_600_000_000_000, Segment: "s", Seed: g.r.Uint32()}
}

func (g *rig) random(b []byte) {
	for i := range b {
		b[i] = byte(g.r.Uint32())
	}
}

// open starts a phone from what the store holds, with or without the saved state.
func (g *rig) open(withSaved bool) {
	g.p = New(g.random)
	o := Opening{Device: "d1", Person: Person{ID: "ada", Role: "manager"}, Cursor: g.cursor, Base: g.base, Counter: g.n, SignedIn: true}
	var saved []byte
	if withSaved && g.saved != nil {
		o.Saved, saved = &g.at, g.saved
	}
	own := make([]replica.Own, len(g.rows))
	copy(own, g.rows)
	g.p.Open(g.now(), o, saved, own)
	g.catchUp()
}

// catchUp does what the worker does when the phone is behind its store.
func (g *rig) catchUp() {
	for {
		after, behind := g.p.Behind()
		if !behind {
			return
		}
		if after.After == 0 {
			for _, page := range g.pages {
				g.must(g.p.Load(g.cursor.Epoch, page))
			}
			g.p.Loaded(g.cursor.Epoch)
			continue
		}
		for _, page := range g.pages {
			g.must(g.p.Append(g.cursor.Epoch, page))
		}
	}
}

func (g *rig) must(err error) {
	if err != nil {
		g.t.Fatalf("%v", err)
	}
}

func (g *rig) record(task string, form map[string]string) error {
	g.ms += 1 + g.r.Int64N(60_000)
	token, err := g.p.Prepare(g.now(), task, form, "because")
	if err != nil {
		return err
	}
	own, err := g.p.Seal(g.now(), token, g.n+1)
	g.must(err)
	g.n += int64(len(own))
	g.rows = append(g.rows, own...)
	g.p.Recorded(g.now(), token)
	return nil
}

// sync lets the server take everything and the phone pull it, as the effects would.
func (g *rig) sync() {
	if g.cursor.Epoch == "" {
		g.cursor.Epoch = "e"
	}
	for i := range g.rows {
		o := &g.rows[i]
		if o.Mark != replica.Unsent {
			continue
		}
		e, err := g.p.read(o.Bytes)
		g.must(err)
		o.Mark, o.Seq, o.EffectiveMS = replica.Accepted, int64(len(g.log)+1), e.AtMS-5
		raw := o.Bytes
		if g.base.Scope == replica.Plain {
			raw, err = kind.Redact(raw)
			g.must(err)
		}
		g.log = append(g.log, fmt.Sprintf(`{"outcome":"accepted","seq":%d,"received_at":1,"effective_at":%d,"late":false,"reason":"","entry":%s}`, o.Seq, o.EffectiveMS, raw))
	}
	if first := int(g.cursor.After); first < len(g.log) {
		page := fmt.Sprintf(`{"epoch":"e","head":%d,"next":%d,"more":false,"entries":[`, len(g.log), len(g.log))
		for i, item := range g.log[first:] {
			if i > 0 {
				page += ","
			}
			page += item
		}
		g.pages = append(g.pages, []byte(page+"]}"))
		g.cursor.After = int64(len(g.log))
	}
	own := make([]replica.Own, len(g.rows))
	copy(own, g.rows)
	g.p.Step(g.now(), replica.Reread{Cursor: g.cursor, Base: g.base, Counter: g.n, Own: own})
	g.catchUp()
}

func (g *rig) setUp() {
	g.must(g.record("set.person", map[string]string{"name": "Ada", "role": "manager"}))
	g.must(g.record("set.powder", map[string]string{"name": "Fern green", "chemistry": "polyester", "finish": "satin", "sg": "1.5", "film_min": "60", "film_target": "80", "film_max": "110", "reclaim_max": "50"}))
	g.must(g.record("set.booth", map[string]string{"name": "North"}))
	g.must(g.record("set.place", map[string]string{"name": "Rack", "kind": "shelf"}))
	g.must(g.record("set.place", map[string]string{"name": "Hopper", "kind": "vessel"}))
}

func (g *rig) lists() view.ListsView {
	v, err := g.p.View(g.now(), "lists", nil)
	g.must(err)
	return v.(view.ListsView)
}

func (g *rig) place(kind string) string {
	for _, p := range g.lists().Places {
		if p.Kind == kind {
			return p.Place
		}
	}
	g.t.Fatalf("no %s", kind)
	return ""
}

func (g *rig) receive() {
	g.must(g.record("receive", map[string]string{"powder": g.lists().Powders[0].ID, "batch": fmt.Sprint("b", g.n), "place": g.place("shelf"), "mass": "20 kg"}))
}

func (g *rig) weigh() {
	g.must(g.record("weigh", map[string]string{"place": g.place("vessel"), "mass": fmt.Sprintf("%d g", 1+g.r.IntN(9000))}))
}

// However a phone comes by its books - recorded, synced, restarted with or without a
// saved state, in whatever order - once it has read its store it has the same state.
func TestTheStateIsThatOfTheStoreWhateverTheWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := newRig(t, rapid.Uint64().Draw(t, "seed"))
		g.setUp()
		for range rapid.IntRange(1, 25).Draw(t, "moves") {
			switch rapid.SampledFrom([]string{"receive", "weigh", "weigh", "sync", "save", "warm", "cold"}).Draw(t, "move") {
			case "receive":
				g.receive()
			case "weigh":
				g.weigh()
			case "sync":
				g.sync()
			case "save":
				if data, at, ok := g.p.Save(); ok {
					g.saved, g.at = data, at
				}
			case "warm":
				g.open(true)
				shown := string(g.p.fold.Save())
				g.full()
				if full := string(g.p.fold.Save()); g.isFresh() && shown != full {
					t.Errorf("the saved state shows other books than the store:\n%s\n%s", shown, full)
				}
			case "cold":
				g.open(false)
			}
		}
		g.sync()
		way := statehash.Of(g.p.fold)
		g.open(false)
		if cold := statehash.Of(g.p.fold); cold != way {
			t.Errorf("state %s, want %s as read from the store alone", way, cold)
		}
		if st := g.p.Status(g.now()); st.Unsent != 0 || st.Loading {
			t.Errorf("status %+v after a sync", st)
		}
	})
}

// full loads the entries behind a saved state, as the worker does in the background.
func (g *rig) full() {
	for _, page := range g.pages {
		g.must(g.p.Load(g.cursor.Epoch, page))
	}
	g.p.Loaded(g.cursor.Epoch)
}

// isFresh tells whether the saved state was taken with the times the server fixed.
func (g *rig) isFresh() bool {
	if g.saved == nil || g.at.Cursor.Epoch != g.cursor.Epoch {
		return false
	}
	for _, o := range g.rows {
		if o.N <= g.at.N && o.Seq > g.at.Cursor.After {
			return false
		}
	}
	return true
}

func TestRefusalsNameWhatIsWrong(t *testing.T) {
	g := newRig(t, 1)
	g.setUp()
	for _, tt := range []struct {
		name, task string
		form       map[string]string
		why, code  string
	}{
		{"an empty form names its first missing field", "weigh", nil, "", "form.missing"},
		{"a place that nobody set up", "weigh", map[string]string{"place": "nowhere", "mass": "1 kg"}, "", "form.unknown_place"},
		{"no such task", "dance", nil, "", "form.task"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := g.p.Prepare(g.now(), tt.task, tt.form, tt.why)
			if err == nil || ProblemOf(err).Code != tt.code {
				t.Errorf("Prepare = %v, want %s", err, tt.code)
			}
		})
	}
	g.p.SetPerson(Person{})
	if _, err := g.p.Prepare(g.now(), "weigh", nil, ""); ProblemOf(err).Code != "not_signed_in" {
		t.Errorf("Prepare without a person = %v, want not_signed_in", err)
	}
}

func TestAWarningNeedsAReason(t *testing.T) {
	g := newRig(t, 1)
	g.setUp()
	form := map[string]string{"place": g.place("vessel"), "mass": "5 kg"} // above the empty books
	plan := g.p.Plan(g.now(), "weigh", form)
	if len(plan.Warnings) == 0 {
		t.Fatal("a weighing far above the books should warn")
	}
	if _, err := g.p.Prepare(g.now(), "weigh", form, ""); ProblemOf(err).Code != "needs_reason" {
		t.Errorf("Prepare = %v, want needs_reason", err)
	}
	token, err := g.p.Prepare(g.now(), "weigh", form, "found a bag")
	if err != nil {
		t.Fatal(err)
	}
	own, err := g.p.Seal(g.now(), token, 7)
	if err != nil || len(own) != 2 {
		t.Fatalf("%d entries, %v: want the weighing and the note with its reason", len(own), err)
	}
	var first, note struct {
		ID, Kind, Group string
		N               int64
		Body            struct{ Entry string }
	}
	for i, into := range []any{&first, &note} {
		if err := json.Unmarshal(own[i].Bytes, into); err != nil {
			t.Fatal(err)
		}
	}
	if note.Kind != "entry.noted" || note.Body.Entry != first.ID || note.Group != first.Group || first.Group == "" || first.N != 7 || note.N != 8 {
		t.Errorf("entries %+v and %+v do not belong together", first, note)
	}
}

// A transaction that is tried again seals again: the ids stay, the counters follow.
func TestSealingAgainKeepsTheIDs(t *testing.T) {
	g := newRig(t, 1)
	g.setUp()
	token, err := g.p.Prepare(g.now(), "weigh", map[string]string{"place": g.place("vessel"), "mass": "5 kg"}, "x")
	if err != nil {
		t.Fatal(err)
	}
	a, _ := g.p.Seal(g.now(), token, 7)
	idA := a[0].ID
	b, _ := g.p.Seal(g.now(), token, 9)
	if b[0].ID != idA || b[0].N != 9 {
		t.Errorf("sealed again as %s/%d, want %s/9", b[0].ID, b[0].N, idA)
	}
	var parser entry.Parser
	if _, err := parser.Parse(b[0].Bytes); err != nil {
		t.Errorf("the entry cannot be read back: %v", err)
	}
}

func TestASavedStateOfAnotherEpochIsLeftAside(t *testing.T) {
	g := newRig(t, 1)
	g.setUp()
	g.sync()
	g.saved, g.at, _ = g.p.Save()
	g.cursor, g.pages = replica.Cursor{Epoch: "other"}, nil
	g.rows = nil
	g.open(true)
	if n := len(g.lists().Places); n != 0 {
		t.Errorf("%d places out of another epoch's state", n)
	}
}

func TestCallsNameWhatTheyDoNotKnow(t *testing.T) {
	p := New(func([]byte) {})
	for _, tt := range []struct{ op, in, code string }{
		{"dance", `{}`, "internal"},
		{"view", `{"name":"nothing"}`, "view.unknown"},
		{"text", `{"kind":"smell","value":1}`, "text.kind"},
		{"step", `{"input":{"type":"dream"}}`, "internal"},
		{"step", `{"input":{"type":"hello","op":1}}`, "internal"},
		{"view", `{`, "internal"},
	} {
		_, err := p.Call(tt.op, []byte(tt.in), nil)
		if err == nil || ProblemOf(err).Code != tt.code {
			t.Errorf("Call(%s, %s) = %v, want %s", tt.op, tt.in, err, tt.code)
		}
	}
}
