package phone

import (
	"hoppertally/domain/shop"
	"hoppertally/sync/replica"
)

// Step passes an input to the replica and keeps the books in step with what the
// store has taken: a page that was stored is folded, a mark that was stored shows
// on its entry.
func (p *Phone) Step(now Now, in replica.Input) []replica.Effect {
	stored, isStored := in.(replica.Stored)
	var before []mark
	_, isReread := in.(replica.Reread)
	if isStored || isReread { // nothing else changes what the store has
		before = marks(p.sync.Own())
	}
	if isStored && p.basing != nil && p.basing.Op == stored.Op {
		stored.Seen = p.coming.seen()
		in = stored
	}
	effects := p.sync.Step(now.moment(), in)
	if isStored && p.pulling != nil && p.pulling.Op == stored.Op && p.sync.Cursor() == p.pulling.To {
		p.follow(p.pulling)
	}
	if isStored && p.basing != nil && p.basing.Op == stored.Op && p.sync.Cursor() == p.basing.To {
		p.stand(p.basing)
		p.coming = coming{}
	}
	if isStored {
		p.pulling, p.basing = nil, nil
	}
	for _, e := range effects {
		if e, ok := e.(replica.StorePulled); ok {
			p.pulling = &e
		}
		if e, ok := e.(replica.StoreBase); ok {
			p.basing = &e
		}
	}
	if before != nil {
		p.showMarks(before)
	}
	if !p.partial && p.base == p.sync.Base() && !p.sync.IsOutside() && p.fold.Outside() {
		effects = append(effects, p.sync.Step(now.moment(), replica.Outside{})...)
	}
	return effects
}

// follow folds a page that the store has just taken, when the fold stands right
// before it. Otherwise the worker will find the phone [Phone.Behind].
func (p *Phone) follow(pulled *replica.StorePulled) {
	if p.next != nil && p.nextAt == pulled.From {
		p.nextAt.After = p.addItems(p.next, &pulled.Page, p.nextAt.After, 0)
	}
	if p.have == (replica.Cursor{}) && pulled.From.After == 0 { // a new phone: the first page says which log it is
		p.have.Epoch = pulled.From.Epoch
	}
	if p.have == pulled.From && pulled.From.After == 0 {
		p.base = pulled.Base
	}
	if p.have == pulled.From {
		p.have.After = p.addItems(p.fold, &pulled.Page, p.have.After, p.ownHeld)
		p.rev++
	}
}

type mark struct {
	n         int64
	mark      replica.Mark
	effective int64
	late      bool
}

func markOf(o *replica.Own) mark { return mark{o.N, o.Mark, o.EffectiveMS, o.Late} }

func marks(own []replica.Own) []mark {
	list := make([]mark, len(own))
	for i := range own {
		list[i] = markOf(&own[i])
	}
	return list
}

// showMarks brings changed marks of own entries into the books. Rows that came or
// went are another window's work or a backup's. Both lists ascend.
func (p *Phone) showMarks(before []mark) {
	var news, next []shop.Entry
	own := p.sync.Own()
	for i := range own {
		for len(before) > 0 && before[0].n < own[i].N {
			before = before[1:]
		}
		if len(before) > 0 && before[0] == markOf(&own[i]) {
			continue
		}
		o := own[i]
		if o.N <= p.ownHeld || inBase(p.fold, p.base, o) {
			continue
		}
		if e, ok := p.entryOf(o); ok {
			news = append(news, e)
			if p.next != nil && !inBase(p.next, p.nextBase, o) {
				next = append(next, e)
			}
		}
	}
	p.putAll(news, next)
}
