package view

import (
	"encoding/json"
	"maps"
	"math"
	"slices"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// Reader is who looks: it decides units, language, what is today, and what may
// be seen.
type Reader struct {
	Person, Role string
	Style        measure.Style
	NowMS        int64
	OffsetMin    int // minutes east of UTC, for "today"
}

// Error says that there is no such view or thing.
type Error struct{ Code, What string }

// Error is one English line.
func (e *Error) Error() string { return e.Code + ": " + e.What }

// Viewer makes views of one state for one reader.
type Viewer struct {
	f     *shop.Fold
	s     *shop.State
	r     Reader
	spots []string // see inOrder
}

// New sees the shop as a fold has it now.
func New(f *shop.Fold, r Reader) *Viewer { return &Viewer{f: f, s: f.State(), r: r} }

// State is what the views are of. It must not be changed.
func (w *Viewer) State() *shop.State { return w.s }

// After sees the shop as it would be with some entries more.
func (w *Viewer) After(es []shop.Entry) *Viewer { return &Viewer{f: w.f, s: w.f.With(es), r: w.r} }

// query is what a view may be asked about.
type query struct {
	Booth, Run, Place, Lot, Powder, Entry, Job string
	Max, MinPM                                 int64
}

func (p *query) Fields(v *form.Visitor) {
	v.OptID("booth", &p.Booth)
	v.OptID("run", &p.Run)
	v.OptID("place", &p.Place)
	v.OptID("lot", &p.Lot)
	v.OptID("powder", &p.Powder)
	v.OptID("entry", &p.Entry)
	v.OptID("job", &p.Job)
	v.OptInt("max", &p.Max, 0, 10_000, "rows")
	v.OptInt("min_pm", &p.MinPM, 0, 1000, "‰")
}

// Params describes what a view may be asked about. A client that has only texts,
// as the query of an address does, learns from it what each of them stands for.
func Params() []form.Field { return form.Describe(&query{}) }

// views by name. Each answers a value of one of the view types.
var views = map[string]func(*Viewer, *query) (any, error){
	"booth":     func(w *Viewer, p *query) (any, error) { return w.booth(p.Booth) },
	"room":      func(w *Viewer, _ *query) (any, error) { return w.room(), nil },
	"office":    func(w *Viewer, _ *query) (any, error) { return w.office(), nil },
	"lots":      func(w *Viewer, p *query) (any, error) { return w.Lots(p.Powder, true), nil },
	"lists":     func(w *Viewer, _ *query) (any, error) { return w.lists(), nil },
	"run":       func(w *Viewer, p *query) (any, error) { return w.oneRun(p.Run) },
	"runs":      func(w *Viewer, _ *query) (any, error) { return w.runs(math.MaxInt), nil },
	"stock":     func(w *Viewer, _ *query) (any, error) { return w.stock(), nil },
	"changes":   func(w *Viewer, _ *query) (any, error) { return w.changes(math.MaxInt), nil },
	"place":     func(w *Viewer, p *query) (any, error) { return w.onePlace(p.Place) },
	"entries":   func(w *Viewer, p *query) (any, error) { return w.entries(*p), nil },
	"attention": func(w *Viewer, _ *query) (any, error) { return w.attention(nil), nil },
	"trace":     func(w *Viewer, p *query) (any, error) { return w.trace(traceAsk{p.Lot, p.Run, p.Job, p.MinPM}) },
	"jobs":      func(w *Viewer, p *query) (any, error) { return w.jobs(p.Job), nil },
	"need":      func(w *Viewer, p *query) (any, error) { return w.needFor(p.Booth, p.Powder), nil },
	"shop":      func(w *Viewer, _ *query) (any, error) { return w.shop(), nil },
	"people":    func(w *Viewer, _ *query) (any, error) { return w.people(), nil },
	"powders":   func(w *Viewer, _ *query) (any, error) { return w.powderForms(), nil },
	"gun":       func(w *Viewer, p *query) (any, error) { return w.gun(p.Booth) },
	"setups":    func(w *Viewer, _ *query) (any, error) { return w.setupForms(), nil },
	"today":     func(w *Viewer, p *query) (any, error) { return w.toCome(p.Booth) },
	"booths":    func(w *Viewer, _ *query) (any, error) { return w.boothForms(), nil },
}

// Names lists the views in order.
func Names() []string { return slices.Sorted(maps.Keys(views)) }

// JSON makes a view as JSON. params is a JSON object or empty. The errors are a
// *Error (code view.unknown, or unknown_… for a thing that is not there) and
// a *form.Error for params.
func JSON(f *shop.Fold, r Reader, name string, params []byte) ([]byte, error) {
	out, err := Value(f, r, name, params)
	if err != nil {
		return nil, err
	}
	return json.Marshal(out)
}

// Value is [JSON] before it becomes JSON.
func Value(f *shop.Fold, r Reader, name string, params []byte) (any, error) {
	make := views[name]
	if make == nil {
		return nil, &Error{"view.unknown", name}
	}
	var p query
	if len(params) > 0 {
		if err := form.Decode(params, &p); err != nil {
			return nil, err
		}
	}
	return make(New(f, r), &p)
}
