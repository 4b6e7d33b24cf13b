package shop

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"hoppertally/domain/booth"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/reclaim"
)

func (p *planner) changeStart() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	to := known(p, "powder", p.s.Powders, "form.unknown_powder")
	if b == nil || to == nil {
		return
	}
	recovery := false
	run := p.s.Runs[b.Run]
	if run != nil {
		recovery = run.Mode != "waste"
		p.touch(run.Feed)
	}
	need := p.s.Need(b.Powder, to.Powder, recovery)
	nv := p.viewer.need(need)
	p.plan.Need = &nv
	level := p.choice("level", Levels, cmp.Or(string(need.Level), string(booth.Purge)))
	p.plan.Filled["level"] = level
	if crew := p.crew(); crew > 0 || len(p.plan.Errors) > 0 {
		p.plan.Filled["crew"] = p.text("crew")
	} else if need.People > 0 {
		p.plan.Filled["crew"] = p.r.Style.Number(float64(need.People), 0)
	}
	if run != nil {
		p.add("run.closed", &RunClosed{run.Run})
	}
	p.add("change.started", &ChangeStarted{Booth: b.Booth, Powder: to.Powder, Level: level, Crew: cmp.Or(p.crew(), need.People)})
}

func (p *planner) changeFinish() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	if b == nil {
		return
	}
	c := p.s.change(b.Change)
	if c == nil {
		p.fail("booth", "form.no_change", b.Booth, "")
		return
	}
	elapsed := (p.r.NowMS - c.StartedMS + 30_000) / 60_000
	p.plan.Filled["minutes"] = p.r.Style.Number(float64(max(elapsed, 1)), 0)
	minutes := p.number("minutes", 0, 10_000, true)
	mode := p.choice("mode", Modes, p.lastMode(b.Booth))
	p.plan.Filled["mode"] = mode
	feed := p.place("feed", true)
	if feed == "" {
		p.plan.Filled["feed"] = p.feedFor(b.Booth)
	}
	if purged := p.mass("purged", false); purged > 0 && feed != "" {
		scrap := cmp.Or(p.place("scrap", false), p.scrapPlace(b.Booth))
		if scrap == "" {
			p.fail("scrap", "form.missing", "", "")
			return
		}
		p.plan.Filled["scrap"] = scrap
		p.touch(scrap)
		p.add("powder.moved", &PowderMoved{From: feed, To: scrap, Mass: purged, Why: "purged"})
	}
	p.add("booth.cleaned", &BoothCleaned{Booth: b.Booth, Level: c.Level, Minutes: minutes, Crew: cmp.Or(p.crew(), c.Crew), Checks: p.checks()})
	p.add("change.finished", &ChangeFinished{Booth: b.Booth, Change: c.Entry, Checks: p.checks(), FirstPart: p.text("first_part")})
	if feed != "" {
		p.add("run.opened", &RunOpened{Run: p.newID(), Booth: b.Booth, Powder: c.To, Feed: feed, Mode: mode})
	}
}

// lastMode is how the booth was run last; to waste if it never was.
func (p *planner) lastMode(boothID string) string {
	mode, at := "waste", int64(-1)
	for _, id := range slices.Sorted(maps.Keys(p.s.Runs)) {
		if r := p.s.Runs[id]; r.Booth == boothID && r.OpenedMS > at {
			mode, at = r.Mode, r.OpenedMS
		}
	}
	return mode
}

// feedFor is the vessel that last fed the booth, else its first vessel.
func (p *planner) feedFor(boothID string) string {
	feed, at := "", int64(-1)
	for _, id := range slices.Sorted(maps.Keys(p.s.Runs)) {
		if r := p.s.Runs[id]; r.Booth == boothID && r.OpenedMS > at && p.s.Places[r.Feed] != nil {
			feed, at = r.Feed, r.OpenedMS
		}
	}
	if feed != "" {
		return feed
	}
	for _, id := range slices.Sorted(maps.Keys(p.s.Places)) {
		if q := p.s.Places[id]; q.Booth == boothID && q.Kind == string(ledger.Vessel) {
			return id
		}
	}
	return ""
}

// scrapPlace is the booth's scrap place, else any.
func (p *planner) scrapPlace(boothID string) string {
	found := ""
	for _, id := range slices.Sorted(maps.Keys(p.s.Places)) {
		q := p.s.Places[id]
		if q.Kind != string(ledger.Scrap) {
			continue
		}
		if q.Booth == boothID {
			return id
		}
		found = cmp.Or(found, id)
	}
	return found
}

