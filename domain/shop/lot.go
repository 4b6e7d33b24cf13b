package shop

import (
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/stock"
)

// Lot is one batch as received.
type Lot struct {
	kind.LotReceived
	ReceivedMS int64
	Entry      string
	Held       bool
	HeldWhy    string
	owner      *owner
}

func (l *Lot) visit(v *form.Visitor) {
	l.LotReceived.Fields(v)
	v.Int("received_ms", &l.ReceivedMS, -signed, signed, "ms")
	v.OptID("entry", &l.Entry)
	v.Bool("held", &l.Held)
	v.OptText("held_why", &l.HeldWhy, anyText)
}

func (a *applier) received(e *Entry, b *kind.LotReceived) {
	s := a.s
	at := a.used(e, b.Place, ledger.Shelf)
	if s.Powders[b.Powder] == nil {
		a.issue(e, "unknown_powder", Issue{Powder: b.Powder, Lot: b.Lot})
	}
	if l := s.Lots[b.Lot]; l == nil {
		s.Lots[b.Lot] = &Lot{LotReceived: *b, ReceivedMS: e.EffectiveMS, Entry: e.ID, owner: s.owner}
	} else { // more of a lot that is here already
		l = a.ownLot(l)
		l.Mass = l.Mass.Plus(b.Mass)
		l.Packs = min(l.Packs+b.Packs, kind.PacksMax)
	}
	a.beyond(e, b.Place, b.Lot, s.Book.Receive(at.in, b.Lot, b.Mass))
}

func (a *applier) hold(e *Entry, lot string, held bool, why string) {
	l := a.s.Lots[lot]
	if l == nil {
		a.issue(e, "unknown_lot", Issue{Lot: lot})
		return
	}
	l = a.ownLot(l)
	l.Held, l.HeldWhy = held, why
}

// expired tells whether a use-by day is over at a time. A lot may be used
// through its use-by day, in UTC.
func expired(useBy string, ms int64) bool {
	if useBy == "" {
		return false
	}
	var day [len(time.DateOnly) + 8]byte
	return string(time.UnixMilli(ms).UTC().AppendFormat(day[:0], time.DateOnly)) > useBy
}

// Warmed is a lot's use-by day after the warm days of the shelves it lies on, and of
// the store as a whole. The zero value says that nothing is known to be lost.
func (s *State) Warmed(l *Lot) stock.Shortened {
	if l.UseBy == "" {
		return stock.Shortened{}
	}
	var days []stock.RoomDay
	for id, r := range s.Rooms {
		if p := s.Book.Places[id]; id == "" || p != nil && p.Content.OfLot(l.LotReceived.Lot) > 0 {
			days = append(days, r.Days...)
		}
	}
	w, err := stock.ShortenUseBy(l.UseBy, UTCDay(l.ReceivedMS), s.StoreMax(l.Powder), days)
	if err != nil {
		return stock.Shortened{} // a limit or reading beyond all rooms tells nothing
	}
	return w
}
