package shop

import (
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
)

// recovered books overspray that was weighed: it left the feed through the gun
// and came back with one more pass, or went to scrap.
func (a *applier) recovered(e *Entry, b *kind.PowderRecovered) {
	from, to := a.used(e, b.From, ledger.Vessel), a.used(e, b.To, ledger.Vessel)
	drawn := a.draw(e, from, "", b.Mass).Pass()
	a.pour(e, to, drawn, !b.Sieved)
	run := a.ownRun(a.run(b.Run))
	switch {
	case run == nil:
		a.missed(e)
		a.issue(e, "unknown_run", Issue{Run: b.Run, Place: b.To, Mass: b.Mass})
	case to.in.Kind == ledger.Scrap:
		run.Scrapped = run.Scrapped.Plus(b.Mass)
	default:
		run.Recovered = run.Recovered.Plus(b.Mass)
	}
}
