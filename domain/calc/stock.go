package calc

import (
	"strings"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
	"hoppertally/domain/stock"
)

// stockCalcs are the calculations of domain/stock.
func stockCalcs() []Calc {
	return []Calc{
		define(Calc{
			Name:    "stock.usefirst",
			About:   "Which lots of a powder to use in which order, and how much of each for a needed mass.",
			Source:  "Our rule: earliest use-by, then earliest received, then lowest id; held and expired lots never.",
			Example: `{"today":"2026-11-25","need_mg":5000000,"lots":[{"lot":"A","received_ms":1760000000000,"use_by":"2027-01-31","mass_mg":20000000},{"lot":"B","received_ms":1750000000000,"use_by":"2026-12-31","mass_mg":3000000},{"lot":"C","received_ms":1750000000000,"use_by":"2026-10-31","mass_mg":9000000}]}`,
		}, func() *useFirstIn { return &useFirstIn{} }, useFirst),
		define(Calc{
			Name:    "stock.shelf",
			About:   "Until when a powder may be used, and how much earlier after warm days in the store.",
			Source:  "Our rule for the month's end; ageing twice as fast per 10 °C: common practice, no source. The powder's maker decides.",
			Example: `{"made":"2026-01-10","shelf_months":12,"received":"2026-02-01","store_max_dc":250,"room":[{"day":"2026-07-01","temp_dc":350},{"day":"2026-07-02","temp_dc":330}]}`,
		}, func() *shelfIn { return &shelfIn{limit: 250} }, shelf),
		define(Calc{
			Name:    "stock.reorder",
			About:   "When to order a powder and how many boxes.",
			Source:  "Taylor, Introduction to Management Science, ch. 16; order size: Harris's economic order quantity.",
			Example: `{"per_day_kg":12,"sd_per_day_kg":4,"lead_days":9,"service_pm":950,"usable_mg":100000000,"on_order_mg":25000000,"box_mg":25000000,"order_cost":40,"keep_cost":1.5}`,
		}, func() *reorderIn { return &reorderIn{service: 950, box: 25 * measure.Kilogram} }, reorder),
		define(Calc{
			Name:    "stock.label",
			About:   "What the label of a box says: batch, use-by, net mass and every other element.",
			Source:  "GS1 General Specifications and barcode syntax dictionary, release 2026-01-27.",
			Example: `{"text":"]C1019952112345678832020055001727120010L2401A␝210007","year":2026}`,
		}, func() *labelIn { return &labelIn{} }, label),
		define(Calc{
			Name:    "stock.count",
			About:   "What a stock count found against the books, in mass and money, by person and reason.",
			Source:  "Our rule: found less books; each line's money rounded half away from zero.",
			Example: `{"lines":[{"place":"S1","lot":"A","by":"ana","reason":"spill","books_mg":10000000,"found_mg":9000000,"price":1250},{"place":"S1","lot":"B","by":"ben","books_mg":5000000,"found_mg":5000000}]}`,
		}, func() *countIn { return &countIn{} }, count),
	}
}

type useFirstIn struct {
	today string
	need  measure.Mass
	lots  []stock.Lot
}

func (in *useFirstIn) Fields(v *form.Visitor) {
	v.Date("today", &in.today)
	v.OptMass("need_mg", &in.need)
	form.List(v, "lots", &in.lots, 1, 1000, func(v *form.Visitor, l *stock.Lot) {
		v.ID("lot", &l.ID)
		v.Int("received_ms", &l.Received, 0, 253402300799999, "ms since 1970-01-01 UTC")
		v.OptDate("use_by", &l.UseBy)
		v.Bool("held", &l.Held)
		v.Mass("mass_mg", &l.Mass)
	})
}

type lotTurn struct {
	Lot   string       `json:"lot" doc:"id of the lot"`
	UseBy string       `json:"use_by,omitempty" doc:"last day it may be used"`
	Mass  measure.Mass `json:"mass_mg" unit:"mg" doc:"what it holds"`
	Take  measure.Mass `json:"take_mg" unit:"mg" doc:"what to take from it for the needed mass"`
}

type lotRefused struct {
	Lot string `json:"lot" doc:"id of the lot"`
	Why string `json:"why" doc:"lot.held, lot.expired"`
}

type useFirstOut struct {
	Order   []lotTurn    `json:"order" doc:"lots in the order of use"`
	Short   measure.Mass `json:"short_mg" unit:"mg" doc:"needed, but in no usable lot"`
	Refused []lotRefused `json:"refused" doc:"lots that must not be used"`
}

