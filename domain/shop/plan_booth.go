package shop

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"

	"hoppertally/domain/booth"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
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
	nv := p.view.need(b.Powder, to.Powder, need)
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
	p.plan.Filled["minutes"] = strconv.FormatInt(c.leftMinutes(p.r.NowMS), 10) // as it is read: without groups
	minutes := p.number("minutes", 0, cleanMinutesMax, true)
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
		setup := p.text("setup")
		if setup != "" && p.s.Setups[setup] == nil {
			p.fail("setup", "form.choice", setup, "")
			return
		}
		p.add("run.opened", &RunOpened{Run: p.newID(), Booth: b.Booth, Powder: c.To, Feed: feed, Mode: mode, Setup: setup})
	}
}

// leftMinutes is what a change took until now, less what was logged of it: the last
// cleanout's own share. At least a minute when nothing was logged.
func (c *Change) leftMinutes(nowMS int64) int64 {
	elapsed := max((nowMS-c.StartedMS+30_000)/60_000, 1)
	return min(max(elapsed-c.Minutes, 0), cleanMinutesMax)
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
			lot = there.Content.OnlyLot()
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
	d := WeighDiff{Books: p.view.qty(books), Weighed: p.view.qty(mass)}
	switch {
	case mass == books:
		d.Meaning = "same"
	case mass > books:
		d.Meaning, d.Diff = "found", p.view.qty(mass-books)
	case feeds:
		d.Meaning, d.Diff = "sprayed", p.view.qty(books-mass)
	default:
		d.Meaning, d.Diff = "missing", p.view.qty(books-mass)
	}
	if d.Diff.Text == "" {
		d.Diff = p.view.qty(0)
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
		p.fail("mass", "form.below_tare", p.text("mass"), p.view.qty(q.Tare).Text)
		return 0
	}
	return m - q.Tare
}

// recover books collected overspray. It was sprayed before the feed was last
// weighed in this run, so it counts shortly before that weighing: then the
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
			p.fail("mass", "form.below_books", p.text("mass"), p.view.qty(p.s.Book.Places[to].Content.Total()).Text)
			return
		}
	}
	p.touch(run.Feed)
	var at int64
	if feed := p.s.Places[run.Feed]; feed != nil && run.Weighings > 0 && feed.WeighedMS > run.OpenedMS && (run.ClosedMS == 0 || feed.WeighedMS <= run.ClosedMS) {
		at = p.before(run.Feed, feed.WeighedMS, run.OpenedMS)
	}
	sieved := p.text("sieved") == "yes"
	if !sieved && p.s.Book.Places[to].Kind == ledger.Vessel {
		p.warn("unsieved", p.s.Places[to].Name)
	}
	p.addAt("powder.recovered", &PowderRecovered{Run: run.Run, From: run.Feed, To: to, Mass: mass, Sieved: sieved}, at)
}

// quietMS is how far back before is content to look.
const quietMS = 60_000

// before is a moment shortly before a place was weighed, when nothing else happened to
// it: the middle of the quiet time between sinceMS and the weighing, of a minute at
// most. The middle, because the server dates each push by the time that it took on its
// way: the last millisecond could come to lie behind the weighing. The very last it is
// where the fold lacks the entries of that time. 0 when the books are closed by then:
// nothing can be booked there any more, and what is recorded counts now.
func (p *planner) before(place string, weighedMS, sinceMS int64) int64 {
	since := max(sinceMS, weighedMS-quietMS, p.s.Closed)
	known := false
	for _, e := range slices.Backward(p.f.Entries()) {
		if e.EffectiveMS < since {
			break
		}
		if _, isOwn := e.Body.(*PowderRecovered); isOwn || e.EffectiveMS > weighedMS || !slices.Contains(RefsOf(e.Body).Places, place) {
			continue
		}
		if known = known || e.EffectiveMS == weighedMS; e.EffectiveMS < weighedMS {
			since = e.EffectiveMS
			break
		}
	}
	at := since + (weighedMS-since)/2
	if !known || at == since {
		at = weighedMS - 1
	}
	if at <= p.s.Closed {
		return 0
	}
	return at
}

func (p *planner) scrap() {
	from, to := p.place("from", true), p.place("to", true)
	mass, why := p.mass("mass", true), p.need("why")
	if from != "" && to != "" {
		p.add("powder.moved", &PowderMoved{From: from, To: to, Mass: mass, Lot: p.lotFrom(from), Why: why})
	}
}

// lotFrom is the lot that is taken from a place: off a shelf the one that the form
// names, else the only one there. A vessel gives of all that is in it.
func (p *planner) lotFrom(place string) string {
	at := p.s.Book.Places[place]
	if at.Kind != ledger.Shelf {
		return ""
	}
	lot := cmp.Or(p.text("lot"), at.Content.OnlyLot())
	if lot == "" {
		p.fail("lot", "form.missing", "", "")
	}
	return lot
}

func (p *planner) move() {
	from, to := p.place("from", true), p.place("to", true)
	mass := p.mass("mass", true)
	if from == "" || to == "" {
		return
	}
	lot := p.lotFrom(from)
	if l := p.s.Lots[lot]; l != nil && p.s.Places[to].Kind == string(ledger.Vessel) {
		p.plan.Offer = p.view.lotsOf(l.Powder, false)
		p.checkLot(lot)
	}
	p.add("powder.moved", &PowderMoved{From: from, To: to, Mass: mass, Lot: lot, Why: p.text("why")})
}

func (p *planner) clean() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	level := p.choice("level", Levels, "")
	minutes := p.number("minutes", 0, cleanMinutesMax, true)
	if b != nil {
		p.add("booth.cleaned", &BoothCleaned{Booth: b.Booth, Level: level, Minutes: minutes, Crew: p.crew(), Checks: p.checks()})
	}
}

func (p *planner) parts() {
	run := known(p, "run", p.s.Runs, "form.unknown_run")
	job, count := p.need("job"), p.number("count", 1, 10_000_000, true)
	area := quantity(p, "area", true, p.r.Style.ParseArea)
	coats := p.number("coats", 0, 10, false)
	if run == nil || p.text("area") == "" {
		return
	}
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
