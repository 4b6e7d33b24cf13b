package kind

import (
	"hoppertally/domain/form"
	"hoppertally/domain/gun"
)

// SetupSet is a way to set the gun for a powder and a kind of part.
type SetupSet struct {
	Setup, Name, Booth, Powder, Parts, Charging, Nozzle string
	KV, UA, MainKPA, ExtraKPA, DistanceMM               int64
	Worked                                              bool
}

func (b *SetupSet) Fields(v *form.Visitor) {
	v.ID("setup", &b.Setup)
	v.OptText("name", &b.Name, nameMax)
	v.OptID("booth", &b.Booth)
	v.OptID("powder", &b.Powder)
	v.OptText("parts", &b.Parts, nameMax)
	v.OptText("charging", &b.Charging, nameMax)
	v.OptText("nozzle", &b.Nozzle, nameMax)
	v.OptInt("kv", &b.KV, 0, 120, "kV")
	v.OptInt("ua", &b.UA, 0, 200, "µA")
	v.OptInt("main_kpa", &b.MainKPA, 0, 1000, "kPa")
	v.OptInt("extra_kpa", &b.ExtraKPA, 0, 1000, "kPa")
	v.OptInt("distance_mm", &b.DistanceMM, 0, 2000, "mm")
	v.Bool("worked", &b.Worked)
}

func (*SetupSet) refs() Refs { return Refs{} }

// Gun is the set-up as the rules of the gun take it.
func (b *SetupSet) Gun() gun.Setup {
	return gun.Setup{ID: b.Setup, Name: b.Name, Booth: b.Booth, Powder: b.Powder, Parts: b.Parts, Charging: b.Charging, KV: b.KV, UA: b.UA,
		MainKPA: b.MainKPA, ExtraKPA: b.ExtraKPA, Nozzle: b.Nozzle, DistanceMM: b.DistanceMM}
}

// OutputTested is a weigh test of the gun: what comes out at a setting of the main air.
type OutputTested struct {
	Booth, Powder string
	MainKPA       int64
	MGPerMin      int64
}

func (b *OutputTested) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.ID("powder", &b.Powder)
	v.Int("main_kpa", &b.MainKPA, 0, 1000, "kPa")
	v.Int("mg_per_min", &b.MGPerMin, 0, gun.OutputMax, "mg/min")
}

func (b *OutputTested) refs() Refs { return Refs{Booths: named(b.Booth), Powders: named(b.Powder)} }

// DepositTested is a weighed transfer efficiency at an output of the gun.
type DepositTested struct {
	Booth, Powder  string
	MGPerMin, TEPM int64
}

func (b *DepositTested) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.ID("powder", &b.Powder)
	v.Int("mg_per_min", &b.MGPerMin, 0, gun.OutputMax, "mg/min")
	v.Int("te_pm", &b.TEPM, 0, 1000, "‰")
}

func (b *DepositTested) refs() Refs { return Refs{Booths: named(b.Booth), Powders: named(b.Powder)} }

// GroundChecked is a check of the grounding of a booth.
type GroundChecked struct {
	Booth string
	OK    bool
	Ohm   int64
}

func (b *GroundChecked) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.Bool("ok", &b.OK)
	v.OptInt("ohm", &b.Ohm, 0, 1_000_000_000, "Ω")
}

func (b *GroundChecked) refs() Refs { return Refs{Booths: named(b.Booth)} }