// charge fills a vessel from a lot on a shelf and from a reclaim bin. The best
// blend is worked out whatever the form says, so that it can be taken over.
func (p *planner) charge() {
	to := p.place("to", true)
	if to == "" {
		return
	}
	powder := p.powderFor(to)
	p.plan.Offer = p.lotsOf(powder, false)
	lot := p.text("lot")
	if lot == "" && len(p.plan.Offer) > 0 && p.plan.Offer[0].Turn == 1 {
		lot = p.plan.Offer[0].Lot
		p.plan.Filled["lot"] = lot
	}
	shelf := p.text("shelf")
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
		p.add("powder.moved", &PowderMoved{From: shelf, To: to, Mass: virgin, Lot: lot})
		p.checkLot(lot)
	}
	if rec > 0 && p.source("bin", bin) {
		p.add("powder.moved", &PowderMoved{From: bin, To: to, Mass: rec})
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

// checkLot warns where a lot is not the one to use now.
func (p *planner) checkLot(lot string) {
	l := p.s.Lots[lot]
	if l == nil {
		return
	}
	for _, o := range p.lotsOf(l.Powder, false) {
		if o.Lot == lot && o.Turn > 1 {
			p.warn("out_of_turn", p.batch(p.plan.Offer[0].Lot))
		}
	}
	if l.Held {
		p.warn("lot_held", l.Batch)
	}
	if p.isExpired(l) {
		p.warn("lot_expired", l.Batch+" "+l.UseBy)
	}
}

func (p *planner) checkLimit(to, powder string, virgin, rec measure.Mass) {
	w := p.s.Powders[powder]
	if w == nil {
		return
	}
	c := p.s.Book.Places[to].Content
	total, r := c.Total()+virgin+rec, c.Reclaim()+rec
	if over := r - total.MulDiv(w.ReclaimMaxPM, 1000); over > 0 {
		p.warn("reclaim_over", p.qty(over).Text)
	}
}

// powderFor is the powder that belongs into a vessel: of the run it feeds, else
// what is in it, else what its booth holds or is being changed to.
func (p *planner) powderFor(place string) string {
	q := p.s.Places[place]
	if run := p.s.Runs[q.Feeds]; run != nil {
		return run.Powder
	}
	if in := p.s.powdersIn(p.s.Book.Places[place].Content); len(in) == 1 {
		return in[0]
	}
	if b := p.s.Booths[q.Booth]; b != nil {
		if c := p.s.change(b.Change); c != nil {
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
		if in := p.s.powdersIn(q.Content); len(in) != 1 || in[0] != powder {
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
	if b := p.s.Book.Places[bin]; b != nil && len(p.s.powdersIn(b.Content)) == 1 {
		inBin = b.Content.Total()
	}
	if s := p.s.Book.Places[shelf]; s != nil && lot != "" {
		onShelf = s.Content.OfLot(lot)
	}
	blend, err := reclaim.TopUp(h, measure.Share(w.ReclaimMaxPM), inBin, onShelf)
	if err != nil {
		return // a mass out of range; the form's own errors say which
	}
	best := BestBlend{Virgin: p.qty(blend.Virgin), Reclaim: p.qty(blend.Reclaim), Lot: lot, From: shelf, Bin: bin,
		ReclaimPM: permille(blend.ReclaimAfter, blend.TotalAfter), Binding: string(blend.Binding)}
	if blend.TotalAfter > 0 {
		best.Ratio = p.r.Style.Ratio(blend.TotalAfter-blend.ReclaimAfter, blend.ReclaimAfter)
	}
	if blend.OverBy > 0 {
		over := p.qty(blend.OverBy)
		best.OverBy = &over
	}
	if blend.Dilutes && blend.Dilute > 0 {
		dilute := p.qty(blend.Dilute)
		best.Dilute = &dilute
	}
	p.plan.Best = &best
}

func (p *planner) weigh() {
	id := p.place("place", true)
	mass := p.net(id, p.mass("mass", true))
	if id == "" || len(p.plan.Errors) > 0 {
		return
	}
	lot := p.text("lot")
	there := p.s.Book.Places[id]
	books := there.Content.Total()
	if there.Kind == ledger.Shelf {
		if lot == "" {
			lot = onlyLot(there.Content)
		}
		if lot == "" {
			p.fail("lot", "form.missing", "", "")
			return
		}
		books = there.Content.OfLot(lot)
	} else {
		lot = ""
	}
	p.plan.Diff = p.weighDiff(books, mass, p.s.Places[id].Feeds != "")
	p.add("place.weighed", &PlaceWeighed{Place: id, Mass: mass, Lot: lot})
}

func (p *planner) weighDiff(books, mass measure.Mass, feeds bool) *WeighDiff {
	d := WeighDiff{Books: p.qty(books), Weighed: p.qty(mass)}
	switch {
	case mass == books:
		d.Meaning = "same"
	case mass > books:
		d.Meaning, d.Diff = "found", p.qty(mass-books)
	case feeds:
		d.Meaning, d.Diff = "sprayed", p.qty(books-mass)
	default:
		d.Meaning, d.Diff = "missing", p.qty(books-mass)
	}
	if d.Diff.Text == "" {
		d.Diff = p.qty(0)
	}
	return &d
}

// net takes the container off where the scale showed both.
func (p *planner) net(place string, m measure.Mass) measure.Mass {
	q := p.s.Places[place]
	if q == nil || p.text("gross") != "yes" {
		return m
	}
	if q.Tare == 0 {
		p.fail("gross", "form.no_tare", q.Name, "")
		return m
	}
	if m < q.Tare {
		p.fail("mass", "form.below_tare", p.text("mass"), p.qty(q.Tare).Text)
		return 0
	}
	return m - q.Tare
}

// recover books collected overspray. It was sprayed before the feed was last
// weighed in this run, so it counts just before that weighing: then the
// weighing's difference is net of it.
func (p *planner) recover() {
	run := known(p, "run", p.s.Runs, "form.unknown_run")
	to := p.place("to", true)
	mass := p.mass("mass", true)
	if run == nil || to == "" || len(p.plan.Errors) > 0 {
		return
	}
	if p.text("gross") == "yes" { // the scale showed the bin with what was in it before
		mass = p.net(to, mass) - p.s.Book.Places[to].Content.Total()
		if mass < 0 {
			p.fail("mass", "form.below_books", p.text("mass"), p.qty(p.s.Book.Places[to].Content.Total()).Text)
			return
		}
	}
	p.touch(run.Feed)
	var at int64
	if feed := p.s.Places[run.Feed]; feed != nil && run.Weighings > 0 && feed.WeighedMS > run.OpenedMS && (run.ClosedMS == 0 || feed.WeighedMS <= run.ClosedMS) {
		at = feed.WeighedMS - 1
	}
	sieved := p.text("sieved") == "yes"
	if !sieved && p.s.Book.Places[to].Kind == ledger.Vessel {
		p.warn("unsieved", p.s.Places[to].Name)
	}
	p.addAt("powder.recovered", &PowderRecovered{Run: run.Run, From: run.Feed, To: to, Mass: mass, Sieved: sieved}, at)
}

func (p *planner) scrap() {
	from, to := p.place("from", true), p.place("to", true)
	mass, why := p.mass("mass", true), p.need("why")
	if from != "" && to != "" {
		p.add("powder.moved", &PowderMoved{From: from, To: to, Mass: mass, Lot: p.text("lot"), Why: why})
	}
}

func (p *planner) move() {
	from, to := p.place("from", true), p.place("to", true)
	mass, lot := p.mass("mass", true), p.text("lot")
	if from == "" || to == "" {
		return
	}
	if p.s.Book.Places[from].Kind == ledger.Shelf && lot == "" {
		if lot = onlyLot(p.s.Book.Places[from].Content); lot == "" {
			p.fail("lot", "form.missing", "", "")
		}
	}
	if l := p.s.Lots[lot]; l != nil && p.s.Places[to].Kind == string(ledger.Vessel) {
		p.plan.Offer = p.lotsOf(l.Powder, false)
		p.checkLot(lot)
	}
	p.add("powder.moved", &PowderMoved{From: from, To: to, Mass: mass, Lot: lot, Why: p.text("why")})
}

func (p *planner) clean() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	level := p.choice("level", Levels, "")
	minutes := p.number("minutes", 0, 10_000, true)
	if b != nil {
		p.add("booth.cleaned", &BoothCleaned{Booth: b.Booth, Level: level, Minutes: minutes, Crew: p.crew(), Checks: p.checks()})
	}
}

func (p *planner) parts() {
	run := known(p, "run", p.s.Runs, "form.unknown_run")
	job, count := p.need("job"), p.number("count", 1, 10_000_000, true)
	v := p.need("area")
	coats := p.number("coats", 0, 10, false)
	if run == nil || v == "" {
		return
	}
	area, err := p.r.Style.ParseArea(v)
	p.badNumber("area", v, err)
	p.add("parts.coated", &PartsCoated{Run: run.Run, Job: job, Count: count, AreaCM2: int64(area), Coats: max(coats, 1)})
}

func (p *planner) film() {
	run := known(p, "run", p.s.Runs, "form.unknown_run")
	var spots []int64
	for _, word := range strings.Fields(strings.ReplaceAll(p.need("spots"), ";", " ")) {
		f, err := p.r.Style.ParseFilm(word)
		if p.badNumber("spots", word, err); err != nil {
			return
		}
		spots = append(spots, int64(f))
	}
	if run != nil && len(spots) > 0 {
		p.add("film.read", &FilmRead{Run: run.Run, Spots: spots})
	}
}

func (p *planner) runClose() {
	if run := known(p, "run", p.s.Runs, "form.unknown_run"); run != nil {
		p.touch(run.Feed)
		p.add("run.closed", &RunClosed{run.Run})
	}
}
