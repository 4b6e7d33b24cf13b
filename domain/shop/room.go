package shop

import (
	"cmp"
	"slices"
	"strconv"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
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

func (r *Room) visit(v *form.Visitor) {
	v.OptID("place", &r.Place)
	v.Int("at_ms", &r.AtMS, -signed, signed, "ms")
	v.Int("temp_dc", &r.TempDC, -signed, signed, "°C·10")
	v.OptInt("rh_pm", &r.RHPM, 0, signed, "‰")
	form.List(v, "days", &r.Days, 0, roomDaysMax, func(v *form.Visitor, d *stock.RoomDay) {
		v.Date("day", &d.Day)
		v.Int("temp_dc", (*int64)(&d.Temp), -signed, signed, "°C·10")
	})
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

// roomDaysMax bounds the days that are kept of a room, the latest: more than the
// longest shelf life that powders usually have.
const roomDaysMax = 800

// roomRead keeps a reading and notes a store that is too warm for a powder in it,
// or too damp. A later reading of the same place takes the place of the one before.
func (a *applier) roomRead(e *Entry, b *kind.RoomRead) {
	s := a.s
	r := s.Rooms[b.Place]
	if r == nil {
		r = &Room{Place: b.Place}
		s.Rooms[b.Place] = r
	}
	r.AtMS, r.TempDC, r.RHPM = e.EffectiveMS, b.TempDC, b.RHPM
	r.note(stock.RoomDay{Day: UTCDay(e.EffectiveMS), Temp: measure.Temp(b.TempDC)})
	a.settle(func(i *Issue) bool { return (i.Code == "room_warm" || i.Code == "room_damp") && i.Place == b.Place })
	if powder, limit := s.tenderest(b.Place); powder != "" && measure.Temp(b.TempDC) > limit {
		a.issue(e, "room_warm", Issue{Place: b.Place, Powder: powder, More: strconv.FormatInt(b.TempDC, 10)})
	}
	if b.RHPM > stock.RHMaxPM {
		a.issue(e, "room_damp", Issue{Place: b.Place, More: strconv.FormatInt(b.RHPM, 10)})
	}
}

// tenderest is the powder in a place, or on all shelves for "", that bears the least
// heat, and its limit; "" where there is no powder.
func (s *State) tenderest(place string) (powder string, limit measure.Temp) {
	for id, p := range s.Book.Places {
		if id != place && (place != "" || p.Kind != ledger.Shelf) {
			continue
		}
		for _, w := range s.PowdersIn(p.Content) {
			if t := s.StoreMax(w); powder == "" || t < limit || t == limit && w < powder {
				powder, limit = w, t
			}
		}
	}
	return powder, limit
}
