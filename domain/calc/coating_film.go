package calc

import (
	"slices"
	"strings"

	"hoppertally/domain/coating"
	"hoppertally/domain/form"
)

// filmCalcs judge film readings.
func filmCalcs() []Calc {
	return []Calc{
		define(Calc{
			Name:    "coating.film",
			About:   "Whether a film is acceptable by the rule of a standard, and why not.",
			Source:  "SSPC-PA 2 (level 3 seen, the others from memory); Qualicoat and ISO 19840 from memory; AAMA 2603 to 2605 as in a comparison sheet of 2011.",
			Example: `{"rule":"area","level":3,"min_um":60,"max_um":90,"values_um":[62,58,66,71,47]}`,
		}, func() *filmIn { return &filmIn{level: 3} }, film),
		define(Calc{
			Name:    "coating.standard",
			About:   "Whether a film is what an architectural standard asks for, and why not.",
			Source:  "AAMA 2603 to 2605 as in a comparison sheet of 2011; Qualicoat from memory. The edition in force and the contract decide.",
			Example: `{"standard":"qualicoat-powder-class-1","values_um":[62,58,66,71,47]}`,
		}, func() *standardIn { return &standardIn{} }, standard),
		define(Calc{
			Name:    "coating.sampling",
			About:   "How many areas, spots and readings a surface needs.",
			Source:  "SSPC-PA 2: every 100 ft² up to 300, three up to 1000, one more per further 1000 (the last from memory).",
			Example: `{"area_m2":60}`,
		}, func() *samplingIn { return &samplingIn{} }, sampling),
		define(Calc{
			Name:    "coating.capability",
			About:   "Mean, standard deviation, Cp and Cpk of film readings with confidence intervals.",
			Source:  "SAS/QC user guide, CAPABILITY, after Chou, Owen and Borrego 1990; t: NIST/SEMATECH e-Handbook 1.3.5.2.",
			Example: `{"values_um":[62,58,66,71,64,69,60,63],"min_um":50,"max_um":90,"confidence":0.95,"target_um":70}`,
		}, func() *capabilityIn { return &capabilityIn{confidence: 0.95} }, capability),
		define(Calc{
			Name:    "coating.chart",
			About:   "The limits of a chart of single readings in the order they were taken.",
			Source:  "NIST/SEMATECH e-Handbook 6.3.2.2; d2 of pairs by integration, 1.128.",
			Example: `{"values_um":[49.6,47.6,49.9,51.3,47.8,51.2,52.6,52.4,53.6,52.1]}`,
		}, func() *chartIn { return &chartIn{} }, chart),
	}
}

// valuesMax bounds the readings of one judgement.
const valuesMax = 5000

type filmIn struct {
	rule            string
	level           int64
	min, max, floor float64
	belowFloor      float64
	values          []float64
}

func (in *filmIn) Fields(v *form.Visitor) {
	v.Enum("rule", &in.rule, "area", "mean80", "readings80", "steel")
	v.OptInt("level", &in.level, 1, 5, "restriction level, of area only")
	v.Float("min_um", &in.min, 1, filmMax, "µm")
	v.OptFloat("max_um", &in.max, 0, filmMax, "µm, 0 for none")
	v.OptFloat("floor_um", &in.floor, 0, filmMax, "µm, of readings80 only")
	v.OptFloat("below_floor", &in.belowFloor, 0, 0.5, "fraction of readings, of readings80 only")
	v.Floats("values_um", &in.values, 1, valuesMax, 0, 10_000, "µm")
}

type filmOut struct {
	Rule       string   `json:"rule" doc:"standard that was applied"`
	Accept     bool     `json:"accept" doc:"whether the film is acceptable"`
	Why        []string `json:"why" doc:"few.values, mean.low, mean.high, value.low, value.high, share.low; empty when accepted"`
	MeanUM     float64  `json:"mean_um" unit:"µm" doc:"mean of the values"`
	LowUM      float64  `json:"low_um" unit:"µm" doc:"smallest value"`
	HighUM     float64  `json:"high_um" unit:"µm" doc:"largest value"`
	FloorUM    float64  `json:"floor_um" unit:"µm" doc:"no value may lie below"`
	CeilingUM  float64  `json:"ceiling_um" unit:"µm" doc:"no value may lie above; 0 for no limit"`
	BelowMin   int      `json:"below_min" unit:"values" doc:"values below the minimum"`
	BelowFloor int      `json:"below_floor" unit:"values" doc:"values below the floor"`
	AboveMax   int      `json:"above_max" unit:"values" doc:"values above the ceiling"`
}

func (in *filmIn) chosen() (coating.Rule, error) {
	switch in.rule {
	case "mean80":
		return coating.MeanAnd80(in.min)
	case "readings80":
		return coating.ReadingsRule("AAMA 2603/2604/2605", in.min, in.floor, in.belowFloor)
	case "steel":
		return coating.SteelRule(in.min, in.max)
	}
	return coating.AreaRule(int(in.level), in.min, in.max)
}

func film(in *filmIn) (any, error) {
	r, err := in.chosen()
	if err != nil {
		return nil, err
	}
	return judged(r, in.values)
}

func judged(r coating.Rule, values []float64) (filmOut, error) {
	v, err := r.Judge(values)
	return filmOut{Rule: r.Standard, Accept: v.Accept, Why: v.Why, MeanUM: v.MeanUM, LowUM: v.LowUM, HighUM: v.HighUM,
		FloorUM: r.FloorUM, CeilingUM: r.CeilingUM, BelowMin: v.BelowMin, BelowFloor: v.BelowFloor, AboveMax: v.AboveMax}, err
}

