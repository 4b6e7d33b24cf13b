package calc

import (
	"hoppertally/domain/form"
	"hoppertally/domain/gun"
)

// gunCalcs are the calculations of domain/gun.
func gunCalcs() []Calc {
	return []Calc{
		define(Calc{
			Name:    "gun.output",
			About:   "What comes out of the gun at a main air, or which main air gives an output, from weigh tests.",
			Source:  "Monotone interpolation: Fritsch, Butland 1984. Never beyond the tested range.",
			Example: `{"tests":[{"main_kpa":100,"mg_per_min":80000},{"main_kpa":150,"mg_per_min":120000},{"main_kpa":200,"mg_per_min":170000}],"main_kpa":175}`,
		}, func() *outputIn { return &outputIn{} }, outputAt),
		define(Calc{
			Name:   "gun.flow",
			About:  "The powder flow with the least cost per part, the whole curve, and how flat it is around the best.",
			Source: "Our rule: labour and booth × minutes + powder not recovered; minutes = needed deposit ÷ (flow × transfer efficiency).",
			Example: `{"deposits":[{"mg_per_min":80000,"te_pm":780},{"mg_per_min":150000,"te_pm":700},{"mg_per_min":220000,"te_pm":580},{"mg_per_min":300000,"te_pm":430}],` +
				`"need_mg":120000,"per_minute":110,"price":900,"dust_max_mg":250000}`,
		}, func() *flowIn { return &flowIn{} }, flow),
		define(Calc{
			Name:    "gun.hose",
			About:   "Whether a hose carries its powder or surges, and the most it carries.",
			Source:  "Rizk 1973, as given by Rhodes, Introduction to Particle Technology; an estimate in a hose narrower than the rule's pipes.",
			Example: `{"air_l_min":75,"bore_mm":11,"mg_per_min":180000,"size_um":35}`,
		}, func() *hoseIn { return &hoseIn{} }, hose),
		define(Calc{
			Name:   "gun.setup",
			About:  "Which set-ups to try for a powder, a kind of part and a booth, the last success first.",
			Source: "Our rule: the same powder counts most, then the kind of part, then the booth.",
			Example: `{"powder":"sky","parts":"inside corners","setups":[{"setup":"soft","main_kpa":100,"extra_kpa":50},{"setup":"strong","main_kpa":200,"extra_kpa":100}],` +
				`"uses":[{"setup":"soft","powder":"sky","parts":"inside corners","at_ms":1760000000000,"worked":true}]}`,
		}, func() *setupIn { return &setupIn{} }, setup),
		define(Calc{
			Name:    "gun.advice",
			About:   "What to change in a set-up against a symptom, one thing at a time, and what stands out in it.",
			Source:  "Common practice, no source.",
			Example: `{"symptom":"symptom.surging","main_kpa":180,"extra_kpa":40}`,
		}, func() *adviceIn { return &adviceIn{} }, advice),
	}
}

type outputIn struct {
	tests        []gun.OutputTest
	main, output float64
}

func (in *outputIn) Fields(v *form.Visitor) {
	form.List(v, "tests", &in.tests, 2, gun.PointsMax, func(v *form.Visitor, t *gun.OutputTest) {
		v.Int("main_kpa", &t.MainKPA, 0, 1000, "kPa")
		v.Int("mg_per_min", &t.MGPerMin, 0, gun.OutputMax, "mg/min")
	})
	v.OptFloat("main_kpa", &in.main, 0, 1000, "kPa, 0 for not asked")
	v.OptFloat("mg_per_min", &in.output, 0, gun.OutputMax, "mg/min, 0 for not asked")
}

type outputOut struct {
	FromKPA float64  `json:"from_kpa" unit:"kPa" doc:"lowest tested main air"`
	ToKPA   float64  `json:"to_kpa" unit:"kPa" doc:"highest tested main air"`
	FromMG  float64  `json:"from_mg_per_min" unit:"mg/min" doc:"lowest tested output"`
	ToMG    float64  `json:"to_mg_per_min" unit:"mg/min" doc:"highest tested output"`
	Output  *float64 `json:"mg_per_min,omitempty" unit:"mg/min" doc:"output at the main air asked for; absent when not asked"`
	Main    *float64 `json:"main_kpa,omitempty" unit:"kPa" doc:"lowest main air for the output asked for; absent when not asked"`
	Pooled  bool     `json:"pooled" doc:"tests contradicted each other and were evened out"`
}

func outputAt(in *outputIn) (any, error) {
	o, err := gun.FitOutput(in.tests)
	if err != nil {
		return nil, err
	}
	out := outputOut{Pooled: o.Pooled()}
	out.FromKPA, out.ToKPA, out.FromMG, out.ToMG = o.Range()
	if in.main > 0 {
		mg, err := o.At(in.main)
		if err != nil {
			return nil, err
		}
		out.Output = &mg
	}
	if in.output > 0 {
		kpa, err := o.For(in.output)
		if err != nil {
			return nil, err
		}
		out.Main = &kpa
	}
	return out, nil
}

