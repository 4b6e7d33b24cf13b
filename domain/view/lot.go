package view

import (
	"maps"
	"slices"
	"time"

	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/shop"
	"hoppertally/domain/stock"
)

// LotView is one lot and where it is.
type LotView struct {
	Lot        string    `json:"lot"`
	Batch      string    `json:"batch"`
	Powder     PowderRef `json:"powder"`
	State      string    `json:"state"` // usable, soon (use-by within 30 days), expired, held, gone
	HeldWhy    string    `json:"held_why,omitempty"`
	ReceivedMS int64     `json:"received_ms"`
	Made       string    `json:"made,omitempty"`
	UseBy      string    `json:"use_by,omitempty"`
	Received   Qty       `json:"received"`
	Stock      Qty       `json:"stock"` // virgin, on shelves
	Turn       int       `json:"turn"`  // 1 is the lot to use first; 0 when not to be used
	Packs      int64     `json:"packs,omitempty"`
	Warm       *WarmView `json:"warm,omitempty"` // nil when no warm day is known
	At         []LotAt   `json:"at"`
}

// WarmView is what warm days in the store cost a lot, by a rule of thumb: an
// estimate that blocks nothing, for the powder's maker decides.
type WarmView struct {
	UseBy    string `json:"use_by"` // estimated last day
	LostDays int64  `json:"lost_days"`
	WarmDays int64  `json:"warm_days"`
	Highest  string `json:"highest"` // temperature of the warmest of them
	Limit    string `json:"limit"`
}

// LotAt is how much of a lot is in a place, all passes together.
type LotAt struct {
	Place Ref    `json:"place"`
	Kind  string `json:"kind"` // shelf, vessel, scrap
	Mass  Qty    `json:"mass"`
}

// IsExpired tells whether a lot's use-by day is over for the reader.
func (w *Viewer) IsExpired(l *shop.Lot) bool { return l.UseBy != "" && w.Today() > l.UseBy }

// lotStock is the virgin powder of a lot on shelves.
func (w *Viewer) lotStock(lot string) (m measure.Mass) {
	for _, p := range w.s.Book.Places {
		if p.Kind == ledger.Shelf {
			m += p.Content.Virgin(lot)
		}
	}
	return m
}

// Lots lists the lots of a powder ("" all): first those to use, in use-first
// order, then those that must not be used, then those that are gone if asked for.
func (w *Viewer) Lots(powder string, gone bool) []LotView {
	var list []stock.Lot
	var empty []string
	for _, id := range slices.Sorted(maps.Keys(w.s.Lots)) {
		l := w.s.Lots[id]
		if powder != "" && l.Powder != powder {
			continue
		}
		m := w.lotStock(id)
		if m == 0 {
			empty = append(empty, id)
			continue
		}
		list = append(list, stock.Lot{ID: id, Powder: l.Powder, Batch: l.Batch, Received: l.ReceivedMS, UseBy: l.UseBy, Held: l.Held, Mass: m})
	}
	usable, refused := stock.UseFirst(list, powder, w.Today())
	out := []LotView{}
	for i, l := range usable {
		v := w.lot(l.ID)
		v.Turn = i + 1
		out = append(out, v)
	}
	for _, r := range refused {
		out = append(out, w.lot(r.Lot.ID))
	}
	if gone {
		for _, id := range empty {
			out = append(out, w.lot(id))
		}
	}
	return out
}

const soonDays = 30

func (w *Viewer) lot(id string) LotView {
	l := w.s.Lots[id]
	v := LotView{Lot: id, Batch: l.Batch, Powder: *w.powder(l.Powder), HeldWhy: l.HeldWhy, ReceivedMS: l.ReceivedMS, Made: l.Made,
		UseBy: l.UseBy, Received: w.Qty(l.Mass), Stock: w.Qty(w.lotStock(id)), Packs: l.Packs, At: w.lotAt(id)}
	if s := w.s.Warmed(l); s.WarmDays > 0 {
		v.Warm = &WarmView{s.UseBy, s.LostDays, s.WarmDays, w.r.Style.Temp(s.MaxTemp), w.r.Style.Temp(w.s.StoreMax(l.Powder))}
	}
	switch {
	case len(v.At) == 0:
		v.State = "gone"
	case l.Held:
		v.State = "held"
	case w.IsExpired(l):
		v.State = "expired"
	case l.UseBy != "" && l.UseBy <= time.UnixMilli(w.r.NowMS).UTC().AddDate(0, 0, soonDays).Format(time.DateOnly):
		v.State = "soon"
	default:
		v.State = "usable"
	}
	return v
}

// inOrder are the places in the book in ascending order.
func (w *Viewer) inOrder() []string {
	if w.spots == nil {
		w.spots = slices.Sorted(maps.Keys(w.s.Book.Places))
	}
	return w.spots
}

// lotAt lists where a lot is, scrap included.
func (w *Viewer) lotAt(lot string) []LotAt {
	out := []LotAt{}
	for _, id := range w.inOrder() {
		p := w.s.Book.Places[id]
		if m := p.Content.OfLot(lot); m > 0 {
			out = append(out, LotAt{w.placeRef(id), string(p.Kind), w.Qty(m)})
		}
	}
	return out
}