func useFirst(in *useFirstIn) (any, error) {
	usable, refused := stock.UseFirst(in.lots, "", in.today)
	takes, short := stock.Allocate(usable, in.need)
	out := useFirstOut{Order: []lotTurn{}, Refused: []lotRefused{}, Short: short}
	for i, l := range usable {
		t := lotTurn{Lot: l.ID, UseBy: l.UseBy, Mass: l.Mass}
		if i < len(takes) {
			t.Take = takes[i].Mass
		}
		out.Order = append(out.Order, t)
	}
	for _, r := range refused {
		out.Refused = append(out.Refused, lotRefused{r.Lot.ID, string(r.Why)})
	}
	return out, nil
}

type shelfIn struct {
	made, received string
	months, limit  int64
	room           []stock.RoomDay
}

func (in *shelfIn) Fields(v *form.Visitor) {
	v.Date("made", &in.made)
	v.Int("shelf_months", &in.months, 1, stock.MonthsMax, "months")
	v.OptDate("received", &in.received)
	v.OptInt("store_max_dc", &in.limit, -500, 1000, "tenths of °C")
	form.List(v, "room", &in.room, 0, 1000, func(v *form.Visitor, r *stock.RoomDay) {
		v.Date("day", &r.Day)
		v.Int("temp_dc", (*int64)(&r.Temp), -500, 1000, "tenths of °C")
	})
}

type shelfOut struct {
	UseBy     string `json:"use_by" doc:"last day it may be used"`
	Before    string `json:"before" doc:"last day without the warm days"`
	LostDays  int64  `json:"lost_days" unit:"d" doc:"how much earlier"`
	WarmDays  int64  `json:"warm_days" unit:"d" doc:"days read above the limit"`
	MaxTempDC int64  `json:"max_temp_dc" unit:"tenths of °C" doc:"highest of them; 0 without warm days"`
	Estimated bool   `json:"estimated" doc:"shortened by a rule of thumb; the powder's maker decides"`
}

func shelf(in *shelfIn) (any, error) {
	useBy, err := stock.UseBy(in.made, in.months)
	if err != nil {
		return nil, err
	}
	received := in.received
	if received == "" {
		received = in.made
	}
	s, err := stock.ShortenUseBy(useBy, received, measure.Temp(in.limit), in.room)
	return shelfOut{s.UseBy, useBy, s.LostDays, s.WarmDays, int64(s.MaxTemp), s.Estimated}, err
}

type reorderIn struct {
	demand              stock.Demand
	service             int64
	at                  stock.Position
	box                 measure.Mass
	orderCost, keepCost float64
}

func (in *reorderIn) Fields(v *form.Visitor) {
	v.Float("per_day_kg", &in.demand.PerDayKG, 0, stock.DemandMax, "kg")
	v.OptFloat("sd_per_day_kg", &in.demand.SDPerDayKG, 0, stock.DemandMax, "kg")
	v.Float("lead_days", &in.demand.LeadDays, 0, 365, "d")
	v.OptFloat("sd_lead_days", &in.demand.SDLeadDays, 0, 365, "d")
	v.OptInt("service_pm", &in.service, 500, 999, "‰")
	v.Mass("usable_mg", &in.at.Usable)
	v.OptMass("on_order_mg", &in.at.OnOrder)
	v.Int("box_mg", (*int64)(&in.box), 1000, form.MassMax-1, "mg")
	v.OptFloat("order_cost", &in.orderCost, 0, 1e9, "money per order")
	v.OptFloat("keep_cost", &in.keepCost, 0, 1e9, "money per kg and year")
}

type reorderOut struct {
	SafetyKG  float64      `json:"safety_kg" unit:"kg" doc:"kept for bad luck"`
	PointKG   float64      `json:"point_kg" unit:"kg" doc:"order when what is there and on its way falls to this"`
	CoverDays *float64     `json:"cover_days,omitempty" unit:"d" doc:"how long the usable stock lasts; absent when nothing is used"`
	SizeKG    *float64     `json:"size_kg,omitempty" unit:"kg" doc:"cheapest order size; absent without both costs"`
	Boxes     int64        `json:"boxes" doc:"boxes to order now; 0 for none"`
	Order     measure.Mass `json:"order_mg" unit:"mg" doc:"their mass"`
	Short     measure.Mass `json:"short_mg" unit:"mg" doc:"what is lacking to the reorder point"`
}

func reorder(in *reorderIn) (any, error) {
	z, err := stock.Z(measure.Share(in.service))
	if err != nil {
		return nil, err
	}
	r, err := stock.ReorderPoint(in.demand, z)
	if err != nil {
		return nil, err
	}
	out := reorderOut{SafetyKG: r.SafetyKG, PointKG: r.PointKG}
	if days, used := stock.DaysOfCover(in.at.Usable, in.demand.PerDayKG); used {
		days = min(days, coverMax)
		out.CoverDays = &days
	}
	size := 0.0
	if in.keepCost > 0 && in.orderCost > 0 {
		if size, err = stock.OrderSize(365*in.demand.PerDayKG, in.orderCost, in.keepCost); err != nil {
			return nil, err
		}
		out.SizeKG = &size
	}
	s, err := stock.Suggest(in.at, r.PointKG, size, in.box)
	out.Boxes, out.Order, out.Short = s.Boxes, s.Mass, s.Short
	return out, err
}

