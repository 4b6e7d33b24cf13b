package calc

import (
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
	"hoppertally/domain/reclaim"
)

// money bounds an amount; 1e9 of any currency.
const moneyMax = 1e9

// boothFields are transfer efficiency and recovery in per mille.
func boothFields(v *form.Visitor, te, recovery *int64) {
	v.Int("te_pm", te, 1, 1000, "‰")
	v.Int("recovery_pm", recovery, 0, 1000, "‰")
}

func boothOf(te, recovery int64) reclaim.Booth {
	return reclaim.Booth{TE: float64(te) / 1000, Recovery: float64(recovery) / 1000}
}

type steadyIn struct{ te, recovery, share int64 }

func (in *steadyIn) Fields(v *form.Visitor) {
	boothFields(v, &in.te, &in.recovery)
	v.DefaultInt("share_pm", &in.share, 1000, 0, 1000, "‰, 1000 for no cap")
}

func (in *steadyIn) booth() reclaim.Booth { return boothOf(in.te, in.recovery) }
func (in *steadyIn) cap() float64         { return float64(in.share) / 1000 }

type steadyOut struct {
	Reclaim     float64 `json:"reclaim" unit:"1" doc:"share of reclaim in the feed"`
	Virgin      float64 `json:"virgin" unit:"1" doc:"share of virgin in the feed"`
	MeanPasses  float64 `json:"mean_passes" unit:"1" doc:"passes of what is sprayed, the present one counted"`
	Utilisation float64 `json:"utilisation" unit:"1" doc:"mass on parts over virgin put in"`
	Loss        float64 `json:"loss" unit:"1" doc:"virgin put in that ends neither on parts nor in the feed"`
	Surplus     float64 `json:"surplus" unit:"1" doc:"usable overspray per unit sprayed that the cap keeps out"`
	CapBinds    bool    `json:"cap_binds" doc:"whether the cap decides"`
}

func steady(in *steadyIn) (any, error) {
	s, err := reclaim.SteadyState(in.booth(), in.cap())
	return steadyOut(s), err
}

type passesIn struct {
	steadyIn
	passes int64
}

func (in *passesIn) Fields(v *form.Visitor) {
	in.steadyIn.Fields(v)
	v.Int("passes", &in.passes, 1, 99, "1")
}

type passesOut struct {
	ByPass []passOut `json:"by_pass" doc:"from the first pass on"`
}

type passOut struct {
	Pass   int     `json:"pass" unit:"1" doc:"which pass it is"`
	OnPass float64 `json:"on_pass" unit:"1" doc:"share of the settled feed that is on this pass"`
	Used   float64 `json:"used" unit:"1" doc:"share of one virgin charge that is on parts after so many passes"`
}

func passes(in *passesIn) (any, error) {
	s, err := reclaim.SteadyState(in.booth(), in.cap())
	out := passesOut{ByPass: []passOut{}}
	for k := 1; err == nil && k <= int(in.passes); k++ {
		out.ByPass = append(out.ByPass, passOut{k, s.OnPass(k), reclaim.AfterPasses(in.booth(), k)})
	}
	return out, err
}

type settleIn struct {
	steadyIn
	start     int64
	turnovers float64
	within    int64
}

func (in *settleIn) Fields(v *form.Visitor) {
	in.steadyIn.Fields(v)
	v.Int("start_pm", &in.start, 0, 1000, "‰")
	v.Float("turnovers", &in.turnovers, 0, 1000, "times the mass in the feed")
	v.OptInt("within_pm", &in.within, 1, 1000, "‰")
}

type settleOut struct {
	Share       float64 `json:"share" unit:"1" doc:"share of reclaim after that many turnovers"`
	Settled     float64 `json:"settled" unit:"1" doc:"share of reclaim in the end"`
	TurnoversTo float64 `json:"turnovers_to_settle" unit:"1" doc:"turnovers until the share is that near the settled one"`
}

func settle(in *settleIn) (any, error) {
	s, err := reclaim.SteadyState(in.booth(), in.cap())
	if err != nil {
		return nil, err
	}
	out := settleOut{Settled: s.Reclaim}
	start := float64(in.start) / 1000
	if out.Share, err = reclaim.ShareAfter(in.booth(), in.cap(), start, in.turnovers); err != nil {
		return nil, err
	}
	out.TurnoversTo, err = reclaim.TurnoversTo(in.booth(), in.cap(), start, float64(in.within)/1000)
	return out, err
}

type chooseIn struct {
	powder  string
	want    measure.Mass
	lim     reclaim.Limits
	share   int64
	sources []reclaim.Source
}

