package task

import (
	"cmp"

	"hoppertally/domain/booth"
	"hoppertally/domain/kind"
)

func (p *planner) setBooth() {
	b := &kind.BoothSet{Booth: cmp.Or(p.text("booth"), p.newID()), Name: p.need("name"), ExhaustM3H: p.number("exhaust", 0, 1_000_000, false),
		Guns: p.number("guns", 0, booth.GunsMax, false), TEPM: p.decimal("te", 10, false), RecoveryPM: p.decimal("recovery", 10, false)}
	p.addIfGood("booth.set", b)
}
