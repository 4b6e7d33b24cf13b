package shop

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"

	"hoppertally/domain/booth"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/stock"
)

// receive books a lot that came in.
func (p *planner) receive() {
	w := known(p, "powder", p.s.Powders, "form.unknown_powder")
	batch := p.need("batch")
	place := p.place("place", false)
	if p.text("place") == "" {
		place = p.firstShelf()
		p.plan.Filled["place"] = place
		if place == "" {
			p.fail("place", "form.missing", "", "")
		}
	}
	packs := p.number("packs", 1, 100_000, false)
	mass := p.mass("mass", false)
	if pack := p.mass("pack_mass", false); mass == 0 && pack > 0 {
		n := measure.Mass(max(packs, 1))
		if pack > (measure.MassMax-1)/n {
			p.fail("pack_mass", "form.too_large", p.text("pack_mass"), "")
			return
		}
		mass = pack * n
		p.plan.Filled["mass"] = p.view.qty(mass).Text
	}
	if mass == 0 && len(p.plan.Errors) == 0 {
		p.fail("mass", "form.missing", "", "")
	}
	made, useBy := p.date("made"), p.date("use_by")
	if w != nil && useBy == "" && made != "" && w.ShelfMonths > 0 {
		if day, err := stock.UseBy(made, w.ShelfMonths); err == nil {
			useBy = day
			p.plan.Filled["use_by"] = day
		}
	}
	price := p.decimal("price", 100, false)
	if w == nil || place == "" || len(p.plan.Errors) > 0 {
		return
	}
	if useBy != "" && useBy < p.view.today() {
		p.warn("lot_expired", batch+" "+useBy)
	}
	l := LotReceived{Lot: p.newID(), Powder: w.Powder, Batch: batch, Place: place, Mass: mass, Packs: packs, Made: made, UseBy: useBy, Price: price}
	p.touch(place)
	p.add("lot.received", &l)
}

func (p *planner) firstShelf() string {
	for _, id := range slices.Sorted(maps.Keys(p.s.Places)) {
		if p.s.Places[id].Kind == string(ledger.Shelf) {
			return id
		}
	}
	return ""
}

// partBox weighs what is left of a lot on a shelf.
func (p *planner) partBox() {
	l := known(p, "lot", p.s.Lots, "form.unknown_lot")
	if l == nil {
		return
	}
	place := p.place("place", false)
	if p.text("place") == "" {
		if place = cmp.Or(p.shelfOf(l.Lot), l.Place); p.s.Places[place] == nil {
			p.fail("place", "form.missing", "", "")
			return
		}
		p.plan.Filled["place"] = place
		p.touch(place)
	}
	mass := p.net(place, p.mass("mass", true))
	if place == "" || len(p.plan.Errors) > 0 {
		return
	}
	p.plan.Diff = p.weighDiff(p.s.Book.Places[place].Content.OfLot(l.Lot), mass, false)
	p.add("place.weighed", &PlaceWeighed{Place: place, Mass: mass, Lot: l.Lot})
}

func (p *planner) holdLot() {
	if l := known(p, "lot", p.s.Lots, "form.unknown_lot"); l != nil {
		p.add("lot.held", &LotHeld{l.Lot, p.need("why")})
	}
}

func (p *planner) releaseLot() {
	if l := known(p, "lot", p.s.Lots, "form.unknown_lot"); l != nil {
		p.add("lot.released", &LotReleased{l.Lot, p.need("why")})
	}
}

// target is the entry that a form names.
func (p *planner) target() *Entry {
	id := p.need("entry")
	if id == "" {
		return nil
	}
	e := p.f.Entry(id)
	switch {
	case e == nil:
		p.fail("entry", "form.unknown_entry", id, "")
	case p.f.Bars(&Entry{Body: &EntryVoided{Entry: id}}):
		p.fail("entry", "form.books_closed", e.Kind, "")
		return nil
	}
	return e
}

func (p *planner) void() {
	e, why := p.target(), p.need("why")
	switch {
	case e == nil || why == "":
	case Target(e.Body) != "" || p.f.VoidedBy(e) != nil || !May(p.r.Role, e.Kind):
		p.fail("entry", "form.not_voidable", e.Kind, "")
	default:
		p.answer("entry.voided", e, &EntryVoided{e.ID, why})
	}
}

// answer adds what is recorded about another entry, unless the server would hold it: the
// shop must keep a manager.
func (p *planner) answer(kind string, to *Entry, b Body) {
	switch why := p.f.unseats(&Entry{Kind: kind, Body: b}); why {
	case "":
		p.add(kind, b)
	case LastManager:
		p.fail("entry", "form.last_manager", to.Kind, "")
	default:
		p.fail("entry", why, to.Kind, "")
	}
}

