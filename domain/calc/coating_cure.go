package calc

import (
	"hoppertally/domain/coating"
	"hoppertally/domain/form"
)

// cureCalcs judge temperature curves.
func cureCalcs() []Calc {
	return []Calc{
		define(Calc{
			Name:   "coating.cure",
			About:  "Whether a logged metal temperature has cured the powder: time at temperature, equivalent minutes and verdict.",
			Source: "Arrhenius over the curve by trapezoids; R = 8.314462618 J/(mol·K). Windows are the powder maker's.",
			Example: `{"curve":[{"minute":0,"temp_c":25},{"minute":8,"temp_c":180},{"minute":10,"temp_c":200},{"minute":22,"temp_c":200},{"minute":26,"temp_c":60}],` +
				`"ref_c":200,"min_minutes":10,"max_minutes":20,"from_c":180,"peak_c":220,"ea_kj_mol":60}`,
		}, func() *cureIn { return &cureIn{} }, cure),
		define(Calc{
			Name:    "coating.equivalent",
			About:   "The time at another metal temperature that cures as much.",
			Source:  "t₂ = t₁·exp[(Ea/R)(1/T₂ − 1/T₁)].",
			Example: `{"ea_kj_mol":80,"ref_c":200,"minutes":10,"temp_c":180}`,
		}, func() *equivalentIn { return &equivalentIn{} }, equivalent),
		define(Calc{
			Name:    "coating.activation",
			About:   "The activation energy that two points of a data sheet imply.",
			Source:  "Arrhenius through both points.",
			Example: `{"temp1_c":180,"minutes1":20,"temp2_c":190,"minutes2":15}`,
		}, func() *activationIn { return &activationIn{} }, activation),
	}
}

// logMax bounds the points of a logged curve.
const logMax = 2000

type cureIn struct {
	curve  []coating.Logged
	window coating.Window
}

func (in *cureIn) Fields(v *form.Visitor) {
	form.List(v, "curve", &in.curve, 2, logMax, func(v *form.Visitor, p *coating.Logged) {
		v.Float("minute", &p.Minute, 0, 10_000, "min")
		tempField(v, "temp_c", &p.C)
	})
	tempField(v, "ref_c", &in.window.RefC)
	v.Float("min_minutes", &in.window.MinMin, 0.1, 10_000, "min")
	v.OptFloat("max_minutes", &in.window.MaxMin, 0, 10_000, "min, 0 for no limit")
	tempField(v, "from_c", &in.window.FromC)
	v.OptFloat("peak_c", &in.window.PeakC, 0, coating.CureMaxC, "°C, 0 for no limit")
	v.Float("ea_kj_mol", &in.window.EaKJ, 0, 300, "kJ/mol")
}

// tempField is a metal temperature. Between its bounds an Arrhenius factor of up to
// 300 kJ/mol stays below 1e53.
func tempField(v *form.Visitor, name string, c *float64) {
	v.Float(name, c, coating.CureMinC, coating.CureMaxC, "°C")
}

type cureOut struct {
	Verdict       string   `json:"verdict" doc:"pass, under or over"`
	Why           []string `json:"why" doc:"minutes.few, minutes.many, peak.high; empty on a pass"`
	AtTempMin     float64  `json:"at_temp_min" unit:"min" doc:"time at or above the start of the window"`
	EquivalentMin float64  `json:"equivalent_min" unit:"min" doc:"time at the reference temperature that cures as much"`
	Reached       bool     `json:"reached" doc:"whether the window was reached at all"`
	ReachedMin    float64  `json:"reached_min" unit:"min" doc:"when it was first reached; 0 if never"`
	PeakC         float64  `json:"peak_c" unit:"°C" doc:"hottest metal"`
}

func cure(in *cureIn) (any, error) {
	c, err := coating.JudgeCure(in.curve, in.window)
	return cureOut{c.Verdict, c.Why, c.AtTempMin, c.EquivalentMin, c.Reached, c.ReachedMin, c.PeakC}, err
}

type equivalentIn struct{ ea, ref, minutes, temp float64 }

func (in *equivalentIn) Fields(v *form.Visitor) {
	v.Float("ea_kj_mol", &in.ea, 0, 300, "kJ/mol")
	tempField(v, "ref_c", &in.ref)
	v.Float("minutes", &in.minutes, 0, 10_000, "min")
	tempField(v, "temp_c", &in.temp)
}

type equivalentOut struct {
	Minutes float64 `json:"minutes" unit:"min" doc:"time at the other temperature"`
}

func equivalent(in *equivalentIn) (any, error) {
	t, err := coating.Equivalent(in.ea, in.ref, in.minutes, in.temp)
	return equivalentOut{t}, err
}

type activationIn struct{ temp1, minutes1, temp2, minutes2 float64 }

func (in *activationIn) Fields(v *form.Visitor) {
	tempField(v, "temp1_c", &in.temp1)
	v.Float("minutes1", &in.minutes1, 0.01, 10_000, "min")
	tempField(v, "temp2_c", &in.temp2)
	v.Float("minutes2", &in.minutes2, 0.01, 10_000, "min")
}

type activationOut struct {
	EaKJ float64 `json:"ea_kj_mol" unit:"kJ/mol" doc:"activation energy"`
}

func activation(in *activationIn) (any, error) {
	ea, err := coating.Activation(in.temp1, in.minutes1, in.temp2, in.minutes2)
	return activationOut{ea}, err
}
