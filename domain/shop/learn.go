package shop

import (
	"math"
	"time"

	"hoppertally/domain/booth"
	"hoppertally/domain/coating"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/stock"
)

// What the shop's own record teaches: how long its changes take, how well its film
// stays within limits, how fast it uses a powder.

// ExpectedMinutes is how long a change from one powder to another will take: the
// rule's minutes and those of the shop's own finished changes of this pair, begun at
// most KeepMS before nowMS: so far back every phone lists them, and booth and office
// expect the same.
func (s *State) ExpectedMinutes(from, to string, rule float64, nowMS int64) booth.Expectation {
	var log []booth.Logged
	for _, c := range s.Changes {
		if c.FinishedMS != 0 && c.StartedMS >= nowMS-KeepMS && c.From == from && c.To == to {
			log = append(log, booth.Logged{From: from, To: to, Minutes: float64(c.Minutes)})
		}
	}
	return booth.Learn(log).Expect(from, to, rule)
}

// capability is how the film readings of a run stay within the limits of its
// powder; nil with fewer than two readings, or when they do not vary.
func (w *viewer) capability(r *Run) *CapabilityView {
	p := w.s.Powders[r.Powder]
	if p == nil || r.FilmN < 2 {
		return nil
	}
	n, sum := float64(r.FilmN), float64(r.FilmSum)
	variance := (float64(r.FilmSq) - sum*sum/n) / (n - 1)
	lim := coating.Limits{Lower: float64(p.FilmMin), Upper: float64(p.FilmMax), HasLower: true, HasUpper: p.FilmMax > p.FilmMin}
	c, err := coating.Index(int(r.FilmN), sum/n, math.Sqrt(max(variance, 0)), lim, 0.95)
	if err != nil {
		return nil
	}
	v := CapabilityView{Cpk: w.r.Style.Number(c.Cpk, 2), Low: w.r.Style.Number(c.CpkLow, 2), High: w.r.Style.Number(c.CpkHigh, 2), SD: w.r.Style.Film(measure.Film(math.Round(c.SD)))}
	if lim.HasUpper {
		v.Cp = w.r.Style.Number(c.Cp, 2)
	}
	return &v
}

// Demand is looked for over useDays days, and not judged on fewer than useDaysMin.
// Our rule: eight weeks even out the days of the week, two show them once.
const (
	useDays    = 56
	useDaysMin = 14
	servicePM  = 950 // share of order cycles without running out; our rule
)

const dayMS = 24 * 3600 * 1000

// use is how fast a powder is used, day by day, out of what its runs took from their
// feeds for good; nil as long as fewer than useDaysMin days are known.
func (w *viewer) use(powder string, usable measure.Mass) *UseView {
	s, p := w.s, w.s.Powders[powder]
	today := (w.r.NowMS + int64(w.r.OffsetMin)*60_000) / dayMS
	first := today + 1
	for _, l := range s.Lots {
		if l.Powder == powder {
			first = min(first, l.ReceivedMS/dayMS)
		}
	}
	days := min(today-max(first, 0), useDays) // whole days before today
	if days < useDaysMin {
		return nil
	}
	used := make([]measure.Mass, days)
	for _, r := range s.Runs {
		at := (r.OpenedMS+int64(w.r.OffsetMin)*60_000)/dayMS - (today - days)
		if r.OpenedMS >= 0 && at >= 0 && at < days {
			used[at] += s.ofPowder(r.Net, powder)
		}
	}
	mean, sd := stock.DailyUse(used)
	v := UseView{Days: days, PerDay: w.qty(kilograms(mean)), CoverDays: -1}
	if cover, ok := stock.DaysOfCover(usable, mean); ok {
		v.CoverDays = int64(min(cover, 36500))
		v.LastsTo = time.UnixMilli((today + v.CoverDays) * dayMS).UTC().Format(time.DateOnly)
	}
	if p == nil || p.LeadDays == 0 {
		return &v
	}
	z, err := stock.Z(servicePM)
	if err != nil {
		panic("shop: " + err.Error())
	}
	point, err := stock.ReorderPoint(stock.Demand{PerDayKG: min(mean, stock.DemandMax), SDPerDayKG: min(sd, stock.DemandMax), LeadDays: float64(p.LeadDays)}, z)
	if err != nil {
		panic("shop: " + err.Error())
	}
	q := w.qty(kilograms(point.PointKG))
	v.Point = &q
	v.Order = w.order(usable, point.PointKG, mean, p)
	return &v
}

// order is what to order now, in whole boxes: up to the reorder point and what is
// used while it comes; nil when there is enough.
func (w *viewer) order(usable measure.Mass, pointKG, perDayKG float64, p *PowderSet) *OrderView {
	box := p.Box
	if box == 0 {
		box = measure.Kilogram
	}
	sug, err := stock.Suggest(stock.Position{Usable: usable}, pointKG, perDayKG*float64(p.LeadDays), box)
	if err != nil || sug.Boxes == 0 {
		return nil // more than anybody could order is no advice
	}
	return &OrderView{Boxes: sug.Boxes, Mass: w.qty(sug.Mass)}
}

func kilograms(kg float64) measure.Mass {
	return measure.Mass(math.Round(min(kg*float64(measure.Kilogram), float64(measure.MassMax))))
}

// ofPowder is the mass of a powder in a content.
func (s *State) ofPowder(c ledger.Content, powder string) (m measure.Mass) {
	for _, part := range c {
		if s.powderOfLot(part.Lot) == powder {
			m += part.Mass
		}
	}
	return m
}