func (p *planner) note() {
	if e, text := p.target(), p.need("text"); e != nil && text != "" {
		p.add("entry.noted", &EntryNoted{e.ID, text})
	}
}

func (p *planner) admit() {
	if e := p.held(); e != nil {
		p.answer("entry.released", e, &EntryReleased{e.ID, p.text("why")})
	}
}

func (p *planner) decline() {
	if e := p.held(); e != nil {
		p.answer("entry.declined", e, &EntryDeclined{e.ID, p.text("why")})
	}
}

func (p *planner) held() *Entry {
	e := p.target()
	if e != nil && e.Outcome != Held {
		p.fail("entry", "form.not_held", e.Kind, "")
		return nil
	}
	return e
}

func (p *planner) setPowder() {
	id := cmp.Or(p.text("powder"), p.newID())
	was := PowderSet{}
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
	b := &PowderSet{Powder: id, Name: p.need("name"), Maker: p.text("maker"), Code: p.text("code"),
		Chemistry: p.choice("chemistry", Chemistries, "polyester"), Finish: p.choice("finish", Finishes, "gloss"),
		SGMilli: p.decimal("sg", 1000, true), FilmMin: film("film_min", was.FilmMin), FilmTarget: film("film_target", was.FilmTarget), FilmMax: film("film_max", was.FilmMax),
		ReclaimMaxPM: p.decimal("reclaim_max", 10, true), PassesMax: p.number("passes_max", 0, 99, false),
		ShelfMonths: p.number("shelf_months", 0, 240, false), StoreMaxDC: temp("store_max", was.StoreMaxDC), MECMGM3: p.decimal("mec", 1000, false),
		LeadDays: p.number("lead_days", 0, 365, false), Box: mass("box", was.Box)}
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

func (p *planner) addIfGood(kind string, b Body) {
	if len(p.plan.Errors) == 0 {
		p.add(kind, b)
	}
}

func (p *planner) setPlace() {
	id := cmp.Or(p.text("place"), p.newID())
	was := PlaceSet{}
	if old := p.s.Places[id]; old != nil {
		was.Tare, was.Capacity = old.Tare, old.Capacity
	}
	mass := func(field string, old measure.Mass) measure.Mass {
		return kept(p, field, old, p.r.Style.Mass, func(field string) measure.Mass { return p.mass(field, false) })
	}
	b := &PlaceSet{Place: id, Name: p.need("name"), Kind: p.choice("kind", PlaceKinds, "vessel"),
		Booth: p.text("booth"), Tare: mass("tare", was.Tare), Capacity: mass("capacity", was.Capacity)}
	if b.Booth != "" && p.s.Booths[b.Booth] == nil {
		p.fail("booth", "form.unknown_booth", b.Booth, "")
	}
	p.addIfGood("place.set", b)
}

func (p *planner) setBooth() {
	b := &BoothSet{Booth: cmp.Or(p.text("booth"), p.newID()), Name: p.need("name"), ExhaustM3H: p.number("exhaust", 0, 1_000_000, false),
		Guns: p.number("guns", 0, booth.GunsMax, false), TEPM: p.decimal("te", 10, false), RecoveryPM: p.decimal("recovery", 10, false)}
	p.addIfGood("booth.set", b)
}

func (p *planner) setPerson() {
	b := &PersonSet{Person: cmp.Or(p.text("person"), p.newID()), Name: p.need("name"), Role: p.choice("role", Roles, "coater"), Gone: p.text("gone") == "yes"}
	if p.f.isLastManager(b.Person) && (b.Gone || b.Role != "manager") {
		field := "role"
		if b.Gone {
			field = "" // a switch has no room for words
		}
		p.fail(field, "form.last_manager", p.s.People[b.Person].Name, "")
	}
	p.addIfGood("person.set", b)
}

func (p *planner) setShop() {
	b := &ShopSet{Name: p.need("name"), Zone: p.need("zone"), Units: p.choice("units", UnitSystems, "metric"),
		Currency: strings.ToUpper(p.need("currency")), Lang: p.choice("lang", Languages, "en")}
	if b.Zone != "" && strings.ContainsAny(b.Zone, " \\") {
		p.fail("zone", "form.zone", b.Zone, "")
	}
	p.addIfGood("shop.set", b)
}

// parseSigned reads a number that may be negative, with point or comma.
func parseSigned(word string) (float64, error) {
	return strconv.ParseFloat(strings.ReplaceAll(word, ",", "."), 64)
}