type standardIn struct {
	standard string
	values   []float64
}

func (in *standardIn) Fields(v *form.Visitor) {
	var codes []string
	for _, s := range coating.Specs() {
		codes = append(codes, codeOf(s))
	}
	v.Enum("standard", &in.standard, codes...)
	v.Floats("values_um", &in.values, 1, valuesMax, 0, 10_000, "µm")
}

// codeOf is a standard and its grade in one word.
func codeOf(s coating.Spec) string {
	return strings.ReplaceAll(strings.ToLower(s.Standard+" "+s.Grade), " ", "-")
}

type standardOut struct {
	filmOut
	MinUM float64 `json:"min_um" unit:"µm" doc:"nominal minimum"`
	Seen  bool    `json:"seen" doc:"whether the figures were read in a source; else they are from memory"`
}

func standard(in *standardIn) (any, error) {
	all := coating.Specs()
	s := all[slices.IndexFunc(all, func(s coating.Spec) bool { return codeOf(s) == in.standard })]
	r, err := s.Rule()
	if err != nil {
		return nil, err
	}
	out := standardOut{MinUM: s.MinUM, Seen: s.Seen}
	out.filmOut, err = judged(r, in.values)
	return out, err
}

type samplingIn struct{ area float64 }

func (in *samplingIn) Fields(v *form.Visitor) { v.Float("area_m2", &in.area, 0.001, areaMax, "m²") }

type samplingOut struct {
	Areas    int64 `json:"areas" unit:"areas" doc:"areas of about 10 m² to measure"`
	Spots    int64 `json:"spots" unit:"spots" doc:"five per area"`
	Readings int64 `json:"readings" unit:"readings" doc:"three per spot"`
}

func sampling(in *samplingIn) (any, error) {
	s, err := coating.SamplingFor(in.area)
	return samplingOut(s), err
}

type capabilityIn struct {
	values                       []float64
	min, max, confidence, target float64
}

func (in *capabilityIn) Fields(v *form.Visitor) {
	v.Floats("values_um", &in.values, 2, valuesMax, 0, 10_000, "µm")
	v.OptFloat("min_um", &in.min, 0, filmMax, "µm, 0 for none")
	v.OptFloat("max_um", &in.max, 0, filmMax, "µm, 0 for none")
	v.OptFloat("confidence", &in.confidence, 0.5, 0.999, "of the intervals")
	v.OptFloat("target_um", &in.target, 0, filmMax, "µm, 0 for none")
}

type capabilityOut struct {
	N       int      `json:"n" unit:"values" doc:"number of values"`
	Mean    float64  `json:"mean_um" unit:"µm" doc:"mean"`
	SD      float64  `json:"sd_um" unit:"µm" doc:"standard deviation of the sample, n−1"`
	Cp      *float64 `json:"cp,omitempty" unit:"1" doc:"width of the limits over six deviations; absent with one limit"`
	CpLow   *float64 `json:"cp_low,omitempty" unit:"1" doc:"lower end of its interval"`
	CpHigh  *float64 `json:"cp_high,omitempty" unit:"1" doc:"upper end of its interval"`
	Cpk     float64  `json:"cpk" unit:"1" doc:"distance to the nearer limit over three deviations"`
	CpkLow  float64  `json:"cpk_low" unit:"1" doc:"lower end of its interval"`
	CpkHigh float64  `json:"cpk_high" unit:"1" doc:"upper end of its interval"`
	Outside int      `json:"outside" unit:"values" doc:"values outside the limits"`
	T       *float64 `json:"t,omitempty" unit:"1" doc:"Student's t of the mean against the target; absent without one"`
	Free    *int     `json:"df,omitempty" unit:"1" doc:"its degrees of freedom"`
}

func capability(in *capabilityIn) (any, error) {
	c, err := coating.Capable(in.values, coating.Limits{Lower: in.min, Upper: in.max, HasLower: in.min > 0, HasUpper: in.max > 0}, in.confidence)
	out := capabilityOut{N: c.N, Mean: c.Mean, SD: c.SD, Cpk: c.Cpk, CpkLow: c.CpkLow, CpkHigh: c.CpkHigh, Outside: c.Outside}
	if in.min > 0 && in.max > 0 {
		out.Cp, out.CpLow, out.CpHigh = &c.Cp, &c.CpLow, &c.CpHigh
	}
	if in.target > 0 && c.SD > 0 {
		t, free := coating.TAgainst(c.Mean, c.SD, c.N, in.target)
		out.T, out.Free = &t, &free
	}
	return out, err
}

type chartIn struct{ values []float64 }

func (in *chartIn) Fields(v *form.Visitor) {
	v.Floats("values_um", &in.values, 2, valuesMax, 0, 10_000, "µm")
}

type chartOut struct {
	Mean        float64 `json:"mean_um" unit:"µm" doc:"centre line"`
	MovingRange float64 `json:"moving_range_um" unit:"µm" doc:"mean difference of neighbours"`
	Lower       float64 `json:"lower_um" unit:"µm" doc:"lower limit"`
	Upper       float64 `json:"upper_um" unit:"µm" doc:"upper limit"`
	Outside     int     `json:"outside" unit:"values" doc:"values outside the limits"`
}

func chart(in *chartIn) (any, error) {
	f, err := coating.ChartFactors(2)
	if err != nil {
		return nil, err
	}
	c, err := coating.IndividualsChart(in.values, f.D2)
	return chartOut{Mean: c.Mean, MovingRange: c.MovingRange, Lower: c.Lower, Upper: c.Upper, Outside: c.OutsideLimits}, err
}
