package reclaim

import (
	"math"

	m "hoppertally/domain/measure"
)

// Work is what is coated: its area, mean film and powder.
type Work struct {
	AreaM2 float64 // above 0
	FilmUM float64 // above 0
	SG     float64 // specific gravity of the cured film, above 0
	Parts  float64 // number of parts; 0 if not counted
}

// DepositKG is the powder on the parts: area × film × density.
func (w Work) DepositKG() float64 { return w.AreaM2 * w.FilmUM * w.SG / 1000 }

func (w Work) check() error {
	for _, c := range []struct {
		name string
		x    float64
	}{{"area_m2", w.AreaM2}, {"film_um", w.FilmUM}, {"sg", w.SG}} {
		if !(c.x > 0) || math.IsInf(c.x, 0) {
			return m.Refuse(c.name, c.x, "above 0")
		}
	}
	return nil
}

// BreakEven is how much must be sprayed until collecting has paid its change.
type BreakEven struct {
	Never     bool    // nothing worth money comes back; the rest is 0
	SprayedKG float64 // out of the gun
	AreaM2    float64 // coated by then
}

// WorthCollecting answers whether reclaiming is worth it today: the change costs
// extra money more when the powder is collected, and each kilogram sprayed brings
// back (1−T)·R worth price per kilogram:
//
//	sprayed = extra / ((1−T)·R·price)
//
// film in µm and sg turn it into area. The error is a *measure.Fault.
func WorthCollecting(b Booth, extra, pricePerKG, filmUM, sg float64) (BreakEven, error) {
	if err := b.check(); err != nil {
		return BreakEven{}, err
	}
	if err := (Work{AreaM2: 1, FilmUM: filmUM, SG: sg}).check(); err != nil {
		return BreakEven{}, err
	}
	if !(extra >= 0) {
		return BreakEven{}, m.Refuse("extra_change_cost", extra, "0 or more")
	}
	if !(pricePerKG >= 0) {
		return BreakEven{}, m.Refuse("price_kg", pricePerKG, "0 or more")
	}
	back := b.Q() * pricePerKG
	if back <= 0 {
		return BreakEven{Never: true}, nil
	}
	sprayed := extra / back
	return BreakEven{SprayedKG: sprayed, AreaM2: sprayed * b.TE * 1000 / (filmUM * sg)}, nil
}

// Prices are money per kilogram, or per change of colour for that way of running.
type Prices struct {
	PowderKG                               float64 // virgin
	ReclaimedKG                            float64 // what a kilogram of collected reclaim is worth later
	HandlingKG                             float64 // sieving and moving a kilogram of reclaim
	DisposalKG                             float64 // getting rid of a kilogram of scrap
	WasteChange, CollectChange, LoopChange float64
}

// Way is one way to run a job, its masses in kilograms and its cost.
type Way struct {
	Name      string // waste, collect or loop
	SprayedKG float64
	VirginKG  float64 // to take from stock
	KeptKG    float64 // collected for later
	ScrapKG   float64 // lost or thrown away
	Cost      float64 // powder, handling, disposal and change, less what is kept
	PerM2     float64
	PerPart   float64 // 0 if parts are not counted
}

// ThreeWays costs a job sprayed to waste, collected for later, and in a settled
// closed loop with at most share cap of reclaim, in this order, and says which is
// cheapest (the simpler way on a tie). The masses of each add up:
// virgin = on parts + kept + scrap. The error is a *measure.Fault.
func ThreeWays(b Booth, cap float64, w Work, p Prices) (ways []Way, cheapest string, err error) {
	s, err := SteadyState(b, cap)
	if err != nil {
		return nil, "", err
	}
	if err := w.check(); err != nil {
		return nil, "", err
	}
	deposit := w.DepositKG()
	sprayed := deposit / b.TE
	kept := sprayed * b.Q()
	virgin := deposit / s.Utilisation
	ways = []Way{
		{Name: "waste", VirginKG: sprayed, ScrapKG: sprayed - deposit, Cost: p.WasteChange},
		{Name: "collect", VirginKG: sprayed, KeptKG: kept, ScrapKG: sprayed - deposit - kept,
			Cost: p.CollectChange + kept*(p.HandlingKG-p.ReclaimedKG)},
		{Name: "loop", VirginKG: virgin, ScrapKG: max(virgin-deposit, 0),
			Cost: p.LoopChange + sprayed*s.Reclaim*p.HandlingKG},
	}
	best := 0
	for i := range ways {
		x := &ways[i]
		x.SprayedKG = sprayed
		x.Cost += x.VirginKG*p.PowderKG + x.ScrapKG*p.DisposalKG
		x.PerM2 = x.Cost / w.AreaM2
		if w.Parts > 0 {
			x.PerPart = x.Cost / w.Parts
		}
		if x.Cost < ways[best].Cost {
			best = i
		}
	}
	return ways, ways[best].Name, nil
}
