package shop

import (
	"encoding/json"
	"maps"
	"math"
	"slices"
	"sort"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/stock"
)

// Reader is who looks: it decides units, language, what is today, and what may
// be seen.
type Reader struct {
	Person, Role string
	Style        measure.Style
	NowMS        int64
	OffsetMin    int // minutes east of UTC, for "today"
}

// ViewError says that there is no such view or thing.
type ViewError struct{ Code, What string }

// Error is one English line.
func (e *ViewError) Error() string { return e.Code + ": " + e.What }

// viewer makes views of one state for one reader.
type viewer struct {
	f     *Fold
	s     *State
	r     Reader
	spots []string // see inOrder
}

// newViewer sees the shop as a fold has it now.
func newViewer(f *Fold, r Reader) *viewer { return &viewer{f: f, s: f.State(), r: r} }

// state is what the views are of. It must not be changed.
func (w *viewer) state() *State { return w.s }

// after sees the shop as it would be with some entries more.
func (w *viewer) after(es []Entry) *viewer { return &viewer{f: w.f, s: w.f.with(es), r: w.r} }

// viewParams is what a view may be asked about.
type viewParams struct {
	Booth, Run, Place, Lot, Powder, Entry, Job string
	Max, MinPM                                 int64
}

func (p *viewParams) Fields(v *form.Visitor) {
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

// ViewParams describes what a view may be asked about. A client that has only texts,
// as the query of an address does, learns from it what each of them stands for.
func ViewParams() []form.Field { return form.Describe(&viewParams{}) }

// views by name. Each answers a value of one of the view types.
var views = map[string]func(*viewer, *viewParams) (any, error){
	"booth":     func(w *viewer, p *viewParams) (any, error) { return w.booth(p.Booth) },
	"room":      func(w *viewer, _ *viewParams) (any, error) { return w.room(), nil },
	"office":    func(w *viewer, _ *viewParams) (any, error) { return w.office(), nil },
	"lots":      func(w *viewer, p *viewParams) (any, error) { return w.lotsOf(p.Powder, true), nil },
	"lists":     func(w *viewer, _ *viewParams) (any, error) { return w.lists(), nil },
	"run":       func(w *viewer, p *viewParams) (any, error) { return w.oneRun(p.Run) },
	"runs":      func(w *viewer, _ *viewParams) (any, error) { return w.runs(math.MaxInt), nil },
	"stock":     func(w *viewer, _ *viewParams) (any, error) { return w.stock(), nil },
	"changes":   func(w *viewer, _ *viewParams) (any, error) { return w.changes(math.MaxInt), nil },
	"place":     func(w *viewer, p *viewParams) (any, error) { return w.onePlace(p.Place) },
	"entries":   func(w *viewer, p *viewParams) (any, error) { return w.entries(*p), nil },
	"attention": func(w *viewer, _ *viewParams) (any, error) { return w.attention(nil), nil },
	"trace":     func(w *viewer, p *viewParams) (any, error) { return w.trace(traceAsk{p.Lot, p.Run, p.Job, p.MinPM}) },
	"need":      func(w *viewer, p *viewParams) (any, error) { return w.needFor(p.Booth, p.Powder), nil },
	"shop":      func(w *viewer, _ *viewParams) (any, error) { return w.shop(), nil },
	"people":    func(w *viewer, _ *viewParams) (any, error) { return w.people(), nil },
	"powders":   func(w *viewer, _ *viewParams) (any, error) { return w.powderForms(), nil },
	"gun":       func(w *viewer, p *viewParams) (any, error) { return w.gun(p.Booth) },
	"setups":    func(w *viewer, _ *viewParams) (any, error) { return w.setupForms(), nil },
	"today":     func(w *viewer, p *viewParams) (any, error) { return w.toCome(p.Booth) },
	"booths":    func(w *viewer, _ *viewParams) (any, error) { return w.boothForms(), nil },
}

// ViewNames lists the views in order.
func ViewNames() []string { return slices.Sorted(maps.Keys(views)) }

// View makes a view as JSON. params is a JSON object or empty. The errors are a
// *ViewError (code view.unknown, or unknown_… for a thing that is not there) and
// a *form.Error for params.
func View(f *Fold, r Reader, name string, params []byte) ([]byte, error) {
	out, err := ViewValue(f, r, name, params)
	if err != nil {
		return nil, err
	}
	return json.Marshal(out)
}

// ViewValue is [View] before it becomes JSON.
func ViewValue(f *Fold, r Reader, name string, params []byte) (any, error) {
	make := views[name]
	if make == nil {
		return nil, &ViewError{"view.unknown", name}
	}
	var p viewParams
	if len(params) > 0 {
		if err := form.Decode(params, &p); err != nil {
			return nil, err
		}
	}
	return make(newViewer(f, r), &p)
}

// qty prints a mass; one below zero gets a minus sign.
func (w *viewer) qty(m measure.Mass) Qty {
	if m < 0 {
		return Qty{int64(m), "−" + w.r.Style.Mass(-m)}
	}
	return Qty{int64(m), w.r.Style.Mass(m)}
}

// today is the reader's day, as YYYY-MM-DD.
func (w *viewer) today() string {
	return dayAt(w.r.NowMS, w.r.OffsetMin)
}

func (w *viewer) person(id string) Ref {
	if p := w.s.People[id]; p != nil {
		return Ref{id, p.Name}
	}
	return Ref{id, id}
}

func (w *viewer) placeRef(id string) Ref {
	if p := w.s.Places[id]; p != nil {
		return Ref{id, p.Name}
	}
	return Ref{id, id}
}

func (w *viewer) boothRef(id string) Ref {
	if b := w.s.Booths[id]; b != nil {
		return Ref{id, b.Name}
	}
	return Ref{id, id}
}

func (w *viewer) powder(id string) *PowderRef {
	if id == "" {
		return nil
	}
	p := w.s.Powders[id]
	if p == nil {
		return &PowderRef{ID: id, Name: id}
	}
	out := &PowderRef{ID: id, Name: p.Name, Code: p.Code, Finish: p.Finish}
	if bp := w.s.boothPowder(id); bp.Lab != nil {
		out.Lab = bp.Lab
		out.Swatch, _ = bp.Swatch()
	}
	return out
}

// batch is what a lot is called on its box; its id where nobody received it.
func (w *viewer) batch(lot string) string {
	if l := w.s.Lots[lot]; l != nil {
		return l.Batch
	}
	return lot
}

// byPasses is a content in order of passes, within them of lots: a drum that was
// filled for years has thousands of parts.
func byPasses(c ledger.Content) ledger.Content {
	var at [math.MaxUint8 + 2]int // where the parts of so many passes begin
	for i := range c {
		at[int(c[i].Passes)+1]++
	}
	for n := 1; n < len(at); n++ {
		at[n] += at[n-1]
	}
	out := make(ledger.Content, len(c))
	for i := range c {
		n := c[i].Passes
		out[at[n]] = c[i]
		at[n]++
	}
	return out
}

// isExpired tells whether a lot's use-by day is over for the reader.
func (w *viewer) isExpired(l *Lot) bool { return l.UseBy != "" && w.today() > l.UseBy }

func (w *viewer) powderIDs() []string {
	ids := slices.Sorted(maps.Keys(w.s.Powders))
	sort.SliceStable(ids, func(i, j int) bool { return w.s.Powders[ids[i]].Name < w.s.Powders[ids[j]].Name })
	return ids
}

// lotStock is the virgin powder of a lot on shelves.
func (w *viewer) lotStock(lot string) (m measure.Mass) {
	for _, p := range w.s.Book.Places {
		if p.Kind == ledger.Shelf {
			m += p.Content.Virgin(lot)
		}
	}
	return m
}

// lotsOf lists the lots of a powder ("" all): first those to use, in use-first
// order, then those that must not be used, then those that are gone if asked for.
func (w *viewer) lotsOf(powder string, gone bool) []LotView {
	var list []stock.Lot
	var empty []string
	for _, id := range slices.Sorted(maps.Keys(w.s.Lots)) {
		l := w.s.Lots[id]
		if powder != "" && l.Powder != powder {
			continue
		}
		m := w.lotStock(id)
		if m == 0 {
			empty = append(empty, id)
			continue
		}
		list = append(list, stock.Lot{ID: id, Powder: l.Powder, Batch: l.Batch, Received: l.ReceivedMS, UseBy: l.UseBy, Held: l.Held, Mass: m})
	}
	usable, refused := stock.UseFirst(list, powder, w.today())
	out := []LotView{}
	for i, l := range usable {
		v := w.lot(l.ID)
		v.Turn = i + 1
		out = append(out, v)
	}
	for _, r := range refused {
		out = append(out, w.lot(r.Lot.ID))
	}
	if gone {
		for _, id := range empty {
			out = append(out, w.lot(id))
		}
	}
	return out
}

const soonDays = 30

func (w *viewer) lot(id string) LotView {
	l := w.s.Lots[id]
	v := LotView{Lot: id, Batch: l.Batch, Powder: *w.powder(l.Powder), HeldWhy: l.HeldWhy, ReceivedMS: l.ReceivedMS, Made: l.Made,
		UseBy: l.UseBy, Received: w.qty(l.Mass), Stock: w.qty(w.lotStock(id)), Packs: l.Packs, At: w.lotAt(id)}
	if s := w.s.warmed(l); s.WarmDays > 0 {
		v.Warm = &WarmView{s.UseBy, s.LostDays, s.WarmDays, w.r.Style.Temp(s.MaxTemp), w.r.Style.Temp(w.s.storeMax(l.Powder))}
	}
	switch {
	case len(v.At) == 0:
		v.State = "gone"
	case l.Held:
		v.State = "held"
	case w.isExpired(l):
		v.State = "expired"
	case l.UseBy != "" && l.UseBy <= time.UnixMilli(w.r.NowMS).UTC().AddDate(0, 0, soonDays).Format(time.DateOnly):
		v.State = "soon"
	default:
		v.State = "usable"
	}
	return v
}

// inOrder are the places in the book in ascending order.
func (w *viewer) inOrder() []string {
	if w.spots == nil {
		w.spots = slices.Sorted(maps.Keys(w.s.Book.Places))
	}
	return w.spots
}

// lotAt lists where a lot is, scrap included.
func (w *viewer) lotAt(lot string) []LotAt {
	out := []LotAt{}
	for _, id := range w.inOrder() {
		p := w.s.Book.Places[id]
		if m := p.Content.OfLot(lot); m > 0 {
			out = append(out, LotAt{w.placeRef(id), string(p.Kind), w.qty(m)})
		}
	}
	return out
}

// stockView sums a powder up.
func (w *viewer) stockOf(id string) StockView {
	s := w.s
	v := StockView{Powder: *w.powder(id), Lots: w.lotsOf(id, false), LimitPM: 1000}
	if p := s.Powders[id]; p != nil {
		v.LimitPM = p.ReclaimMaxPM
	}
	var total, shelf, vessels, rec, blocked measure.Mass
	for _, p := range s.Book.Places {
		for _, part := range p.Content {
			l := s.Lots[part.Lot]
			if p.Kind == ledger.Scrap || l == nil || l.Powder != id {
				continue
			}
			total += part.Mass
			switch {
			case part.Passes > 0:
				rec += part.Mass
			case p.Kind == ledger.Vessel:
				vessels += part.Mass
			case l.Held || w.isExpired(l):
				blocked += part.Mass
			default:
				shelf += part.Mass
			}
		}
	}
	v.Use = w.use(id, shelf+vessels)
	v.Total, v.Shelf, v.Vessels, v.Reclaim, v.Blocked = w.qty(total), w.qty(shelf), w.qty(vessels), w.qty(rec), w.qty(blocked)
	return v
}

func (w *viewer) stock() []StockView {
	out := []StockView{}
	for _, id := range w.powderIDs() {
		out = append(out, w.stockOf(id))
	}
	return out
}
