package kind

import (
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// PowderRecovered is overspray of a run that was collected and weighed.
type PowderRecovered struct {
	Run, From, To string
	Mass          measure.Mass
	Sieved        bool
}

func (b *PowderRecovered) Fields(v *form.Visitor) {
	v.ID("run", &b.Run)
	v.ID("from", &b.From)
	v.ID("to", &b.To)
	v.Mass("mass_mg", &b.Mass)
	v.Bool("sieved", &b.Sieved)
}

func (b *PowderRecovered) refs() Refs { return Refs{Places: named(b.From, b.To), Runs: named(b.Run)} }
