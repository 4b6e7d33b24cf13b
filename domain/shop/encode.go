package shop

import (
	"maps"
	"slices"

	"hoppertally/domain/form"
	"hoppertally/domain/gun"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
	"hoppertally/domain/stock"
)

// The state has one canonical JSON form: maps as lists in ascending order of
// id. It is what the state hash is made of and what a snapshot carries.

const (
	anyMax  = 1 << 40          // lists of a state are as long as they are
	signed  = form.MassMax - 1 // both ways
	anyText = 1 << 20          // texts were checked when they came in
)

// Fields declares the canonical form of the state.
func (s *State) Fields(v *form.Visitor) {
	named := s.Shop.Name != ""
	v.OptObject("shop", &named, s.Shop.Fields)
	visitMap(v, "powders", &s.Powders, func(v *form.Visitor, p *PowderSet) { p.Fields(v) }, func(p *PowderSet) string { return p.Powder })
	visitMap(v, "booths", &s.Booths, (*Booth).visit, func(b *Booth) string { return b.Booth })
	visitMap(v, "places", &s.Places, (*Place).visit, func(p *Place) string { return p.Place })
	visitMap(v, "people", &s.People, func(v *form.Visitor, p *PersonSet) { p.Fields(v) }, func(p *PersonSet) string { return p.Person })
	visitMap(v, "setups", &s.Setups, func(v *form.Visitor, p *SetupSet) { p.Fields(v) }, func(p *SetupSet) string { return p.Setup })
	visitMap(v, "lots", &s.Lots, (*Lot).visit, func(l *Lot) string { return l.Lot })
	visitMap(v, "runs", &s.Runs, (*Run).visit, func(r *Run) string { return r.Run })
	visitMap(v, "jobs", &s.Jobs, (*Job).visit, func(j *Job) string { return j.Job })
	visitMap(v, "rooms", &s.Rooms, (*Room).visit, func(r *Room) string { return r.Place })
	form.List(v, "changes", &s.Changes, 0, anyMax, func(v *form.Visitor, c **Change) { visitOne(v, c, (*Change).visit) })
	form.List(v, "issues", &s.Issues, 0, anyMax, func(v *form.Visitor, i **Issue) { visitOne(v, i, (*Issue).visit) })
	s.visitBook(v)
	v.OptInt("folded", &s.Folded, 0, signed, "")
	v.OptInt("closed_ms", &s.Closed, 0, signed, "ms")
	past, has := s.Past, s.Past != nil
	if !has {
		past = &Past{}
	}
	if v.OptObject("past", &has, past.visit); has {
		s.Past = past
	}
}

func visitOne[T any](v *form.Visitor, p **T, fn func(*T, *form.Visitor)) {
	if *p == nil {
		*p = new(T)
	}
	fn(*p, v)
}

func visitMap[T any, F func(*form.Visitor, *T) | func(*T, *form.Visitor)](v *form.Visitor, name string, m *map[string]*T, fn F, id func(*T) string) {
	var list []*T
	if v.Writing() {
		for _, k := range slices.Sorted(maps.Keys(*m)) {
			list = append(list, (*m)[k])
		}
	}
	form.List(v, name, &list, 0, anyMax, func(v *form.Visitor, p **T) {
		if *p == nil {
			*p = new(T)
		}
		switch f := any(fn).(type) {
		case func(*form.Visitor, *T):
			f(v, *p)
		case func(*T, *form.Visitor):
			f(*p, v)
		}
	})
	if v.Reading() {
		*m = make(map[string]*T, len(list))
		for _, p := range list {
			if p != nil {
				(*m)[id(p)] = p
			}
		}
	}
}

func (b *Booth) visit(v *form.Visitor) {
	b.BoothSet.Fields(v)
	v.OptID("holds", &b.Powder)
	v.OptID("run", &b.Run)
	v.OptID("change", &b.Change)
	v.OptText("clean_level", &b.CleanLevel, anyText)
	v.OptInt("clean_ms", &b.CleanMS, -signed, signed, "ms")
	v.OptID("clean_by", &b.CleanBy)
	v.OptInt("clean_min", &b.CleanMin, 0, signed, "min")
	v.OptInt("clean_crew", &b.CleanCrew, 0, signed, "")
	checked := b.Ground.AtMS != 0
	v.OptObject("ground", &checked, b.Ground.visit)
	form.List(v, "outputs", &b.Outputs, 0, pointsMax, func(v *form.Visitor, p *OutputPoint) {
		v.ID("powder", &p.Powder)
		v.Int("at_ms", &p.AtMS, -signed, signed, "ms")
		v.Int("main_kpa", &p.MainKPA, 0, 1000, "kPa")
		v.Int("mg_per_min", &p.MGPerMin, 0, gun.OutputMax, "mg/min")
	})
	form.List(v, "deposits", &b.Deposits, 0, pointsMax, func(v *form.Visitor, p *DepositPoint) {
		v.ID("powder", &p.Powder)
		v.Int("at_ms", &p.AtMS, -signed, signed, "ms")
		v.Int("mg_per_min", &p.MGPerMin, 0, gun.OutputMax, "mg/min")
		v.Int("te_pm", &p.TEPM, 0, 1000, "‰")
	})
}

