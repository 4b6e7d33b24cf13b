// Package books keeps the shop's books in memory: the fold over every entry in
// the store. It judges new entries by them, answers who works here, and shows
// views of them.
package books

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/domain/shop/statehash"
	"hoppertally/domain/view"
	"hoppertally/server/auth"
	"hoppertally/sync/entry"
)

// Record is one entry as the store has it.
type Record struct {
	Seq         int64
	Raw         []byte // the entry's own bytes
	EffectiveMS int64
	Outcome     string // accepted or held
	Reason      string
	Late        bool
}

// Books is the fold with what is read from it all the time. Use [New]. All
// methods may be called from several goroutines at once.
type Books struct {
	mu     sync.Mutex // State() of a fold works, so reading needs it too
	fold   *shop.Fold
	seq    int64 // of the last record folded
	parser entry.Parser
	judged map[*byte]shop.Entry // read for the judge, by where their bytes lie; until the next Add
	people map[string]auth.Person
	names  map[string]string // lower-case name to id; "" when two bear it
	left   []string          // see Left
}

// New is the books before the first entry.
func New() *Books {
	return &Books{fold: shop.NewFold(), judged: map[*byte]shop.Entry{}, people: map[string]auth.Person{}, names: map[string]string{}}
}

// read reads a record for the fold, unless the judge had it read just before. The entry
// is of a kind or version that this program does not know when its Body is nil. The
// error says what is malformed. The lock is held.
func (b *Books) read(r Record) (shop.Entry, error) {
	var out shop.Entry
	isJudged := false
	if len(r.Raw) > 0 {
		out, isJudged = b.judged[&r.Raw[0]]
	}
	if !isJudged {
		e, err := b.parser.Parse(r.Raw)
		if err != nil {
			return shop.Entry{}, err
		}
		if out, err = EntryOf(&e); err != nil {
			return shop.Entry{}, err
		}
	}
	out.EffectiveMS, out.Outcome, out.Reason, out.Late, out.Sent = r.EffectiveMS, r.Outcome, r.Reason, r.Late, true
	return out, nil
}

// EntryOf turns an envelope into an entry for the fold, effective when it
// happened. The error is a *form.Error: the body is malformed.
func EntryOf(e *entry.Entry) (shop.Entry, error) {
	out := shop.Entry{ID: e.ID, Kind: e.Kind, V: e.V, By: e.By, Device: e.Device, N: e.N, AtMS: e.AtMS, EffectiveMS: e.AtMS, Group: e.Group}
	body, err := kind.Decode(e.Kind, e.V, e.Body)
	if err != nil && err != kind.ErrNewer {
		return out, fmt.Errorf("entry %s: %w", e.ID, err)
	}
	out.Body = body
	return out, nil
}

// judge asks the fold, and remembers the entry: when it is taken its bytes come back in
// the next Add, from where they lie now. Should the fold panic, the books stay open to
// everybody else.
func (b *Books) judge(raw []byte, own shop.Entry, atDesk bool) (outcome, reason string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(raw) > 0 {
		b.judged[&raw[0]] = own
	}
	if atDesk {
		return b.fold.AdmitLocal(&own)
	}
	return b.fold.Admit(&own)
}

// Add folds records in. A record that cannot be read is an error: the store holds
// nothing that was refused, so it is damage. Those before it are in the books.
func (b *Books) Add(records ...Record) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	es := make([]shop.Entry, 0, len(records))
	var fault error
	for _, r := range records {
		e, err := b.read(r)
		if err != nil {
			fault = fmt.Errorf("books: %w", err)
			break
		}
		es = append(es, e)
		b.seq = max(b.seq, r.Seq)
	}
	clear(b.judged)
	b.fold.Take(es)
	if slices.ContainsFunc(es, touchesPeople) {
		b.readPeople()
	}
	return fault
}

// LatestMS is when the latest entry counts, 0 in empty books.
func (b *Books) LatestMS() int64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	if es := b.fold.Entries(); len(es) > 0 {
		return es[len(es)-1].EffectiveMS
	}
	return 0
}

// Left gives the ids of those who worked here when it was last asked and do not any
// more, in no order.
func (b *Books) Left() (ids []string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	ids, b.left = b.left, nil
	return ids
}

// Window cuts the books for a phone that starts now, and gives the seq up to which
// they hold the log; see [shop.Fold.Window].
func (b *Books) Window(nowMS int64) (w shop.Window, seq int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.fold.Window(nowMS), b.seq
}

// touchesPeople tells whether an entry may change who works here: it names a person,
// or makes an entry count that did not, or the other way round.
func touchesPeople(e shop.Entry) bool {
	switch e.Kind {
	case "person.set", "entry.voided", "entry.released", "entry.declined":
		return true
	}
	return false
}

// readPeople brings the list of people up to date. The lock is held.
func (b *Books) readPeople() {
	s := b.fold.State()
	for id, was := range b.people {
		if p := s.People[id]; !was.Gone && (p == nil || p.Gone) {
			b.left = append(b.left, id)
		}
	}
	clear(b.people)
	clear(b.names)
	for id, p := range s.People {
		b.people[id] = auth.Person{ID: id, Name: p.Name, Role: p.Role, Gone: p.Gone}
		if p.Gone {
			continue
		}
		name := strings.ToLower(p.Name)
		if _, twice := b.names[name]; twice {
			id = ""
		}
		b.names[name] = id
	}
}

// Person finds somebody by id.
func (b *Books) Person(id string) (auth.Person, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	p, ok := b.people[id]
	return p, ok
}

// Named finds somebody who works here by name.
func (b *Books) Named(name string) (auth.Person, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	p, ok := b.people[b.names[strings.ToLower(name)]]
	return p, ok
}

// People lists everybody, those who left included, in no order.
func (b *Books) People() []auth.Person {
	b.mu.Lock()
	defer b.mu.Unlock()
	list := make([]auth.Person, 0, len(b.people))
	for _, p := range b.people {
		list = append(list, p)
	}
	return list
}

// Style is how the shop prints figures.
func (b *Books) Style() measure.Style {
	b.mu.Lock()
	defer b.mu.Unlock()
	s := b.fold.State().Shop
	return measure.Style{Units: s.Units, Lang: s.Lang}
}

// View makes a view as JSON; see [view.JSON].
func (b *Books) View(r view.Reader, name string, params []byte) ([]byte, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return view.JSON(b.fold, r, name, params)
}

// ViewValue makes a view as a value of its view type; see [view.Value].
func (b *Books) ViewValue(r view.Reader, name string, params []byte) (any, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return view.Value(b.fold, r, name, params)
}

// ShopName is the shop's name, "" before it was set.
func (b *Books) ShopName() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.fold.State().Shop.Name
}

// Zone is the shop's time zone by its IANA name, "" before it was set.
func (b *Books) Zone() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.fold.State().Shop.Zone
}

// Check proves the invariants of the books and gives the hash of the state.
func (b *Books) Check() (hash string, entries int, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return statehash.Of(b.fold), b.fold.Len(), b.fold.State().Check()
}

// Report is the state in figures.
func (b *Books) Report() shop.Report {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.fold.State().Report()
}

// Open counts what needs attention.
func (b *Books) Open() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(b.fold.State().Issues)
}
