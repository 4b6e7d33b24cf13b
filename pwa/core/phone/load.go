package phone

import (
	"errors"
	"fmt"
	"time"

	"hoppertally/domain/shop"
	"hoppertally/sync/replica"

	"github.com/valyala/fastjson"
)

// read makes the fold's entry from an entry's own bytes.
func (p *Phone) read(raw []byte) (shop.Entry, error) {
	e, err := p.parser.Parse(raw)
	if err != nil {
		return shop.Entry{}, err
	}
	body, err := shop.DecodeBody(e.Kind, e.V, e.Body)
	if err != nil && !errors.Is(err, shop.ErrNewer) {
		return shop.Entry{}, err
	}
	return shop.Entry{ID: e.ID, Kind: e.Kind, V: e.V, By: e.By, Device: e.Device, N: e.N, AtMS: e.AtMS, EffectiveMS: e.AtMS, Group: e.Group, Body: body}, nil
}

// put lays one of the phone's own entries into a fold as it stands now.
func (p *Phone) put(f *shop.Fold, o replica.Own) {
	e, err := p.read(o.Bytes)
	if err != nil {
		return // the server refuses it too; the bytes stay in the outbox
	}
	e.Outcome, e.Reason, e.Sent, e.Late = string(o.Mark), o.Reason, o.Mark != replica.Unsent, o.Late
	e.EffectiveMS = e.AtMS + p.skewMS // the best estimate of what the server will say
	if o.EffectiveMS != 0 {
		e.EffectiveMS = o.EffectiveMS
	}
	f.Add(e)
}

// addOwn lays the own entries above the given counter on top of a fold.
func (p *Phone) addOwn(f *shop.Fold, base replica.Base, above int64) {
	for _, o := range p.sync.Own() {
		if o.N > above && !inBase(f, base, o) {
			p.put(f, o)
		}
	}
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
	p.next = nil
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

// addPage adds the entries of one page after the given seq, but not those own ones
// up to held, which the fold's base state has inside.
func (p *Phone) addPage(f *shop.Fold, page []byte, after, held int64) (to int64, err error) {
	es, to, err := p.readPage(page, after, held)
	if err == nil {
		f.Add(es...)
	}
	return to, err
}

func (p *Phone) readPage(page []byte, after, held int64) (es []shop.Entry, to int64, err error) {
	var parser fastjson.Parser
	v, err := parser.ParseBytes(page)
	if err != nil {
		return nil, 0, fmt.Errorf("read stored page: %w", err)
	}
	to = after
	for _, it := range v.GetArray("entries") {
		seq := it.GetInt64("seq")
		if seq <= after {
			continue
		}
		to = max(to, seq)
		e := item(it)
		if e.Device == p.device && e.N <= held {
			continue
		}
		es = append(es, e)
	}
	return es, max(to, v.GetInt64("next")), nil
}

// item makes the fold's entry of one pulled item. The server has judged it well
// formed; a body this version cannot read is shown as needing a newer one.
func item(it *fastjson.Value) shop.Entry {
	in := it.Get("entry")
	e := shop.Entry{
		ID: text(in, "id"), Kind: text(in, "kind"), V: in.GetInt64("v"), By: text(in, "by"), Device: text(in, "device"), N: in.GetInt64("n"),
		Group: text(in, "group"), EffectiveMS: it.GetInt64("effective_at"), Outcome: text(it, "outcome"), Reason: text(it, "reason"),
		Late: it.GetBool("late"), Sent: true,
	}
	e.AtMS = e.EffectiveMS
	if at, err := time.Parse(time.RFC3339Nano, text(in, "at")); err == nil {
		e.AtMS = at.UnixMilli()
	}
	if body, err := shop.DecodeBody(e.Kind, e.V, in.Get("body")); err == nil {
		e.Body = body
	}
	return e
}

func text(v *fastjson.Value, field string) string { return string(v.GetStringBytes(field)) }
