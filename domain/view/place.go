package view

import (
	"maps"
	"math"
	"slices"
	"sort"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// Layer is the powder of one lot and one number of passes in a place.
type Layer struct {
	Lot     string `json:"lot"` // "" for what a list gathers of many small ones
	Batch   string `json:"batch"`
	Passes  int    `json:"passes"` // 0 is virgin
	Mass    Qty    `json:"mass"`
	SharePM int64  `json:"share_pm"` // of the place's content, rounded
	Expired bool   `json:"expired,omitempty"`
	Held    bool   `json:"held,omitempty"`
}

// VesselView is a place with what is in it. Layers come in the order to draw
// them from the bottom: virgin first, then by passes, within that by lot.
type VesselView struct {
	Place      string     `json:"place"`
	Name       string     `json:"name"`
	Kind       string     `json:"kind"` // shelf, vessel, scrap
	Booth      string     `json:"booth,omitempty"`
	Powder     *PowderRef `json:"powder,omitempty"` // the powder in it; nil when empty or mixed
	Mixed      bool       `json:"mixed,omitempty"`  // more than one powder in it
	Mass       Qty        `json:"mass"`
	Capacity   *Qty       `json:"capacity,omitempty"`
	FillPM     int64      `json:"fill_pm"` // of the capacity; 0 when there is none
	Virgin     Qty        `json:"virgin"`
	Reclaim    Qty        `json:"reclaim"`
	Ratio      string     `json:"ratio"` // virgin:reclaim such as "70:30"; "" when empty
	ReclaimPM  int64      `json:"reclaim_pm"`
	LimitPM    int64      `json:"limit_pm"` // the powder's limit; 1000 when it has none
	OverLimit  bool       `json:"over_limit"`
	MaxPasses  int        `json:"max_passes"` // of what is in it
	Layers     []Layer    `json:"layers"`
	Tare       *Qty       `json:"tare,omitempty"`
	WeighedMS  int64      `json:"weighed_ms,omitempty"` // last weighing
	FeedsRun   string     `json:"feeds_run,omitempty"`  // the open run it feeds
	CleanLevel string     `json:"clean_level,omitempty"`
	Unsieved   bool       `json:"unsieved,omitempty"` // holds recovered powder that was not sieved
}

// Vessel draws a place.
func (w *Viewer) Vessel(id string) VesselView {
	v := w.bareVessel(id)
	v.Layers = w.layers(w.s.Book.Places[id].Content)
	return v
}

// tile is a vessel with the most layers that a small picture can show; the smallest
// of more than that are one. A scrap drum gathers every lot that ever was.
func (w *Viewer) tile(id string) VesselView {
	v := w.bareVessel(id)
	v.Layers = w.layers(coarser(w.s.Book.Places[id].Content, tileLayers))
	return v
}

// tileLayers is how many layers a picture in a list has at most.
const tileLayers = 48

// coarser is a content with the smallest of its parts gathered into one without a
// lot, so that it has at most that many.
func coarser(c ledger.Content, most int) ledger.Content {
	if len(c) <= most {
		return c
	}
	by := make([]int, len(c)) // the largest first
	for i := range by {
		by[i] = i
	}
	sort.SliceStable(by, func(i, j int) bool { return c[by[i]].Mass > c[by[j]].Mass })
	small := by[most-1:]
	rest := ledger.Part{Passes: c[small[0]].Passes}
	isSmall := make([]bool, len(c))
	for _, i := range small {
		isSmall[i] = true
		rest.Mass += c[i].Mass
	}
	out := make(ledger.Content, 0, most)
	for i, p := range c {
		if !isSmall[i] {
			out = append(out, p)
		}
	}
	return append(out, rest)
}

// bareVessel is a vessel without its layers.
func (w *Viewer) bareVessel(id string) VesselView {
	s := w.s
	p := s.Places[id]
	c := s.Book.Places[id].Content
	total, rec := c.Total(), c.Reclaim()
	out := VesselView{
		Place: id, Name: p.Name, Kind: p.Kind, Booth: p.Booth, Mass: w.Qty(total),
		Virgin: w.Qty(total - rec), Reclaim: w.Qty(rec), ReclaimPM: measure.Permille(rec, total), LimitPM: 1000,
		MaxPasses: int(c.MaxPasses()), Layers: []Layer{}, WeighedMS: p.WeighedMS, FeedsRun: p.Feeds, CleanLevel: p.CleanLevel,
		Unsieved: p.Unsieved,
	}
	if total > 0 {
		out.Ratio = w.r.Style.Ratio(total-rec, rec)
	}
	if p.Capacity > 0 {
		q := w.Qty(p.Capacity)
		out.Capacity, out.FillPM = &q, measure.Permille(total, p.Capacity)
	}
	if p.Tare > 0 {
		q := w.Qty(p.Tare)
		out.Tare = &q
	}
	powders := s.PowdersIn(c)
	out.Mixed = len(powders) > 1 && p.Kind == string(ledger.Vessel)
	of := ""
	if len(powders) == 1 {
		of = powders[0]
	} else if run := s.Runs[p.Feeds]; run != nil && len(powders) == 0 {
		of = run.Powder
	}
	out.Powder = w.powder(of)
	if wp := s.Powders[of]; wp != nil {
		out.LimitPM = wp.ReclaimMaxPM
		out.OverLimit = p.Kind == string(ledger.Vessel) && p.Feeds != "" && rec > total.MulDiv(wp.ReclaimMaxPM, 1000)
	}
	return out
}

// layers lists a content in drawing order: by passes, within that by lot.
func (w *Viewer) layers(c ledger.Content) []Layer {
	out := make([]Layer, 0, len(c))
	total := c.Total()
	for _, p := range byPasses(c) {
		l := Layer{Lot: p.Lot, Batch: w.Batch(p.Lot), Passes: int(p.Passes), Mass: w.Qty(p.Mass), SharePM: measure.Permille(p.Mass, total)}
		if p.Lot == "" {
			l.Batch = "…"
		}
		if lot := w.s.Lots[p.Lot]; lot != nil {
			l.Held, l.Expired = lot.Held, w.IsExpired(lot)
		}
		out = append(out, l)
	}
	return out
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

// places lists places of some kinds by name.
func (w *Viewer) places(keep func(*shop.Place) bool) []VesselView {
	out := []VesselView{}
	for _, id := range slices.Sorted(maps.Keys(w.s.Places)) {
		if keep(w.s.Places[id]) {
			out = append(out, w.tile(id))
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
}

func (w *Viewer) onePlace(id string) (VesselView, error) {
	if w.s.Places[id] == nil {
		return VesselView{}, &Error{"unknown_place", id}
	}
	return w.Vessel(id), nil
}
