package shop

import (
	"fmt"
	"maps"
	"slices"

	"hoppertally/domain/booth"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

func (w *viewer) booth(id string) (BoothView, error) {
	s := w.s
	v := BoothView{Booths: []Ref{}, Bins: []VesselView{}, Powders: []PowderRef{}}
	for _, b := range slices.Sorted(maps.Keys(s.Booths)) {
		v.Booths = append(v.Booths, w.boothRef(b))
	}
	if id == "" && len(v.Booths) > 0 {
		id = v.Booths[0].ID
	}
	for _, p := range w.powderIDs() {
		v.Powders = append(v.Powders, *w.powder(p))
	}
	v.Recent, v.Attention = []EntryView{}, []AttentionView{}
	if id == "" {
		return v, nil
	}
	b := s.Booths[id]
	if b == nil {
		return v, &ViewError{"unknown_booth", id}
	}
	v.Booth, v.Powder = w.boothRef(id), w.powder(b.Powder)
	feed := ""
	if r := s.Runs[b.Run]; r != nil {
		rv := w.run(r)
		v.Run, feed = &rv, r.Feed
		vv := w.vessel(feed)
		v.Feed = &vv
	}
	v.Bins = w.places(func(p *Place) bool { return p.Booth == id && p.Kind == string(ledger.Vessel) && p.Place != feed })
	if c := s.change(b.Change); c != nil {
		cv := w.change(c)
		v.Change = &cv
	}
	if b.CleanLevel != "" {
		v.Clean = &CleanView{b.CleanLevel, b.CleanMS, w.person(b.CleanBy), b.CleanMin, b.CleanCrew}
	}
	if b.Ground.AtMS != 0 {
		v.Ground = w.ground(b.Ground)
	}
	if r := s.run(b.Run); r != nil && s.Setups[r.Setup] != nil {
		v.Setup = &Ref{r.Setup, w.setup(s.Setups[r.Setup]).Name}
	}
	v.Recent = w.entries(viewParams{Booth: id, Max: 12})
	v.Attention = w.attention(func(i *Issue) bool { return w.atBooth(id, i) })
	return v, nil
}

func (w *viewer) atBooth(booth string, i *Issue) bool {
	if i.Booth != "" {
		return i.Booth == booth
	}
	if p := w.s.Places[i.Place]; p != nil && p.Booth != "" {
		return p.Booth == booth
	}
	if r := w.s.Runs[i.Run]; r != nil {
		return r.Booth == booth
	}
	if c := w.s.change(i.Entry); c != nil {
		return c.Booth == booth
	}
	return false
}

func (w *viewer) room() RoomView {
	return RoomView{
		Stock:  w.stock(),
		Places: w.places(func(p *Place) bool { return p.Kind != string(ledger.Scrap) }),
		Recent: w.entries(viewParams{Max: 12}),
		Attention: w.attention(func(i *Issue) bool {
			return i.Lot != "" || i.Code == "room_warm" || i.Code == "room_damp" ||
				i.Place != "" && w.s.Places[i.Place] != nil && w.s.Places[i.Place].Kind == string(ledger.Shelf)
		}),
		Climate: w.climate(),
	}
}

func (w *viewer) climate() []ClimateView {
	out := []ClimateView{}
	for _, id := range slices.Sorted(maps.Keys(w.s.Rooms)) {
		r := w.s.Rooms[id]
		v := ClimateView{Temp: w.r.Style.Temp(measure.Temp(r.TempDC)), AtMS: r.AtMS}
		if id != "" {
			p := w.placeRef(id)
			v.Place = &p
		}
		if r.RHPM > 0 {
			v.RH = w.r.Style.Share(measure.Share(r.RHPM))
		}
		out = append(out, v)
	}
	return out
}

// officeRows is how many runs and changes stand on the office's first screen.
const officeRows = 8

func (w *viewer) office() OfficeView {
	return OfficeView{
		Stock: w.stock(), Vessels: w.places(func(p *Place) bool { return p.Kind != string(ledger.Shelf) }),
		Runs: w.runs(officeRows), Changes: w.changes(officeRows), Attention: w.attention(nil), Flow: w.flow(), Entries: w.s.Folded,
	}
}

func (w *viewer) lists() ListsView {
	v := ListsView{Powders: []PowderRef{}, Booths: []Ref{}, People: w.people(), Lots: w.lotsOf("", false), Setups: []SetupView{}}
	for _, id := range slices.Sorted(maps.Keys(w.s.Setups)) {
		v.Setups = append(v.Setups, w.setup(w.s.Setups[id]))
	}
	for _, id := range w.powderIDs() {
		v.Powders = append(v.Powders, *w.powder(id))
	}
	v.Places = w.places(func(*Place) bool { return true })
	for _, id := range slices.Sorted(maps.Keys(w.s.Booths)) {
		v.Booths = append(v.Booths, w.boothRef(id))
	}
	return v
}

func (w *viewer) people() []PersonView {
	out := []PersonView{}
	for _, id := range slices.Sorted(maps.Keys(w.s.People)) {
		p := w.s.People[id]
		out = append(out, PersonView{id, p.Name, p.Role, p.Gone})
	}
	return out
}

func (w *viewer) shop() ShopView {
	return ShopView(w.s.Shop)
}

func (w *viewer) onePlace(id string) (VesselView, error) {
	if w.s.Places[id] == nil {
		return VesselView{}, &ViewError{"unknown_place", id}
	}
	return w.vessel(id), nil
}

func (w *viewer) oneRun(id string) (RunView, error) {
	r := w.s.Runs[id]
	if r == nil {
		return RunView{}, &ViewError{"unknown_run", id}
	}
	return w.run(r), nil
}

// runs are the newest runs, at most that many.
func (w *viewer) runs(most int) []RunView {
	rs := w.runsByTime()
	rs = rs[:min(len(rs), most)]
	out := make([]RunView, 0, len(rs))
	for _, r := range rs {
		out = append(out, w.run(r))
	}
	return out
}

func (w *viewer) run(r *Run) RunView {
	c := w.s.Closing(r)
	v := RunView{Run: r.Run, Booth: w.boothRef(r.Booth), Powder: *w.powder(r.Powder), Feed: w.placeRef(r.Feed), Mode: r.Mode,
		Open: r.ClosedMS == 0, OpenedMS: r.OpenedMS, ClosedMS: r.ClosedMS, Balance: w.balance(r, c), Jobs: []JobView{},
		Lots: w.lotShares(c.Parts), Cures: w.cures(r), Readings: int(r.FilmN), Weighed: r.Weighings > 0, Capable: w.capability(r)}
	shares := w.s.jobShares(r, c)
	for i, j := range r.Jobs {
		v.Jobs = append(v.Jobs, JobView{j.Job, j.Count, w.r.Style.Area(measure.Area(j.Count * j.AreaCM2)), w.qty(shares[i])})
	}
	if b := w.s.Setups[r.Setup]; b != nil {
		x := w.setup(b)
		v.Setup = &x
	}
	if r.FilmN > 0 {
		film := func(um10 int64) string { return w.r.Style.Film(measure.Film(um10)) }
		v.FilmMean, v.FilmMin, v.FilmMax = film((r.FilmSum+r.FilmN/2)/r.FilmN), film(r.FilmMin), film(r.FilmMax)
	}
	return v
}

func (w *viewer) balance(r *Run, c Closing) Balance {
	b := Balance{Gross: w.qty(c.Gross), Net: w.qty(c.Net), OnParts: w.qty(c.OnParts), Recovered: w.qty(c.Recovered),
		Scrapped: w.qty(c.Scrapped), Lost: w.qty(c.Lost), TEPM: -1, TESDPM: -1, UsePM: -1, Estimated: c.Estimated}
	if c.LostSD > 0 {
		q := w.qty(c.LostSD)
		b.LostSD = &q
	}
	switch {
	case r.Weighings == 0:
		b.Why = "not_weighed"
	case len(r.Jobs) == 0:
		b.Why = "no_parts"
	case c.Capped:
		b.Why = "more_than_sprayed"
	case c.Estimated:
		b.Why = "target_film"
	}
	if c.Gross > 0 && c.OnParts > 0 {
		b.TEPM, b.UsePM = measure.Permille(c.OnParts, c.Gross), measure.Permille(c.OnParts, c.Net+c.Scrapped)
		b.TE, b.Use = w.r.Style.Share(measure.Share(b.TEPM)), w.r.Style.Share(measure.Share(b.UsePM))
		if c.TESD > 0 {
			b.TESDPM = int64(c.TESD*1000 + 0.5)
		}
	}
	return b
}

// changes are the newest colour changes, at most that many.
func (w *viewer) changes(most int) []ChangeView {
	n := min(len(w.s.Changes), most)
	out := make([]ChangeView, 0, n)
	for _, c := range slices.Backward(w.s.Changes[len(w.s.Changes)-n:]) {
		out = append(out, w.change(c))
	}
	return out
}

func (w *viewer) change(c *Change) ChangeView {
	return ChangeView{Change: c.Entry, Booth: w.boothRef(c.Booth), From: w.powder(c.From), To: *w.powder(c.To), Level: c.Level,
		Needed: c.Needed, Below: levelRank(c.Level) < levelRank(c.Needed), StartedMS: c.StartedMS, FinishedMS: c.FinishedMS,
		Minutes: c.Minutes, Crew: c.Crew, Scrapped: w.qty(c.Scrapped), By: w.person(c.By)}
}

func (w *viewer) needFor(boothID, powder string) NeedView {
	s := w.s
	from, recovery := "", false
	if b := s.Booths[boothID]; b != nil {
		from = b.Powder
		if r := s.Runs[b.Run]; r != nil {
			recovery = r.Mode != "waste"
		}
	}
	return w.need(from, powder, s.Need(from, powder, recovery))
}

// need is what a change from one powder to another asks for, and how long it is
// expected to take.
func (w *viewer) need(from, to string, n booth.Need) NeedView {
	e := w.s.ExpectedMinutes(from, to, n.Minutes, w.r.NowMS)
	v := NeedView{Expect: int64(e.Minutes + 0.5), Changes: e.Changes, Level: string(n.Level), Minutes: int64(n.Minutes + 0.5), People: n.People, Reasons: []ReasonView{}}
	for _, r := range n.Reasons {
		rv := ReasonView{Code: string(r.Code), Level: string(r.Level)}
		switch {
		case r.DeltaE != 0:
			rv.Text = "ΔE00 " + w.r.Style.Number(r.DeltaE, 1)
		case r.From != "" || r.To != "":
			rv.From, rv.To = r.From, r.To
		}
		v.Reasons = append(v.Reasons, rv)
	}
	return v
}

// flow says where all powder is, so that both sides are equal.
func (w *viewer) flow() FlowView {
	s := w.s
	var shelves, vessels, scrap, parts, lost, open, found, missing measure.Mass
	for _, p := range s.Book.Places {
		m := p.Content.Total()
		switch p.Kind {
		case ledger.Shelf:
			shelves += m
		case ledger.Scrap:
			scrap += m
		default:
			vessels += m
		}
	}
	if s.Past != nil {
		parts, lost = s.Past.Parts, s.Past.Lost
	}
	for _, r := range s.Runs {
		if r.ClosedMS == 0 {
			open += r.Net.Total()
			continue
		}
		c := s.Closing(r)
		parts += c.OnParts
		lost += c.Lost
	}
	for _, e := range s.Book.Variance {
		if e.Mass < 0 {
			found -= e.Mass
		} else {
			missing += e.Mass
		}
	}
	return FlowView{Received: w.qty(-s.Book.Received.Total()), Found: w.qty(found), Shelves: w.qty(shelves), Vessels: w.qty(vessels),
		Scrap: w.qty(scrap), Parts: w.qty(parts), Lost: w.qty(lost), Open: w.qty(open), Missing: w.qty(missing)}
}

// powderForms lists every powder as the form that sets it holds it.
func (w *viewer) powderForms() []map[string]string {
	out := []map[string]string{}
	for _, id := range w.powderIDs() {
		p := w.s.Powders[id]
		m := map[string]string{"powder": id, "name": p.Name, "chemistry": p.Chemistry,
			"sg": w.r.Style.Number(float64(p.SGMilli)/1000, 3), "film_min": w.r.Style.Film(measure.Film(p.FilmMin)),
			"film_target": w.r.Style.Film(measure.Film(p.FilmTarget)), "film_max": w.r.Style.Film(measure.Film(p.FilmMax)),
			"reclaim_max": w.r.Style.Share(measure.Share(p.ReclaimMaxPM))}
		for field, text := range map[string]string{"code": p.Code, "maker": p.Maker, "finish": p.Finish} {
			if text != "" {
				m[field] = text
			}
		}
		putInt(m, "passes_max", p.PassesMax)
		putInt(m, "shelf_months", p.ShelfMonths)
		if p.StoreMaxDC != 0 {
			m["store_max"] = w.r.Style.Temp(measure.Temp(p.StoreMaxDC))
		}
		putInt(m, "lead_days", p.LeadDays)
		if p.Box != 0 {
			m["box"] = w.r.Style.Mass(p.Box)
		}
		if p.MECMGM3 != 0 {
			m["mec"] = w.r.Style.Number(float64(p.MECMGM3)/1000, 3)
		}
		if p.CureDC != 0 {
			m["cure_temp"] = w.r.Style.Temp(measure.Temp(p.CureDC))
		}
		for field, s := range map[string]int64{"cure_min": p.CureS, "cure_max": p.CureMaxS} {
			if s != 0 {
				m[field] = w.r.Style.Number(float64(s)/60, 2)
			}
		}
		if len(p.Lab) == 3 {
			m["lab"] = fmt.Sprintf("%g %g %g", p.Lab[0], p.Lab[1], p.Lab[2])
		}
		out = append(out, m)
	}
	return out
}

func (w *viewer) boothForms() []map[string]string {
	out := []map[string]string{}
	for _, id := range slices.Sorted(maps.Keys(w.s.Booths)) {
		b := w.s.Booths[id]
		m := map[string]string{"booth": id, "name": b.Name}
		putInt(m, "exhaust", b.ExhaustM3H)
		putInt(m, "guns", b.Guns)
		if b.TEPM > 0 {
			m["te"] = w.r.Style.Share(measure.Share(b.TEPM))
		}
		if b.RecoveryPM > 0 {
			m["recovery"] = w.r.Style.Share(measure.Share(b.RecoveryPM))
		}
		out = append(out, m)
	}
	return out
}

func putInt(m map[string]string, key string, n int64) {
	if n != 0 {
		m[key] = fmt.Sprint(n)
	}
}
