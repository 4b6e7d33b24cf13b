package kind

import (
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// PlaceWeighed says how much powder is in a place (net of the container).
type PlaceWeighed struct {
	Place string
	Mass  measure.Mass
	Lot   string
	SD    measure.Mass // standard uncertainty of the weighing; 0 not stated
}

func (b *PlaceWeighed) Fields(v *form.Visitor) {
	v.ID("place", &b.Place)
	v.Mass("mass_mg", &b.Mass)
	v.OptID("lot", &b.Lot)
	v.OptMass("sd_mg", &b.SD)
}

func (b *PlaceWeighed) refs() Refs { return Refs{Places: named(b.Place), Lots: named(b.Lot)} }
