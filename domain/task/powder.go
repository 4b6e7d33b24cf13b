package task

import (
	"cmp"
	"strings"

	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
)

func (p *planner) setPowder() {
	id := cmp.Or(p.text("powder"), p.newID())
	was := kind.PowderSet{}
	if old := p.s.Powders[id]; old != nil {
		was = *old
	}
	film := func(field string, old int64) int64 {
		return kept(p, field, old, func(v int64) string { return p.r.Style.Film(measure.Film(v)) }, p.film10)
	}
	temp := func(field string, old int64) int64 {
		return kept(p, field, old, func(v int64) string { return p.r.Style.Temp(measure.Temp(v)) }, p.temp)
	}
	mass := func(field string, old measure.Mass) measure.Mass {
		return kept(p, field, old, p.r.Style.Mass, func(field string) measure.Mass { return p.mass(field, false) })
	}
	b := &kind.PowderSet{Powder: id, Name: p.need("name"), Maker: p.text("maker"), Code: p.text("code"),
		Chemistry: p.choice("chemistry", kind.Chemistries, "polyester"), Finish: p.choice("finish", kind.Finishes, "gloss"),
		SGMilli: p.decimal("sg", 1000, true), FilmMin: film("film_min", was.FilmMin), FilmTarget: film("film_target", was.FilmTarget), FilmMax: film("film_max", was.FilmMax),
		ReclaimMaxPM: p.decimal("reclaim_max", 10, true), PassesMax: p.number("passes_max", 0, most(new(kind.PowderSet), "passes_max"), false),
		ShelfMonths: p.number("shelf_months", 0, most(new(kind.PowderSet), "shelf_months"), false), StoreMaxDC: temp("store_max", was.StoreMaxDC), MECMGM3: p.decimal("mec", 1000, false),
		LeadDays: p.number("lead_days", 0, most(new(kind.PowderSet), "lead_days"), false), Box: mass("box", was.Box)}
	b.CureDC, b.CureS, b.CureMaxS = temp("cure_temp", was.CureDC), p.decimal("cure_min", 60, false), p.decimal("cure_max", 60, false)
	b.Price = was.Price // a field that this form does not show stays
	for _, word := range strings.Fields(strings.ReplaceAll(p.text("lab"), ";", " ")) {
		x, err := parseSigned(word)
		if err != nil {
			p.fail("lab", "form.number", word, "")
			return
		}
		b.Lab = append(b.Lab, x)
	}
	p.addIfGood("powder.set", b)
}
