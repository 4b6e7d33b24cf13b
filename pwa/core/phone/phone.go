// Package phone joins the books and the sync into what a phone's worker needs:
// entries in, views and plans out, and the replica's effects for the worker to
// carry out. It is plain Go without JavaScript, so its tests run anywhere;
// pwa/core puts it behind syscall/js.
//
// The order of things is always: the worker stores, then tells the phone. So what
// is on the screen was durable before.
package phone

import (
	"fmt"
	"slices"

	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/domain/task"
	"hoppertally/domain/view"
	"hoppertally/sync/entry"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"

	"github.com/valyala/fastjson"
)

// Person is who holds the phone. The zero value is nobody.
type Person struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Role string `json:"role"`
}

// Now is the worker's clocks and fresh randomness at a call.
type Now struct {
	WallMS    int64  `json:"wall_ms"`
	MonoMS    int64  `json:"mono_ms"`
	Segment   string `json:"segment"`
	OffsetMin int    `json:"offset_min"` // minutes east of UTC
	Seed      uint32 `json:"seed"`
}

func (n Now) moment() replica.Moment {
	return replica.Moment{MonoMS: n.MonoMS, WallMS: n.WallMS, Segment: n.Segment, Seed: uint64(n.Seed)}
}

// Phone is everything the worker keeps in memory. It is used by one goroutine.
type Phone struct {
	random func([]byte) // cryptographic

	device string
	person Person
	style  measure.Style
	skewMS int64 // server's clock minus this phone's wall clock, as last heard

	fold     *shop.Fold
	have     replica.Cursor // the log as far as fold holds it
	next     *shop.Fold     // being built from the store in the background; nil when not
	nextAt   replica.Cursor
	base     replica.Base // that fold stands on
	nextBase replica.Base
	ownHeld  int64 // own entries up to this counter are inside fold's base state
	partial  bool  // fold stands on a snapshot and lacks the entries behind it

	sync    replica.State
	parser  entry.Parser
	args    fastjson.Parser
	bodies  kind.Bodies
	cut     entry.Cutter
	pages   wire.PageReader // of the store
	plans   map[int64]*prepared
	token   int64
	pulling *replica.StorePulled // the page whose storing is under way
	basing  *replica.StoreBase   // the snapshot
	coming  coming               // and what is in it
	rev     int64
}

// New is a phone that has not been opened. random fills a slice from a
// cryptographic source.
func New(random func([]byte)) *Phone {
	return &Phone{random: random, fold: shop.NewFold(), plans: map[int64]*prepared{}}
}

// Opening is what the store holds at the start.
type Opening struct {
	Device   string         `json:"device"`
	Person   Person         `json:"person"`
	Units    string         `json:"units"` // "" as the shop has it
	Lang     string         `json:"lang"`
	Cursor   replica.Cursor `json:"cursor"`
	Proof    replica.Proof  `json:"proof"`
	Base     replica.Base   `json:"base"`
	Counter  int64          `json:"counter"`
	Server   string         `json:"server"`
	SignedIn bool           `json:"signed_in"`
	SkewMS   int64          `json:"skew_ms"`
	Saved    *SavedAt       `json:"saved,omitempty"` // of the snapshot, when there is one
}

// SavedAt says what a snapshot of the state holds: the log up to Cursor, and of
// this phone's own entries those up to N.
type SavedAt struct {
	Cursor replica.Cursor `json:"cursor"`
	N      int64          `json:"n"`
	Scope  replica.Scope  `json:"scope"` // what the server left out of it
}

// Open starts from the store. snapshot may be nil; a snapshot of another epoch, or
// one that cannot be read, is left aside. own are all rows of the outbox.
func (p *Phone) Open(now Now, o Opening, snapshot []byte, own []replica.Own) []replica.Effect {
	p.device, p.person, p.skewMS = o.Device, o.Person, o.SkewMS
	p.style = measure.Style{Units: o.Units, Lang: o.Lang}
	p.fold, p.have, p.next, p.ownHeld, p.partial = shop.NewFold(), replica.Cursor{Epoch: o.Cursor.Epoch}, nil, 0, false
	p.base, p.pulling, p.basing, p.coming = replica.Base{Scope: o.Base.Scope}, nil, nil, coming{}
	if o.Saved != nil && o.Saved.Cursor.Epoch == o.Cursor.Epoch && len(snapshot) > 0 {
		if f, err := shop.Load(snapshot); err == nil {
			p.fold, p.have, p.ownHeld, p.partial, p.base = f, o.Saved.Cursor, o.Saved.N, true, o.Base
		}
	}
	effects := p.sync.Step(now.moment(), replica.Started{Cursor: o.Cursor, Proof: o.Proof, Base: o.Base, Counter: o.Counter, Server: o.Server, SignedIn: o.SignedIn, Own: own})
	p.addOwn(p.fold, p.base, p.ownHeld)
	p.rev++
	return effects
}

// SetPerson changes who holds the phone.
func (p *Phone) SetPerson(person Person) { p.person = person; p.rev++ }

// SetStyle changes units and language; "" takes the shop's own.
func (p *Phone) SetStyle(units, lang string) {
	p.style = measure.Style{Units: units, Lang: lang}
	p.rev++
}

