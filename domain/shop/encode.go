package shop

import (
	"maps"
	"slices"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/ledger"
	"hoppertally/domain/measure"
)

const (
	anyMax  = 1 << 40          // lists of a state are as long as they are
	signed  = form.MassMax - 1 // both ways; the limits of entries stand in kind
	anyText = 1 << 20          // texts were checked when they came in
)

// Fields declares the canonical form of the state.
func (s *State) Fields(v *form.Visitor) {
	named := s.Shop.Name != ""
	v.OptObject("shop", &named, s.Shop.Fields)
	visitMap(v, "powders", &s.Powders, func(v *form.Visitor, p *kind.PowderSet) { p.Fields(v) }, func(p *kind.PowderSet) string { return p.Powder })
	visitMap(v, "booths", &s.Booths, (*Booth).visit, func(b *Booth) string { return b.Booth })
	visitMap(v, "places", &s.Places, (*Place).visit, func(p *Place) string { return p.Place })
	visitMap(v, "people", &s.People, func(v *form.Visitor, p *kind.PersonSet) { p.Fields(v) }, func(p *kind.PersonSet) string { return p.Person })
	visitMap(v, "setups", &s.Setups, func(v *form.Visitor, p *kind.SetupSet) { p.Fields(v) }, func(p *kind.SetupSet) string { return p.Setup })
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
		v.Enum("kind", (*string)(&c.kind), kind.PlaceKinds...)
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
