package task

import (
	"cmp"

	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
)

func (p *planner) setPlace() {
	id := cmp.Or(p.text("place"), p.newID())
	was := kind.PlaceSet{}
	if old := p.s.Places[id]; old != nil {
		was.Tare, was.Capacity = old.Tare, old.Capacity
	}
	mass := func(field string, old measure.Mass) measure.Mass {
		return kept(p, field, old, p.r.Style.Mass, func(field string) measure.Mass { return p.mass(field, false) })
	}
	b := &kind.PlaceSet{Place: id, Name: p.need("name"), Kind: p.choice("kind", kind.PlaceKinds, "vessel"),
		Booth: p.text("booth"), Tare: mass("tare", was.Tare), Capacity: mass("capacity", was.Capacity)}
	if b.Booth != "" && p.s.Booths[b.Booth] == nil {
		p.fail("booth", "form.unknown_booth", b.Booth, "")
	}
	p.addIfGood("place.set", b)
}
