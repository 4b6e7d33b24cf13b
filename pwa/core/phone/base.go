package phone

import (
	"bytes"
	"fmt"
	"math"

	"hoppertally/domain/shop"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

// LoadBase begins the background fold on a stored base: the state of the books at
// its floor and the pages that came with it. [Phone.Load] goes on from there.
func (p *Phone) LoadBase(epoch string, base replica.Base, state []byte, pages [][]byte) error {
	f, err := shop.LoadWindow(state, base.FloorMS)
	if err != nil {
		return fmt.Errorf("read the stored base: %w", err)
	}
	for _, b := range pages {
		page, err := p.pages.Read(b)
		if err != nil {
			return fmt.Errorf("read stored page: %w", err)
		}
		f.Take(p.tailOf(&page))
	}
	p.next, p.nextAt, p.nextBase = f, replica.Cursor{Epoch: epoch, After: base.Seq}, base
	return nil
}

// coming is a snapshot on its way into the store.
type coming struct {
	list   []wire.Piece     // what it is made of; nil before that is known
	pieces map[string]piece // those that are here, by their hash
}

// piece is one of the parts of a snapshot: some of its state, or a page that was read.
type piece struct {
	state []byte
	tail  []shop.Entry
	own   []wire.Item // of this device
}

const piecesMax = 256 // more than any snapshot has

// Piece takes a piece of a snapshot. Whoever fetched it has checked its hash. It comes
// before the list of pieces or after it, but before the store has taken them all; a page
// that cannot be read is missing then. b is not kept.
func (p *Phone) Piece(kind, sha256 string, b []byte) {
	c := &p.coming
	if c.pieces == nil || len(c.pieces) >= piecesMax { // one snapshot after the other broke off
		c.pieces = map[string]piece{}
	}
	if kind == "state" {
		c.pieces[sha256] = piece{state: bytes.Clone(b)}
		return
	}
	page, err := p.pages.Read(b)
	if err != nil {
		return
	}
	got := piece{tail: p.tailOf(&page)}
	for _, it := range page.Items {
		if it.Device == p.device {
			got.own = append(got.own, it)
		}
	}
	c.pieces[sha256] = got
}

// seen gives this device's entries among those that come with the snapshot.
func (c *coming) seen() (items []wire.Item) {
	for _, listed := range c.list {
		items = append(items, c.pieces[listed.SHA256].own...)
	}
	return items
}

// stand puts a snapshot that the store has just taken in the place of the books. When
// not all of it is here, the worker finds the phone [Phone.Behind] and reads the store.
func (p *Phone) stand(b *replica.StoreBase) {
	var state []byte
	var tails [][]shop.Entry
	for _, listed := range p.coming.list {
		got, isHere := p.coming.pieces[listed.SHA256]
		if !isHere {
			return
		}
		state, tails = append(state, got.state...), append(tails, got.tail)
	}
	if err := p.LoadBase(b.To.Epoch, b.Base, state, nil); err != nil {
		return
	}
	for _, es := range tails {
		p.next.Take(es)
	}
	p.Loaded(b.To.Epoch)
}

func (p *Phone) tailOf(page *wire.Page) []shop.Entry {
	es, _ := p.entriesOf(page, math.MinInt64, math.MinInt64)
	for i := range es {
		es[i].Tail = true
	}
	return es
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
