package phone

import (
	"fmt"
	"math"

	"hoppertally/domain/shop"
	"hoppertally/sync/replica"
)

// LoadBase begins the background fold on a stored base: the state of the books at
// its floor and the pages that came with it. [Phone.Load] goes on from there.
func (p *Phone) LoadBase(epoch string, base replica.Base, state []byte, pages [][]byte) error {
	f, err := shop.LoadWindow(state, base.FloorMS)
	if err != nil {
		return fmt.Errorf("read the stored base: %w", err)
	}
	for _, b := range pages {
		page, bodies, err := p.readPage(&p.pages, b)
		if err != nil {
			return fmt.Errorf("read stored page: %w", err)
		}
		f.Take(p.tailOf(&page, bodies))
	}
	p.next, p.nextAt, p.nextBase = f, replica.Cursor{Epoch: epoch, After: base.Seq}, base
	return nil
}

// piece is a page of a snapshot, read.
type piece struct {
	page replica.Page
	tail []shop.Entry
}

const earlyMax = 256 // pieces; more than any snapshot has

// Piece reads a page of a snapshot while others are on their way. Whoever fetched it
// has checked its hash, and leaves its bytes away in the "base" that follows. One that
// cannot be read is missing there.
func (p *Phone) Piece(sha256 string, b []byte) {
	page, bodies, err := p.readPage(new(replica.PageReader), b)
	if err != nil || len(b) == 0 {
		return
	}
	if p.early == nil || len(p.early) >= earlyMax { // one snapshot after the other broke off
		p.early = map[string]piece{}
	}
	p.early[sha256] = piece{page, p.tailOf(&page, bodies)}
}

// join puts a snapshot together from its list, its pieces and those read before.
func (p *Phone) join(list []byte, blobs [][]byte, scope replica.Scope) (replica.Snapshot, error) {
	early := p.early
	p.early, p.tails = nil, map[*byte][]shop.Entry{}
	return replica.JoinSnapshot(list, blobs, scope, func(sha256 string) (replica.Page, bool) {
		e, ok := early[sha256]
		if ok {
			p.tails[&e.page.Bytes[0]] = e.tail
		}
		return e.page, ok
	})
}

// addTail adds the entries that came with a base.
func (p *Phone) addTail(f *shop.Fold, page *replica.Page) {
	if len(page.Bytes) > 0 {
		if es, ok := p.tails[&page.Bytes[0]]; ok {
			delete(p.tails, &page.Bytes[0]) // the fold keeps them
			f.Take(es)
			return
		}
	}
	f.Take(p.tailOf(page, nil))
}

func (p *Phone) tailOf(page *replica.Page, bodies []shop.Body) []shop.Entry {
	es, _ := p.entriesOf(page, bodies, math.MinInt64, math.MinInt64)
	for i := range es {
		es[i].Tail = true
	}
	return es
}

// stand puts a snapshot that the store has just taken in the place of the books.
func (p *Phone) stand(b *replica.StoreBase) {
	if err := p.LoadBase(b.To.Epoch, b.Snapshot.Base, b.Snapshot.State, nil); err != nil {
		return
	}
	for i := range b.Snapshot.Pages {
		p.addTail(p.next, &b.Snapshot.Pages[i])
	}
	p.tails = nil
	p.Loaded(b.To.Epoch)
}

// inBase tells whether an own entry is inside the state that a fold stands on. A copy
// that lay on top until its answer came, unsent as far as this phone knew, goes.
func inBase(f *shop.Fold, base replica.Base, o replica.Own) bool {
	if o.Seq == 0 || o.Seq > base.Seq || o.EffectiveMS >= f.FloorMS() {
		return false
	}
	if e := f.Entry(o.ID); e == nil || e.Tail {
		return e == nil
	}
	f.Drop(o.ID)
	return true
}

// Window says since when the phone holds every entry, in Unix ms; 0 if it always has.
func (p *Phone) Window() int64 {
	if floor := p.fold.FloorMS(); floor != math.MinInt64 {
		return floor
	}
	return 0
}