// SetSkew tells the difference between the server's clock and this phone's. What has
// not been sent is dated anew by it: a plan that names a time takes it from there.
func (p *Phone) SetSkew(ms int64) {
	was := entry.Correction(p.skewMS)
	if p.skewMS = ms; was == entry.Correction(ms) {
		return
	}
	var shown, next []shop.Entry
	for _, o := range p.sync.Own() {
		if o.EffectiveMS != 0 || o.N <= p.ownHeld {
			continue
		}
		if e, ok := p.entryOf(o); ok {
			shown = append(shown, e)
			next = append(next, e)
		}
	}
	p.putAll(shown, next)
	p.rev++
}

// Reader is who looks at the books now.
func (p *Phone) reader(now Now) view.Reader {
	style := p.style
	set := p.fold.State().Shop
	if style.Units == "" {
		style.Units = set.Units
	}
	if style.Lang == "" {
		style.Lang = set.Lang
	}
	return view.Reader{Person: p.person.ID, Role: p.person.Role, Style: style, NowMS: now.WallMS + entry.Correction(p.skewMS), OffsetMin: now.OffsetMin}
}

// View answers a view of the books: a value of one of the shop's view types.
func (p *Phone) View(now Now, name string, params []byte) (any, error) {
	return view.Value(p.fold, p.reader(now), name, params)
}

// Plan shows what recording the form would do.
func (p *Phone) Plan(now Now, name string, form map[string]string) task.Plan {
	return task.Make(p.fold, p.reader(now), name, form, func() string { return p.newID(now) })
}

// Text prints a bare number in the reader's units. The kinds are mass (mg), film
// (tenths of µm), area (cm²), temp (tenths of °C) and share (per mille).
func (p *Phone) Text(now Now, kind string, value int64) (string, error) {
	style := p.reader(now).Style
	switch kind {
	case "mass":
		return style.Mass(measure.Mass(value)), nil
	case "film":
		return style.Film(measure.Film(value)), nil
	case "area":
		return style.Area(measure.Area(value)), nil
	case "temp":
		return style.Temp(measure.Temp(value)), nil
	case "share":
		return style.Share(measure.Share(value)), nil
	}
	return "", &Refusal{Code: "text.kind", Text: fmt.Sprintf("no text for %q", kind)}
}

func (p *Phone) newID(now Now) string {
	var rnd [10]byte
	p.random(rnd[:])
	ms := now.WallMS
	if ms < 0 || ms >= 1<<48 {
		ms = 0
	}
	return entry.NewID(ms, rnd)
}

// Refusal is an answer to the page that is not the world's fault.
type Refusal struct{ Code, Text, Detail string }

func (e *Refusal) Error() string { return e.Code + ": " + e.Text }

// Status is what the page shows of the sync and the books.
type Status struct {
	replica.Status
	Rev       int64 `json:"rev"`
	Attention int   `json:"attention"`
	Loading   bool  `json:"loading"`   // the shown state was saved earlier; the entries follow
	WindowMS  int64 `json:"window_ms"` // since when all entries are on this phone; 0: from the beginning
	CutMS     int64 `json:"cut_ms"`    // runs closed before are not listed on this phone; 0: all are
}

// Status reads the phone. Its cost grows with what needs attention.
func (p *Phone) Status(now Now) Status {
	s := Status{Status: p.sync.Status(), Rev: p.rev, Loading: p.partial || p.next != nil, WindowMS: p.Window()}
	if past := p.fold.State().Past; past != nil && past.Runs > 0 {
		s.CutMS = past.CutMS
	}
	if v, err := view.Value(p.fold, p.reader(now), "attention", nil); err == nil {
		if list, ok := v.([]view.AttentionView); ok {
			s.Attention = len(list)
		}
	}
	return s
}

// Behind gives where in the stored log the fold stands, when the store has more:
// the worker should read the pages after it and bring them by [Phone.Load].
func (p *Phone) Behind() (after replica.Cursor, ok bool) {
	c := p.sync.Cursor()
	if c.Epoch != "" && c.Epoch == p.have.Epoch && p.sync.Base() != p.base && c.After > 0 && p.have.After > 0 {
		return replica.Cursor{Epoch: c.Epoch}, true // another window has taken a snapshot
	}
	if c == p.have || c.Epoch == "" {
		return p.have, false
	}
	if c.Epoch != p.have.Epoch {
		return replica.Cursor{Epoch: c.Epoch}, true
	}
	return p.have, c.After > p.have.After
}

// Save writes the state for the next cold start, and says what it holds. It is not
// worth doing while a load is under way: then ok is false.
func (p *Phone) Save() (data []byte, at SavedAt, ok bool) {
	if p.next != nil {
		return nil, SavedAt{}, false
	}
	at = SavedAt{Cursor: p.have, N: p.ownHeld, Scope: p.base.Scope}
	for _, o := range p.sync.Own() {
		at.N = max(at.N, o.N)
	}
	return p.fold.Save(), at, true
}

// Unsent gives the bytes of what the server has not taken, oldest first, one a line.
func (p *Phone) Unsent() []byte {
	var out []byte
	for _, o := range p.sync.Own() {
		if o.Mark == replica.Unsent || o.Mark == replica.Refused {
			out = append(append(out, o.Bytes...), '\n')
		}
	}
	return slices.Clip(out)
}
