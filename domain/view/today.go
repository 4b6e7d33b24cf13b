package view

import (
	"cmp"
	"maps"
	"slices"
	"sort"

	"hoppertally/domain/booth"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
)

// TodayView is the work to come: which colour next, and why in this order.
type TodayView struct {
	Booths []Ref        `json:"booths"` // all of the shop
	Plans  []TodayBooth `json:"plans"`  // one booth, or two that share the work
	Done   []TodayJob   `json:"done"`   // planned jobs that are complete, the last due first
}

// TodayBooth is the order of colours of one booth.
type TodayBooth struct {
	Booth   Ref         `json:"booth"`
	Now     *PowderRef  `json:"now,omitempty"` // in the gun
	Stops   []TodayStop `json:"stops"`
	Minutes int64       `json:"minutes"` // of all changes
}

// TodayStop is one colour with its jobs.
type TodayStop struct {
	Powder  PowderRef  `json:"powder"`
	Due     string     `json:"due,omitempty"` // the earliest of its jobs
	Overdue bool       `json:"overdue,omitempty"`
	Level   string     `json:"level,omitempty"` // cleaning before it; "" when it is in the gun already
	Minutes int64      `json:"minutes"`
	Need    Qty        `json:"need"`  // powder out of the gun for what is left; on the parts where the booth's efficiency is not known
	Stock   Qty        `json:"stock"` // of it that may be used, reclaim too
	Short   bool       `json:"short,omitempty"`
	Jobs    []TodayJob `json:"jobs"`
}

// TodayJob is one planned job.
type TodayJob struct {
	Job   string `json:"job"`
	Due   string `json:"due,omitempty"`
	Count int64  `json:"count"`
	Done  int64  `json:"done"` // parts recorded in listed runs of its powder
	Area  string `json:"area"` // of one part
}

// orderedMax is how many colours of one due day are ordered together; a day with more
// is ordered in pieces, in the order of their names.
const orderedMax = 12

// today plans the colours of one booth, or with none given of the shop's only two
// together: by the day they are due; of one day in the order that takes the fewest
// minutes of cleaning, from what is in the gun by then.
func (w *Viewer) toCome(boothID string) (TodayView, error) {
	v := TodayView{Booths: []Ref{}, Plans: []TodayBooth{}, Done: []TodayJob{}}
	ids := slices.Sorted(maps.Keys(w.s.Booths))
	for _, id := range ids {
		v.Booths = append(v.Booths, w.boothRef(id))
	}
	switch {
	case boothID != "" && w.s.Booths[boothID] == nil:
		return v, &Error{"unknown_booth", boothID}
	case boothID != "":
		ids = []string{boothID}
	case len(ids) > booth.BoothsMax:
		ids = ids[:1]
	}
	colours, done := w.colours()
	v.Done = done
	in := make([]string, len(ids)) // powder in the gun of each
	for i, id := range ids {
		in[i] = w.s.Booths[id].Powder
		if c := w.s.Change(w.s.Booths[id].Change); c != nil {
			in[i] = c.To
		}
		v.Plans = append(v.Plans, TodayBooth{Booth: w.boothRef(id), Now: w.powder(in[i]), Stops: []TodayStop{}})
	}
	if len(ids) == 0 {
		return v, nil
	}
	for len(colours) > 0 {
		n := 1
		for n < min(len(colours), orderedMax) && colours[n].Due == colours[0].Due {
			n++
		}
		w.placeColours(colours[:n], ids, in, v.Plans)
		colours = colours[n:]
	}
	return v, nil
}

