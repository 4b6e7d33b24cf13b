package shop

import (
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

func (a *applier) moved(e *Entry, b *kind.PowderMoved) {
	from := a.used(e, b.From, shelfIf(b.Lot))
	to := a.used(e, b.To, ledger.Vessel)
	if b.From == b.To {
		return
	}
	drawn := a.draw(e, from, b.Lot, b.Mass)
	a.pour(e, to, drawn, from.Unsieved)
	if to.in.Kind == ledger.Scrap {
		if c := a.openChange(from, to); c != nil {
			c.Scrapped = c.Scrapped.Plus(b.Mass)
		}
	}
}

// openChange is the open colour change, to be changed, of the booth that one of the
// places belongs to, nil if there is none.
func (a *applier) openChange(places ...spot) *Change {
	for _, p := range places {
		if b := a.s.Booths[p.Booth]; b != nil && b.Change != "" {
			return a.ownChange(b.Change)
		}
	}
	return nil
}

// draw takes powder out of a place. What the books lack is drawn as unknown lot
// and is an issue until a weighing of the place explains it. Off a shelf with several
// lots, of which none is named, all give their share, and it is an issue. What was
// drawn is valid until the next draw.
func (a *applier) draw(e *Entry, p spot, lot string, m measure.Mass) ledger.Content {
	if p.in.Kind == ledger.Shelf && lot == "" && len(p.in.Content) > 1 && m > 0 && p.in.Content.OnlyLot() == "" {
		a.issue(e, "unknown_lot", Issue{Place: p.Place.Place, Mass: m})
	}
	drawn, lacking := a.s.Book.Draw(p.in, lot, m)
	if lacking > 0 {
		a.issue(e, "overdraw", Issue{Place: p.Place.Place, Lot: lot, Mass: lacking})
		p.Overdrawn++
		a.beyond(e, p.Place.Place, lot, m-drawn.Total())
	}
	return drawn
}

// pour puts drawn powder into a place and looks whether it may go there.
func (a *applier) pour(e *Entry, p spot, c ledger.Content, unsieved bool) {
	vessel := p.in.Kind == ledger.Vessel
	if vessel && len(c) > 0 {
		a.checkPour(e, p, c)
		p.Unsieved = (p.Unsieved && len(p.in.Content) > 0) || (unsieved && c.Reclaim() > 0)
		p.CleanLevel = ""
	}
	a.s.Book.Put(p.in, c)
	if vessel {
		if unsieved && p.Feeds != "" && c.Reclaim() > 0 {
			a.issue(e, "unsieved", Issue{Place: p.Place.Place, Run: p.Feeds, Mass: c.Reclaim()})
		}
		a.checkBlend(e, p)
	}
}

// powderBeside tells whether the powder id is in a content; where it is not, what
// is there instead: the lowest of the powders, "" if there is none.
func (a *applier) powderBeside(c ledger.Content, id string) (other string, same bool) {
	for i := range c {
		if i > 0 && c[i-1].Lot == c[i].Lot {
			continue
		}
		switch own := a.powderOfLot(c[i].Lot); {
		case own == id:
			return "", true
		case own != "" && (other == "" || own < other):
			other = own
		}
	}
	return other, false
}

// checkPour notes another powder in the vessel and lots that must not be used.
func (a *applier) checkPour(e *Entry, p spot, c ledger.Content) {
	place := p.Place.Place
	var few [4]string
	for _, id := range appendPowders(few[:0], c, a.powderOfLot) {
		if own, same := a.powderBeside(p.in.Content, id); own != "" {
			a.issue(e, "mixed_powder", Issue{Place: place, Powder: id, More: own})
		} else if !same && p.LastPowder != "" && p.LastPowder != id && kind.LevelRank(p.CleanLevel) < kind.LevelRank("full") {
			a.issue(e, "uncleaned_vessel", Issue{Place: place, Powder: id, More: p.LastPowder})
		}
		p.LastPowder = id
	}
	for i := range c {
		part := &c[i]
		if i > 0 && c[i-1].Lot == part.Lot {
			continue
		}
		l := a.lot(part.Lot)
		if l == nil {
			continue
		}
		if l.Held {
			a.issue(e, "lot_held", Issue{Place: place, Lot: part.Lot, Powder: l.Powder})
		}
		if expired(l.UseBy, e.EffectiveMS) {
			a.issue(e, "lot_expired", Issue{Place: place, Lot: part.Lot, Powder: l.Powder, More: l.UseBy})
		}
	}
}

// checkBlend notes a feed whose reclaim share or passes exceed the powder's
// limits. A blend that was over and is put right before anybody weighed, and so
// before it is known to have been sprayed, is no issue any more.
func (a *applier) checkBlend(e *Entry, p spot) {
	place := p.Place.Place
	run := a.run(p.Feeds)
	if run == nil {
		return
	}
	w := a.powder(run.Powder)
	c := p.in.Content
	if w == nil || len(c) == 0 {
		return
	}
	if total, rec := c.Total(), c.Reclaim(); rec > total.MulDiv(w.ReclaimMaxPM, 1000) {
		a.issue(e, "reclaim_over", Issue{Place: place, Powder: run.Powder, Run: run.Run, Mass: rec - total.MulDiv(w.ReclaimMaxPM, 1000)})
		p.OverBlend++
	} else if n := int(p.OverBlend); n > 0 {
		p.OverBlend = 0
		a.settleLast(n, func(i *Issue) bool { return i.Code == "reclaim_over" && i.Place == place && i.AtMS >= p.WeighedMS })
	}
	if w.PassesMax > 0 && int64(c.MaxPasses()) > w.PassesMax {
		a.issue(e, "passes_over", Issue{Place: place, Powder: run.Powder, Run: run.Run})
	}
}
