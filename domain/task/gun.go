package task

import (
	"cmp"

	"hoppertally/domain/gun"
	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

// ground records a check of the grounding.
func (p *planner) ground() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	ok := p.choice("ok", []string{"yes", "no"}, "")
	ohm := p.decimal("ohm", 1, false)
	if b != nil {
		p.addIfGood("ground.checked", &kind.GroundChecked{Booth: b.Booth, OK: ok == "yes", Ohm: ohm})
	}
}

// output records a weigh test: what the gun gave in a time at a main air. The time
// is a minute unless said otherwise.
func (p *planner) output() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	main, caught := p.pressure("main", true), p.mass("mass", true)
	seconds := p.number("seconds", 1, 3600, false)
	if p.text("seconds") == "" {
		seconds = 60
		p.plan.Filled["seconds"] = "60"
	}
	if powder := p.gunPowder(b); powder != "" && len(p.plan.Errors) == 0 {
		p.addIfGood("output.tested", &kind.OutputTested{Booth: b.Booth, Powder: powder, MainKPA: main, MGPerMin: int64(caught.MulDiv(60, seconds))})
	}
}

// deposit records a weighed transfer efficiency: what of the powder that left the
// gun stayed on the parts.
func (p *planner) deposit() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	flow, te := p.mass("flow", true), p.decimal("te", 10, true)
	if p.text("te") != "" && (te < 1 || te > 1000) {
		p.fail("te", "form.range", p.text("te"), "0.1–100 %")
	}
	if powder := p.gunPowder(b); powder != "" && len(p.plan.Errors) == 0 {
		p.addIfGood("deposit.tested", &kind.DepositTested{Booth: b.Booth, Powder: powder, MGPerMin: int64(flow), TEPM: te})
	}
}

// gunPowder is the powder that a test is of: the one given, else the one in the gun.
func (p *planner) gunPowder(b *shop.Booth) string {
	if b == nil {
		return ""
	}
	id := cmp.Or(p.text("powder"), b.Powder)
	if p.text("powder") == "" {
		p.plan.Filled["powder"] = id
	}
	switch {
	case id == "":
		p.fail("powder", "form.missing", "", "")
	case p.s.Powders[id] == nil:
		p.fail("powder", "form.unknown_powder", id, "")
	default:
		return id
	}
	return ""
}

func (p *planner) setSetup() {
	id := cmp.Or(p.text("setup"), p.newID())
	was := kind.SetupSet{}
	if old := p.s.Setups[id]; old != nil {
		was = *old
	}
	pressure := func(field string, old int64) int64 {
		return kept(p, field, old, p.r.Style.Pressure, func(field string) int64 { return p.pressure(field, false) })
	}
	b := &kind.SetupSet{Setup: id, Name: p.need("name"), Booth: p.text("booth"), Powder: p.text("powder"), Parts: p.text("parts"),
		Charging: p.text("charging"), Nozzle: p.text("nozzle"), KV: p.number("kv", 0, most(&was, "kv"), false), UA: p.number("ua", 0, most(&was, "ua"), false),
		MainKPA: pressure("main", was.MainKPA), ExtraKPA: pressure("extra", was.ExtraKPA),
		DistanceMM: kept(p, "distance", was.DistanceMM, p.r.Style.Length, p.length), Worked: p.text("worked") == "yes"}
	if b.Booth != "" && p.s.Booths[b.Booth] == nil {
		p.fail("booth", "form.unknown_booth", b.Booth, "")
	}
	if b.Powder != "" && p.s.Powders[b.Powder] == nil {
		p.fail("powder", "form.unknown_powder", b.Powder, "")
	}
	for _, code := range gun.Look(b.Gun()) {
		p.warn(code, "")
	}
	p.addIfGood("setup.set", b)
}
