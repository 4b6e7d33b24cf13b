package kind

import (
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// PlaceSet is a place that holds powder.
type PlaceSet struct {
	Place, Name, Kind, Booth string
	Tare, Capacity           measure.Mass
}

func (b *PlaceSet) Fields(v *form.Visitor) {
	v.ID("place", &b.Place)
	v.Text("name", &b.Name, nameMax)
	v.Enum("kind", &b.Kind, PlaceKinds...)
	v.OptID("booth", &b.Booth)
	v.OptMass("tare_mg", &b.Tare)
	v.OptMass("capacity_mg", &b.Capacity)
}

func (b *PlaceSet) refs() Refs { return Refs{Places: named(b.Place)} }
