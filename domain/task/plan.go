package task

import (
	"cmp"
	"errors"
	"slices"
	"strconv"
	"strings"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/domain/view"
)

// Plan is the answer to a filled-in form.
type Plan struct {
	Task     string            `json:"task"`
	OK       bool              `json:"ok"` // no errors; warnings may remain
	Errors   []FormError       `json:"errors"`
	Warnings []Warning         `json:"warnings"` // each asks for one more tap, and together for a reason
	Entries  []Draft           `json:"entries"`  // what would be recorded
	Before   []view.VesselView `json:"before"`   // the places it touches, as they are
	After    []view.VesselView `json:"after"`    // and as they would be
	Need     *view.NeedView    `json:"need,omitempty"`
	Best     *BestBlend        `json:"best,omitempty"`
	Diff     *WeighDiff        `json:"diff,omitempty"`
	Lot      *view.LotView     `json:"lot,omitempty"`    // of a receipt: as it would stand
	Offer    []view.LotView    `json:"offer,omitempty"`  // lots to take from, use-first order
	Filled   map[string]string `json:"filled,omitempty"` // fields the task filled in by itself, as the form would hold them
}

// FormError says which field of the form cannot stand, by a code that has words
// in every language.
type FormError struct {
	Field string `json:"field"`
	Code  string `json:"code"`
	Got   string `json:"got,omitempty"`
	Want  string `json:"want,omitempty"`
}

// Warning is a rule of the trade that the action would go against. It never blocks.
type Warning struct {
	Code   string `json:"code"`
	Detail string `json:"detail,omitempty"` // figures, ready to print
}

// Draft is an entry not yet signed: kind, body and, where it differs from now,
// the time it happened, as the books count it: whoever writes "at" turns it back
// into a time of the device's clock.
type Draft struct {
	Kind string `json:"kind"`
	Body []byte `json:"-"`
	AtMS int64  `json:"at_ms,omitempty"` // 0 means now
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
	return append(slices.Clone(p.Entries), Draft{Kind: "entry.noted", Body: form.Encode(&kind.EntryNoted{Entry: firstID, Text: text})})
}

// planner turns one filled-in form into a plan.
type planner struct {
	f       *shop.Fold
	s       *shop.State
	r       view.Reader
	view    *view.Viewer // of the shop as it is
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

// Make works a form out: what is wrong with it, what would be recorded, what
// the places it touches would hold afterwards, and which rules of the trade it
// would go against. newID makes ids for things that are new (a lot, a run); it
// must not repeat. Every value of the form is text as typed.
//
// Recording a plan that carries warnings needs a reason; see [Plan.WithReason].
func Make(f *shop.Fold, r view.Reader, task string, filled map[string]string, newID func() string) Plan {
	p := planner{f: f, s: f.State(), r: r, view: view.New(f, r), form: filled, newID: newID}
	p.plan = Plan{Task: task, Errors: []FormError{}, Warnings: []Warning{}, Entries: []Draft{}, Before: []view.VesselView{}, After: []view.VesselView{},
		Filled: map[string]string{}}
	make := tasks[task]
	if make == nil {
		p.fail("", "form.task", task, "")
		return p.plan
	}
	make(&p)
	for _, d := range p.plan.Entries {
		if r.Role != "" && !kind.May(r.Role, d.Kind) {
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

// Names lists the tasks in order.
func Names() []string {
	out := make([]string, 0, len(tasks))
	for name := range tasks {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
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
func (p *planner) add(name string, b kind.Body) { p.addAt(name, b, 0) }

func (p *planner) addAt(name string, b kind.Body, atMS int64) {
	raw := form.Encode(b)
	check := kind.New(name)
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
	p.plan.Entries = append(p.plan.Entries, Draft{Kind: name, Body: raw, AtMS: atMS})
}

func (p *planner) addIfGood(name string, b kind.Body) {
	if len(p.plan.Errors) == 0 {
		p.add(name, b)
	}
}

func (p *planner) touch(place string) {
	if !slices.Contains(p.touched, place) {
		p.touched = append(p.touched, place)
	}
}

// foresee shows the touched places before and after, by folding the plan's own
// entries onto a copy of the state; what that turns up are warnings.
func (p *planner) foresee() {
	for _, id := range p.touched {
		p.plan.Before = append(p.plan.Before, p.view.Vessel(id))
	}
	if !p.plan.OK {
		p.plan.After = slices.Clone(p.plan.Before)
		return
	}
	after := p.view.After(p.drafted())
	for _, i := range after.State().Issues {
		if slices.Contains(warnable, i.Code) && strings.HasPrefix(i.Entry, planID) {
			p.warn(i.Code, p.issueDetail(i))
		}
	}
	for _, id := range p.touched {
		v := after.Vessel(id)
		if v.Capacity != nil && v.Mass.MG > v.Capacity.MG {
			p.warn("over_capacity", p.view.Qty(measure.Mass(v.Mass.MG-v.Capacity.MG)).Text)
		}
		p.plan.After = append(p.plan.After, v)
	}
}

// planID begins the ids that planned entries have in a preview.
const planID = "plan/"

// drafted is the plan's entries as the fold would get them.
func (p *planner) drafted() []shop.Entry {
	out := make([]shop.Entry, 0, len(p.plan.Entries))
	for i, d := range p.plan.Entries {
		b := kind.New(d.Kind)
		if err := form.Decode(d.Body, b); err != nil {
			panic("task: a planned body does not decode: " + err.Error())
		}
		at := cmp.Or(d.AtMS, p.r.NowMS)
		out = append(out, shop.Entry{ID: planID + strconv.Itoa(i), Kind: d.Kind, V: 1, By: p.r.Person, N: int64(i), AtMS: at, EffectiveMS: at, Body: b})
	}
	return out
}

// warnable are the issues that are told before the entry is recorded.
var warnable = []string{"overdraw", "weighed_above", "mixed_powder", "uncleaned_vessel", "cleaning_below", "lot_expired", "lot_held",
	"reclaim_over", "beyond_books", "passes_over", "unsieved", "room_warm", "room_damp", "dust_limit", "run_not_weighed", "loop_without_booth"}

func (p *planner) issueDetail(i *shop.Issue) string {
	if text := p.view.IssueFigure(i); text != "" {
		return text
	}
	switch {
	case i.Mass != 0:
		return p.view.Qty(i.Mass).Text
	case i.Code == "lot_expired":
		return p.view.Batch(i.Lot) + " " + i.More
	case i.Lot != "":
		return p.view.Batch(i.Lot)
	case p.s.Powders[i.More] != nil:
		return p.s.Powders[i.More].Name
	}
	return i.More
}
