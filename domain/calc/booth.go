package calc

import (
	"fmt"

	"hoppertally/domain/booth"
	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// boothCalcs are the calculations of domain/booth.
func boothCalcs() []Calc {
	return []Calc{
		define(Calc{
			Name:    "booth.cleaning",
			About:   "How far a booth must be cleaned between two powders, and why.",
			Source:  "The shop's rule table; its defaults are common practice, no source. Colour difference: CIEDE2000 (Sharma, Wu, Dalal 2005).",
			Example: `{"from":{"powder":"K1","chemistry":"polyester","finish":"gloss","lab":[26,0,-1]},"to":{"powder":"W1","chemistry":"polyester","finish":"gloss","lab":[94,-1,3]},"recovery":true}`,
		}, func() *cleaningIn { return &cleaningIn{rules: booth.DefaultRules()} }, cleaning),
		define(Calc{
			Name:    "booth.dust",
			About:   "How much powder the exhaust air carries, against which limit, and how much air or how many guns keep it.",
			Source:  "Below half of the minimum explosible concentration, or at most 10 g/m³ where it is not known: EN 16985, from memory. Local codes come first.",
			Example: `{"guns":[200000,200000],"air_m3h":4000,"mec_mg_m3":30000,"te_pm":600}`,
		}, func() *dustIn { return &dustIn{} }, dust),
		define(Calc{
			Name:    "booth.changecost",
			About:   "What a colour change costs.",
			Source:  "Our rule: people × minutes × rate + idle booth + powder lost + consumables.",
			Example: `{"people":2,"minutes":45,"labour":3000,"idle":8000,"lost_mg":400000,"price":950,"consumables":250}`,
		}, func() *changeIn { return &changeIn{} }, change),
		define(Calc{
			Name:    "booth.changetime",
			About:   "How long a change will take: the shop's own mean, shrunk towards the rule while there are few.",
			Source:  "Posterior mean with the rule counting for three changes (Gelman and others, Bayesian Data Analysis, from memory).",
			Example: `{"rule_min":45,"minutes":[70,62]}`,
		}, func() *timeIn { return &timeIn{} }, changeTime),
		define(Calc{
			Name:   "booth.order",
			About:  "The order, and for two booths the split, of the day's colours with the least cost of changes and lateness.",
			Source: "Up to 16 colours exact (Held, Karp 1962), beyond a local search (Johnson, McGeoch 1997; Lourenço, Martin, Stützle 2003).",
			Example: `{"colours":[{"colour":"white","minutes":60},{"colour":"cream","minutes":30},{"colour":"black","minutes":45,"due":120,"late_cost":50}],` +
				`"booths":[{"booth":"1","start":{"cost":[1500,1500,100],"minutes":[45,45,1]},"change":[{"cost":[0,300,1500],"minutes":[0,10,45]},{"cost":[300,0,1500],"minutes":[10,0,45]},{"cost":[1500,1500,0],"minutes":[45,45,0]}]}],"seed":1}`,
		}, func() *orderIn { return &orderIn{} }, order),
	}
}

type powderIn struct {
	booth.Powder
	lab []float64
}

func (p *powderIn) fields(v *form.Visitor) {
	v.ID("powder", &p.ID)
	v.OptEnum("chemistry", &p.Chemistry, booth.Chemistries()...)
	v.OptEnum("finish", &p.Finish, booth.Finishes()...)
	v.Floats("lab", &p.lab, 0, 3, -200, 200, "CIE L*, a*, b*")
}

func (p *powderIn) powder() *booth.Powder {
	if len(p.lab) == 3 {
		p.Lab = (*[3]float64)(p.lab)
	}
	return &p.Powder
}

type cleaningIn struct {
	from, to          powderIn
	hasFrom, recovery bool
	done              string
	hasRules          bool
	rules             booth.Rules
}

func (in *cleaningIn) Fields(v *form.Visitor) {
	v.OptObject("from", &in.hasFrom, in.from.fields)
	v.Object("to", in.to.fields)
	v.Bool("recovery", &in.recovery)
	levels := []string{}
	for _, l := range booth.Levels() {
		levels = append(levels, string(l))
	}
	v.OptEnum("done", &in.done, levels...)
	v.OptObject("rules", &in.hasRules, in.rules.Fields)
}

func (in *cleaningIn) Check() error {
	for _, p := range []struct {
		name string
		lab  []float64
	}{{"from.lab", in.from.lab}, {"to.lab", in.to.lab}} {
		if n := len(p.lab); n != 0 && (n != 3 || p.lab[0] < 0 || p.lab[0] > 100) {
			return form.Fail(p.name, p.lab, "L* from 0 to 100, a*, b*; or nothing")
		}
	}
	return in.rules.Check()
}

type cleaningReason struct {
	Code   string  `json:"code" doc:"which rule"`
	Level  string  `json:"level" doc:"what it asks for"`
	From   string  `json:"from,omitempty" doc:"chemistry or finish before"`
	To     string  `json:"to,omitempty" doc:"chemistry or finish after"`
	DeltaE float64 `json:"delta_e,omitempty" unit:"1" doc:"CIEDE2000"`
	DeltaL float64 `json:"delta_l,omitempty" unit:"1" doc:"rise in L*, positive when the new colour is lighter"`
}

type cleaningOut struct {
	Level   string           `json:"level" doc:"purge, blowdown, full, strip"`
	Missing string           `json:"missing" doc:"the level still missing after what was done; empty when that was enough"`
	Minutes float64          `json:"minutes" unit:"min" doc:"expected by the rules"`
	People  int64            `json:"people" doc:"expected by the rules"`
	Assumed bool             `json:"assumed" doc:"something was not known and taken on the safe side"`
	Reasons []cleaningReason `json:"reasons" doc:"the first one decides"`
}

func cleaning(in *cleaningIn) (any, error) {
	var from *booth.Powder
	if in.hasFrom {
		from = in.from.powder()
	}
	n := booth.Needed(in.rules, from, in.to.powder(), in.recovery)
	out := cleaningOut{Level: string(n.Level), Missing: string(n.After(booth.Level(in.done))), Minutes: n.Minutes,
		People: n.People, Assumed: n.Assumed, Reasons: []cleaningReason{}}
	for _, r := range n.Reasons {
		out.Reasons = append(out.Reasons, cleaningReason{string(r.Code), string(r.Level), r.From, r.To, r.DeltaE, r.DeltaL})
	}
	return out, nil
}

type dustIn struct {
	guns         []int64
	air, mec, te int64
}

func (in *dustIn) Fields(v *form.Visitor) {
	v.Ints("guns", &in.guns, 1, booth.GunsMax, 1, int64(booth.GunMax), "mg/min")
	v.Int("air_m3h", &in.air, 1, booth.AirMax, "m³/h")
	v.OptInt("mec_mg_m3", &in.mec, 0, booth.MECMax, "mg/m³, 0 for not known")
	v.OptInt("te_pm", &in.te, 0, 1000, "‰")
}

type dustOut struct {
	Conc     float64 `json:"conc_g_m3" unit:"g/m³" doc:"with nothing credited to the parts: the one that counts"`
	Credited float64 `json:"credited_g_m3" unit:"g/m³" doc:"with what stays on the parts taken off, for information"`
	Limit    float64 `json:"limit_g_m3" unit:"g/m³" doc:"the limit"`
	Rule     string  `json:"rule" doc:"half_mec: must stay below it; ten_grams: may reach it"`
	Allowed  bool    `json:"allowed" doc:"the rule is kept"`
	AtLimit  bool    `json:"at_limit" doc:"exactly at the limit, so the rule decides"`
	AirM3H   int64   `json:"air_needed_m3h" unit:"m³/h" doc:"least air that keeps the rule"`
	Guns     int     `json:"guns_allowed" doc:"guns like the strongest one that keep the rule"`
}

func dust(in *dustIn) (any, error) {
	x := booth.Exhaust{AirM3H: in.air, MECMGM3: in.mec, TE: measure.Share(in.te)}
	for _, g := range in.guns {
		x.Guns = append(x.Guns, measure.Mass(g))
	}
	d, err := booth.DustIn(x)
	return dustOut{d.Conc, d.Credited, d.Limit, string(d.Rule), d.Allowed, d.AtLimit, d.AirM3H, d.Guns}, err
}

type changeIn struct{ booth.ChangeWork }

func (in *changeIn) Fields(v *form.Visitor) {
	v.Int("people", &in.People, 0, 50, "")
	v.Float("minutes", &in.Minutes, 0, 1440, "min")
	v.OptInt("labour", &in.Labour, 0, booth.RateMax, "hundredths per person and hour")
	v.OptInt("idle", &in.Idle, 0, booth.RateMax, "hundredths per hour")
	v.Int("lost_mg", (*int64)(&in.Lost), 0, 1000*int64(measure.Kilogram), "mg")
	v.OptInt("price", &in.Price, 0, booth.RateMax, "hundredths per kg")
	v.OptInt("consumables", &in.Consumables, 0, booth.RateMax, "hundredths")
}

type changeOut struct {
	Labour      int64 `json:"labour" unit:"hundredths" doc:"people"`
	Idle        int64 `json:"idle" unit:"hundredths" doc:"the booth standing still"`
	Powder      int64 `json:"powder" unit:"hundredths" doc:"powder purged and lost"`
	Consumables int64 `json:"consumables" unit:"hundredths" doc:"consumables"`
	Total       int64 `json:"total" unit:"hundredths" doc:"all of it"`
}

func change(in *changeIn) (any, error) {
	c, err := in.Cost()
	return changeOut(c), err
}

type timeIn struct {
	rule    float64
	minutes []float64
}

func (in *timeIn) Fields(v *form.Visitor) {
	v.Float("rule_min", &in.rule, 0, 1440, "min")
	v.Floats("minutes", &in.minutes, 0, 1000, 0, 1440, "min")
}

type timeOut struct {
	Minutes float64 `json:"minutes" unit:"min" doc:"expected"`
	Changes int64   `json:"changes" doc:"logged changes behind it"`
	Mean    float64 `json:"mean_min" unit:"min" doc:"of the logged changes"`
}

func changeTime(in *timeIn) (any, error) {
	var log []booth.Logged
	for _, m := range in.minutes {
		log = append(log, booth.Logged{Minutes: m})
	}
	return timeOut(booth.Learn(log).Expect("", "", in.rule)), nil
}

// changeRow is a row of changes, costs and minutes side by side.
type changeRow struct{ cost, minutes []int64 }

func (r *changeRow) fields(v *form.Visitor) {
	v.Ints("cost", &r.cost, 1, booth.ColoursMax, 0, booth.CostMax, "hundredths")
	v.Ints("minutes", &r.minutes, 0, booth.ColoursMax, 0, 14400, "min")
}

// changes pairs costs and minutes; without minutes they are 0.
func (r *changeRow) changes(at string) ([]booth.Change, error) {
	if len(r.minutes) != 0 && len(r.minutes) != len(r.cost) {
		return nil, measure.Refuse(at+".minutes", len(r.minutes), fmt.Sprintf("as many as costs, %d", len(r.cost)))
	}
	out := make([]booth.Change, len(r.cost))
	for i := range out {
		out[i].Cost = r.cost[i]
		if len(r.minutes) > 0 {
			out[i].Minutes = r.minutes[i]
		}
	}
	return out, nil
}

type boothIn struct {
	id         string
	ready      int64
	start, end changeRow
	hasEnd     bool
	change     []changeRow
}

func (b *boothIn) day(at string) (d booth.BoothDay, err error) {
	d = booth.BoothDay{ID: b.id, Ready: b.ready}
	if d.Start, err = b.start.changes(at + ".start"); err != nil {
		return d, err
	}
	if b.hasEnd {
		if d.End, err = b.end.changes(at + ".end"); err != nil {
			return d, err
		}
	}
	for i := range b.change {
		row, err := b.change[i].changes(fmt.Sprintf("%s.change[%d]", at, i))
		if err != nil {
			return d, err
		}
		d.Change = append(d.Change, row)
	}
	return d, nil
}

type orderIn struct {
	colours []booth.Colour
	booths  []boothIn
	seed    int64
}

func (in *orderIn) Fields(v *form.Visitor) {
	form.List(v, "colours", &in.colours, 1, booth.ColoursMax, func(v *form.Visitor, c *booth.Colour) {
		v.ID("colour", &c.ID)
		v.OptInt("minutes", &c.Minutes, 0, 14400, "min")
		v.OptInt("due", &c.Due, 0, 14400, "min from the start, 0 for none")
		v.OptInt("late_cost", &c.LateCost, 0, booth.LateMax, "hundredths per minute")
		v.OptID("booth", &c.Booth)
		v.Bool("first", &c.First)
	})
	form.List(v, "booths", &in.booths, 1, booth.BoothsMax, func(v *form.Visitor, b *boothIn) {
		v.ID("booth", &b.id)
		v.OptInt("ready", &b.ready, 0, 14400, "min from the start")
		v.Object("start", b.start.fields)
		form.List(v, "change", &b.change, 1, booth.ColoursMax, func(v *form.Visitor, r *changeRow) { r.fields(v) })
		v.OptObject("end", &b.hasEnd, b.end.fields)
	})
	v.OptInt("seed", &in.seed, 0, 1<<53-1, "")
}

type orderStop struct {
	Colour  string `json:"colour" doc:"id of the colour"`
	Cost    int64  `json:"cost" unit:"hundredths" doc:"of the change before it"`
	Minutes int64  `json:"minutes" unit:"min" doc:"of the change before it"`
	Begin   int64  `json:"begin" unit:"min" doc:"spraying begins, from the start of the day"`
	Done    int64  `json:"done" unit:"min" doc:"spraying ends"`
	Late    int64  `json:"late_min" unit:"min" doc:"after its due time"`
}

type orderBooth struct {
	Booth string      `json:"booth" doc:"id of the booth"`
	Stops []orderStop `json:"stops" doc:"its colours in order"`
}

type orderOut struct {
	Booths []orderBooth `json:"booths" doc:"the order per booth"`
	Change int64        `json:"change" unit:"hundredths" doc:"cost of all changes"`
	Late   int64        `json:"late" unit:"hundredths" doc:"cost of all lateness"`
	Total  int64        `json:"total" unit:"hundredths" doc:"both"`
	Given  int64        `json:"given" unit:"hundredths" doc:"total of the order as given"`
	Proven bool         `json:"proven" doc:"no order is cheaper"`
}

func order(in *orderIn) (any, error) {
	var booths []booth.BoothDay
	for i := range in.booths {
		d, err := in.booths[i].day(fmt.Sprintf("booths[%d]", i))
		if err != nil {
			return nil, err
		}
		booths = append(booths, d)
	}
	p, err := booth.Order(in.colours, booths, uint64(in.seed))
	if err != nil {
		return nil, err
	}
	out := orderOut{Change: p.Change, Late: p.Late, Total: p.Total, Given: p.Given, Proven: p.Proven}
	for b, stops := range p.Stops {
		o := orderBooth{Booth: booths[b].ID, Stops: []orderStop{}}
		for _, s := range stops {
			o.Stops = append(o.Stops, orderStop{in.colours[s.Colour].ID, s.Change.Cost, s.Change.Minutes, s.Begin, s.Done, s.LateMin})
		}
		out.Booths = append(out.Booths, o)
	}
	return out, nil
}