// colours are the powders with open jobs, by earliest due day (none comes last),
// then by name; and the jobs that are complete.
func (w *Viewer) colours() (open []TodayStop, done []TodayJob) {
	made := w.s.PartsDone()
	by := map[string]*TodayStop{}
	done = []TodayJob{}
	left := map[string]measure.Mass{}
	for _, id := range slices.Sorted(maps.Keys(w.s.Jobs)) {
		j := w.s.Jobs[id]
		row := TodayJob{Job: id, Due: j.Due, Count: j.Count, Done: made[id], Area: w.r.Style.Area(measure.Area(j.AreaCM2))}
		if row.Done >= j.Count {
			done = append(done, row)
			continue
		}
		p := w.s.Powders[j.Powder]
		at := by[j.Powder]
		if at == nil {
			at = &TodayStop{Powder: *w.powder(j.Powder), Jobs: []TodayJob{}}
			by[j.Powder] = at
		}
		at.Jobs = append(at.Jobs, row)
		if j.Due != "" && (at.Due == "" || j.Due < at.Due) {
			at.Due = j.Due
		}
		if p != nil {
			left[j.Powder] = left[j.Powder].Plus(shop.PartsMass(j.Count-row.Done, j.AreaCM2, p.FilmTarget, 1, p.SGMilli))
		}
	}
	byDue := func(list []TodayJob, i, j int) bool {
		return cmp.Or(compareDue(list[i].Due, list[j].Due), cmp.Compare(list[i].Job, list[j].Job)) < 0
	}
	sort.Slice(done, func(i, j int) bool { return byDue(done, j, i) }) // sort.Slice is there once; each generic sort is 16 kB more in the core
	for _, id := range slices.Sorted(maps.Keys(by)) {
		s := by[id]
		sort.Slice(s.Jobs, func(i, j int) bool { return byDue(s.Jobs, i, j) })
		s.Overdue = s.Due != "" && s.Due < w.Today()
		s.Need, s.Stock = w.Qty(left[id]), w.Qty(w.usable(id))
		open = append(open, *s)
	}
	sort.SliceStable(open, func(i, j int) bool {
		return cmp.Or(compareDue(open[i].Due, open[j].Due), cmp.Compare(open[i].Powder.Name, open[j].Powder.Name)) < 0
	})
	return open, done
}

// compareDue puts no due day last.
func compareDue(a, b string) int {
	if (a == "") != (b == "") {
		return cmp.Compare(b, a)
	}
	return cmp.Compare(a, b)
}

// placeColours orders colours of one due day behind what the plans have; in is the
// powder in each gun by then.
func (w *Viewer) placeColours(colours []TodayStop, ids, in []string, plans []TodayBooth) {
	list := make([]booth.Colour, len(colours))
	for i, c := range colours {
		list[i] = booth.Colour{ID: c.Powder.ID}
	}
	days := make([]booth.BoothDay, len(ids))
	for b, id := range ids {
		d := booth.BoothDay{ID: id, Ready: min(plans[b].Minutes, booth.MinutesMax), Start: make([]booth.Change, len(list)), Change: make([][]booth.Change, len(list))}
		for i := range list {
			d.Start[i] = w.changeTo(id, in[b], list[i].ID)
			d.Change[i] = make([]booth.Change, len(list))
			for j := range list {
				if i != j {
					d.Change[i][j] = w.changeTo(id, list[i].ID, list[j].ID)
				}
			}
		}
		days[b] = d
	}
	plan, err := booth.Least(list, days)
	if err != nil { // a figure that nobody thought of: as they stand is an order too
		for i := range colours {
			w.append(&plans[0], ids[0], &in[0], colours[i])
		}
		return
	}
	for b, stops := range plan.Stops {
		for _, s := range stops {
			w.append(&plans[b], ids[b], &in[b], colours[s.Colour])
		}
	}
}

func (w *Viewer) append(plan *TodayBooth, boothID string, in *string, s TodayStop) {
	if *in != s.Powder.ID {
		n := w.needAt(boothID, *in, s.Powder.ID)
		s.Level, s.Minutes = n.Level, n.Expect
	}
	if te := w.s.Booths[boothID].TEPM; te > 0 {
		s.Need = w.Qty(min(measure.Mass(s.Need.MG).MulDiv(1000, te), ledger.BookMax))
	}
	s.Short = s.Need.MG > s.Stock.MG
	*in = s.Powder.ID
	plan.Minutes += s.Minutes
	plan.Stops = append(plan.Stops, s)
}

// changeTo is what a change takes, in minutes of work at the booth: they are what
// the order makes least. A change that was left open for weeks teaches more than
// an order can be made of.
func (w *Viewer) changeTo(boothID, from, to string) booth.Change {
	if from == to {
		return booth.Change{}
	}
	m := min(w.needAt(boothID, from, to).Expect, booth.MinutesMax)
	return booth.Change{Cost: m, Minutes: m}
}
