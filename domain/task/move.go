package task

import (
	"cmp"

	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
)

func (p *planner) move() {
	from, to := p.place("from", true), p.place("to", true)
	mass := p.mass("mass", true)
	if from == "" || to == "" {
		return
	}
	lot := p.lotFrom(from)
	if l := p.s.Lots[lot]; l != nil && p.s.Places[to].Kind == string(ledger.Vessel) {
		p.plan.Offer = p.view.Lots(l.Powder, false)
		p.checkLot(lot)
	}
	p.add("powder.moved", &kind.PowderMoved{From: from, To: to, Mass: mass, Lot: lot, Why: p.text("why")})
}

func (p *planner) scrap() {
	from, to := p.place("from", true), p.place("to", true)
	mass, why := p.mass("mass", true), p.need("why")
	if from != "" && to != "" {
		p.add("powder.moved", &kind.PowderMoved{From: from, To: to, Mass: mass, Lot: p.lotFrom(from), Why: why})
	}
}

// lotFrom is the lot that is taken from a place: off a shelf the one that the form
// names, else the only one there. A vessel gives of all that is in it.
func (p *planner) lotFrom(place string) string {
	at := p.s.Book.Places[place]
	if at.Kind != ledger.Shelf {
		return ""
	}
	lot := cmp.Or(p.text("lot"), at.Content.OnlyLot())
	if lot == "" {
		p.fail("lot", "form.missing", "", "")
	}
	return lot
}

// checkLot warns where a lot is not the one to use now.
func (p *planner) checkLot(lot string) {
	l := p.s.Lots[lot]
	if l == nil {
		return
	}
	offer := p.view.Lots(l.Powder, false)
	for _, o := range offer {
		if o.Lot == lot && o.Turn > 1 {
			p.warn("out_of_turn", p.view.Batch(offer[0].Lot))
		}
	}
	if l.Held {
		p.warn("lot_held", l.Batch)
	}
	if p.view.IsExpired(l) {
		p.warn("lot_expired", l.Batch+" "+l.UseBy)
	}
}
