package calc

import (
	"math"

	"hoppertally/domain/form"
	"hoppertally/domain/reconcile"
)

// reconcileCalcs are the calculations of domain/reconcile.
func reconcileCalcs() []Calc {
	return []Calc{
		define(Calc{
			Name:   "reconcile.run",
			About:  "Whether the weighings of a run fit each other, what they most likely were, what was lost, and which one looks wrong.",
			Source: reconcileSource,
			Example: `{"charged":{"kg":20,"sd_kg":0.05},"recovered":{"kg":7.4,"sd_kg":0.05},"scrapped":{"kg":0.2,"sd_kg":0.05},"on_parts":{"kg":9,"sd_kg":0.3},` +
				`"left_over":{"kg":5,"sd_kg":0.05},"lost":{"kg":0.4,"sd_kg":0.2},"te":{"share":0.6,"sd":0.03},"recovery_rate":{"share":0.9,"sd":0.03}}`,
		}, func() *closeRunIn { return &closeRunIn{level: suspectLevel} }, closeRun),
		define(Calc{
			Name:   "reconcile.balance",
			About:  "What measurements that should balance most likely were, whether they fit, and which one looks wrong.",
			Source: reconcileSource,
			Example: `{"measured":[{"id":"charged","value":20,"sd":0.05},{"id":"hopper","value":14.1,"sd":0.05},{"id":"bin","value":3.9,"sd":0.05},{"id":"both","value":18.1,"sd":0.05}],` +
				`"balances":[{"in":["charged"],"out":["hopper","bin"]},{"in":["hopper","bin"],"out":["both"]}]}`,
		}, func() *flowsIn { return &flowsIn{level: suspectLevel} }, flows),
	}
}

const (
	reconcileSource = "Weighted least squares under balances, chi-squared test of the imbalance, measurement test: Narasimhan and Jordache, Data Reconciliation and Gross Error Detection (2000), from memory."
	suspectLevel    = 0.05 // common practice, no source
	runKGMax        = 1e6
)

type closeRunIn struct {
	run     reconcile.Run
	lost    reconcile.Weighed
	assumed bool
	te, rec bool
	level   float64
}

func (in *closeRunIn) Fields(v *form.Visitor) {
	r := &in.run
	for _, w := range []struct {
		name string
		at   *reconcile.Weighed
	}{{"charged", &r.Charged}, {"recovered", &r.Recovered}, {"scrapped", &r.Scrapped}, {"on_parts", &r.OnParts}, {"left_over", &r.LeftOver}} {
		v.Object(w.name, func(v *form.Visitor) { weighed(v, w.at) })
	}
	v.OptObject("lost", &in.assumed, func(v *form.Visitor) { weighed(v, &in.lost) })
	v.OptObject("te", &in.te, func(v *form.Visitor) { rate(v, &r.TE) })
	v.OptObject("recovery_rate", &in.rec, func(v *form.Visitor) { rate(v, &r.Recovery) })
	v.OptFloat("suspect_below", &in.level, 1e-9, 0.5, "probability")
}

func weighed(v *form.Visitor, w *reconcile.Weighed) {
	v.Float("kg", &w.KG, 0, runKGMax, "kg")
	v.Float("sd_kg", &w.SD, 1e-6, runKGMax, "kg")
}

func rate(v *form.Visitor, r *reconcile.Rate) {
	v.Float("share", &r.Share, 0, 1, "1")
	v.Float("sd", &r.SD, 1e-4, 1, "1")
}

// fit is what every reconciliation answers.
type fit struct {
	Statistic  float64  `json:"statistic" unit:"1" doc:"imbalance in standard uncertainties, squared and summed: chi-squared"`
	Redundancy int      `json:"redundancy" doc:"independent balances; 0: nothing could be tested"`
	PValue     float64  `json:"p_value" unit:"1" doc:"chance of such an imbalance when every measurement is sound"`
	Fits       bool     `json:"fits" doc:"whether chance explains the imbalance"`
	Suspects   []string `json:"suspects" doc:"the measurement that looks wrong; several: these balances cannot tell them apart; none when it fits"`
	Figures    []figure `json:"figures" doc:"what each measurement becomes"`
}

type figure struct {
	ID           string   `json:"id" doc:"name of the measurement; te and recovery_rate are shares, expected and as the reconciled masses give them"`
	Measured     float64  `json:"measured" unit:"as measured" doc:"as measured"`
	Reconciled   *float64 `json:"reconciled,omitempty" unit:"as measured" doc:"what it most likely was; absent for the rate of a run that sprayed nothing"`
	ReconciledSD *float64 `json:"reconciled_sd,omitempty" unit:"as measured" doc:"standard uncertainty of that"`
	Adjustment   *float64 `json:"adjustment,omitempty" unit:"as measured" doc:"reconciled less measured"`
	AdjustmentSD *float64 `json:"adjustment_sd,omitempty" unit:"as measured" doc:"size of adjustment to expect; 0: no balance touches it"`
	Standardised float64  `json:"standardised" unit:"1" doc:"size of the adjustment over the size to expect"`
	Why          string   `json:"why,omitempty" doc:"figure.impossible: no mass of a run lies below 0, no share outside 0 to 1; rate.nothing_sprayed: there is no rate"`
}

