package simtest

import (
	"bytes"

	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
	"hoppertally/sync/replica"
)

// books is the real fold over what a window has read of the store, kept in step
// as pwa/core/phone does: pages when they are stored, own entries on top.
type books struct {
	w       *World
	fold    *shop.Fold
	have    replica.Cursor
	base    replica.Base // that fold stands on
	skewMS  int64
	pulling *replica.StorePulled // the page whose storing is under way
	basing  *replica.StoreBase   // and the snapshot
	coming  *base                // with what is in it
	before  []mark               // of the own entries, before a step
}

// open starts from the store.
func (b *books) open(d *disk) {
	b.skewMS, b.pulling, b.basing, b.coming = d.skewMS, nil, nil, nil
	b.load(d)
}

// load folds the stored base and pages anew.
func (b *books) load(d *disk) {
	b.fold, b.base, b.have = shop.NewFold(), d.standing(), replica.Cursor{Epoch: d.cursor.Epoch}
	if d.base != nil {
		b.stand(d.base)
	}
	b.append(d)
}

// stand begins the fold on a base.
func (b *books) stand(on *base) {
	f, err := shop.LoadWindow(on.state, on.FloorMS)
	must(err)
	f.Add(on.tail...)
	b.fold, b.base, b.have.After = f, on.Base, on.Seq
}

// append folds the stored pages that follow.
func (b *books) append(d *disk) {
	for _, p := range d.pages {
		if p.first > b.have.After {
			b.fold.Add(p.entries...)
			b.have.After = p.to
		}
	}
}

// lay puts the phone's own entries on top.
func (b *books) lay(own []replica.Own) {
	es := make([]shop.Entry, 0, len(own))
	for i := range own {
		es = b.own(es, &own[i])
	}
	b.fold.Take(es)
}

// inBase tells whether an own entry is inside the state that the fold stands on. A
// copy that lay on top until its answer came goes.
func (b *books) inBase(o *replica.Own) bool {
	if o.Seq == 0 || o.Seq > b.base.Seq || o.EffectiveMS >= b.fold.FloorMS() {
		return false
	}
	if e := b.fold.Entry(o.ID); e == nil || e.Tail {
		return e == nil
	}
	b.fold.Drop(o.ID)
	return true
}

// own adds the fold's entry of one of the phone's own, as it stands now.
func (b *books) own(es []shop.Entry, o *replica.Own) []shop.Entry {
	e, ok := b.w.read(o.ID, o.Bytes)
	if !ok || b.inBase(o) {
		return es // the server refuses it too, and the bytes stay in the outbox; or it is there already
	}
	e.Outcome, e.Reason, e.Sent, e.Late = string(o.Mark), o.Reason, o.Mark != replica.Unsent, o.Late
	e.EffectiveMS = e.AtMS + entry.Correction(b.skewMS) // the best estimate of what the server will say
	if o.EffectiveMS != 0 {
		e.EffectiveMS = o.EffectiveMS
	}
	return append(es, e)
}

// skew notes how far the clock is off: what has not been sent is dated anew by it.
func (b *books) skew(ms int64, own []replica.Own) {
	was := entry.Correction(b.skewMS)
	if b.skewMS = ms; was == entry.Correction(ms) {
		return
	}
	var es []shop.Entry
	for i := range own {
		if own[i].EffectiveMS == 0 {
			es = b.own(es, &own[i])
		}
	}
	b.fold.Take(es)
}

type mark struct {
	n         int64
	mark      replica.Mark
	effective int64
	late      bool
}

func markOf(o replica.Own) mark { return mark{o.N, o.Mark, o.EffectiveMS, o.Late} }

// step passes an input to the replica and folds what the store has taken.
func (b *books) step(sync *replica.State, at replica.Moment, in replica.Input) []replica.Effect {
	b.before = b.before[:0]
	if changesOwn(in) {
		for _, o := range sync.Own() {
			b.before = append(b.before, markOf(o))
		}
	}
	stored, isStored := in.(replica.Stored)
	effects := sync.Step(at, in)
	if isStored {
		b.follow(stored.Op, sync)
	}
	for _, e := range effects {
		switch e := e.(type) {
		case replica.StorePulled:
			b.pulling = &e
		case replica.StoreBase:
			b.basing = &e
		}
	}
	if changesOwn(in) {
		b.showMarks(sync)
	}
	if b.base.Seq > 0 && b.base == sync.Base() && !sync.IsOutside() && b.fold.Outside() {
		effects = append(effects, sync.Step(at, replica.Outside{})...)
	}
	return effects
}

// follow folds the page or the snapshot that the store has just taken.
func (b *books) follow(op int64, sync *replica.State) {
	if p := b.pulling; p != nil && p.Op == op && sync.Cursor() == p.To && b.have == p.From {
		if p.From.After == 0 {
			b.base = p.Base
		}
		b.fold.Add(b.w.entriesOf(p.Page)...)
		b.have = p.To
	}
	if p := b.basing; p != nil && p.Op == op && sync.Cursor() == p.To {
		b.have.Epoch = p.To.Epoch
		b.stand(b.coming)
		b.lay(sync.Own())
	}
	b.pulling, b.basing, b.coming = nil, nil, nil
}

// behind tells whether the store has more than the fold.
func (b *books) behind(sync *replica.State) bool {
	c := sync.Cursor()
	return c.Epoch != "" && (c != b.have || sync.Base() != b.base)
}

func changesOwn(in replica.Input) bool {
	switch in.(type) {
	case replica.Stored, replica.Reread, replica.Recorded:
		return true
	}
	return false
}

// showMarks brings changed marks of own entries into the books. Both lists ascend.
func (b *books) showMarks(sync *replica.State) {
	was := b.before
	var es []shop.Entry
	own := sync.Own()
	for i := range own {
		o := &own[i]
		for len(was) > 0 && was[0].n < o.N {
			was = was[1:]
		}
		if len(was) == 0 || was[0] != markOf(*o) {
			es = b.own(es, o)
		}
	}
	if len(es) > 0 {
		b.fold.Take(es)
	}
}

// catchUp brings the fold to where the store is.
func (b *books) catchUp(d *disk, sync *replica.State) {
	if d.cursor.Epoch == b.have.Epoch && b.base == d.standing() && b.have.After > 0 && d.cursor.After >= b.have.After {
		b.append(d)
		return
	}
	b.load(d)
	b.lay(sync.Own())
}

// said is what an entry's bytes say; no id for nothing that can be read.
type said struct {
	raw   []byte
	entry shop.Entry
}

// read makes the fold's entry from the bytes of the entry with an id. What they say
// never changes, so all phones share one copy.
func (w *World) read(id string, raw []byte) (shop.Entry, bool) {
	if s, known := w.entries[id]; known && bytes.Equal(s.raw, raw) {
		return s.entry, s.entry.ID != ""
	}
	e, err := w.parser.Parse(raw)
	own := shop.Entry{}
	if err == nil {
		if own, err = entryOf(&e); err != nil {
			own = shop.Entry{}
		}
	}
	w.entries[id] = said{raw, own}
	return own, own.ID != ""
}
