package shop

import (
	"cmp"
	"maps"
	"math"
	"math/bits"
	"slices"
	"sort"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// traceAsk is what to follow: a lot forward (on one job or run alone, if named),
// else a job or a run backward.
type traceAsk struct {
	lot, run, job string
	minPM         int64
}

// trace makes the recall sheet. The errors are *ViewError unknown_lot for a lot
// that stands nowhere in the books, unknown_job and unknown_run.
func (w *viewer) trace(ask traceAsk) (TraceView, error) {
	v := TraceView{LotID: ask.lot, Job: ask.job, Run: ask.run, MinPM: ask.minPM,
		Runs: []TraceRunView{}, Places: []TracePlaceView{}, Lots: []LotShareView{}}
	if past := w.s.Past; past != nil && past.Runs > 0 && ask.run == "" && (ask.lot == "" || past.Sprayed.Of(ask.lot) != 0) {
		v.CutMS = past.CutMS
	}
	if ask.run != "" && w.s.Runs[ask.run] == nil {
		return v, &ViewError{"unknown_run", ask.run}
	}
	on, of, all := w.traceRuns(&v, ask)
	v.Parts = TraceParts{w.qty(on), w.qty(of)}
	if ask.job != "" && of < 0 {
		return v, &ViewError{"unknown_job", ask.job}
	}
	switch {
	case ask.lot == "":
		v.Lots, v.LotsRest = w.lotsAbove(all, ask.minPM)
		return v, nil
	case w.s.Lots[ask.lot] != nil:
		l := w.lot(ask.lot)
		v.Lot = &l
	case ask.lot != ledger.UnknownLot && !w.s.Book.Knows(ask.lot) && (w.s.Past == nil || w.s.Past.Sprayed.Of(ask.lot) == 0) && len(v.Runs) == 0 && v.RunsRest == nil:
		return v, &ViewError{"unknown_lot", ask.lot}
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
	run   *Run
	jobs  []jobContent
	parts ledger.Content // on the parts in question, all lots
	mine  ledger.Content // of them the lot asked for, else all
	lost  measure.Mass
	share int64
	dim   bool // below the threshold
}

// traceRuns lists the runs and answers what is on the parts in question of what
// is asked for (on), of all lots (of; -1 when there is no such job), and all of it.
func (w *viewer) traceRuns(v *TraceView, ask traceAsk) (on, of measure.Mass, all ledger.Content) {
	if ask.job != "" {
		of = -1
	}
	var rest TraceRest
	var restOn, restLost measure.Mass
	for _, r := range w.runsByTime() {
		if ask.run != "" && r.Run != ask.run || ask.job != "" && !r.hasJob(ask.job) {
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
		rest.Mass, rest.Lost = w.qty(restOn), w.qty(restLost)
		v.RunsRest = &rest
	}
	return on, of, all
}

// tracedIn splits a run's powder by what is asked for.
func (w *viewer) tracedIn(r *Run, ask traceAsk) traced {
	c := w.s.Closing(r)
	t := traced{run: r, jobs: w.s.jobContents(r, c), parts: c.Parts, share: 1000}
	if ask.job != "" {
		t.jobs = slices.DeleteFunc(t.jobs, func(j jobContent) bool { return j.job != ask.job })
		t.parts = nil
		for _, j := range t.jobs {
			t.parts = t.parts.PutAll(j.content)
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

func (w *viewer) traceRun(t *traced, lot string) TraceRunView {
	r := t.run
	v := TraceRunView{Run: r.Run, Booth: w.boothRef(r.Booth), Powder: *w.powder(r.Powder), AtMS: r.OpenedMS, Open: r.ClosedMS == 0,
		Jobs: []TraceJobView{}, OnParts: w.qty(t.mine.Total()), SharePM: t.share, Lost: w.qty(t.lost), Passes: w.byPasses(t.mine)}
	for _, j := range t.jobs {
		jv := TraceJobView{Job: j.job, Count: j.count, OnParts: w.qty(j.content.Total()), SharePM: 1000}
		if lot != "" {
			jv.OnParts, jv.SharePM = w.qty(j.content.OfLot(lot)), shareOf(j.content, lot)
		}
		v.Jobs = append(v.Jobs, jv)
	}
	return v
}

// tracePlaces lists where a lot is.
func (w *viewer) tracePlaces(v *TraceView, ask traceAsk) {
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
			v.Places = append(v.Places, TracePlaceView{w.placeRef(id), string(p.Kind), w.qty(m), measure.Permille(m, p.Content.Total()), w.byPasses(mine)})
		}
	}
	if rest.Rows > 0 {
		rest.Mass, rest.Lost = w.qty(restMass), w.qty(0)
		v.PlacesRest = &rest
	}
}

// traceSum says where all of a lot is.
func (w *viewer) traceSum(lot string) TraceSum {
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
	return TraceSum{Past: w.qty(past), Received: w.qty(-s.Book.Received.Of(lot)), Found: w.qty(found), OnParts: w.qty(on), Lost: w.qty(lost), Open: w.qty(open),
		Here: w.qty(here), Scrapped: w.qty(scrap), Missing: w.qty(missing)}
}

// byPasses adds a content up by passes, virgin first.
func (w *viewer) byPasses(c ledger.Content) []TracePass {
	sums := map[int]measure.Mass{}
	for _, p := range c {
		sums[int(p.Passes)] += p.Mass
	}
	out := make([]TracePass, 0, len(sums))
	for _, n := range slices.Sorted(maps.Keys(sums)) {
		out = append(out, TracePass{n, w.qty(sums[n])})
	}
	return out
}

// lotShares lists a content by mass, most first.
func (w *viewer) lotShares(c ledger.Content) []LotShareView {
	out, _ := w.lotsAbove(c, 0)
	return out
}

// lotsAbove is lotShares without the shares below minPM, and their sum.
func (w *viewer) lotsAbove(c ledger.Content, minPM int64) ([]LotShareView, *TraceRest) {
	out := make([]LotShareView, 0, len(c))
	var rest TraceRest
	var restMass measure.Mass
	total, shares := c.Total(), permilles(c)
	for i, p := range c {
		if below(p.Mass, total, minPM) {
			rest.Rows++
			rest.SharePM += shares[i]
			restMass += p.Mass
			continue
		}
		out = append(out, LotShareView{p.Lot, w.batch(p.Lot), int(p.Passes), w.qty(p.Mass), shares[i]})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Mass.MG > out[j].Mass.MG })
	if rest.Rows == 0 {
		return out, nil
	}
	rest.Mass, rest.Lost = w.qty(restMass), w.qty(0)
	return out, &rest
}

// permilles is the share of each part of a content; they add up to 1000.
func permilles(c ledger.Content) []int64 {
	out := make([]int64, len(c))
	weights := make([]measure.Mass, len(c))
	for i, p := range c {
		weights[i] = p.Mass
	}
	shares, err := measure.Mass(1000).Split(weights) // a mass only in name: the exact split of 1000 ‰
	if err != nil {
		return out // nothing there
	}
	for i, s := range shares {
		out[i] = int64(s)
	}
	return out
}

// shareOf is a lot's share of a content: over all its lots they add up to 1000.
func shareOf(c ledger.Content, lot string) (pm int64) {
	for i, s := range permilles(c) {
		if c[i].Lot == lot {
			pm += s
		}
	}
	return pm
}

// below tells exactly whether part is less than pm per mille of whole.
func below(part, whole measure.Mass, pm int64) bool {
	h1, l1 := bits.Mul64(uint64(part), 1000)
	h2, l2 := bits.Mul64(uint64(whole), uint64(pm))
	return h1 < h2 || h1 == h2 && l1 < l2
}

// jobContent is the powder on the parts of one job of a run, by lot and passes.
type jobContent struct {
	job     string
	count   int64
	content ledger.Content
}

// jobContents splits the powder on a run's parts over its jobs, exactly, in the
// order in which they were first coated.
func (s *State) jobContents(r *Run, c Closing) (out []jobContent) {
	rest := c.Parts.Clone()
	shares := s.jobShares(r, c)
	for i, j := range r.Jobs {
		var mine ledger.Content
		mine, rest = rest.Take(shares[i])
		at := slices.IndexFunc(out, func(x jobContent) bool { return x.job == j.Job })
		if at < 0 {
			out = append(out, jobContent{j.Job, j.Count, mine})
			continue
		}
		out[at].count += j.Count
		out[at].content = out[at].content.PutAll(mine)
	}
	return out
}

// jobShares splits the powder on a run's parts over its jobs, exactly.
func (s *State) jobShares(r *Run, c Closing) []measure.Mass {
	masses := s.jobMasses(r)
	most := min(c.Net, math.MaxInt64/measure.Mass(max(len(masses), 1)))
	for i := range masses {
		masses[i] = min(masses[i], most) // keeps the sum in range; only ever binds when the whole is capped
	}
	shares, err := c.OnParts.Split(masses)
	if err != nil {
		return make([]measure.Mass, len(masses)) // no job has an area
	}
	return shares
}

// hasJob tells whether parts of a job were coated in the run.
func (r *Run) hasJob(job string) bool {
	return slices.ContainsFunc(r.Jobs, func(j JobDone) bool { return j.Job == job })
}

// runsByTime lists the runs, newest first.
func (w *viewer) runsByTime() []*Run {
	rs := slices.Collect(maps.Values(w.s.Runs))
	slices.SortFunc(rs, func(a, b *Run) int {
		return cmp.Or(cmp.Compare(b.OpenedMS, a.OpenedMS), cmp.Compare(a.Run, b.Run))
	})
	return rs
}
