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