type flowIn struct {
	deposits []gun.DepositTest
	work     gun.Work
}

func (in *flowIn) Fields(v *form.Visitor) {
	form.List(v, "deposits", &in.deposits, 2, gun.PointsMax, func(v *form.Visitor, t *gun.DepositTest) {
		v.Int("mg_per_min", &t.MGPerMin, 1, gun.OutputMax, "mg/min")
		v.Int("te_pm", &t.TEPM, 1, 1000, "‰")
	})
	v.Int("need_mg", (*int64)(&in.work.Need), 1, int64(gun.NeedMax), "mg on one part")
	v.Float("per_minute", &in.work.PerMinute, 0, 1e6, "hundredths per minute")
	v.Int("price", &in.work.Price, 0, 100_000_000, "hundredths per kg")
	v.OptInt("recovered_pm", (*int64)(&in.work.Recovered), 0, 1000, "‰ of the overspray")
	v.OptFloat("takt_min", &in.work.TaktMin, 0, 1e5, "min, 0 for none")
	v.OptFloat("dust_max_mg", &in.work.DustMaxMG, 0, 1e9, "mg/min, 0 for none")
	v.OptFloat("hose_max_mg", &in.work.HoseMaxMG, 0, 1e9, "mg/min, 0 for none")
}

type flowPoint struct {
	Flow    float64  `json:"mg_per_min" unit:"mg/min" doc:"powder out of the gun"`
	TE      float64  `json:"te" unit:"1" doc:"transfer efficiency"`
	Minutes float64  `json:"minutes" unit:"min" doc:"per part"`
	Time    float64  `json:"time" unit:"hundredths" doc:"labour and booth per part"`
	Powder  float64  `json:"powder" unit:"hundredths" doc:"powder not recovered per part"`
	Total   float64  `json:"total" unit:"hundredths" doc:"both"`
	Limits  []string `json:"limits" doc:"what forbids this flow: flow.takt, flow.dust, flow.hose"`
}

type flowOut struct {
	Found  bool        `json:"found" doc:"a flow within all limits was tested"`
	Best   *flowPoint  `json:"best,omitempty" doc:"the cheapest of them"`
	FlatLo float64     `json:"flat_from" unit:"mg/min" doc:"from here to flat_to the cost is at most 2 % higher"`
	FlatHi float64     `json:"flat_to" unit:"mg/min" doc:"see flat_from"`
	Limits []string    `json:"limits" doc:"when none was found: what is in the way"`
	Curve  []flowPoint `json:"curve" doc:"over the whole tested range"`
	Pooled bool        `json:"pooled" doc:"tests contradicted each other and were evened out"`
}

func limitWords(limits []gun.Limit) []string {
	words := []string{}
	for _, l := range limits {
		words = append(words, string(l))
	}
	return words
}

func flowPointOut(p gun.FlowPoint) flowPoint {
	return flowPoint{p.MGPerMin, p.TE, p.Minutes, p.Time, p.Powder, p.Total, limitWords(p.Limits)}
}

func flow(in *flowIn) (any, error) {
	d, err := gun.FitDeposit(in.deposits)
	if err != nil {
		return nil, err
	}
	b, err := gun.BestFlow(d, in.work)
	if err != nil {
		return nil, err
	}
	out := flowOut{Found: b.Found, FlatLo: b.FlatLo, FlatHi: b.FlatHi, Limits: limitWords(b.Limits), Pooled: d.Pooled()}
	for _, p := range b.Curve {
		out.Curve = append(out.Curve, flowPointOut(p))
	}
	if b.Found {
		best := flowPointOut(b.Best)
		out.Best = &best
	}
	return out, nil
}

type hoseIn struct{ gun.Hose }

func (in *hoseIn) Fields(v *form.Visitor) {
	v.Float("air_l_min", &in.AirLMin, 1, 10_000, "l/min of free air")
	v.Float("bore_mm", &in.BoreMM, 1, 500, "mm")
	v.Float("mg_per_min", &in.MGPerMin, 1, gun.HoseFlowMax, "mg/min")
	v.Float("size_um", &in.SizeUM, 1, 1000, "µm, d50")
}

type hoseOut struct {
	Speed     float64 `json:"speed_m_s" unit:"m/s" doc:"of the air"`
	Loading   float64 `json:"loading" unit:"kg/kg" doc:"powder per air"`
	Saltation float64 `json:"saltation_m_s" unit:"m/s" doc:"air speed below which powder settles, an estimate"`
	Margin    float64 `json:"margin" unit:"1" doc:"air speed over saltation speed"`
	Verdict   string  `json:"verdict" doc:"hose.carries, hose.close, hose.surges"`
	Most      float64 `json:"most_mg_per_min" unit:"mg/min" doc:"powder flow at which the margin is 1"`
}

