package task

import "hoppertally/domain/kind"

// room records the climate of a shelf or of the whole store.
func (p *planner) roomClimate() {
	place := p.text("place")
	if place != "" && p.s.Places[place] == nil {
		p.fail("place", "form.unknown_place", place, "")
	}
	temp := quantity(p, "temp", true, p.r.Style.ParseTemp)
	p.addIfGood("room.read", &kind.RoomRead{Place: place, TempDC: int64(temp), RHPM: p.decimal("rh", 10, false)})
}
