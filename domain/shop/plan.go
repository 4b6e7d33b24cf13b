package shop

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// planner turns one filled-in form into a plan.
type planner struct {
	f       *Fold
	s       *State
	r       Reader
	view    *viewer // of the shop as it is
	form    map[string]string
	newID   func() string
	plan    Plan
	touched []string // places to show before and after
}

// tasks by name.
var tasks = map[string]func(*planner){
	"change.start": (*planner).changeStart, "change.finish": (*planner).changeFinish,
	"charge": (*planner).charge, "weigh": (*planner).weigh, "recover": (*planner).recover, "scrap": (*planner).scrap,
	"move": (*planner).move, "clean": (*planner).clean, "parts": (*planner).parts, "film": (*planner).film, "run.close": (*planner).runClose,
	"receive": (*planner).receive, "partbox": (*planner).partBox, "hold": (*planner).holdLot, "release": (*planner).releaseLot,
	"void": (*planner).void, "note": (*planner).note, "admit": (*planner).admit, "decline": (*planner).decline,
	"set.powder": (*planner).setPowder, "set.place": (*planner).setPlace, "set.booth": (*planner).setBooth,
	"ground": (*planner).ground, "climate": (*planner).roomClimate, "output": (*planner).output, "deposit": (*planner).deposit, "cure": (*planner).cure,
	"plan": (*planner).planJob, "set.setup": (*planner).setSetup,
	"set.person": (*planner).setPerson, "set.shop": (*planner).setShop,
}

// MakePlan works a form out: what is wrong with it, what would be recorded, what
// the places it touches would hold afterwards, and which rules of the trade it
// would go against. newID makes ids for things that are new (a lot, a run); it
// must not repeat. Every value of the form is text as typed.
//
// Recording a plan that carries warnings needs a reason; see [Plan.WithReason].
func MakePlan(f *Fold, r Reader, task string, filled map[string]string, newID func() string) Plan {
	p := planner{f: f, s: f.State(), r: r, view: newViewer(f, r), form: filled, newID: newID}
	p.plan = Plan{Task: task, Errors: []FormError{}, Warnings: []Warning{}, Entries: []Draft{}, Before: []VesselView{}, After: []VesselView{},
		Filled: map[string]string{}}
	make := tasks[task]
	if make == nil {
		p.fail("", "form.task", task, "")
		return p.plan
	}
	make(&p)
	for _, d := range p.plan.Entries {
		if r.Role != "" && !May(r.Role, d.Kind) {
			p.fail("", "form.may_not", d.Kind, "")
			break
		}
	}
	if len(p.plan.Errors) == 0 && len(p.plan.Entries) == 0 {
		p.fail("", "form.nothing", "", "")
	}
	p.plan.OK = len(p.plan.Errors) == 0
	p.foresee()
	return p.plan
}

