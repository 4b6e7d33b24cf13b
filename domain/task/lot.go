package task

import (
	"maps"
	"slices"

	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/stock"
)

// receive books a lot that came in.
func (p *planner) receive() {
	w := known(p, "powder", p.s.Powders, "form.unknown_powder")
	batch := p.need("batch")
	place := p.place("place", false)
	if p.text("place") == "" {
		place = p.firstShelf()
		p.plan.Filled["place"] = place
		if place == "" {
			p.fail("place", "form.missing", "", "")
		}
	}
	packs := p.number("packs", 1, most(new(kind.LotReceived), "packs"), false)
	mass := p.mass("mass", false)
	if pack := p.mass("pack_mass", false); mass == 0 && pack > 0 {
		n := measure.Mass(max(packs, 1))
		if pack > (measure.MassMax-1)/n {
			p.fail("pack_mass", "form.too_large", p.text("pack_mass"), "")
			return
		}
		mass = pack * n
		p.plan.Filled["mass"] = p.view.Qty(mass).Text
	}
	if mass == 0 && len(p.plan.Errors) == 0 {
		p.fail("mass", "form.missing", "", "")
	}
	made, useBy := p.date("made"), p.date("use_by")
	if w != nil && useBy == "" && made != "" && w.ShelfMonths > 0 {
		if day, err := stock.UseBy(made, w.ShelfMonths); err == nil {
			useBy = day
			p.plan.Filled["use_by"] = day
		}
	}
	price := p.decimal("price", 100, false)
	if w == nil || place == "" || len(p.plan.Errors) > 0 {
		return
	}
	if useBy != "" && useBy < p.view.Today() {
		p.warn("lot_expired", batch+" "+useBy)
	}
	l := kind.LotReceived{Lot: p.newID(), Powder: w.Powder, Batch: batch, Place: place, Mass: mass, Packs: packs, Made: made, UseBy: useBy, Price: price}
	p.touch(place)
	p.add("lot.received", &l)
}

func (p *planner) firstShelf() string {
	for _, id := range slices.Sorted(maps.Keys(p.s.Places)) {
		if p.s.Places[id].Kind == string(ledger.Shelf) {
			return id
		}
	}
	return ""
}

func (p *planner) holdLot() {
	if l := known(p, "lot", p.s.Lots, "form.unknown_lot"); l != nil {
		p.add("lot.held", &kind.LotHeld{Lot: l.Lot, Why: p.need("why")})
	}
}

func (p *planner) releaseLot() {
	if l := known(p, "lot", p.s.Lots, "form.unknown_lot"); l != nil {
		p.add("lot.released", &kind.LotReleased{Lot: l.Lot, Why: p.need("why")})
	}
}