func fitOf(s reconcile.Solution, measured []reconcile.Measured, level float64) (fit, error) {
	list, err := s.Suspects(level)
	if err != nil {
		return fit{}, err
	}
	out := fit{
		Statistic: s.Statistic, Redundancy: s.Redundancy, PValue: s.PValue, Fits: s.PValue >= level,
		Suspects: reconcile.Named(measured, list), Figures: make([]figure, len(measured)),
	}
	for i, m := range measured {
		out.Figures[i] = figure{m.Name, m.Value, &s.Reconciled[i], &s.ReconciledSD[i], &s.Adjustments[i], &s.AdjustmentSD[i], s.Standardised[i], ""}
	}
	return out, nil
}

type closeRunOut struct {
	LostKG float64  `json:"lost_kg" unit:"kg" doc:"lost; below 0: more was found than charged"`
	LostSD float64  `json:"lost_sd_kg" unit:"kg" doc:"standard uncertainty of that"`
	OffKG  *float64 `json:"off_kg,omitempty" unit:"kg" doc:"charged less all the rest, as measured; absent where the loss is not assumed"`
	fit
}

func closeRun(in *closeRunIn) (any, error) {
	if in.assumed {
		in.run.Lost = &in.lost
	}
	c, err := in.run.Close()
	if err != nil {
		return nil, err
	}
	f, err := fitOf(c.Solution, c.Measured, in.level)
	if err != nil {
		return nil, err
	}
	out := closeRunOut{LostKG: c.LostKG, LostSD: c.LostSD, fit: f}
	if in.assumed {
		out.OffKG = &c.Off
	}
	for i := range f.Figures {
		runFigure(&f.Figures[i], in.run, c)
	}
	return out, nil
}

// runFigure says what a rate became as a share, where domain/reconcile tells in kg
// how far the run is off it, and marks what no run can have.
func runFigure(f *figure, r reconcile.Run, c reconcile.Closed) {
	sprayed, overspray := c.Sprayed()
	most := math.Inf(1)
	switch f.ID {
	case "te":
		f.share(r.TE.Share, sprayed)
		most = 1
	case "recovery_rate":
		f.share(r.Recovery.Share, overspray)
		most = 1
	}
	if x := f.Reconciled; x != nil && (*x < -impossibleFrom || *x > most+impossibleFrom) {
		f.Why = "figure.impossible"
	}
}

const (
	sprayedLeastKG = 1e-6 // a milligram: a rate of less says nothing
	impossibleFrom = 1e-9 // above what rounding can do
)

// share turns kg off an expected rate into the share of the base, in kg.
func (f *figure) share(expected, base float64) {
	f.Measured = expected
	if base < sprayedLeastKG {
		f.Reconciled, f.ReconciledSD, f.Adjustment, f.AdjustmentSD = nil, nil, nil, nil
		f.Why = "rate.nothing_sprayed"
		return
	}
	became, sd := expected+*f.Reconciled/base, *f.ReconciledSD/base
	off, offSD := *f.Adjustment/base, *f.AdjustmentSD/base
	f.Reconciled, f.ReconciledSD, f.Adjustment, f.AdjustmentSD = &became, &sd, &off, &offSD
}

type flowsIn struct {
	measured []reconcile.Measured
	balances []reconcile.Balance
	level    float64
}

func (in *flowsIn) Fields(v *form.Visitor) {
	form.List(v, "measured", &in.measured, 1, reconcile.MeasuredMax, func(v *form.Visitor, m *reconcile.Measured) {
		v.ID("id", &m.Name)
		v.Float("value", &m.Value, -1e9, 1e9, "any one unit")
		v.Float("sd", &m.SD, 1e-9, 1e9, "the same unit")
	})
	form.List(v, "balances", &in.balances, 1, reconcile.MeasuredMax, func(v *form.Visitor, b *reconcile.Balance) {
		v.IDs("in", &b.In, 0, reconcile.MeasuredMax)
		v.IDs("out", &b.Out, 0, reconcile.MeasuredMax)
	})
	v.OptFloat("suspect_below", &in.level, 1e-9, 0.5, "probability")
}

func flows(in *flowsIn) (any, error) {
	s, err := reconcile.Flows(in.measured, in.balances)
	if err != nil {
		return nil, err
	}
	f, err := fitOf(s, in.measured, in.level)
	return f, err
}
