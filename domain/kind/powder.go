package kind

import (
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

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
