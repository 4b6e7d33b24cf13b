package mixing

import (
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

// Return is the share of the sprayed powder that is back in the feed at once, in
// millionths: what missed the part × what the booth recovers of it. 0 is no return.
type Return int64

// ReturnMax is the highest return: one part in a thousand lands, and all else is recovered.
const ReturnMax Return = 999_000

const million = 1_000_000

// Gross is all that passed the gun where net left the feed, half up.
func (q Return) Gross(net measure.Mass) measure.Mass { return net.MulDiv(million, int64(million-q)) }

// Net is what leaves the feed where gross passes the gun, half up.
func (q Return) Net(gross measure.Mass) measure.Mass {
	return gross.MulDiv(int64(million-q), million)
}

// GrossOf is what passed the gun, by lot and passes, where net left the feed for good:
// at every moment both have the mixture of the feed.
func (q Return) GrossOf(net ledger.Content) ledger.Content {
	gross, _ := net.Clone().Grown(q.Gross(net.Total()) - net.Total())
	return gross
}

// Spray takes net out of the well-mixed feed and returns what is left and what left for
// good: what is on parts or lost. Each lot gives in proportion. The memory of feed is
// used for after, and that of into, which must be another, for left. A net above the
// total takes everything, as [ledger.Content.Take] does.
//
// Without return the passes give in proportion too. With it, of each gram sprayed q
// comes back with one pass more, which is the differential equation
//
//	df_k/dg = q/M · (f_(k-1) - f_k),  dM/dg = -(1-q)
//
// of the share f_k on pass k, the mass M of the feed and the gram g: from M0 to M the
// passes gained are Poisson with the mean s = q/(1-q)·ln(M0/M). What was sprayed on pass
// k follows by balance, G_k = before_k - after_k + q·G_(k-1), and net is split by it.
// Powder on [ledger.PassesMax] stays there. It panics if q is negative or above ReturnMax.
//
// For q up to 0.95 and up to a tonne every mass is within 1 mg of the exact one, which
// is the rounding to the largest remainders; of two cuts in place of one, within 3 mg.
func Spray(into, feed ledger.Content, net measure.Mass, q Return) (after, left ledger.Content) {
	if q < 0 || q > ReturnMax {
		panic("mixing: a return that no booth has")
	}
	total := feed.Total()
	if q == 0 || net <= 0 || len(feed) == 0 {
		left, after = feed.TakeInto(into, net)
		return after, left
	}
	var few [4]lot
	lots := split(few[:0], feed, min(net, total))
	var l loop
	l.set(total, min(net, total), q)
	var fewParts [24]ledger.Part
	rest := ledger.Content(fewParts[:0]) // not yet in the memory of feed, which is still read
	left = into[:0]
	for _, part := range lots {
		rest, left = l.spray(rest, left, feed[part.lo:part.hi], part.net)
	}
	return append(feed[:0], rest...), left
}

// lot is where the parts of a lot stand, and what it gives.
type lot struct {
	lo, hi int
	net    measure.Mass
}

// split shares net over the lots of feed.
func split(lots []lot, feed ledger.Content, net measure.Mass) []lot {
	var few, fewShares [16]measure.Mass
	masses := few[:0]
	for lo, hi := 0, 0; lo < len(feed); lo = hi {
		var mass measure.Mass
		for hi = lo; hi < len(feed) && feed[hi].Lot == feed[lo].Lot; hi++ {
			mass += feed[hi].Mass
		}
		lots, masses = append(lots, lot{lo: lo, hi: hi}), append(masses, mass)
	}
	shares := fewShares[:0]
	for range masses {
		shares = append(shares, 0)
	}
	if err := net.SplitInto(shares, masses); err != nil {
		panic("mixing: content without mass") // the invariant of Content is broken
	}
	for i := range lots {
		lots[i].net = shares[i]
	}
	return lots
}
