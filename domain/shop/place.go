package shop

import (
	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// Place is what is known of a place besides its content, which stands in the book.
type Place struct {
	kind.PlaceSet
	Implicit   bool         // used by an entry before anybody set it up
	WeighedMS  int64        // last weighing; 0 never
	WeighedSD  measure.Mass // its stated standard uncertainty; 0 not stated
	Feeds      string       // the open run it feeds
	CleanLevel string       // the highest of the cleanouts of its booth since powder last came in
	LastPowder string       // the powder that last came in, also when it is empty now
	Overdrawn  int64        // open issues of overdraw, at most: notes may have settled some
	OverBlend  int64        // likewise of a blend over the limit
	Unsieved   bool         // holds recovered powder that was not sieved
}

func (p *Place) visit(v *form.Visitor) {
	p.PlaceSet.Fields(v)
	v.Bool("implicit", &p.Implicit)
	v.OptInt("weighed_ms", &p.WeighedMS, -signed, signed, "ms")
	v.OptMass("weighed_sd_mg", &p.WeighedSD)
	v.OptID("feeds", &p.Feeds)
	v.OptText("clean_level", &p.CleanLevel, anyText)
	v.OptID("last_powder", &p.LastPowder)
	v.OptInt("overdrawn", &p.Overdrawn, 0, signed, "")
	v.OptInt("over_blend", &p.OverBlend, 0, signed, "")
	v.Bool("unsieved", &p.Unsieved)
}

// place finds a place; one that nobody set up yet becomes a place of kind k
// until somebody does.
func (a *applier) place(id string, k ledger.Kind) *Place {
	p := a.s.Places[id]
	if p == nil {
		p = &Place{PlaceSet: kind.PlaceSet{Place: id, Name: id, Kind: string(k)}, Implicit: true}
		a.s.Places[id] = p
		a.s.Book.Open(id, k)
	}
	return p
}

// spot is a place with what it holds.
type spot struct {
	*Place
	in *ledger.Place
}

// used is the place of an entry that moves or weighs powder: an unknown one is
// an issue.
func (a *applier) used(e *Entry, id string, k ledger.Kind) spot {
	if a.recent != nil {
		if at := a.recent.places.look(nil, id); at != nil {
			return *at
		}
	}
	p := a.s.Places[id]
	if p == nil {
		p = a.place(id, k)
		a.issue(e, "unknown_place", Issue{Place: id})
	}
	at := spot{p, a.s.Book.Places[id]}
	if a.recent != nil {
		x := &a.recent.places.slots[slotOf(id)]
		x.id, x.is = id, &spot{at.Place, at.in}
	}
	return at
}

func shelfIf(lot string) ledger.Kind {
	if lot != "" {
		return ledger.Shelf
	}
	return ledger.Vessel
}
