package shop

import (
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// weighed compares a place with the books. See the design's rule: an
// observation is not a movement; the difference is derived here and nowhere else.
func (a *applier) weighed(e *Entry, b *kind.PlaceWeighed) {
	s := a.s
	p := a.used(e, b.Place, shelfIf(b.Lot))
	p.WeighedMS, p.WeighedSD = e.EffectiveMS, b.SD
	if n := int(p.Overdrawn); n > 0 {
		p.Overdrawn = 0
		a.settleLast(n, func(i *Issue) bool { return i.Code == "overdraw" && i.Place == b.Place })
	}
	there := p.in
	lot := b.Lot
	if there.Kind != ledger.Shelf {
		lot = ""
	} else if lot == "" {
		if lot = there.Content.OnlyLot(); lot == "" && len(there.Content) > 0 {
			a.issue(e, "unknown_lot", Issue{Place: b.Place})
			return
		}
	}
	books := there.Content.Total()
	if lot != "" {
		books = there.Content.OfLot(lot)
	}
	run := a.ownRun(a.run(p.Feeds))
	if run != nil {
		run.Weighings++
		run.SDLast = b.SD
	}
	switch {
	case b.Mass > books:
		beyond := s.Book.Found(there, lot, b.Mass-books)
		a.issue(e, "weighed_above", Issue{Place: b.Place, Lot: lot, Mass: b.Mass - books})
		a.beyond(e, b.Place, lot, beyond)
	case b.Mass == books:
	case run == nil:
		drawn, _ := s.Book.Draw(there, lot, books-b.Mass)
		s.Book.Missing(drawn)
	case run.Mode == "loop":
		a.loop(run, there, books-b.Mass)
	default:
		drawn, _ := s.Book.Draw(there, lot, books-b.Mass)
		run.Net = run.Net.PutAll(drawn)
	}
}

// loopSteps is how finely a closed loop is followed between two weighings.
const loopSteps = 16

// loop follows powder that went round through gun, booth and back into the feed
// while net left the feed for good. In each of 16 equal steps the gun takes
// net_i + back_i out of the feed as it is then, well mixed; back_i of that comes
// back with one more pass. With T the booth's transfer efficiency, R its
// recovery and q = (1-T)·R, back = net·q/(1-q), rounded half up to the mg.
func (a *applier) loop(run *Run, feed *ledger.Place, net measure.Mass) {
	back, keep := a.loopShares(run.Booth)
	var out, again ledger.Content // each step in the memory of the one before
	for _, n := range equalSteps(net) {
		r := min(n.MulDiv(back, keep), feed.Content.Total()-n)
		out, feed.Content = feed.Content.TakeInto(out, n+r)
		again, out = out.TakeInto(again, r)
		run.Net = run.Net.PutAll(out)
		again = again.Pass()
		feed.Content = feed.Content.PutAll(again)
		run.Recovered = run.Recovered.Plus(r)
	}
}

func equalSteps(m measure.Mass) (steps [loopSteps]measure.Mass) {
	var equal [loopSteps]measure.Mass
	for i := range equal {
		equal[i] = 1
	}
	if err := m.SplitInto(steps[:], equal[:]); err != nil {
		panic("shop: equal steps have weight") // they all weigh 1
	}
	return steps
}

// loopShares gives q and 1-q as whole numbers of millionths; q is 0 where the
// booth's figures are not known.
func (a *applier) loopShares(booth string) (back, keep int64) {
	b := a.s.Booths[booth]
	if b == nil || b.TEPM == 0 || b.RecoveryPM == 0 {
		return 0, 1_000_000
	}
	back = (1000 - b.TEPM) * b.RecoveryPM
	return back, 1_000_000 - back
}
