package task

import (
	"maps"
	"slices"

	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/reclaim"
	"hoppertally/domain/view"
)

// BestBlend is the blend the core would choose for a charge.
type BestBlend struct {
	Virgin    view.Qty  `json:"virgin"`
	Reclaim   view.Qty  `json:"reclaim"`
	Lot       string    `json:"lot,omitempty"`
	From      string    `json:"from,omitempty"` // the shelf of that lot
	Bin       string    `json:"bin,omitempty"`
	Ratio     string    `json:"ratio"` // of the vessel afterwards
	ReclaimPM int64     `json:"reclaim_pm"`
	Binding   string    `json:"binding"`           // code: which limit decided: "", share, reclaim, virgin, room, over
	OverBy    *view.Qty `json:"over_by,omitempty"` // binding over: reclaim above what the vessel may hold
	Dilute    *view.Qty `json:"dilute,omitempty"`  // binding over: virgin that would bring it down
}

// charge fills a vessel from a lot on a shelf and from a reclaim bin. The best
// blend is worked out whatever the form says, so that it can be taken over.
func (p *planner) charge() {
	to := p.place("to", true)
	if to == "" {
		return
	}
	powder := p.powderFor(to)
	p.plan.Offer = p.view.Lots(powder, false)
	lot, shelf := p.text("lot"), p.text("shelf")
	if l := p.s.Lots[lot]; l != nil && powder != "" && l.Powder != powder {
		lot, shelf = "", "" // chosen for another vessel
	}
	if lot == "" && len(p.plan.Offer) > 0 && p.plan.Offer[0].Turn == 1 {
		lot = p.plan.Offer[0].Lot
		p.plan.Filled["lot"] = lot
	}
	if lot != "" && p.s.Lots[lot] == nil {
		p.fail("lot", "form.unknown_lot", lot, "")
		return
	}
	if shelf == "" && lot != "" {
		shelf = p.shelfOf(lot)
		p.plan.Filled["shelf"] = shelf
	}
	bin := p.text("bin")
	if bin == "" {
		bin = p.binFor(to, powder)
		p.plan.Filled["bin"] = bin
	}
	p.bestBlend(to, powder, lot, shelf, bin)
	virgin, rec := p.mass("virgin", false), p.mass("reclaim", false)
	if virgin > 0 && p.source("shelf", shelf) {
		if lot == "" {
			p.fail("lot", "form.missing", "", "")
		}
		p.add("powder.moved", &kind.PowderMoved{From: shelf, To: to, Mass: virgin, Lot: lot})
		p.checkLot(lot)
	}
	if rec > 0 && p.source("bin", bin) {
		p.add("powder.moved", &kind.PowderMoved{From: bin, To: to, Mass: rec})
		if p.s.Places[bin].Unsieved {
			p.warn("unsieved", p.s.Places[bin].Name)
		}
	}
	if q := p.s.Places[to]; powder != "" && q.Feeds == "" { // limits of a vessel that does not feed a run yet
		p.checkLimit(to, powder, virgin, rec)
	}
}

// source checks a place that powder is taken from.
func (p *planner) source(field, id string) bool {
	switch {
	case id == "":
		p.fail(field, "form.missing", "", "")
	case p.s.Places[id] == nil:
		p.fail(field, "form.unknown_place", id, "")
	default:
		p.touch(id)
		return true
	}
	return false
}

func (p *planner) checkLimit(to, powder string, virgin, rec measure.Mass) {
	w := p.s.Powders[powder]
	if w == nil {
		return
	}
	c := p.s.Book.Places[to].Content
	total, r := c.Total()+virgin+rec, c.Reclaim()+rec
	if over := r - total.MulDiv(w.ReclaimMaxPM, 1000); over > 0 {
		p.warn("reclaim_over", p.view.Qty(over).Text)
	}
}

