package kind

import (
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// PowderMoved is powder carried from one place to another.
type PowderMoved struct {
	From, To string
	Mass     measure.Mass
	Lot, Why string
}

func (b *PowderMoved) Fields(v *form.Visitor) {
	v.ID("from", &b.From)
	v.ID("to", &b.To)
	v.Mass("mass_mg", &b.Mass)
	v.OptID("lot", &b.Lot)
	v.OptText("why", &b.Why, form.TextMax)
}

func (b *PowderMoved) refs() Refs { return Refs{Places: named(b.From, b.To), Lots: named(b.Lot)} }
