package simtest

import (
	"errors"
	"slices"

	"hoppertally/domain/shop"
	"hoppertally/sync/replica"
)

// disk is what a phone's browser keeps for us. Each transaction changes it at one
// moment; the undo list takes back those that were never synced.
type disk struct {
	device   string
	counter  int64
	cursor   replica.Cursor
	proof    replica.Proof
	seats    seats
	skewMS   int64
	outbox   []replica.Own // ascending N
	base     *base         // that the pages go on from; nil: the beginning
	scope    replica.Scope // of the pages when there is no base
	pages    []page        // of cursor.Epoch, in order
	requests []done
	reserve  bool

	undo []func() // of each change since the last sync, oldest first
	cuts []int    // lengths of undo after each transaction since the last sync
}

// page is one pulled page as it came, and what it says.
type page struct {
	first, to int64
	bytes     []byte
	entries   []shop.Entry
}

// done is a record call that was carried out.
type done struct {
	request string
	ids     []string
}

const requestsMax = 64

var (
	errFull  = errors.New("the phone is full")
	errStore = errors.New("the store failed")
)

// standing is what the pages stand on, as the replica knows it.
func (d *disk) standing() replica.Base {
	if d.base != nil {
		return d.base.Base
	}
	return replica.Base{Scope: d.scope}
}

// set changes one value so that it can be taken back.
func set[T any](d *disk, at *T, v T) {
	old := *at
	d.undo = append(d.undo, func() { *at = old })
	*at = v
}

func (d *disk) find(n int64) (int, bool) {
	return slices.BinarySearchFunc(d.outbox, n, func(o replica.Own, n int64) int {
		switch {
		case o.N < n:
			return -1
		case o.N > n:
			return 1
		}
		return 0
	})
}

// put writes a row of the outbox, over one with the same counter. Rows in a list are
// never changed, the list is replaced or made longer, so that an undo brings back the
// old one.
func (d *disk) put(o replica.Own) {
	i, there := d.find(o.N)
	if i == len(d.outbox) {
		set(d, &d.outbox, append(d.outbox, o))
		return
	}
	rows := slices.Clone(d.outbox)
	if there {
		rows[i] = o
	} else {
		rows = slices.Insert(rows, i, o)
	}
	set(d, &d.outbox, rows)
}

// remove deletes the rows with these counters.
func (d *disk) remove(ns ...int64) {
	rows := make([]replica.Own, 0, len(d.outbox))
	for _, o := range d.outbox {
		if !slices.Contains(ns, o.N) {
			rows = append(rows, o)
		}
	}
	if len(rows) < len(d.outbox) {
		set(d, &d.outbox, rows)
	}
}

// mark writes new marks onto rows that are still there; bytes never change.
func (d *disk) mark(rows []replica.Own) {
	if len(rows) == 0 {
		return
	}
	all := slices.Clone(d.outbox)
	for _, row := range rows {
		if i, there := d.find(row.N); there && all[i].ID == row.ID {
			row.Bytes = all[i].Bytes
			all[i] = row
		}
	}
	set(d, &d.outbox, all)
}

// keepProof keeps the proof that says most of the cursor's epoch.
func (d *disk) keepProof(p replica.Proof) {
	if p.Beyond(d.proof, d.cursor) {
		set(d, &d.proof, p)
	}
}

func (d *disk) earlier(request string) (done, bool) {
	for _, r := range d.requests {
		if r.request == request {
			return r, true
		}
	}
	return done{}, false
}

// end closes a transaction. A strict one syncs everything before it too.
func (d *disk) end(strict bool) {
	if strict {
		d.sync()
		return
	}
	d.cuts = append(d.cuts, len(d.undo))
}

func (d *disk) sync() { d.undo, d.cuts = d.undo[:0], d.cuts[:0] }

// abort takes back the changes of the transaction under way.
func (d *disk) abort() {
	from := 0
	if len(d.cuts) > 0 {
		from = d.cuts[len(d.cuts)-1]
	}
	d.back(from)
}

// lose takes back all but the first kept transactions since the last sync.
func (d *disk) lose(kept int) {
	from := 0
	if kept > 0 {
		from = d.cuts[kept-1]
	}
	d.back(from)
	d.sync()
}

func (d *disk) back(to int) {
	for i := len(d.undo) - 1; i >= to; i-- {
		d.undo[i]()
	}
	d.undo = d.undo[:to]
	d.outbox = slices.Clip(d.outbox) // whoever read it when it was longer keeps what it read
}
