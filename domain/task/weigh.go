package task

import (
	"cmp"

	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/view"
)

// WeighDiff is what a weighing would derive.
type WeighDiff struct {
	Books   view.Qty `json:"books"`
	Weighed view.Qty `json:"weighed"`
	Diff    view.Qty `json:"diff"`    // absolute
	Meaning string   `json:"meaning"` // same, sprayed, missing, found
}

func (p *planner) weigh() {
	id := p.place("place", true)
	mass := p.net(id, p.mass("mass", true))
	if id == "" || len(p.plan.Errors) > 0 {
		return
	}
	lot := p.text("lot")
	there := p.s.Book.Places[id]
	books := there.Content.Total()
	if there.Kind == ledger.Shelf {
		if lot == "" {
			lot = there.Content.OnlyLot()
		}
		if lot == "" {
			p.fail("lot", "form.missing", "", "")
			return
		}
		books = there.Content.OfLot(lot)
	} else {
		lot = ""
	}
	p.plan.Diff = p.weighDiff(books, mass, p.s.Places[id].Feeds != "")
	p.add("place.weighed", &kind.PlaceWeighed{Place: id, Mass: mass, Lot: lot})
}

// partBox weighs what is left of a lot on a shelf.
func (p *planner) partBox() {
	l := known(p, "lot", p.s.Lots, "form.unknown_lot")
	if l == nil {
		return
	}
	place := p.place("place", false)
	if p.text("place") == "" {
		if place = cmp.Or(p.shelfOf(l.Lot), l.Place); p.s.Places[place] == nil {
			p.fail("place", "form.missing", "", "")
			return
		}
		p.plan.Filled["place"] = place
		p.touch(place)
	}
	mass := p.net(place, p.mass("mass", true))
	if place == "" || len(p.plan.Errors) > 0 {
		return
	}
	p.plan.Diff = p.weighDiff(p.s.Book.Places[place].Content.OfLot(l.Lot), mass, false)
	p.add("place.weighed", &kind.PlaceWeighed{Place: place, Mass: mass, Lot: l.Lot})
}

func (p *planner) weighDiff(books, mass measure.Mass, feeds bool) *WeighDiff {
	d := WeighDiff{Books: p.view.Qty(books), Weighed: p.view.Qty(mass)}
	switch {
	case mass == books:
		d.Meaning = "same"
	case mass > books:
		d.Meaning, d.Diff = "found", p.view.Qty(mass-books)
	case feeds:
		d.Meaning, d.Diff = "sprayed", p.view.Qty(books-mass)
	default:
		d.Meaning, d.Diff = "missing", p.view.Qty(books-mass)
	}
	if d.Diff.Text == "" {
		d.Diff = p.view.Qty(0)
	}
	return &d
}

// net takes the container off where the scale showed both.
func (p *planner) net(place string, m measure.Mass) measure.Mass {
	q := p.s.Places[place]
	if q == nil || p.text("gross") != "yes" {
		return m
	}
	if q.Tare == 0 {
		p.fail("gross", "form.no_tare", q.Name, "")
		return m
	}
	if m < q.Tare {
		p.fail("mass", "form.below_tare", p.text("mass"), p.view.Qty(q.Tare).Text)
		return 0
	}
	return m - q.Tare
}
