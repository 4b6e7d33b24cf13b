package calc

import (
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
	"hoppertally/domain/reclaim"
)

// reclaimCalcs are the calculations of domain/reclaim.
func reclaimCalcs() []Calc {
	return []Calc{
		define(Calc{
			Name:    "reclaim.topup",
			About:   "How much reclaim and virgin fill a hopper without passing the share of reclaim the powder allows.",
			Source:  "Our rule: mass balance, rounded down to the milligram.",
			Example: `{"holds_mg":10000000,"holds_reclaim_mg":4000000,"capacity_mg":25000000,"share_pm":300,"reclaim_mg":50000000,"virgin_mg":50000000}`,
		}, func() *topUpIn { return &topUpIn{} }, topUp),
		define(Calc{
			Name:    "reclaim.charge",
			About:   "How much reclaim and virgin make a charge of a given mass at a given share.",
			Source:  "Our rule: mass balance, rounded down to the milligram.",
			Example: `{"want_mg":20000000,"share_pm":300,"reclaim_mg":50000000,"virgin_mg":50000000}`,
		}, func() *chargeIn { return &chargeIn{} }, charge),
		define(Calc{
			Name:    "reclaim.steady",
			About:   "How a closed loop runs once it has settled, with the share of reclaim capped or not.",
			Source:  "Mass balance over the feed: utilisation T/(1−q), q = (1−T)·R; capped T/(1−φ).",
			Example: `{"te_pm":600,"recovery_pm":950,"share_pm":300}`,
		}, func() *steadyIn { return &steadyIn{share: 1000} }, steady),
		define(Calc{
			Name:    "reclaim.passes",
			About:   "How much of a settled feed is on which pass, and how much of one virgin charge is on parts after each.",
			Source:  "Mass balance: (1−h)·h^(k−1) of the feed with the share h of reclaim; T·(1−q^k)/(1−q) of a charge that is never topped up, q = (1−T)·R.",
			Example: `{"te_pm":600,"recovery_pm":950,"share_pm":1000,"passes":5}`,
		}, func() *passesIn { return &passesIn{steadyIn: steadyIn{share: 1000}} }, passes),
		define(Calc{
			Name:    "reclaim.settle",
			About:   "The share of reclaim in a feed after it was sprayed over a number of times, and when it has settled.",
			Source:  "Mass balance of a well-mixed feed that is kept full: h(n) = q + (h₀ − q)·e^(−n).",
			Example: `{"te_pm":600,"recovery_pm":950,"share_pm":300,"start_pm":0,"turnovers":2,"within_pm":10}`,
		}, func() *settleIn { return &settleIn{steadyIn: steadyIn{share: 1000}, within: 10} }, settle),
		define(Calc{
			Name:   "reclaim.choose",
			About:  "Which bins and lots make up a charge under limits on share, fines, passes and shelf life: most reclaim, then least passes.",
			Source: "Our rule, as a linear programme; a clash names a smallest set of limits that cannot stand together.",
			Example: `{"powder":"sky","want_mg":20000000,"share_pm":300,"fines_max":0.08,"passes_max":5,"day":"2026-04-01","sources":[` +
				`{"id":"bin 1","powder":"sky","mass_mg":4000000,"reclaim_mg":4000000,"passes":1.4,"fines":0.1},{"id":"lot A","powder":"sky","mass_mg":18000000,"fines":0.05,"use_by":"2026-09-30"}]}`,
		}, func() *chooseIn { return &chooseIn{lim: reclaim.Limits{Fines: 1, Passes: 99}} }, choose),
		define(Calc{
			Name:   "reclaim.sizes",
			About:  "The particle size curve of a mixture, its d10, d50 and d90, and how much of it is fines.",
			Source: "Mass-weighted cumulative curves, interpolated on the logarithm of size; fines are below 10 µm (common practice, no source).",
			Example: `{"parts":[{"mass_mg":7000000,"curve":[{"um":2,"under":0},{"um":10,"under":0.04},{"um":32,"under":0.5},{"um":125,"under":1}]},` +
				`{"mass_mg":3000000,"curve":[{"um":1,"under":0},{"um":10,"under":0.14},{"um":24,"under":0.5},{"um":100,"under":1}]}],"fines_max":0.08}`,
		}, func() *sizesIn { return &sizesIn{finesMax: 1} }, sizes),
		define(Calc{
			Name:    "reclaim.worth",
			About:   "From how much sprayed powder, area or parts on collecting pays for its dearer change of colour.",
			Source:  "Break-even: extra change cost ÷ ((1−T)·R·price).",
			Example: `{"te_pm":600,"recovery_pm":900,"extra_change_cost":36,"price_kg":5,"film_um":60,"sg":1.5,"part_m2":0.5}`,
		}, func() *worthIn { return &worthIn{} }, worth),
		define(Calc{
			Name:   "reclaim.ways",
			About:  "What a job costs sprayed to waste, collected, and in a closed loop, side by side.",
			Source: "Mass balance of each way; money as entered.",
			Example: `{"te_pm":600,"recovery_pm":900,"share_pm":1000,"area_m2":100,"film_um":60,"sg":1.5,"parts":50,"price_kg":5,"reclaimed_kg":3,` +
				`"handling_kg":0.5,"disposal_kg":1,"waste_change":10,"collect_change":20,"loop_change":40}`,
		}, func() *waysIn { return &waysIn{steadyIn: steadyIn{share: 1000}} }, ways),
	}
}