func (g *Ground) visit(v *form.Visitor) {
	v.Int("at_ms", &g.AtMS, -signed, signed, "ms")
	v.OptID("by", &g.By)
	v.Bool("ok", &g.OK)
	v.OptInt("ohm", &g.Ohm, 0, 1_000_000_000, "Ω")
}

func (p *Place) visit(v *form.Visitor) {
	p.PlaceSet.Fields(v)
	v.Bool("implicit", &p.Implicit)
	v.OptInt("weighed_ms", &p.WeighedMS, -signed, signed, "ms")
	v.OptMass("weighed_sd_mg", &p.WeighedSD)
	v.OptID("feeds", &p.Feeds)
	v.OptText("clean_level", &p.CleanLevel, anyText)
	v.OptID("last_powder", &p.LastPowder)
	v.OptInt("overdrawn", &p.Overdrawn, 0, signed, "")
	v.OptInt("over_blend", &p.OverBlend, 0, signed, "")
	v.Bool("unsieved", &p.Unsieved)
}

func (l *Lot) visit(v *form.Visitor) {
	l.LotReceived.Fields(v)
	v.Int("received_ms", &l.ReceivedMS, -signed, signed, "ms")
	v.OptID("entry", &l.Entry)
	v.Bool("held", &l.Held)
	v.OptText("held_why", &l.HeldWhy, anyText)
}

func (r *Run) visit(v *form.Visitor) {
	r.RunOpened.Fields(v)
	v.Int("opened_ms", &r.OpenedMS, -signed, signed, "ms")
	v.OptInt("closed_ms", &r.ClosedMS, -signed, signed, "ms")
	visitContent(v, "net", &r.Net)
	v.OptMass("recovered_mg", &r.Recovered)
	v.OptMass("scrapped_mg", &r.Scrapped)
	form.List(v, "jobs", &r.Jobs, 0, anyMax, func(v *form.Visitor, j *JobDone) {
		v.ID("entry", &j.Entry)
		v.ID("job", &j.Job)
		v.Int("count", &j.Count, 0, signed, "parts")
		v.Int("area_cm2", &j.AreaCM2, 0, signed, "cm²")
	})
	v.OptInt("film_n", &r.FilmN, 0, signed, "")
	v.OptInt("film_sum", &r.FilmSum, 0, signed, "")
	v.OptInt("film_sq", &r.FilmSq, 0, signed, "")
	v.OptInt("film_min", &r.FilmMin, 0, signed, "")
	v.OptInt("film_max", &r.FilmMax, 0, signed, "")
	form.List(v, "cures", &r.Cures, 0, anyMax, func(v *form.Visitor, c *CureDone) {
		v.ID("entry", &c.Entry)
		v.Int("peak_dc", &c.PeakDC, -signed, signed, "°C·10")
		v.OptInt("above_s", &c.AboveS, 0, signed, "s")
		v.OptInt("from_dc", &c.FromDC, 0, signed, "°C·10")
	})
	v.OptInt("weighings", &r.Weighings, 0, signed, "")
	v.OptMass("sd_open_mg", &r.SDOpen)
	v.OptMass("sd_last_mg", &r.SDLast)
}

func (j *Job) visit(v *form.Visitor) {
	j.JobPlanned.Fields(v)
	v.Int("planned_ms", &j.PlannedMS, -signed, signed, "ms")
}

func (r *Room) visit(v *form.Visitor) {
	v.OptID("place", &r.Place)
	v.Int("at_ms", &r.AtMS, -signed, signed, "ms")
	v.Int("temp_dc", &r.TempDC, -500, 1000, "°C·10")
	v.OptInt("rh_pm", &r.RHPM, 0, 1000, "‰")
	form.List(v, "days", &r.Days, 0, roomDaysMax, func(v *form.Visitor, d *stock.RoomDay) {
		v.Date("day", &d.Day)
		v.Int("temp_dc", (*int64)(&d.Temp), -500, 1000, "°C·10")
	})
}