func (in *chooseIn) Fields(v *form.Visitor) {
	v.ID("powder", &in.powder)
	v.Mass("want_mg", &in.want)
	v.Int("share_pm", &in.share, 0, 1000, "‰")
	v.OptFloat("fines_max", &in.lim.Fines, 0, 1, "mass fraction")
	v.OptFloat("passes_max", &in.lim.Passes, 0, 99, "mean passes")
	v.OptDate("day", &in.lim.Day)
	form.List(v, "sources", &in.sources, 0, reclaim.SourcesMax, func(v *form.Visitor, s *reclaim.Source) {
		v.ID("id", &s.ID)
		v.ID("powder", &s.Powder)
		v.Mass("mass_mg", &s.Mass)
		v.OptMass("reclaim_mg", &s.Reclaim)
		v.OptFloat("passes", &s.Passes, 0, 99, "mean passes")
		v.OptFloat("fines", &s.Fines, 0, 1, "mass fraction")
		v.OptDate("use_by", &s.UseBy)
	})
}

type chooseOut struct {
	Taken   []takenOut   `json:"taken" doc:"what to take from where"`
	Reclaim measure.Mass `json:"reclaim_mg" unit:"mg" doc:"reclaim in the charge"`
	Short   measure.Mass `json:"short_mg" unit:"mg" doc:"left over by rounding to whole milligrams"`
	Ratio   string       `json:"ratio" doc:"virgin : reclaim, adding up to 100"`
	Passes  float64      `json:"passes" unit:"1" doc:"mean passes of the charge"`
	Fines   float64      `json:"fines" unit:"1" doc:"mass fraction of fines in the charge"`
	Binding []string     `json:"binding" doc:"limits that are reached: share, fines, passes, stock"`
	Clash   []string     `json:"clash" doc:"limits that cannot stand together; empty when there is a charge"`
}

type takenOut struct {
	ID   string       `json:"id" doc:"bin or lot"`
	Mass measure.Mass `json:"mass_mg" unit:"mg" doc:"to take from it"`
}

func choose(in *chooseIn) (any, error) {
	in.lim.Share = measure.Share(in.share)
	c, err := reclaim.Choose(in.powder, in.want, in.sources, in.lim)
	if err != nil {
		return nil, err
	}
	out := chooseOut{Taken: []takenOut{}, Reclaim: c.Reclaim, Short: c.Short, Passes: c.Passes, Fines: c.Fines,
		Binding: words(c.Binding), Clash: words(c.Clash)}
	var total measure.Mass
	for _, t := range c.Taken {
		out.Taken = append(out.Taken, takenOut(t))
		total += t.Mass
	}
	out.Ratio = measure.Style{}.Ratio(total-c.Reclaim, c.Reclaim)
	return out, nil
}

func words(limits []reclaim.Limit) []string {
	list := []string{}
	for _, l := range limits {
		list = append(list, string(l))
	}
	return list
}

type sizesIn struct {
	parts    []reclaim.Sized
	finesMax float64
}

// curvePointsMax bounds the points of one size curve.
const curvePointsMax = 200

func (in *sizesIn) Fields(v *form.Visitor) {
	form.List(v, "parts", &in.parts, 1, reclaim.SourcesMax, func(v *form.Visitor, s *reclaim.Sized) {
		v.Mass("mass_mg", &s.Mass)
		form.List(v, "curve", (*[]reclaim.SizePoint)(&s.Curve), 2, curvePointsMax, func(v *form.Visitor, p *reclaim.SizePoint) {
			v.Float("um", &p.UM, 0.01, 10_000, "µm")
			v.Float("under", &p.Under, 0, 1, "mass fraction smaller than that")
		})
	})
	v.OptFloat("fines_max", &in.finesMax, 0, 1, "mass fraction")
}

type sizesOut struct {
	Curve   []pointOut `json:"curve" doc:"cumulative curve of the mixture"`
	D10     *float64   `json:"d10_um,omitempty" unit:"µm" doc:"a tenth of the mass is finer; absent where the curve does not reach"`
	D50     *float64   `json:"d50_um,omitempty" unit:"µm" doc:"half of the mass is finer"`
	D90     *float64   `json:"d90_um,omitempty" unit:"µm" doc:"nine tenths of the mass are finer"`
	Fines   *float64   `json:"fines,omitempty" unit:"1" doc:"mass fraction below 10 µm"`
	TooFine bool       `json:"too_fine" doc:"whether fines pass the limit"`
}

type pointOut struct {
	UM    float64 `json:"um" unit:"µm" doc:"size"`
	Under float64 `json:"under" unit:"1" doc:"mass fraction smaller than that"`
}

func sizes(in *sizesIn) (any, error) {
	c, err := reclaim.BlendSizes(in.parts)
	if err != nil {
		return nil, err
	}
	out := sizesOut{Curve: []pointOut{}}
	for _, p := range c {
		out.Curve = append(out.Curve, pointOut(p))
	}
	out.D10, out.D50, out.D90 = known(c.D(0.1)), known(c.D(0.5)), known(c.D(0.9))
	out.Fines = known(c.Under(reclaim.FinesUM))
	out.TooFine = out.Fines != nil && *out.Fines > in.finesMax
	return out, nil
}