// powderFor is the powder that belongs into a vessel: of the run it feeds, else
// what is in it, else what its booth holds or is being changed to.
func (p *planner) powderFor(place string) string {
	q := p.s.Places[place]
	if run := p.s.Runs[q.Feeds]; run != nil {
		return run.Powder
	}
	if in := p.s.PowdersIn(p.s.Book.Places[place].Content); len(in) == 1 {
		return in[0]
	}
	if b := p.s.Booths[q.Booth]; b != nil {
		if c := p.s.Change(b.Change); c != nil {
			return c.To
		}
		return b.Powder
	}
	return ""
}

// shelfOf is the shelf that holds most of a lot.
func (p *planner) shelfOf(lot string) (best string) {
	var most measure.Mass
	for _, id := range slices.Sorted(maps.Keys(p.s.Book.Places)) {
		if q := p.s.Book.Places[id]; q.Kind == ledger.Shelf && q.Content.OfLot(lot) > most {
			best, most = id, q.Content.OfLot(lot)
		}
	}
	return best
}

// binFor is the vessel with most reclaim of a powder, of the same booth first.
func (p *planner) binFor(to, powder string) (best string) {
	var most measure.Mass
	own := p.s.Places[to].Booth
	better := func(id string, m measure.Mass) bool {
		if best == "" {
			return true
		}
		a, b := p.s.Places[id].Booth == own, p.s.Places[best].Booth == own
		return a && !b || a == b && m > most
	}
	for _, id := range slices.Sorted(maps.Keys(p.s.Book.Places)) {
		q := p.s.Book.Places[id]
		if id == to || q.Kind != ledger.Vessel || p.s.Places[id].Feeds != "" {
			continue
		}
		if in := p.s.PowdersIn(q.Content); len(in) != 1 || in[0] != powder {
			continue
		}
		if m := q.Content.Reclaim(); m > 0 && better(id, m) {
			best, most = id, m
		}
	}
	return best
}

// bestBlend is as much reclaim as the powder's limit lets in, the rest virgin,
// up to the vessel's capacity (or, without one, up to the mass asked for).
func (p *planner) bestBlend(to, powder, lot, shelf, bin string) {
	w := p.s.Powders[powder]
	q := p.s.Places[to]
	c := p.s.Book.Places[to].Content
	capacity := q.Capacity
	if capacity == 0 {
		capacity = c.Total() + p.mass("virgin", false) + p.mass("reclaim", false)
	}
	if w == nil || capacity == 0 {
		return
	}
	h := reclaim.Hopper{Holds: c.Total(), Reclaim: c.Reclaim(), Capacity: capacity}
	var inBin, onShelf measure.Mass
	if b := p.s.Book.Places[bin]; b != nil && len(p.s.PowdersIn(b.Content)) == 1 {
		inBin = b.Content.Total()
	}
	if s := p.s.Book.Places[shelf]; s != nil && lot != "" {
		onShelf = s.Content.OfLot(lot)
	}
	blend, err := reclaim.TopUp(h, measure.Share(w.ReclaimMaxPM), inBin, onShelf)
	if err != nil {
		return // a mass out of range; the form's own errors say which
	}
	// The blend takes a bin for reclaim throughout, which errs on the careful side; what
	// it gives is told as the books will have it, with the virgin that lies in the bin.
	reclaimAfter := blend.ReclaimAfter
	if b := p.s.Book.Places[bin]; b != nil && inBin > 0 {
		reclaimAfter += blend.Reclaim.MulDiv(int64(b.Content.Reclaim()), int64(inBin)) - blend.Reclaim
	}
	best := BestBlend{Virgin: p.view.Qty(blend.Virgin), Reclaim: p.view.Qty(blend.Reclaim), Lot: lot, From: shelf, Bin: bin,
		ReclaimPM: measure.Permille(reclaimAfter, blend.TotalAfter), Binding: string(blend.Binding)}
	if blend.TotalAfter > 0 {
		best.Ratio = p.r.Style.Ratio(blend.TotalAfter-reclaimAfter, reclaimAfter)
	}
	if blend.OverBy > 0 {
		over := p.view.Qty(blend.OverBy)
		best.OverBy = &over
	}
	if blend.Dilutes && blend.Dilute > 0 {
		dilute := p.view.Qty(blend.Dilute)
		best.Dilute = &dilute
	}
	p.plan.Best = &best
}