func (p *Past) visit(v *form.Visitor) {
	v.Int("cut_ms", &p.CutMS, -signed, signed, "ms")
	v.OptInt("runs", &p.Runs, 0, signed, "")
	visitAccount(v, "sprayed", &p.Sprayed)
	v.OptMass("parts_mg", &p.Parts)
	v.OptMass("lost_mg", &p.Lost)
}

func (c *Change) visit(v *form.Visitor) {
	v.ID("entry", &c.Entry)
	v.ID("booth", &c.Booth)
	v.OptID("from", &c.From)
	v.ID("to", &c.To)
	v.OptText("level", &c.Level, anyText)
	v.OptText("needed", &c.Needed, anyText)
	v.OptID("by", &c.By)
	v.OptInt("crew", &c.Crew, 0, signed, "")
	v.OptInt("minutes", &c.Minutes, 0, signed, "min")
	v.Int("started_ms", &c.StartedMS, -signed, signed, "ms")
	v.OptInt("finished_ms", &c.FinishedMS, -signed, signed, "ms")
	v.OptMass("scrapped_mg", &c.Scrapped)
}

func (i *Issue) visit(v *form.Visitor) {
	v.ID("code", &i.Code)
	v.ID("entry", &i.Entry)
	v.OptText("kind", &i.Kind, anyText)
	v.OptID("by", &i.By)
	v.Int("at_ms", &i.AtMS, -signed, signed, "ms")
	v.OptID("place", &i.Place)
	v.OptID("powder", &i.Powder)
	v.OptID("lot", &i.Lot)
	v.OptID("run", &i.Run)
	v.OptID("booth", &i.Booth)
	v.OptText("more", &i.More, anyText)
	v.OptMass("mass_mg", &i.Mass)
}

func visitContent(v *form.Visitor, name string, c *ledger.Content) {
	parts := []ledger.Part(*c)
	form.List(v, name, &parts, 0, anyMax, func(v *form.Visitor, p *ledger.Part) {
		passes := int64(p.Passes)
		v.ID("lot", &p.Lot)
		v.OptInt("passes", &passes, 0, ledger.PassesMax, "passes")
		v.Mass("mass_mg", &p.Mass)
		p.Passes = uint8(passes)
	})
	*c = parts
}

type contentOf struct {
	id    string
	kind  ledger.Kind
	parts ledger.Content
}

func (s *State) visitBook(v *form.Visitor) {
	var list []contentOf
	if v.Writing() {
		for _, id := range slices.Sorted(maps.Keys(s.Book.Places)) {
			p := s.Book.Places[id]
			list = append(list, contentOf{id, p.Kind, p.Content})
		}
	}
	form.List(v, "contents", &list, 0, anyMax, func(v *form.Visitor, c *contentOf) {
		v.ID("place", &c.id)
		v.Enum("kind", (*string)(&c.kind), PlaceKinds...)
		visitContent(v, "content", &c.parts)
	})
	visitAccount(v, "received", &s.Book.Received)
	visitAccount(v, "variance", &s.Book.Variance)
	if v.Reading() {
		s.Book.Places = make(map[string]*ledger.Place, len(list))
		for _, c := range list {
			s.Book.Places[c.id] = &ledger.Place{Kind: c.kind, Content: c.parts}
		}
		s.Book.Recount()
	}
}

func visitAccount(v *form.Visitor, name string, a *ledger.Account) {
	list := []ledger.LotMass(*a)
	form.List(v, name, &list, 0, anyMax, func(v *form.Visitor, e *ledger.LotMass) {
		m := int64(e.Mass)
		v.ID("lot", &e.Lot)
		v.Int("mass_mg", &m, -signed, signed, "mg")
		e.Mass = measure.Mass(m)
	})
	*a = list
}

// Encode is the canonical JSON of the state.
func (s *State) Encode() []byte {
	const least = 4 << 10 // bytes of nearly any shop's
	return s.Append(make([]byte, 0, least))
}

// Append is Encode onto dst.
func (s *State) Append(dst []byte) []byte { return form.Append(dst, s) }

// DecodeState reads what Encode wrote.
func DecodeState(data []byte) (*State, error) {
	s := NewState()
	if err := form.Decode(data, s); err != nil {
		return nil, err
	}
	return s, nil
}