// TaskNames lists the tasks in order.
func TaskNames() []string {
	out := make([]string, 0, len(tasks))
	for name := range tasks {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// WithReason is the plan's entries with the reason that a person gave for going
// against its warnings, as a note on the first of them, which will have the id
// firstID.
func (p *Plan) WithReason(why string, firstID string) []Draft {
	if len(p.Warnings) == 0 || strings.TrimSpace(why) == "" {
		return p.Entries
	}
	codes := make([]string, 0, len(p.Warnings))
	for _, w := range p.Warnings {
		codes = append(codes, w.Code)
	}
	text := "[" + strings.Join(codes, " ") + "] " + strings.TrimSpace(why)
	if len(text) > form.TextMax {
		text = strings.ToValidUTF8(text[:form.TextMax], "")
	}
	return append(slices.Clone(p.Entries), Draft{Kind: "entry.noted", Body: form.Encode(&EntryNoted{firstID, text})})
}

func (p *planner) fail(field, code, got, want string) {
	p.plan.Errors = append(p.plan.Errors, FormError{field, code, got, want})
}

func (p *planner) warn(code, detail string) {
	if !slices.ContainsFunc(p.plan.Warnings, func(w Warning) bool { return w.Code == code }) {
		p.plan.Warnings = append(p.plan.Warnings, Warning{code, detail})
	}
}

// add puts an entry on the plan; a body that would not be taken is an error on
// the form, never a refused entry later.
func (p *planner) add(kind string, b Body) { p.addAt(kind, b, 0) }

func (p *planner) addAt(kind string, b Body, atMS int64) {
	raw := form.Encode(b)
	check := NewBody(kind)
	if err := form.Decode(raw, check); err != nil {
		var fe *form.Error
		if errors.As(err, &fe) {
			if len(p.plan.Errors) == 0 {
				code := "form.range"
				if fe.Code == form.Missing {
					code = "form.missing"
				}
				p.fail(formField[fe.Field], code, fe.Got, "") // what the body wants is in its own units
			}
			return
		}
	}
	p.plan.Entries = append(p.plan.Entries, Draft{Kind: kind, Body: raw, AtMS: atMS})
}

// formField is the field of a form that fills a field of a body under another name.
var formField = map[string]string{
	"mass_mg": "mass", "area_cm2": "area", "sg_milli": "sg", "film_um10.min": "film_min", "film_um10.target": "film_target",
	"film_um10.max": "film_max", "reclaim_max_pm": "reclaim_max", "exhaust_m3h": "exhaust", "guns": "guns", "store_max_dc": "store_max", "mec_mg_m3": "mec", "lead_days": "lead_days", "box_mg": "box", "te_pm": "te", "recovery_pm": "recovery",
	"tare_mg": "tare", "capacity_mg": "capacity", "name": "name", "zone": "zone", "currency": "currency", "batch": "batch", "job": "job",
	"count": "count", "minutes": "minutes", "crew": "crew", "packs": "packs", "text": "text", "why": "why", "lot": "lot", "spots": "spots",
	"kv": "kv", "ua": "ua", "main_kpa": "main", "extra_kpa": "extra", "distance_mm": "distance", "ohm": "ohm", "temp_dc": "temp", "rh_pm": "rh",
	"mg_per_min": "mass", "points": "points", "parts": "parts", "charging": "charging", "nozzle": "nozzle", "cure_dc": "cure_temp", "cure_s": "cure_min", "cure_max_s": "cure_max",
	"lab": "lab", "passes_max": "passes_max", "shelf_months": "shelf_months", "code": "code", "maker": "maker",
}

func (p *planner) text(field string) string { return strings.TrimSpace(p.form[field]) }

func (p *planner) need(field string) string {
	v := p.text(field)
	if v == "" {
		p.fail(field, "form.missing", "", "")
	}
	return v
}

// mass reads a mass; required says whether an empty field is an error.
func (p *planner) mass(field string, required bool) measure.Mass {
	return quantity(p, field, required, p.r.Style.ParseMass)
}

// quantity reads a figure with or without its unit. An empty field is 0; required says
// whether it is an error.
func quantity[T ~int64](p *planner, field string, required bool, parse func(string) (T, error)) T {
	v := p.text(field)
	if v == "" {
		if required {
			p.fail(field, "form.missing", "", "")
		}
		return 0
	}
	n, err := parse(v)
	p.badNumber(field, v, err)
	return n
}

// badNumber turns a fault of reading into an error of the form.
func (p *planner) badNumber(field, got string, err error) {
	if err == nil {
		return
	}
	code := "form.number"
	var te *measure.TextError
	if errors.As(err, &te) && textCodes[te.Code] != "" {
		code = textCodes[te.Code]
	}
	p.fail(field, code, got, "")
}

var textCodes = map[measure.TextCode]string{
	measure.TextEmpty: "form.missing", measure.TextUnit: "form.unit", measure.TextAmbiguous: "form.ambiguous",
	measure.TextNegative: "form.negative", measure.TextLarge: "form.too_large",
}

func (p *planner) number(field string, lo, hi int64, required bool) int64 {
	v := p.text(field)
	if v == "" {
		if required {
			p.fail(field, "form.missing", "", "")
		}
		return 0
	}
	n, err := strconv.ParseInt(v, 10, 64)
	switch {
	case err != nil:
		p.fail(field, "form.number", v, "")
	case n < lo || n > hi:
		p.fail(field, "form.range", v, fmt.Sprintf("%d–%d", lo, hi))
	}
	return n
}

// decimal reads a number with a decimal point or comma, scaled and rounded half up.
func (p *planner) decimal(field string, scale float64, required bool) int64 {
	v := strings.TrimSpace(strings.TrimSuffix(p.text(field), "%"))
	if v == "" {
		if required {
			p.fail(field, "form.missing", "", "")
		}
		return 0
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(v, ",", "."), 64)
	if err != nil || math.IsNaN(x) || math.Abs(x) > 1e9 {
		p.fail(field, "form.number", v, "")
		return 0
	}
	if x < 0 {
		p.fail(field, "form.negative", v, "")
	}
	return int64(math.Floor(x*scale + 0.5))
}

func (p *planner) film10(field string) int64 {
	return int64(quantity(p, field, true, p.r.Style.ParseFilm))
}

// kept reads a field of a form that was opened on what stands in the books. A figure
// that was left as it is printed stays what it is in full: 60 µm print as 2.36
// mil, which would be read as 59.9 µm.
func kept[T comparable](p *planner, field string, old T, text func(T) string, read func(string) T) T {
	var none T
	if old != none && p.text(field) == text(old) {
		return old
	}
	return read(field)
}

// temp reads a temperature; an empty field is 0.
func (p *planner) temp(field string) int64 {
	return int64(quantity(p, field, false, p.r.Style.ParseTemp))
}

func (p *planner) choice(field string, options []string, fallback string) string {
	v := cmp.Or(p.text(field), fallback)
	switch {
	case v == "":
		p.fail(field, "form.missing", "", "")
	case !slices.Contains(options, v):
		p.fail(field, "form.choice", v, "")
	}
	return v
}

func (p *planner) date(field string) string {
	v := p.text(field)
	if v == "" {
		return ""
	}
	if _, err := time.Parse(time.DateOnly, v); err != nil {
		p.fail(field, "form.date", v, "YYYY-MM-DD")
		return ""
	}
	return v
}

func (p *planner) place(field string, required bool) string {
	v := p.text(field)
	switch {
	case v == "" && required:
		p.fail(field, "form.missing", "", "")
	case v != "" && p.s.Places[v] == nil:
		p.fail(field, "form.unknown_place", v, "")
		return ""
	case v != "":
		p.touch(v)
	}
	return v
}

func (p *planner) touch(place string) {
	if !slices.Contains(p.touched, place) {
		p.touched = append(p.touched, place)
	}
}

// known is the value of a required field that names something of the shop.
func known[T any](p *planner, field string, in map[string]*T, code string) *T {
	v := p.need(field)
	if v == "" {
		return nil
	}
	if in[v] == nil {
		p.fail(field, code, v, "")
	}
	return in[v]
}

func (p *planner) checks() []string { return strings.Fields(p.form["checks"]) }

func (p *planner) crew() int64 { return p.number("crew", 0, 50, false) }

// foresee shows the touched places before and after, by folding the plan's own
// entries onto a copy of the state; what that turns up are warnings.
func (p *planner) foresee() {
	for _, id := range p.touched {
		p.plan.Before = append(p.plan.Before, p.view.vessel(id))
	}
	if !p.plan.OK {
		p.plan.After = slices.Clone(p.plan.Before)
		return
	}
	after := p.view.after(p.drafted())
	for _, i := range after.state().Issues {
		if slices.Contains(warnable, i.Code) && strings.HasPrefix(i.Entry, planID) {
			p.warn(i.Code, p.issueDetail(i))
		}
	}
	for _, id := range p.touched {
		v := after.vessel(id)
		if v.Capacity != nil && v.Mass.MG > v.Capacity.MG {
			p.warn("over_capacity", p.view.qty(measure.Mass(v.Mass.MG-v.Capacity.MG)).Text)
		}
		p.plan.After = append(p.plan.After, v)
	}
}

// planID begins the ids that planned entries have in a preview.
const planID = "plan/"

// drafted is the plan's entries as the fold would get them.
func (p *planner) drafted() []Entry {
	out := make([]Entry, 0, len(p.plan.Entries))
	for i, d := range p.plan.Entries {
		b := NewBody(d.Kind)
		if err := form.Decode(d.Body, b); err != nil {
			panic("shop: a planned body does not decode: " + err.Error())
		}
		at := cmp.Or(d.AtMS, p.r.NowMS)
		out = append(out, Entry{ID: planID + strconv.Itoa(i), Kind: d.Kind, V: 1, By: p.r.Person, N: int64(i), AtMS: at, EffectiveMS: at, Body: b})
	}
	return out
}

// warnable are the issues that are told before the entry is recorded.
var warnable = []string{"overdraw", "weighed_above", "mixed_powder", "uncleaned_vessel", "cleaning_below", "lot_expired", "lot_held",
	"reclaim_over", "beyond_books", "passes_over", "unsieved", "room_warm", "room_damp", "dust_limit", "run_not_weighed", "loop_without_booth"}

func (p *planner) issueDetail(i *Issue) string {
	if text := p.view.issueFigure(i); text != "" {
		return text
	}
	switch {
	case i.Mass != 0:
		return p.view.qty(i.Mass).Text
	case i.Code == "lot_expired":
		return p.view.batch(i.Lot) + " " + i.More
	case i.Lot != "":
		return p.view.batch(i.Lot)
	case p.s.Powders[i.More] != nil:
		return p.s.Powders[i.More].Name
	}
	return i.More
}
