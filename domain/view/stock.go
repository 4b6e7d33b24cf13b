package view

import (
	"math"
	"time"

	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/stock"
)

// StockView is one powder's stock.
type StockView struct {
	Powder  PowderRef `json:"powder"`
	Total   Qty       `json:"total"`   // everywhere but scrap
	Shelf   Qty       `json:"shelf"`   // virgin on shelves, usable
	Vessels Qty       `json:"vessels"` // virgin in vessels
	Reclaim Qty       `json:"reclaim"` // passes >= 1, everywhere but scrap
	Blocked Qty       `json:"blocked"` // held or expired
	Lots    []LotView `json:"lots"`    // in use-first order, then what must not be used
	LimitPM int64     `json:"limit_pm"`
	Use     *UseView  `json:"use,omitempty"` // nil while too little is known
}

// UseView is how fast a powder is used, and when to order it.
type UseView struct {
	Days      int64      `json:"days"` // looked at, before today
	PerDay    Qty        `json:"per_day"`
	CoverDays int64      `json:"cover_days"`         // how long what may be used lasts; -1 when none was used
	LastsTo   string     `json:"lasts_to,omitempty"` // that day
	Point     *Qty       `json:"point,omitempty"`    // order when the stock falls to this; nil without a lead time
	Order     *OrderView `json:"order,omitempty"`    // what to order now
}

// OrderView is an order in whole boxes.
type OrderView struct {
	Boxes int64 `json:"boxes"`
	Mass  Qty   `json:"mass"`
}

// stockView sums a powder up.
func (w *Viewer) stockOf(id string) StockView {
	s := w.s
	v := StockView{Powder: *w.powder(id), Lots: w.Lots(id, false), LimitPM: 1000}
	if p := s.Powders[id]; p != nil {
		v.LimitPM = p.ReclaimMaxPM
	}
	var total, shelf, vessels, rec, blocked measure.Mass
	for _, p := range s.Book.Places {
		for _, part := range p.Content {
			l := s.Lots[part.Lot]
			if p.Kind == ledger.Scrap || l == nil || l.Powder != id {
				continue
			}
			total += part.Mass
			switch {
			case part.Passes > 0:
				rec += part.Mass
			case p.Kind == ledger.Vessel:
				vessels += part.Mass
			case l.Held || w.IsExpired(l):
				blocked += part.Mass
			default:
				shelf += part.Mass
			}
		}
	}
	v.Use = w.use(id, shelf+vessels)
	v.Total, v.Shelf, v.Vessels, v.Reclaim, v.Blocked = w.Qty(total), w.Qty(shelf), w.Qty(vessels), w.Qty(rec), w.Qty(blocked)
	return v
}

func (w *Viewer) stock() []StockView {
	out := []StockView{}
	for _, id := range w.powderIDs() {
		out = append(out, w.stockOf(id))
	}
	return out
}

// usable is what there is of a powder to spray: usable lots on shelves, and all in
// vessels.
func (w *Viewer) usable(powder string) measure.Mass {
	s := w.stockOf(powder)
	return measure.Mass(s.Shelf.MG + s.Vessels.MG + s.Reclaim.MG)
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
func (w *Viewer) use(powder string, usable measure.Mass) *UseView {
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
			used[at] += s.OfPowder(r.Net, powder)
		}
	}
	mean, sd := stock.DailyUse(used)
	v := UseView{Days: days, PerDay: w.Qty(kilograms(mean)), CoverDays: -1}
	if cover, ok := stock.DaysOfCover(usable, mean); ok {
		v.CoverDays = int64(min(cover, 36500))
		v.LastsTo = time.UnixMilli((today + v.CoverDays) * dayMS).UTC().Format(time.DateOnly)
	}
	if p == nil || p.LeadDays == 0 {
		return &v
	}
	z, err := stock.Z(servicePM)
	if err != nil {
		panic("view: " + err.Error())
	}
	point, err := stock.ReorderPoint(stock.Demand{PerDayKG: min(mean, stock.DemandMax), SDPerDayKG: min(sd, stock.DemandMax), LeadDays: float64(p.LeadDays)}, z)
	if err != nil {
		panic("view: " + err.Error())
	}
	q := w.Qty(kilograms(point.PointKG))
	v.Point = &q
	v.Order = w.order(usable, point.PointKG, mean, p)
	return &v
}

// order is what to order now, in whole boxes: up to the reorder point and what is
// used while it comes; nil when there is enough.
func (w *Viewer) order(usable measure.Mass, pointKG, perDayKG float64, p *kind.PowderSet) *OrderView {
	box := p.Box
	if box == 0 {
		box = measure.Kilogram
	}
	sug, err := stock.Suggest(stock.Position{Usable: usable}, pointKG, perDayKG*float64(p.LeadDays), box)
	if err != nil || sug.Boxes == 0 {
		return nil // more than anybody could order is no advice
	}
	return &OrderView{Boxes: sug.Boxes, Mass: w.Qty(sug.Mass)}
}

func kilograms(kg float64) measure.Mass {
	return measure.Mass(math.Round(min(kg*float64(measure.Kilogram), float64(measure.MassMax))))
}
