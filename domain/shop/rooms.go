package shop

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"hoppertally/domain/booth"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/stock"
)

// Room is what was read of the climate of a store.
type Room struct {
	Place  string // "" for the store as a whole
	AtMS   int64  // of the last reading
	TempDC int64
	RHPM   int64           // 0 not read
	Days   []stock.RoomDay // highest temperature of each day (UTC) with a reading, ascending
}

// roomDaysMax bounds the days that are kept of a room, the latest: more than the
// longest shelf life that powders usually have.
const roomDaysMax = 800

// roomRead keeps a reading and notes a store that is too warm for a powder in it,
// or too damp. A later reading of the same place takes the place of the one before.
func (a *applier) roomRead(e *Entry, b *RoomRead) {
	s := a.s
	r := s.Rooms[b.Place]
	if r == nil {
		r = &Room{Place: b.Place}
		s.Rooms[b.Place] = r
	}
	r.AtMS, r.TempDC, r.RHPM = e.EffectiveMS, b.TempDC, b.RHPM
	r.note(stock.RoomDay{Day: utcDay(e.EffectiveMS), Temp: measure.Temp(b.TempDC)})
	a.settle(func(i *Issue) bool { return (i.Code == "room_warm" || i.Code == "room_damp") && i.Place == b.Place })
	if powder, limit := s.tenderest(b.Place); powder != "" && measure.Temp(b.TempDC) > limit {
		a.issue(e, "room_warm", Issue{Place: b.Place, Powder: powder, More: strconv.FormatInt(b.TempDC, 10)})
	}
	if b.RHPM > stock.RHMaxPM {
		a.issue(e, "room_damp", Issue{Place: b.Place, More: strconv.FormatInt(b.RHPM, 10)})
	}
}

// note keeps the highest temperature of a day.
func (r *Room) note(d stock.RoomDay) {
	at, there := slices.BinarySearchFunc(r.Days, d, func(a, b stock.RoomDay) int { return cmp.Compare(a.Day, b.Day) })
	if there {
		r.Days[at].Temp = max(r.Days[at].Temp, d.Temp)
		return
	}
	if r.Days = slices.Insert(r.Days, at, d); len(r.Days) > roomDaysMax {
		r.Days = slices.Delete(r.Days, 0, 1)
	}
}

// The first and the last moment whose day can be written as YYYY-MM-DD.
const (
	dayFirstMS = -62_167_219_200_000 // 0000-01-01
	dayLastMS  = 253_402_300_799_999 // 9999-12-31
)

// utcDay is the day of a moment, the nearest one that can be written.
func utcDay(ms int64) string {
	return time.UnixMilli(min(max(ms, dayFirstMS), dayLastMS)).UTC().Format(time.DateOnly)
}

// dayAt is the day of a moment where clocks are some minutes ahead of UTC.
func dayAt(ms int64, offsetMin int) string {
	return utcDay(min(max(ms, dayFirstMS), dayLastMS) + int64(offsetMin)*60_000)
}

// tenderest is the powder in a place, or on all shelves for "", that bears the least
// heat, and its limit; "" where there is no powder.
func (s *State) tenderest(place string) (powder string, limit measure.Temp) {
	for id, p := range s.Book.Places {
		if id != place && (place != "" || p.Kind != ledger.Shelf) {
			continue
		}
		for _, w := range s.powdersIn(p.Content) {
			if t := s.storeMax(w); powder == "" || t < limit || t == limit && w < powder {
				powder, limit = w, t
			}
		}
	}
	return powder, limit
}

// storeMax is the highest temperature at which a powder may be stored: its own, else
// [stock.StoreMax].
func (s *State) storeMax(powder string) measure.Temp {
	if p := s.Powders[powder]; p != nil && p.StoreMaxDC != 0 {
		return measure.Temp(p.StoreMaxDC)
	}
	return stock.StoreMax
}

// warmed is a lot's use-by day after the warm days of the shelves it lies on, and of
// the store as a whole. The zero value says that nothing is known to be lost.
func (s *State) warmed(l *Lot) stock.Shortened {
	if l.UseBy == "" {
		return stock.Shortened{}
	}
	var days []stock.RoomDay
	for id, r := range s.Rooms {
		if p := s.Book.Places[id]; id == "" || p != nil && p.Content.OfLot(l.LotReceived.Lot) > 0 {
			days = append(days, r.Days...)
		}
	}
	w, err := stock.ShortenUseBy(l.UseBy, utcDay(l.ReceivedMS), s.storeMax(l.Powder), days)
	if err != nil {
		return stock.Shortened{} // a limit or reading beyond all rooms tells nothing
	}
	return w
}

// outputTested holds what comes out of the booth's guns against the dust limit:
// every gun at the tested output, nothing credited to the parts. A warning stands until
// a test that can be judged: one with an output, of a booth whose exhaust is known.
func (a *applier) outputTested(e *Entry, b *OutputTested) {
	a.outputPoint(e, b)
	at := a.s.Booths[b.Booth]
	if at == nil || at.ExhaustM3H == 0 || b.MGPerMin == 0 {
		return
	}
	x := booth.Exhaust{AirM3H: at.ExhaustM3H}
	for range max(at.Guns, 1) {
		x.Guns = append(x.Guns, measure.Mass(b.MGPerMin))
	}
	if p := a.s.Powders[b.Powder]; p != nil {
		x.MECMGM3 = p.MECMGM3
	}
	d, err := booth.DustIn(x)
	if err != nil { // nothing to judge by: what stands, stands
		return
	}
	a.settle(func(i *Issue) bool { return i.Code == "dust_limit" && i.Booth == b.Booth })
	if d.Allowed {
		return
	}
	a.issue(e, "dust_limit", Issue{Booth: b.Booth, Powder: b.Powder, More: strconv.FormatInt(int64(d.Conc*1000+0.5), 10)})
}

// issueFigure prints what an issue keeps as a bare number, "" for any other issue.
func (w *viewer) issueFigure(i *Issue) string {
	n, err := strconv.ParseInt(i.More, 10, 64)
	if err != nil {
		return ""
	}
	switch i.Code {
	case "room_warm":
		return w.r.Style.Temp(measure.Temp(n)) + " > " + w.r.Style.Temp(w.s.storeMax(i.Powder))
	case "room_damp":
		return w.r.Style.Share(measure.Share(n)) + " > " + w.r.Style.Share(stock.RHMaxPM)
	case "dust_limit":
		return w.r.Style.Dust(float64(n) / 1000)
	case "ground_bad":
		return w.r.Style.Ohm(n)
	case "cure_under", "cure_over":
		return w.minutes(n)
	}
	return ""
}
