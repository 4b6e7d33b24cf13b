package simtest

import (
	"fmt"

	"hoppertally/sync/entry"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

// write runs a transaction of the replica's and reports how it ended.
func (win *window) write(op int64, strict bool, do func(*disk) error) {
	win.p.transact(win, strict, do, func(err error) {
		if err != nil {
			win.step(replica.StoreFailed{Op: op})
			return
		}
		win.step(replica.Stored{Op: op})
		win.p.tell(win, (*window).heard)
	})
}

// storePulled writes a page and moves the cursor, in one transaction, unless the
// cursor stands elsewhere.
func (win *window) storePulled(e replica.StorePulled) {
	p := win.p
	elsewhere := false
	write := func(d *disk) error {
		if !e.From.Follows(d.cursor) {
			elsewhere = true
			return nil
		}
		if err := p.room(d, len(e.Page.Bytes)); err != nil {
			return err
		}
		p.w.truth.pulled(p, e)
		set(d, &d.pages, append(d.pages, page{e.Page.Items[0].Seq, e.To.After, e.Page.Bytes, p.w.entriesOf(e.Page)}))
		d.mark(e.Own)
		if e.From.After == 0 {
			set(d, &d.base, nil)
			set(d, &d.scope, e.Base.Scope)
		}
		set(d, &d.cursor, e.To)
		d.keepProof(e.Proof)
		return nil
	}
	if p.w.plants.CursorFirst {
		win.cursorFirst(e, write)
		return
	}
	p.transact(win, false, write, win.written(replica.Stored{Op: e.Op}, &elsewhere))
}

// written reports how a page or a snapshot was stored; elsewhere tells that the
// store's cursor stood somewhere else.
func (win *window) written(stored replica.Stored, elsewhere *bool) func(error) {
	return func(err error) {
		switch {
		case err != nil:
			win.step(replica.StoreFailed{Op: stored.Op})
		case *elsewhere:
			win.reread()
		default:
			win.step(stored)
			win.p.tell(win, (*window).heard)
		}
	}
}

// cursorFirst moves the cursor in a transaction before the page's: planted.
func (win *window) cursorFirst(e replica.StorePulled, write func(*disk) error) {
	win.write(-1, false, func(d *disk) error {
		if e.From.Follows(d.cursor) {
			set(d, &d.cursor, e.To)
		}
		return nil
	})
	win.write(e.Op, false, func(d *disk) error {
		at := d.cursor
		set(d, &d.cursor, e.From)
		err := write(d)
		set(d, &d.cursor, at)
		return err
	})
}

// room says whether the disk has place for so many bytes more.
func (p *phone) room(_ *disk, bytes int) error {
	if p.full && (bytes > 0 || p.w.rng.IntN(3) == 0) {
		return errFull
	}
	return nil
}

// reread tells the replica what the store holds now.
func (win *window) reread() {
	var in replica.Reread
	win.p.transact(win, false, func(d *disk) error {
		in = replica.Reread{Cursor: d.cursor, Proof: d.proof, Base: d.standing(), Counter: d.counter, Own: d.outbox}
		return nil
	}, func(err error) {
		if err != nil {
			win.step(replica.Unsure{})
			return
		}
		moved := in.Cursor != win.sync.Cursor() || in.Base != win.sync.Base()
		win.step(in)
		if moved && win.leads { // a write that was thought lost: the others were not told of it
			win.p.tell(win, (*window).heard)
		}
	})
}

// heard is the news that another window changed the store.
func (win *window) heard() { win.reread() }

// draft is an entry that lacks only what the store gives it.
type draft struct {
	id, kind string
	v        int64
	at       int64 // 0: now
	body     string
	poison   bool
}

// recording is a person's tap on the button, with all its tries.
type recording struct {
	request string
	drafts  []draft
	by      string
	tries   int
}

// record stores the drafts with the next counters; only then the person is told.
func (win *window) record(r *recording) {
	r.tries++
	p := win.p
	if p.w.plants.CounterApart {
		win.counterApart(r)
		return
	}
	var sealed []replica.Own
	isNew, saved := false, done{}
	write := func(d *disk) error {
		before, there := d.earlier(r.request)
		if there {
			isNew, saved = false, before
			return nil
		}
		if p.full && !p.giveReserve(d) {
			return errFull
		}
		sealed = win.seal(r, d, d.counter+1)
		isNew, saved = true, win.keep(r, d, sealed)
		set(d, &d.counter, d.counter+int64(len(sealed)))
		return nil
	}
	if p.w.plants.SavedEarly {
		p.w.truth.told(win.seal(r, p.disk, p.disk.counter+1))
	}
	p.transact(win, true, write, func(err error) {
		if err != nil {
			win.notSaved(r)
			return
		}
		if isNew {
			win.recorded(sealed)
		} else {
			win.step(replica.Unsure{}) // the core does not know of them yet
		}
		p.w.truth.toldIDs(saved.ids)
	})
}

// giveReserve makes room for an entry when the phone is full.
func (p *phone) giveReserve(d *disk) bool {
	if !d.reserve {
		return false
	}
	set(d, &d.reserve, false)
	return true
}

// notSaved says loudly that nothing was kept, although the store may hold it after
// all; most people try again.
func (win *window) notSaved(r *recording) {
	w := win.p.w
	win.step(replica.Unsure{})
	win.p.tell(win, (*window).heard)
	if r.tries < 4 && w.rng.IntN(10) < 7 {
		life := win.life
		w.after(1_000+w.rng.Int64N(20_000), func() { win.run(life, func() { win.record(r) }) })
	}
}

func (win *window) seal(r *recording, d *disk, n int64) []replica.Own {
	p := win.p
	var out []replica.Own
	at := win.sync.Cursor()
	for i, f := range r.drafts {
		h := entry.Header{ID: f.id, Kind: f.kind, V: f.v, By: r.by, Device: d.device, N: n + int64(i), AtMS: f.at, AtOffsetMin: 60,
			Clock: entry.Clock{WallMS: p.wallMS(), MonoMS: win.monoMS(), Segment: win.segment},
			Seen:  entry.Seen{Epoch: at.Epoch, Seq: at.After}}
		if h.AtMS == 0 {
			h.AtMS = p.wallMS()
		}
		out = append(out, replica.Own{N: h.N, ID: h.ID, By: h.By, Bytes: entry.Append(nil, h, []byte(f.body)), RecordedMS: p.wallMS()})
	}
	return out
}

// keep puts sealed entries into the outbox.
func (win *window) keep(r *recording, d *disk, sealed []replica.Own) done {
	saved := done{request: r.request}
	for i, o := range sealed {
		d.put(o)
		saved.ids = append(saved.ids, o.ID)
		win.p.w.truth.stored(d.device, r.by, o, r.drafts[i])
	}
	all := append(d.requests, saved)
	set(d, &d.requests, all[max(0, len(all)-requestsMax):])
	return saved
}

// recorded takes stored entries into the running core.
func (win *window) recorded(sealed []replica.Own) {
	win.carryOut(win.books.step(&win.sync, win.moment(), replica.Recorded{Own: sealed}))
	win.p.tell(win, (*window).heard)
}

// counterApart reads the counter in one transaction and stores in another: planted.
func (win *window) counterApart(r *recording) {
	p := win.p
	n := int64(0)
	p.transact(win, false, func(d *disk) error { n = d.counter + 1; return nil }, func(err error) {
		if err != nil {
			return
		}
		var sealed []replica.Own
		p.transact(win, true, func(d *disk) error {
			sealed = win.seal(r, d, n)
			win.keep(r, d, sealed)
			set(d, &d.counter, n+int64(len(sealed))-1)
			return nil
		}, func(err error) {
			if err == nil {
				win.recorded(sealed)
				p.w.truth.told(sealed)
			}
		})
	})
}

// dropUnsent clears the outbox of what the server has not got: planted.
func (win *window) dropUnsent() {
	win.p.transact(win, true, func(d *disk) error {
		for _, o := range d.outbox {
			if o.Mark == replica.Unsent {
				d.remove(o.N)
			}
		}
		return nil
	}, func(error) { win.reread() })
}

// skew notes the difference between the server's clock and this phone's.
func (win *window) skew(hello []byte) {
	if h, err := wire.ReadHello(hello); err == nil && h.NowMS > 0 {
		win.p.disk.skewMS = h.NowMS - win.p.wallMS()
		win.books.skew(win.p.disk.skewMS, win.sync.Own())
	}
}

func (p *phone) newID() string {
	p.made++
	p.w.made++
	var rnd [10]byte
	copy(rnd[:], fmt.Sprintf("%02d%08d", p.id, p.w.made))
	return entry.NewID(min(max(p.wallMS(), 0), 1<<48-1), rnd)
}
