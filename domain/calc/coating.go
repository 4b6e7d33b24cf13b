package calc

import (
	"hoppertally/domain/coating"
	"hoppertally/domain/form"
)

// coatingCalcs are the calculations of domain/coating.
func coatingCalcs() []Calc {
	return append([]Calc{
		define(Calc{
			Name:    "coating.coverage",
			About:   "What a kilogram or a pound of powder covers at a film thickness.",
			Source:  "1000/(SG·µm)·utilisation; charts in US units use 192.3 = 12 000 mil·ft²/ft³ ÷ 62.4 lb/ft³, exact is 192.2216.",
			Example: `{"sg":1.5,"film_um":60,"utilisation_pm":950}`,
		}, func() *coverageIn { return &coverageIn{utilisation: 1000} }, coverage),
		define(Calc{
			Name:    "coating.need",
			About:   "The powder to buy for a job, in whole boxes, and its cost.",
			Source:  "area × film × SG ÷ utilisation, plus what stays in the system and is lost at the change.",
			Example: `{"area_m2":200,"film_um":60,"sg":1.5,"utilisation_pm":900,"stays_kg":5,"loss_kg":1,"box_kg":20,"price_kg":4}`,
		}, func() *needIn { return &needIn{} }, need),
		define(Calc{
			Name:    "coating.mix",
			About:   "The specific gravity of a mixture.",
			Source:  "Σm ÷ Σ(m/SG), volumes adding up.",
			Example: `{"parts":[{"mass_kg":3,"sg":1.5},{"mass_kg":4,"sg":2}]}`,
		}, func() *mixIn { return &mixIn{} }, mix),
		define(Calc{
			Name:    "coating.excess",
			About:   "What film above target costs in powder and money.",
			Source:  "(mean − target) × area × SG ÷ utilisation.",
			Example: `{"mean_um":80,"target_um":60,"area_m2":500,"sg":1.5,"utilisation_pm":750,"price_kg":4}`,
		}, func() *excessIn { return &excessIn{} }, excess),
		define(Calc{
			Name:    "coating.transfer",
			About:   "First-pass transfer efficiency from a weighed test, with its standard uncertainty.",
			Source:  "Parts gained ÷ hopper lost; root sum of squares, JCGM 100:2008, 5.1.2.",
			Example: `{"hopper_before_g":5000,"hopper_after_g":4000,"parts_before_g":2000,"parts_after_g":2600,"hopper_sd_g":10,"parts_sd_g":3}`,
		}, func() *weighedIn { return &weighedIn{} }, weighedTransfer),
		define(Calc{
			Name:    "coating.run-transfer",
			About:   "First-pass transfer efficiency of a run from area, film and powder sprayed, with its standard uncertainty.",
			Source:  "area × film × SG ÷ sprayed; relative uncertainties as squares, JCGM 100:2008, 5.1.6.",
			Example: `{"sprayed_kg":15,"sprayed_kg_sd":0.3,"area_m2":100,"area_m2_sd":1,"film_um":60,"film_um_sd":1.2,"sg":1.5,"sg_sd":0}`,
		}, func() *measuredIn { return &measuredIn{} }, measuredTransfer),
	}, append(filmCalcs(), cureCalcs()...)...)
}

const (
	areaMax = 1e6  // m²
	filmMax = 2000 // µm
	kgMax   = 1e6
)

func sgField(v *form.Visitor, sg *float64) { v.Float("sg", sg, 0.5, 5, "g/cm³") }

type coverageIn struct {
	sg, film    float64
	utilisation int64
}

func (in *coverageIn) Fields(v *form.Visitor) {
	sgField(v, &in.sg)
	v.Float("film_um", &in.film, 1, filmMax, "µm")
	v.OptInt("utilisation_pm", &in.utilisation, 1, 1000, "‰")
}

type coverageOut struct {
	M2PerKG   float64 `json:"m2_per_kg" unit:"m²/kg" doc:"area a kilogram covers"`
	FT2PerLB  float64 `json:"ft2_per_lb" unit:"ft²/lb" doc:"area a pound covers"`
	ChartFT2  float64 `json:"chart_ft2_per_lb" unit:"ft²/lb" doc:"the same by the rounded constant of printed charts"`
	DepositG  float64 `json:"deposit_g_per_m2" unit:"g/m²" doc:"powder on a square metre"`
	KGPer100M float64 `json:"kg_per_100_m2" unit:"kg" doc:"powder to put in for 100 m²"`
}

func coverage(in *coverageIn) (any, error) {
	u := float64(in.utilisation) / 1000
	m2, err := coating.Coverage(in.sg, in.film, u)
	if err != nil {
		return nil, err
	}
	exact, err := coating.CoverageUS(coating.ExactFT2, in.sg, in.film/25.4, u)
	if err != nil {
		return nil, err
	}
	chart, err := coating.CoverageUS(coating.ChartFT2, in.sg, in.film/25.4, u)
	return coverageOut{M2PerKG: m2, FT2PerLB: exact, ChartFT2: chart, DepositG: coating.Deposit(in.sg, in.film), KGPer100M: 100 / m2}, err
}

type needIn struct {
	job         coating.Job
	utilisation int64
}