type topUpIn struct {
	hopper          reclaim.Hopper
	share           int64
	reclaim, virgin measure.Mass
}

func (in *topUpIn) Fields(v *form.Visitor) {
	v.Mass("holds_mg", &in.hopper.Holds)
	v.Mass("holds_reclaim_mg", &in.hopper.Reclaim)
	v.Mass("capacity_mg", &in.hopper.Capacity)
	v.Int("share_pm", &in.share, 0, 1000, "‰")
	v.Mass("reclaim_mg", &in.reclaim)
	v.Mass("virgin_mg", &in.virgin)
}

func topUp(in *topUpIn) (any, error) {
	b, err := reclaim.TopUp(in.hopper, measure.Share(in.share), in.reclaim, in.virgin)
	return blendOut(b), err
}

type chargeIn struct {
	want            measure.Mass
	share           int64
	reclaim, virgin measure.Mass
}

func (in *chargeIn) Fields(v *form.Visitor) {
	v.Mass("want_mg", &in.want)
	v.Int("share_pm", &in.share, 0, 1000, "‰")
	v.Mass("reclaim_mg", &in.reclaim)
	v.Mass("virgin_mg", &in.virgin)
}

func charge(in *chargeIn) (any, error) {
	b, err := reclaim.Charge(in.want, measure.Share(in.share), in.reclaim, in.virgin)
	return blendOut(b), err
}

type blend struct {
	Reclaim      measure.Mass `json:"reclaim_mg" unit:"mg" doc:"reclaim to put in"`
	Virgin       measure.Mass `json:"virgin_mg" unit:"mg" doc:"virgin to put in"`
	Short        measure.Mass `json:"short_mg" unit:"mg" doc:"asked for, but virgin is lacking"`
	ReclaimAfter measure.Mass `json:"reclaim_after_mg" unit:"mg" doc:"reclaim in the whole afterwards"`
	TotalAfter   measure.Mass `json:"total_after_mg" unit:"mg" doc:"the whole afterwards"`
	Ratio        string       `json:"ratio" doc:"virgin : reclaim afterwards, adding up to 100"`
	Binding      string       `json:"binding" doc:"what decided: share, reclaim, virgin, room, over"`
	OverBy       measure.Mass `json:"over_by_mg" unit:"mg" doc:"reclaim above what is allowed afterwards"`
	Dilutes      bool         `json:"dilutes" doc:"whether virgin alone can bring it down"`
	Dilute       measure.Mass `json:"dilute_mg" unit:"mg" doc:"virgin that brings the content down to the share"`
	TakeOut      measure.Mass `json:"take_out_mg" unit:"mg" doc:"mixed powder to take out first"`
	VirginIn     measure.Mass `json:"virgin_in_mg" unit:"mg" doc:"virgin to fill up with after taking out"`
}

func blendOut(b reclaim.Blend) blend {
	return blend{
		Reclaim: b.Reclaim, Virgin: b.Virgin, Short: b.Short, ReclaimAfter: b.ReclaimAfter, TotalAfter: b.TotalAfter,
		Binding: string(b.Binding), OverBy: b.OverBy, Dilutes: b.Dilutes, Dilute: b.Dilute, TakeOut: b.TakeOut, VirginIn: b.VirginIn,
		Ratio: measure.Style{}.Ratio(b.TotalAfter-b.ReclaimAfter, b.ReclaimAfter),
	}
}
