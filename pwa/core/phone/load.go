package phone

import (
	"errors"
	"fmt"

	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
	"hoppertally/sync/entry"
	"hoppertally/sync/replica"
	"hoppertally/sync/wire"
)

// read makes the fold's entry from an entry's own bytes.
func (p *Phone) read(raw []byte) (shop.Entry, error) {
	e, err := p.parser.Parse(raw)
	if err != nil {
		return shop.Entry{}, err
	}
	body, err := p.bodies.Decode(e.Kind, e.V, e.Body)
	if err != nil && !errors.Is(err, kind.ErrNewer) {
		return shop.Entry{}, err
	}
	return shop.Entry{ID: e.ID, Kind: e.Kind, V: e.V, By: e.By, Device: e.Device, N: e.N, AtMS: e.AtMS, EffectiveMS: e.AtMS, Group: e.Group, Body: body}, nil
}

// entryOf makes the fold's entry of one of the phone's own, as it stands now. It is
// not ok for bytes that the server refuses too; they stay in the outbox.
func (p *Phone) entryOf(o replica.Own) (e shop.Entry, ok bool) {
	var c entry.Cut
	raw := o.Bytes
	plain, err := kind.Redact(raw)
	isPriced := err == nil && len(plain) < len(raw)
	if isPriced && p.sync.Base().Scope != replica.Full { // a phone without prices has none in its books
		raw = plain
	}
	if old := p.fold.Entry(o.ID); old != nil && old.Body != nil && old.Device == p.device && old.N == o.N && !isPriced { // read before
		e = *old
		e.Tail = false
	} else if p.cut.Cut(&c, raw, 0) == len(raw) {
		p.item(&e, &wire.Item{}, &c)
		e.EffectiveMS = e.AtMS
	}
	if e.Body == nil { // in another spelling, or unknown to this version
		var err error
		if e, err = p.read(raw); err != nil {
			return e, false
		}
	}
	e.Outcome, e.Reason, e.Sent, e.Late = string(o.Mark), o.Reason, o.Mark != replica.Unsent, o.Late
	e.EffectiveMS = e.AtMS + entry.Correction(p.skewMS) // the best estimate of what the server will say
	if o.EffectiveMS != 0 {
		e.EffectiveMS = o.EffectiveMS
	}
	return e, true
}

// putAll brings entries, or news of them, into the shown fold, and those for it into
// the one in the background.
func (p *Phone) putAll(shown, next []shop.Entry) {
	if len(shown) == 0 {
		return
	}
	p.fold.Add(shown...)
	if p.next != nil {
		p.next.Add(next...)
	}
	p.rev++
}

// addOwn lays the own entries above the given counter on top of a fold.
func (p *Phone) addOwn(f *shop.Fold, base replica.Base, above int64) {
	var es []shop.Entry
	for _, o := range p.sync.Own() {
		if o.N > above && !inBase(f, base, o) {
			if e, ok := p.entryOf(o); ok {
				es = append(es, e)
			}
		}
	}
	f.Add(es...)
}

// Load brings a stored page into the background fold, made for the purpose at the
// first page. [Phone.Loaded] ends it.
func (p *Phone) Load(epoch string, page []byte) error {
	if p.next == nil || p.nextAt.Epoch != epoch {
		p.begin(epoch)
	}
	to, err := p.addPage(p.next, page, p.nextAt.After, 0)
	if err != nil {
		return err
	}
	p.nextAt.After = to
	return nil
}

// begin starts a background fold over nothing.
func (p *Phone) begin(epoch string) {
	p.next, p.nextAt, p.nextBase = shop.NewFold(), replica.Cursor{Epoch: epoch}, replica.Base{Scope: p.sync.Base().Scope}
}

// Loaded puts the fold that [Phone.Load] has built in the place of the shown one
// and lays the own entries on top. With nothing loaded it starts an empty one.
func (p *Phone) Loaded(epoch string) {
	if p.next == nil || p.nextAt.Epoch != epoch {
		p.begin(epoch)
	}
	p.addOwn(p.next, p.nextBase, 0)
	p.fold, p.have, p.base, p.ownHeld, p.partial = p.next, p.nextAt, p.nextBase, 0, false
	p.next, p.pages = nil, wire.PageReader{} // and the memory for pages
	p.rev++
}

// Append brings a stored page straight into the shown fold: the short way when
// only the newest pages are missing.
func (p *Phone) Append(epoch string, page []byte) error {
	if epoch != p.have.Epoch {
		return &Refusal{Code: "internal", Text: "page of another epoch"}
	}
	to, err := p.addPage(p.fold, page, p.have.After, p.ownHeld)
	if err != nil {
		return err
	}
	p.have.After = to
	p.rev++
	return nil
}

// addItems adds the entries of a page: see entriesOf.
func (p *Phone) addItems(f *shop.Fold, page *wire.Page, after, held int64) (to int64) {
	es, to := p.entriesOf(page, after, held)
	f.Take(es)
	return to
}

// addPage reads a page and adds its entries: see entriesOf.
func (p *Phone) addPage(f *shop.Fold, page []byte, after, held int64) (to int64, err error) {
	read, err := p.pages.Read(page)
	if err != nil {
		return 0, fmt.Errorf("read stored page: %w", err)
	}
	f.Expect(read.Head - read.Next + int64(len(read.Items)))
	return p.addItems(f, &read, after, held), nil
}

// entriesOf makes the fold's entries of one page after the given seq, but not those
// own ones up to held, which the fold's base state has inside.
func (p *Phone) entriesOf(page *wire.Page, after, held int64) (es []shop.Entry, to int64) {
	es = make([]shop.Entry, len(page.Items))
	n := 0
	for i := range page.Items {
		it := &page.Items[i]
		if it.Seq <= after || it.Device == p.device && it.N <= held {
			continue
		}
		p.item(&es[n], it, &page.Cuts[i])
		n++
	}
	return es[:n], max(after, page.Next)
}

// item makes the fold's entry of one pulled item, in an e that is empty. The server has
// judged it well formed; a body this version cannot read is shown as needing a newer
// one.
func (p *Phone) item(e *shop.Entry, it *wire.Item, c *entry.Cut) {
	e.ID, e.Kind, e.V, e.By, e.Device, e.N, e.AtMS, e.Group = c.ID, c.Kind, c.V, c.By, c.Device, c.N, c.AtMS, c.Group
	e.EffectiveMS, e.Outcome, e.Reason, e.Late, e.Sent = it.EffectiveMS, it.Outcome, it.Reason, it.Late, true
	if e.AtMS == 0 {
		e.AtMS = e.EffectiveMS
	}
	if body, err := p.bodies.Decode(e.Kind, e.V, c.Body); err == nil {
		e.Body = body
	}
}
