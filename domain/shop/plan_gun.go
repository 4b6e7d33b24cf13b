package shop

import (
	"cmp"
	"strings"

	"hoppertally/domain/gun"
)

// ground records a check of the grounding.
func (p *planner) ground() {
	b := known(p, "booth", p.s.Booths, "form.unknown_booth")
	ok := p.choice("ok", []string{"yes", "no"}, "")
	ohm := p.decimal("ohm", 1, false)
	if b != nil {
		p.addIfGood("ground.checked", &GroundChecked{Booth: b.Booth, OK: ok == "yes", Ohm: ohm})
	}
}

// room records the climate of a shelf or of the whole store.
func (p *planner) roomClimate() {
	place := p.text("place")
	if place != "" && p.s.Places[place] == nil {
		p.fail("place", "form.unknown_place", place, "")
	}
	temp := quantity(p, "temp", true, p.r.Style.ParseTemp)
	p.addIfGood("room.read", &RoomRead{Place: place, TempDC: int64(temp), RHPM: p.decimal("rh", 10, false)})
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
		p.addIfGood("output.tested", &OutputTested{Booth: b.Booth, Powder: powder, MainKPA: main, MGPerMin: int64(caught.MulDiv(60, seconds))})
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
		p.addIfGood("deposit.tested", &DepositTested{Booth: b.Booth, Powder: powder, MGPerMin: int64(flow), TEPM: te})
	}
}

// gunPowder is the powder that a test is of: the one given, else the one in the gun.
func (p *planner) gunPowder(b *Booth) string {
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

// cure records a curve of the part's temperature: minutes and degrees, line by line.
func (p *planner) cure() {
	run := known(p, "run", p.s.Runs, "form.unknown_run")
	text := p.need("points")
	var b CureRead
	for line := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == '\n' || r == ';' }) {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		if len(words) < 2 {
			p.fail("points", "form.points", line, "")
			return
		}
		minute, err := parseSigned(words[0])
		temp, tempErr := p.r.Style.ParseTemp(strings.Join(words[1:], " "))
		at := CurePoint{Sec: int64(minute*60 + 0.5), TempDC: int64(temp)}
		if err != nil || tempErr != nil || !(minute >= 0 && minute <= 1440) {
			p.fail("points", "form.points", line, "")
			return
		}
		if n := len(b.Points); n > 0 && at.Sec <= b.Points[n-1].Sec {
			p.fail("points", "form.points_order", line, "")
			return
		}
		b.Points = append(b.Points, at)
	}
	if text != "" && len(b.Points) < 2 {
		p.fail("points", "form.points", text, "")
	}
	if run != nil && len(p.plan.Errors) == 0 {
		b.Run = run.Run
		p.add("cure.read", &b)
	}
}

func (p *planner) setSetup() {
	id := cmp.Or(p.text("setup"), p.newID())
	was := SetupSet{}
	if old := p.s.Setups[id]; old != nil {
		was = *old
	}
	pressure := func(field string, old int64) int64 {
		return kept(p, field, old, p.r.Style.Pressure, func(field string) int64 { return p.pressure(field, false) })
	}
	b := &SetupSet{Setup: id, Name: p.need("name"), Booth: p.text("booth"), Powder: p.text("powder"), Parts: p.text("parts"),
		Charging: p.text("charging"), Nozzle: p.text("nozzle"), KV: p.number("kv", 0, 120, false), UA: p.number("ua", 0, 200, false),
		MainKPA: pressure("main", was.MainKPA), ExtraKPA: pressure("extra", was.ExtraKPA),
		DistanceMM: kept(p, "distance", was.DistanceMM, p.r.Style.Length, p.length), Worked: p.text("worked") == "yes"}
	if b.Booth != "" && p.s.Booths[b.Booth] == nil {
		p.fail("booth", "form.unknown_booth", b.Booth, "")
	}
	if b.Powder != "" && p.s.Powders[b.Powder] == nil {
		p.fail("powder", "form.unknown_powder", b.Powder, "")
	}
	for _, code := range gun.Look(b.gun()) {
		p.warn(code, "")
	}
	p.addIfGood("setup.set", b)
}

// plan records work to come; a job of the same name is planned anew.
func (p *planner) planJob() {
	job, w := p.need("job"), known(p, "powder", p.s.Powders, "form.unknown_powder")
	count := p.number("count", 1, 10_000_000, true)
	area := quantity(p, "area", true, p.r.Style.ParseArea)
	due := p.date("due")
	if w != nil {
		p.addIfGood("job.planned", &JobPlanned{Job: job, Powder: w.Powder, Count: count, AreaCM2: int64(area), Due: due})
	}
}

// pressure reads a pressure in kPa; an empty field is 0.
func (p *planner) pressure(field string, required bool) int64 {
	return quantity(p, field, required, p.r.Style.ParsePressure)
}

func (p *planner) length(field string) int64 {
	return quantity(p, field, false, p.r.Style.ParseLength)
}
