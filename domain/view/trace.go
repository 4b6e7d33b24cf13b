package view

import (
	"maps"
	"slices"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// traceAsk is what to follow: a lot forward (on one job or run alone, if named),
// else a job or a run backward.
type traceAsk struct {
	lot, run, job string
	minPM         int64
}

// trace makes the recall sheet. The errors are *Error unknown_lot for a lot
// that stands nowhere in the books, unknown_job and unknown_run.
func (w *Viewer) trace(ask traceAsk) (TraceView, error) {
	v := TraceView{LotID: ask.lot, Job: ask.job, Run: ask.run, MinPM: ask.minPM,
		Runs: []TraceRunView{}, Places: []TracePlaceView{}, Lots: []LotShareView{}}
	if past := w.s.Past; past != nil && past.Runs > 0 && ask.run == "" && (ask.lot == "" || past.Sprayed.Of(ask.lot) != 0) {
		v.CutMS = past.CutMS
	}
	if ask.run != "" && w.s.Runs[ask.run] == nil {
		return v, &Error{"unknown_run", ask.run}
	}
	on, of, all := w.traceRuns(&v, ask)
	v.Parts = TraceParts{w.Qty(on), w.Qty(of)}
	if ask.job != "" && of < 0 {
		return v, &Error{"unknown_job", ask.job}
	}
	switch {
	case ask.lot == "":
		v.Lots, v.LotsRest = w.lotsAbove(all, ask.minPM)
		return v, nil
	case w.s.Lots[ask.lot] != nil:
		l := w.lot(ask.lot)
		v.Lot = &l
	case ask.lot != ledger.UnknownLot && !w.s.Book.Knows(ask.lot) && (w.s.Past == nil || w.s.Past.Sprayed.Of(ask.lot) == 0) && len(v.Runs) == 0 && v.RunsRest == nil:
		return v, &Error{"unknown_lot", ask.lot}
	}
	if ask.job == "" && ask.run == "" {
		w.tracePlaces(&v, ask)
		sum := w.traceSum(ask.lot)
		v.Books = &sum
	}
	return v, nil
}

// traced is what one run has of what is asked for.
type traced struct {
	run   *shop.Run
	jobs  []shop.JobContent
	parts ledger.Content // on the parts in question, all lots
	mine  ledger.Content // of them the lot asked for, else all
	lost  measure.Mass
	share int64
	dim   bool // below the threshold
}

// traceRuns lists the runs and answers what is on the parts in question of what
// is asked for (on), of all lots (of; -1 when there is no such job), and all of it.
func (w *Viewer) traceRuns(v *TraceView, ask traceAsk) (on, of measure.Mass, all ledger.Content) {
	if ask.job != "" {
		of = -1
	}
	var rest TraceRest
	var restOn, restLost measure.Mass
	for _, r := range w.runsByTime() {
		if ask.run != "" && r.Run != ask.run || ask.job != "" && !r.HasJob(ask.job) {
			continue
		}
		t := w.tracedIn(r, ask)
		of = max(of, 0) + t.parts.Total()
		on += t.mine.Total()
		all = all.PutAll(t.mine)
		switch {
		case ask.lot != "" && len(t.mine) == 0 && t.lost == 0:
		case t.dim:
			rest.Rows++
			restOn += t.mine.Total()
			restLost += t.lost
		default:
			v.Runs = append(v.Runs, w.traceRun(&t, ask.lot))
		}
	}
	if rest.Rows > 0 {
		rest.Mass, rest.Lost = w.Qty(restOn), w.Qty(restLost)
		v.RunsRest = &rest
	}
	return on, of, all
}

// tracedIn splits a run's powder by what is asked for.
func (w *Viewer) tracedIn(r *shop.Run, ask traceAsk) traced {
	c := w.s.Closing(r)
	t := traced{run: r, jobs: w.s.JobContents(r, c), parts: c.Parts, share: 1000}
	if ask.job != "" {
		t.jobs = slices.DeleteFunc(t.jobs, func(j shop.JobContent) bool { return j.Job != ask.job })
		t.parts = nil
		for _, j := range t.jobs {
			t.parts = t.parts.PutAll(j.Content)
		}
	}
	t.mine = t.parts
	if ask.lot == "" {
		return t
	}
	t.mine = t.parts.Only(ask.lot)
	t.share = shareOf(t.parts, ask.lot)
	if ask.job == "" {
		t.lost = r.Net.OfLot(ask.lot) - t.mine.Total()
	}
	if len(t.parts) > 0 {
		t.dim = below(t.mine.Total(), t.parts.Total(), ask.minPM)
	} else {
		t.dim = below(r.Net.OfLot(ask.lot), r.Net.Total(), ask.minPM)
	}
	return t
}

func (w *Viewer) traceRun(t *traced, lot string) TraceRunView {
	r := t.run
	v := TraceRunView{Run: r.Run, Booth: w.boothRef(r.Booth), Powder: *w.powder(r.Powder), AtMS: r.OpenedMS, Open: r.ClosedMS == 0,
		Jobs: []TraceJobView{}, OnParts: w.Qty(t.mine.Total()), SharePM: t.share, Lost: w.Qty(t.lost), Passes: w.byPasses(t.mine)}
	for _, j := range t.jobs {
		jv := TraceJobView{Job: j.Job, Count: j.Count, OnParts: w.Qty(j.Content.Total()), SharePM: 1000}
		if lot != "" {
			jv.OnParts, jv.SharePM = w.Qty(j.Content.OfLot(lot)), shareOf(j.Content, lot)
		}
		v.Jobs = append(v.Jobs, jv)
	}
	return v
}

// tracePlaces lists where a lot is.
func (w *Viewer) tracePlaces(v *TraceView, ask traceAsk) {
	var rest TraceRest
	var restMass measure.Mass
	for _, id := range slices.Sorted(maps.Keys(w.s.Book.Places)) {
		p := w.s.Book.Places[id]
		mine := p.Content.Only(ask.lot)
		m := mine.Total()
		switch {
		case m == 0:
		case below(m, p.Content.Total(), ask.minPM):
			rest.Rows++
			restMass += m
		default:
			v.Places = append(v.Places, TracePlaceView{w.placeRef(id), string(p.Kind), w.Qty(m), measure.Permille(m, p.Content.Total()), w.byPasses(mine)})
		}
	}
	if rest.Rows > 0 {
		rest.Mass, rest.Lost = w.Qty(restMass), w.Qty(0)
		v.PlacesRest = &rest
	}
}

// traceSum says where all of a lot is.
func (w *Viewer) traceSum(lot string) TraceSum {
	s := w.s
	var on, lost, open, here, scrap, missing, found measure.Mass
	for _, r := range s.Runs {
		c := s.Closing(r)
		mine := c.Parts.OfLot(lot)
		on += mine
		if rest := r.Net.OfLot(lot) - mine; r.ClosedMS == 0 {
			open += rest
		} else {
			lost += rest
		}
	}
	for _, p := range s.Book.Places {
		if m := p.Content.OfLot(lot); p.Kind == ledger.Scrap {
			scrap += m
		} else {
			here += m
		}
	}
	if off := s.Book.Variance.Of(lot); off < 0 {
		found = -off
	} else {
		missing = off
	}
	past := measure.Mass(0)
	if s.Past != nil {
		past = s.Past.Sprayed.Of(lot)
	}
	return TraceSum{Past: w.Qty(past), Received: w.Qty(-s.Book.Received.Of(lot)), Found: w.Qty(found), OnParts: w.Qty(on), Lost: w.Qty(lost), Open: w.Qty(open),
		Here: w.Qty(here), Scrapped: w.Qty(scrap), Missing: w.Qty(missing)}
}

// byPasses adds a content up by passes, virgin first.
func (w *Viewer) byPasses(c ledger.Content) []TracePass {
	sums := map[int]measure.Mass{}
	for _, p := range c {
		sums[int(p.Passes)] += p.Mass
	}
	out := make([]TracePass, 0, len(sums))
	for _, n := range slices.Sorted(maps.Keys(sums)) {
		out = append(out, TracePass{n, w.Qty(sums[n])})
	}
	return out
}
