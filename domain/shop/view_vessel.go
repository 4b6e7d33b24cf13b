package shop

import (
	"maps"
	"slices"
	"sort"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// vessel draws a place.
func (w *viewer) vessel(id string) VesselView {
	v := w.bareVessel(id)
	v.Layers = w.layers(w.s.Book.Places[id].Content)
	return v
}

// tile is a vessel with the most layers that a small picture can show; the smallest
// of more than that are one. A scrap drum gathers every lot that ever was.
func (w *viewer) tile(id string) VesselView {
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
func (w *viewer) bareVessel(id string) VesselView {
	s := w.s
	p := s.Places[id]
	c := s.Book.Places[id].Content
	total, rec := c.Total(), c.Reclaim()
	out := VesselView{
		Place: id, Name: p.Name, Kind: p.Kind, Booth: p.Booth, Mass: w.qty(total),
		Virgin: w.qty(total - rec), Reclaim: w.qty(rec), ReclaimPM: measure.Permille(rec, total), LimitPM: 1000,
		MaxPasses: int(c.MaxPasses()), Layers: []Layer{}, WeighedMS: p.WeighedMS, FeedsRun: p.Feeds, CleanLevel: p.CleanLevel,
		Unsieved: p.Unsieved,
	}
	if total > 0 {
		out.Ratio = w.r.Style.Ratio(total-rec, rec)
	}
	if p.Capacity > 0 {
		q := w.qty(p.Capacity)
		out.Capacity, out.FillPM = &q, measure.Permille(total, p.Capacity)
	}
	if p.Tare > 0 {
		q := w.qty(p.Tare)
		out.Tare = &q
	}
	powders := s.powdersIn(c)
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
func (w *viewer) layers(c ledger.Content) []Layer {
	out := make([]Layer, 0, len(c))
	total := c.Total()
	for _, p := range byPasses(c) {
		l := Layer{Lot: p.Lot, Batch: w.batch(p.Lot), Passes: int(p.Passes), Mass: w.qty(p.Mass), SharePM: measure.Permille(p.Mass, total)}
		if p.Lot == "" {
			l.Batch = "…"
		}
		if lot := w.s.Lots[p.Lot]; lot != nil {
			l.Held, l.Expired = lot.Held, w.isExpired(lot)
		}
		out = append(out, l)
	}
	return out
}

// places lists places of some kinds by name.
func (w *viewer) places(keep func(*Place) bool) []VesselView {
	out := []VesselView{}
	for _, id := range slices.Sorted(maps.Keys(w.s.Places)) {
		if keep(w.s.Places[id]) {
			out = append(out, w.tile(id))
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
}
