package task

import (
	"cmp"

	"hoppertally/domain/kind"
)

func (p *planner) setBooth() {
	b := &kind.BoothSet{Booth: cmp.Or(p.text("booth"), p.newID()), Name: p.need("name"), ExhaustM3H: p.number("exhaust", 0, most(new(kind.BoothSet), "exhaust_m3h"), false),
		Guns: p.number("guns", 0, most(new(kind.BoothSet), "guns"), false), TEPM: p.decimal("te", 10, false), RecoveryPM: p.decimal("recovery", 10, false)}
	p.addIfGood("booth.set", b)
}