func hose(in *hoseIn) (any, error) {
	t, err := in.Carry()
	return hoseOut{t.Speed, t.Loading, t.Saltation, t.Margin, string(t.Verdict), t.MostMG}, err
}

// setupFields are the numbers of a set-up.
func setupFields(v *form.Visitor, s *gun.Setup) {
	v.OptInt("kv", &s.KV, 0, 120, "kV")
	v.OptInt("ua", &s.UA, 0, 200, "µA")
	v.OptInt("main_kpa", &s.MainKPA, 0, 1000, "kPa")
	v.OptInt("extra_kpa", &s.ExtraKPA, 0, 1000, "kPa")
	v.OptInt("distance_mm", &s.DistanceMM, 0, 2000, "mm")
}

type setupIn struct {
	job    gun.Job
	setups []gun.Setup
	uses   []gun.Used
}

func (in *setupIn) Fields(v *form.Visitor) {
	v.OptID("booth", &in.job.Booth)
	v.OptID("powder", &in.job.Powder)
	v.OptText("parts", &in.job.Parts, 200)
	form.List(v, "setups", &in.setups, 1, 1000, func(v *form.Visitor, s *gun.Setup) {
		v.ID("setup", &s.ID)
		v.OptText("name", &s.Name, 200)
		v.OptID("booth", &s.Booth)
		v.OptID("powder", &s.Powder)
		v.OptText("parts", &s.Parts, 200)
		v.OptText("charging", &s.Charging, 200)
		v.OptText("nozzle", &s.Nozzle, 200)
		setupFields(v, s)
	})
	form.List(v, "uses", &in.uses, 0, 1000, func(v *form.Visitor, u *gun.Used) {
		v.ID("setup", &u.Setup)
		v.OptID("booth", &u.Booth)
		v.OptID("powder", &u.Powder)
		v.OptText("parts", &u.Parts, 200)
		v.Int("at_ms", &u.AtMS, 0, 253402300799999, "ms since 1970-01-01 UTC")
		v.Bool("worked", &u.Worked)
	})
}

type setupSuggestion struct {
	Setup  string `json:"setup" doc:"id of the set-up"`
	Match  int    `json:"match" doc:"4 the same powder, 2 the same kind of part, 1 the same booth, added up"`
	LastMS int64  `json:"last_ms,omitempty" unit:"ms since 1970-01-01 UTC" doc:"when it last worked for the nearest job; absent when it never did"`
	Worked int64  `json:"worked" doc:"times it worked"`
	Failed int64  `json:"failed" doc:"times it did not"`
	Latest *bool  `json:"latest,omitempty" doc:"whether its latest use worked; absent when it was never used"`
}

type setupOut struct {
	Try []setupSuggestion `json:"try" doc:"in the order to try them"`
}

func setup(in *setupIn) (any, error) {
	out := setupOut{Try: []setupSuggestion{}}
	for _, g := range gun.Suggest(in.job, in.setups, in.uses) {
		s := setupSuggestion{Setup: g.Setup.ID, Match: g.Match, LastMS: g.LastMS, Worked: g.Worked, Failed: g.Failed}
		if g.Worked+g.Failed > 0 {
			s.Latest = &g.Latest
		}
		out.Try = append(out.Try, s)
	}
	return out, nil
}

type adviceIn struct {
	symptom string
	now     gun.Setup
}

func (in *adviceIn) Fields(v *form.Visitor) {
	v.OptEnum("symptom", &in.symptom, gun.Symptoms()...)
	setupFields(v, &in.now)
}

type adviceStep struct {
	Code  string `json:"code" doc:"what to try"`
	Field string `json:"field,omitempty" doc:"what to set; absent for something to do"`
	From  int64  `json:"from,omitempty" doc:"as it is now; absent when not given, or for something to do"`
	To    int64  `json:"to,omitempty" doc:"what to set it to; absent for something to do"`
}

type adviceStart struct {
	Code     string  `json:"code" doc:"which starting point"`
	MainKPA  int64   `json:"main_kpa" unit:"kPa" doc:"main air"`
	ExtraKPA int64   `json:"extra_kpa,omitempty" unit:"kPa" doc:"extra air; absent where nobody should go"`
	Powder   float64 `json:"powder,omitempty" unit:"1" doc:"powder compared with the first one; absent where nobody should go"`
}

type adviceOut struct {
	Try    []adviceStep  `json:"try" doc:"one thing at a time, in this order"`
	Look   []string      `json:"look" doc:"what stands out in the set-up"`
	Starts []adviceStart `json:"starts" doc:"starting points for hand work"`
}

func advice(in *adviceIn) (any, error) {
	out := adviceOut{Try: []adviceStep{}, Look: append([]string{}, gun.Look(in.now)...)}
	for _, a := range gun.Advise(in.symptom, in.now) {
		out.Try = append(out.Try, adviceStep(a))
	}
	for _, s := range gun.Starts() {
		out.Starts = append(out.Starts, adviceStart(s))
	}
	return out, nil
}
