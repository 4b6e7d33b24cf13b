package task

import (
	"slices"

	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
)

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
			p.fail("mass", "form.below_books", p.text("mass"), p.view.Qty(p.s.Book.Places[to].Content.Total()).Text)
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
	p.addAt("powder.recovered", &kind.PowderRecovered{Run: run.Run, From: run.Feed, To: to, Mass: mass, Sieved: sieved}, at)
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
		if _, isOwn := e.Body.(*kind.PowderRecovered); isOwn || e.EffectiveMS > weighedMS || !slices.Contains(kind.RefsOf(e.Body).Places, place) {
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
