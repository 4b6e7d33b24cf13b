package shop

import (
	"hoppertally/domain/booth"
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// ShopSet names the shop and says how it measures.
type ShopSet struct{ Name, Zone, Units, Currency, Lang string }

func (b *ShopSet) Fields(v *form.Visitor) {
	v.Text("name", &b.Name, nameMax)
	v.Text("zone", &b.Zone, 64) // IANA time zone
	v.Enum("units", &b.Units, UnitSystems...)
	v.Text("currency", &b.Currency, 3) // ISO 4217
	v.Enum("lang", &b.Lang, Languages...)
}

func (*ShopSet) refs() Refs { return Refs{} }

// PowderSet is a powder as the shop buys it: one product of one colour.
type PowderSet struct {
	Powder, Name, Maker, Code, Chemistry, Finish string
	SGMilli                                      int64     // specific gravity, thousandths
	Lab                                          []float64 // CIE L*, a*, b* (D65/10°), or nil
	FilmMin, FilmTarget, FilmMax                 int64     // µm·10
	ReclaimMaxPM, PassesMax, ShelfMonths         int64
	StoreMaxDC                                   int64        // °C·10; 0 not given
	Price                                        int64        // per kg, in hundredths of the shop's currency; 0 not given
	LeadDays                                     int64        // from order to shelf; 0 not given
	Box                                          measure.Mass // that it comes in; 0 not given
	MECMGM3                                      int64        // minimum explosible concentration, mg/m³; 0 not known
	CureDC                                       int64        // metal temperature of the cure, °C·10; 0 not given
	CureS, CureMaxS                              int64        // least and most time at or above it, s; 0 not given
}

func (b *PowderSet) Fields(v *form.Visitor) {
	v.ID("powder", &b.Powder)
	v.Text("name", &b.Name, nameMax)
	v.OptText("maker", &b.Maker, nameMax)
	v.OptText("code", &b.Code, nameMax)
	v.Enum("chemistry", &b.Chemistry, Chemistries...)
	v.OptEnum("finish", &b.Finish, Finishes...)
	v.Int("sg_milli", &b.SGMilli, 500, 5000, "thousandths of 1 g/cm³")
	v.Floats("lab", &b.Lab, 0, 3, -200, 200, "CIE L*, a*, b*")
	v.Object("film_um10", func(v *form.Visitor) {
		v.Int("min", &b.FilmMin, 1, 20000, "µm·10")
		v.Int("target", &b.FilmTarget, 1, 20000, "µm·10")
		v.Int("max", &b.FilmMax, 1, 20000, "µm·10")
	})
	v.Int("reclaim_max_pm", &b.ReclaimMaxPM, 0, 1000, "‰")
	v.OptInt("passes_max", &b.PassesMax, 0, 99, "passes")
	v.OptInt("shelf_months", &b.ShelfMonths, 0, 240, "months")
	v.OptInt("store_max_dc", &b.StoreMaxDC, -500, 1000, "°C·10")
	v.Office().OptInt("price", &b.Price, 0, 100_000_000, "hundredths per kg")
	v.OptInt("lead_days", &b.LeadDays, 0, 365, "days")
	v.OptMass("box_mg", &b.Box)
	v.OptInt("mec_mg_m3", &b.MECMGM3, 0, 1_000_000, "mg/m³")
	v.OptInt("cure_dc", &b.CureDC, 0, 5000, "°C·10")
	v.OptInt("cure_s", &b.CureS, 0, 86_400, "s")
	v.OptInt("cure_max_s", &b.CureMaxS, 0, 86_400, "s")
}

func (b *PowderSet) refs() Refs { return Refs{Powders: named(b.Powder)} }

// Check holds the rules across the fields of a powder.
func (b *PowderSet) Check() error {
	if n := len(b.Lab); n != 0 && n != 3 {
		return form.Fail("lab", n, "three numbers or none")
	}
	if b.FilmMin > b.FilmTarget || b.FilmTarget > b.FilmMax {
		return form.Fail("film_um10.target", b.FilmTarget, "min <= target <= max")
	}
	if b.CureMaxS != 0 && b.CureMaxS < b.CureS {
		return form.Fail("cure_max_s", b.CureMaxS, ">= cure_s")
	}
	return nil
}

// BoothSet is a booth with what is known of its recovery.
type BoothSet struct {
	Booth, Name      string
	ExhaustM3H       int64 // m³/h; 0 not known
	Guns             int64 // that spray at once; 0 stands for one
	TEPM, RecoveryPM int64 // first-pass transfer efficiency, share of overspray recovered; 0 not known
}

func (b *BoothSet) Fields(v *form.Visitor) {
	v.ID("booth", &b.Booth)
	v.Text("name", &b.Name, nameMax)
	v.OptInt("exhaust_m3h", &b.ExhaustM3H, 0, 1_000_000, "m³/h")
	v.OptInt("guns", &b.Guns, 0, booth.GunsMax, "guns")
	v.OptInt("te_pm", &b.TEPM, 0, 1000, "‰")
	v.OptInt("recovery_pm", &b.RecoveryPM, 0, 1000, "‰")
}

func (b *BoothSet) refs() Refs { return Refs{Booths: named(b.Booth)} }

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

// PersonSet is a person who records.
type PersonSet struct {
	Person, Name, Role string
	Gone               bool
}

func (b *PersonSet) Fields(v *form.Visitor) {
	v.ID("person", &b.Person)
	v.Text("name", &b.Name, nameMax)
	v.Enum("role", &b.Role, Roles...)
	v.Bool("gone", &b.Gone)
}

func (*PersonSet) refs() Refs { return Refs{} }

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
