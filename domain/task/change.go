package task

import (
	"cmp"
	"maps"
	"slices"
	"strconv"

	"hoppertally/domain/booth"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
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
	nv := p.view.Need(b.Powder, to.Powder, need)
	p.plan.Need = &nv
	level := p.choice("level", kind.Levels, cmp.Or(string(need.Level), string(booth.Purge)))
	p.plan.Filled["level"] = level
	if crew := p.crew(); crew > 0 || len(p.plan.Errors) > 0 {
		p.plan.Filled["crew"] = p.text("crew")
	} else if need.People > 0 {
		p.plan.Filled["crew"] = p.r.Style.Number(float64(need.People), 0)
	}
	if run != nil {
		p.add("run.closed", &kind.RunClosed{Run: run.Run})
	}
	p.add("change.started", &kind.ChangeStarted{Booth: b.Booth, Powder: to.Powder, Level: level, Crew: cmp.Or(p.crew(), need.People)})
}

func (p *planner) changeFinish() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	if b == nil {
		return
	}
	c := p.s.Change(b.Change)
	if c == nil {
		p.fail("booth", "form.no_change", b.Booth, "")
		return
	}
	p.plan.Filled["minutes"] = strconv.FormatInt(c.LeftMinutes(p.r.NowMS), 10) // as it is read: without groups
	minutes := p.number("minutes", 0, most(new(kind.BoothCleaned), "minutes"), true)
	mode := p.choice("mode", kind.Modes, p.lastMode(b.Booth))
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
		p.add("powder.moved", &kind.PowderMoved{From: feed, To: scrap, Mass: purged, Why: "purged"})
	}
	p.add("booth.cleaned", &kind.BoothCleaned{Booth: b.Booth, Level: c.Level, Minutes: minutes, Crew: cmp.Or(p.crew(), c.Crew), Checks: p.checks()})
	p.add("change.finished", &kind.ChangeFinished{Booth: b.Booth, Change: c.Entry, Checks: p.checks(), FirstPart: p.text("first_part")})
	if feed != "" {
		setup := p.text("setup")
		if setup != "" && p.s.Setups[setup] == nil {
			p.fail("setup", "form.choice", setup, "")
			return
		}
		p.add("run.opened", &kind.RunOpened{Run: p.newID(), Booth: b.Booth, Powder: c.To, Feed: feed, Mode: mode, Setup: setup})
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

func (p *planner) clean() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	level := p.choice("level", kind.Levels, "")
	minutes := p.number("minutes", 0, most(new(kind.BoothCleaned), "minutes"), true)
	if b != nil {
		p.add("booth.cleaned", &kind.BoothCleaned{Booth: b.Booth, Level: level, Minutes: minutes, Crew: p.crew(), Checks: p.checks()})
	}
}
