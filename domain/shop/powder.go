package shop

import (
	"slices"

	"hoppertally/domain/booth"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/stock"
)

// priced is a powder as set, at the price of the one before when it gives none: it
// may have been edited on a phone that carries no prices.
func priced(b, before *kind.PowderSet) *kind.PowderSet {
	if before == nil || b.Price != 0 || before.Price == 0 {
		return b
	}
	c := *b // the entry keeps its own
	c.Price = before.Price
	return &c
}

// PowderOfLot is the powder of a lot, "" if nobody knows.
func (s *State) PowderOfLot(lot string) string {
	if l := s.Lots[lot]; l != nil {
		return l.Powder
	}
	return ""
}

// PowdersIn lists the powders in a content, in ascending order of id; powder of
// unknown lots does not count.
func (s *State) PowdersIn(c ledger.Content) (ids []string) {
	return appendPowders(nil, c, s.PowderOfLot)
}

// appendPowders is powdersIn into the memory of ids, which must be empty.
func appendPowders(ids []string, c ledger.Content, of func(lot string) string) []string {
	for i := range c {
		if i > 0 && c[i-1].Lot == c[i].Lot {
			continue
		}
		if id := of(c[i].Lot); id != "" && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	if len(ids) > 1 {
		slices.Sort(ids)
	}
	return ids
}

// OfPowder is the mass of a powder in a content.
func (s *State) OfPowder(c ledger.Content, powder string) (m measure.Mass) {
	for _, part := range c {
		if s.PowderOfLot(part.Lot) == powder {
			m += part.Mass
		}
	}
	return m
}

// BoothPowder is a powder as the rules of the booth take it; nil if nobody set it up.
func (s *State) BoothPowder(id string) *booth.Powder {
	p := s.Powders[id]
	if p == nil {
		return nil
	}
	out := &booth.Powder{ID: id, Chemistry: p.Chemistry, Finish: p.Finish}
	if len(p.Lab) == 3 {
		out.Lab = &[3]float64{p.Lab[0], p.Lab[1], p.Lab[2]}
	}
	return out
}

// StoreMax is the highest temperature at which a powder may be stored: its own, else
// [stock.StoreMax].
func (s *State) StoreMax(powder string) measure.Temp {
	if p := s.Powders[powder]; p != nil && p.StoreMaxDC != 0 {
		return measure.Temp(p.StoreMaxDC)
	}
	return stock.StoreMax
}