func (in *needIn) Fields(v *form.Visitor) {
	v.Float("area_m2", &in.job.AreaM2, 0.001, areaMax, "m²")
	v.Float("film_um", &in.job.FilmUM, 1, filmMax, "µm")
	sgField(v, &in.job.SG)
	v.Int("utilisation_pm", &in.utilisation, 1, 1000, "‰")
	v.OptFloat("stays_kg", &in.job.StaysKG, 0, kgMax, "kg")
	v.OptFloat("loss_kg", &in.job.LossKG, 0, kgMax, "kg")
	v.Float("box_kg", &in.job.BoxKG, 0.1, 2000, "kg")
	v.OptFloat("price_kg", &in.job.PriceKG, 0, moneyMax, "money per kg")
}

type needOut struct {
	OnPartsKG float64 `json:"on_parts_kg" unit:"kg" doc:"powder on the parts"`
	UsedKG    float64 `json:"used_kg" unit:"kg" doc:"powder put in for them"`
	BuyKG     float64 `json:"buy_kg" unit:"kg" doc:"with what stays in the system and is lost at the change"`
	Boxes     int64   `json:"boxes" unit:"boxes" doc:"rounded up to whole boxes"`
	LeftKG    float64 `json:"left_kg" unit:"kg" doc:"left in the boxes"`
	Cost      float64 `json:"cost" unit:"money" doc:"of the boxes"`
	PerM2     float64 `json:"per_m2" unit:"money/m²" doc:"powder used per square metre"`
}

func need(in *needIn) (any, error) {
	in.job.Utilisation = float64(in.utilisation) / 1000
	n, err := coating.PowderNeed(in.job)
	return needOut(n), err
}

type mixIn struct{ parts []coating.Ingredient }

func (in *mixIn) Fields(v *form.Visitor) {
	form.List(v, "parts", &in.parts, 1, 100, func(v *form.Visitor, p *coating.Ingredient) {
		v.Float("mass_kg", &p.MassKG, 0, kgMax, "kg")
		sgField(v, &p.SG)
	})
}

type mixOut struct {
	SG float64 `json:"sg" unit:"g/cm³" doc:"specific gravity of the mixture"`
}

func mix(in *mixIn) (any, error) {
	sg, err := coating.MixSG(in.parts)
	return mixOut{sg}, err
}

type excessIn struct {
	mean, target, area, sg, price float64
	utilisation                   int64
}

func (in *excessIn) Fields(v *form.Visitor) {
	v.Float("mean_um", &in.mean, 0, filmMax, "µm")
	v.Float("target_um", &in.target, 1, filmMax, "µm")
	v.Float("area_m2", &in.area, 0.001, areaMax, "m²")
	sgField(v, &in.sg)
	v.Int("utilisation_pm", &in.utilisation, 1, 1000, "‰")
	v.OptFloat("price_kg", &in.price, 0, moneyMax, "money per kg")
}

type excessOut struct {
	OnPartsKG float64 `json:"on_parts_kg" unit:"kg" doc:"powder on the parts beyond the target; negative below it"`
	UsedKG    float64 `json:"used_kg" unit:"kg" doc:"powder put in for it"`
	Money     float64 `json:"money" unit:"money" doc:"what it costs"`
}

func excess(in *excessIn) (any, error) {
	e, err := coating.ExcessFilm(in.mean, in.target, in.area, in.sg, float64(in.utilisation)/1000, in.price)
	return excessOut(e), err
}

// gramsMax bounds a weighing of a test.
const gramsMax = 1e7

type weighedIn struct{ w coating.Weighed }

func (in *weighedIn) Fields(v *form.Visitor) {
	v.Float("hopper_before_g", &in.w.HopperBeforeG, 0, gramsMax, "g")
	v.Float("hopper_after_g", &in.w.HopperAfterG, 0, gramsMax, "g")
	v.Float("parts_before_g", &in.w.PartsBeforeG, 0, gramsMax, "g")
	v.Float("parts_after_g", &in.w.PartsAfterG, 0, gramsMax, "g")
	v.OptFloat("hopper_sd_g", &in.w.HopperSDG, 0, gramsMax, "g")
	v.OptFloat("parts_sd_g", &in.w.PartsSDG, 0, gramsMax, "g")
}

type transferOut struct {
	TE float64 `json:"te" unit:"1" doc:"mass on parts over mass out of the gun"`
	SD float64 `json:"te_sd" unit:"1" doc:"its standard uncertainty"`
}

func weighedTransfer(in *weighedIn) (any, error) {
	f, err := coating.WeighedTransfer(in.w)
	return transferOut{f.Value, f.SD}, err
}

type measuredIn struct{ r coating.Measured }

func (in *measuredIn) Fields(v *form.Visitor) {
	figure := func(name string, f *coating.Figure, min, max float64, unit string) {
		v.Float(name, &f.Value, min, max, unit)
		v.OptFloat(name+"_sd", &f.SD, 0, max, unit)
	}
	figure("sprayed_kg", &in.r.SprayedKG, 0.001, kgMax, "kg")
	figure("area_m2", &in.r.AreaM2, 0.001, areaMax, "m²")
	figure("film_um", &in.r.FilmUM, 1, filmMax, "µm")
	figure("sg", &in.r.SG, 0.5, 5, "g/cm³")
}

func measuredTransfer(in *measuredIn) (any, error) {
	f, err := coating.MeasuredTransfer(in.r)
	return transferOut{f.Value, f.SD}, err
}