// coverMax stands for "for ever" in days: a hundred years.
const coverMax = 36500

type labelIn struct {
	text string
	year int64
}

func (in *labelIn) Fields(v *form.Visitor) {
	v.Text("text", &in.text, stock.LabelMax)
	v.Int("year", &in.year, 1950, 9950, "current year")
}

type labelElement struct {
	AI    string `json:"ai" doc:"application identifier"`
	Value string `json:"value" doc:"as it stands"`
	Title string `json:"title" doc:"data title of the standard"`
	Day   string `json:"day,omitempty" doc:"the date as a day"`
}

type labelWarning struct {
	Code   string `json:"code" doc:"what to look at"`
	AI     string `json:"ai,omitempty" doc:"at which identifier"`
	Detail string `json:"detail,omitempty" doc:"companions lacking, or the part that looks like elements of its own"`
}

type labelOut struct {
	Plain    string         `json:"plain,omitempty" doc:"a code that is not GS1, as it stands"`
	Batch    string         `json:"batch,omitempty" doc:"batch or lot"`
	Article  string         `json:"article,omitempty" doc:"GTIN"`
	Made     string         `json:"made,omitempty" doc:"day of production or packing"`
	UseBy    string         `json:"use_by,omitempty" doc:"use-by or best-before day"`
	Net      *measure.Mass  `json:"net_mg,omitempty" unit:"mg" doc:"net mass; absent when the label has none"`
	Elements []labelElement `json:"elements" doc:"every element in the order of the label"`
	Warnings []labelWarning `json:"warnings" doc:"what to look at"`
}

// label reads a label. JSON inputs hold no control characters, so FNC1 is
// written as its picture, U+241D.
func label(in *labelIn) (any, error) {
	l, err := stock.ParseLabel(strings.ReplaceAll(in.text, "␝", string(rune(stock.FNC1))), int(in.year))
	if e, ok := err.(*stock.LabelError); ok {
		return nil, measure.Refuse("text", string(e.Code)+" "+e.Got, e.Want)
	}
	out := labelOut{Plain: l.Plain, Batch: l.Batch(), Article: l.Article(), Made: l.Made(), UseBy: l.UseBy(),
		Elements: []labelElement{}, Warnings: []labelWarning{}}
	if net, ok := l.Net(); ok {
		out.Net = &net
	}
	for _, e := range l.Elements {
		out.Elements = append(out.Elements, labelElement(e))
	}
	for _, w := range l.Warnings {
		out.Warnings = append(out.Warnings, labelWarning{string(w.Code), w.AI, w.Detail})
	}
	return out, nil
}

type countIn struct{ lines []stock.Counted }

func (in *countIn) Fields(v *form.Visitor) {
	form.List(v, "lines", &in.lines, 1, 1000, func(v *form.Visitor, c *stock.Counted) {
		v.ID("place", &c.Place)
		v.ID("lot", &c.Lot)
		v.OptID("by", &c.By)
		v.OptText("reason", &c.Reason, 200)
		v.Mass("books_mg", &c.Books)
		v.Mass("found_mg", &c.Found)
		v.OptInt("price", &c.Price, 0, stock.PriceMax, "hundredths per kg")
	})
}

type variance struct {
	Lines   int64        `json:"lines" doc:"lines counted"`
	Off     int64        `json:"off" doc:"lines that differ"`
	Mass    measure.Mass `json:"mass_mg" unit:"mg" doc:"found less books; negative when powder is lacking"`
	Gross   measure.Mass `json:"gross_mg" unit:"mg" doc:"sum of the sizes of the differences"`
	Money   int64        `json:"money" unit:"hundredths" doc:"what the difference is worth"`
	Unknown int64        `json:"unknown" doc:"lines that differ and have no price"`
}

type countGroup struct {
	By     string `json:"by" doc:"who counted"`
	Reason string `json:"reason" doc:"why it differs"`
	variance
}

type countOut struct {
	variance
	Groups []countGroup `json:"groups" doc:"by person and reason"`
}

func count(in *countIn) (any, error) {
	total, groups, err := stock.CountVariance(in.lines)
	if err != nil {
		return nil, err
	}
	if total.Gross >= form.MassMax || total.Money >= form.MassMax || -total.Money >= form.MassMax {
		return nil, measure.Refuse("lines", "a total beyond 2^53", "totals below 2^53")
	}
	out := countOut{variance: variance(total), Groups: []countGroup{}}
	for _, g := range groups {
		out.Groups = append(out.Groups, countGroup{g.By, g.Reason, variance(g.Variance)})
	}
	return out, nil
}
