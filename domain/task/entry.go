package task

import (
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

// target is the entry that a form names.
func (p *planner) target() *shop.Entry {
	id := p.need("entry")
	if id == "" {
		return nil
	}
	e := p.f.Entry(id)
	switch {
	case e == nil:
		p.fail("entry", "form.unknown_entry", id, "")
	case p.f.Bars(&shop.Entry{Body: &kind.EntryVoided{Entry: id}}):
		p.fail("entry", "form.books_closed", e.Kind, "")
		return nil
	}
	return e
}

func (p *planner) void() {
	e, why := p.target(), p.need("why")
	switch {
	case e == nil || why == "":
	case kind.Target(e.Body) != "" || p.f.VoidedBy(e) != nil || !kind.May(p.r.Role, e.Kind):
		p.fail("entry", "form.not_voidable", e.Kind, "")
	default:
		p.answer("entry.voided", e, &kind.EntryVoided{Entry: e.ID, Why: why})
	}
}

// answer adds what is recorded about another entry, unless the server would hold it: the
// shop must keep a manager.
func (p *planner) answer(name string, to *shop.Entry, b kind.Body) {
	switch why := p.f.Unseats(&shop.Entry{Kind: name, Body: b}); why {
	case "":
		p.add(name, b)
	case shop.LastManager:
		p.fail("entry", "form.last_manager", to.Kind, "")
	default:
		p.fail("entry", why, to.Kind, "")
	}
}

func (p *planner) note() {
	if e, text := p.target(), p.need("text"); e != nil && text != "" {
		p.add("entry.noted", &kind.EntryNoted{Entry: e.ID, Text: text})
	}
}

func (p *planner) admit() {
	if e := p.held(); e != nil {
		p.answer("entry.released", e, &kind.EntryReleased{Entry: e.ID, Why: p.text("why")})
	}
}

func (p *planner) decline() {
	if e := p.held(); e != nil {
		p.answer("entry.declined", e, &kind.EntryDeclined{Entry: e.ID, Why: p.text("why")})
	}
}

func (p *planner) held() *shop.Entry {
	e := p.target()
	if e != nil && e.Outcome != shop.Held {
		p.fail("entry", "form.not_held", e.Kind, "")
		return nil
	}
	return e
}
