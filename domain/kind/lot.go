package kind

import (
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// PacksMax is the most packs of a lot, also when it came in pieces.
const PacksMax = 100_000

// LotReceived is powder that came in: one batch of one powder.
type LotReceived struct {
	Lot, Powder, Batch, Place string
	Mass                      measure.Mass
	Packs                     int64
	Made, UseBy               string
	Price                     int64 // per kg, hundredths; 0 not given
}

func (b *LotReceived) Fields(v *form.Visitor) {
	v.ID("lot", &b.Lot)
	v.ID("powder", &b.Powder)
	v.ID("batch", &b.Batch)
	v.ID("place", &b.Place)
	v.Mass("mass_mg", &b.Mass)
	v.OptInt("packs", &b.Packs, 0, PacksMax, "packs")
	v.OptDate("made", &b.Made)
	v.OptDate("use_by", &b.UseBy)
	v.Office().OptInt("price", &b.Price, 0, 100_000_000, "hundredths per kg")
}

func (b *LotReceived) refs() Refs {
	return Refs{Places: named(b.Place), Lots: named(b.Lot), Powders: named(b.Powder)}
}

// LotHeld keeps a lot from being offered.
type LotHeld struct{ Lot, Why string }

func (b *LotHeld) Fields(v *form.Visitor) {
	v.ID("lot", &b.Lot)
	v.OptText("why", &b.Why, form.TextMax)
}

func (b *LotHeld) refs() Refs { return Refs{Lots: named(b.Lot)} }

// LotReleased ends a hold.
type LotReleased struct{ Lot, Why string }

func (b *LotReleased) Fields(v *form.Visitor) {
	v.ID("lot", &b.Lot)
	v.OptText("why", &b.Why, form.TextMax)
}

func (b *LotReleased) refs() Refs { return Refs{Lots: named(b.Lot)} }