// known is nil for a figure that the curve does not reach.
func known(x float64, err error) *float64 {
	if err != nil {
		return nil
	}
	return &x
}

type worthIn struct {
	te, recovery                 int64
	extra, price, film, sg, part float64
}

func (in *worthIn) Fields(v *form.Visitor) {
	boothFields(v, &in.te, &in.recovery)
	v.Float("extra_change_cost", &in.extra, 0, moneyMax, "money")
	v.Float("price_kg", &in.price, 0, moneyMax, "money per kg")
	v.Float("film_um", &in.film, 1, 2000, "µm")
	v.Float("sg", &in.sg, 0.5, 5, "g/cm³")
	v.OptFloat("part_m2", &in.part, 0, 1e4, "m², 0 for not asked")
}

type worthOut struct {
	Never     bool     `json:"never" doc:"nothing worth money comes back"`
	SprayedKG float64  `json:"sprayed_kg" unit:"kg" doc:"powder out of the gun from which on collecting pays"`
	AreaM2    float64  `json:"area_m2" unit:"m²" doc:"area coated by then"`
	Parts     *float64 `json:"parts,omitempty" unit:"1" doc:"parts coated by then"`
}

func worth(in *worthIn) (any, error) {
	b, err := reclaim.WorthCollecting(boothOf(in.te, in.recovery), in.extra, in.price, in.film, in.sg)
	out := worthOut{Never: b.Never, SprayedKG: b.SprayedKG, AreaM2: b.AreaM2}
	if n := b.AreaM2 / in.part; in.part >= 1e-6 {
		out.Parts = &n
	}
	return out, err
}

type waysIn struct {
	steadyIn
	work   reclaim.Work
	parts  int64
	prices reclaim.Prices
}

func (in *waysIn) Fields(v *form.Visitor) {
	in.steadyIn.Fields(v)
	v.Float("area_m2", &in.work.AreaM2, 0.001, 1e6, "m²")
	v.Float("film_um", &in.work.FilmUM, 1, 2000, "µm")
	v.Float("sg", &in.work.SG, 0.5, 5, "g/cm³")
	v.OptInt("parts", &in.parts, 0, 1e9, "parts")
	v.Float("price_kg", &in.prices.PowderKG, 0, moneyMax, "money per kg of virgin")
	v.OptFloat("reclaimed_kg", &in.prices.ReclaimedKG, 0, moneyMax, "money, what a kg of reclaim is worth")
	v.OptFloat("handling_kg", &in.prices.HandlingKG, 0, moneyMax, "money per kg of reclaim")
	v.OptFloat("disposal_kg", &in.prices.DisposalKG, 0, moneyMax, "money per kg of scrap")
	v.OptFloat("waste_change", &in.prices.WasteChange, 0, moneyMax, "money per change")
	v.OptFloat("collect_change", &in.prices.CollectChange, 0, moneyMax, "money per change")
	v.OptFloat("loop_change", &in.prices.LoopChange, 0, moneyMax, "money per change")
}

type waysOut struct {
	Ways     []wayOut `json:"ways" doc:"waste, collect and loop, in this order"`
	Cheapest string   `json:"cheapest" doc:"which costs least"`
}

type wayOut struct {
	Name      string   `json:"name" doc:"waste, collect or loop"`
	SprayedKG float64  `json:"sprayed_kg" unit:"kg" doc:"powder out of the gun"`
	VirginKG  float64  `json:"virgin_kg" unit:"kg" doc:"virgin to take from stock"`
	KeptKG    float64  `json:"kept_kg" unit:"kg" doc:"collected for later"`
	ScrapKG   float64  `json:"scrap_kg" unit:"kg" doc:"lost or thrown away"`
	Cost      float64  `json:"cost" unit:"money" doc:"powder, handling, disposal and change, less what is kept"`
	PerM2     float64  `json:"per_m2" unit:"money/m²" doc:"cost per square metre"`
	PerPart   *float64 `json:"per_part,omitempty" unit:"money" doc:"cost per part; absent if parts are not counted"`
}

func ways(in *waysIn) (any, error) {
	in.work.Parts = float64(in.parts)
	list, best, err := reclaim.ThreeWays(in.booth(), in.cap(), in.work, in.prices)
	out := waysOut{Ways: []wayOut{}, Cheapest: best}
	for _, w := range list {
		o := wayOut{w.Name, w.SprayedKG, w.VirginKG, w.KeptKG, w.ScrapKG, w.Cost, w.PerM2, nil}
		if in.parts > 0 {
			o.PerPart = &w.PerPart
		}
		out.Ways = append(out.Ways, o)
	}
	return out, err
}
