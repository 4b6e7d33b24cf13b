package shop

import (
	"slices"

	"hoppertally/domain/form"
	"hoppertally/domain/measure"
)

// Issue is something a person should look at. The entry behind it names it.
type Issue struct {
	Code, Entry, Kind, By         string
	AtMS                          int64
	Place, Powder, Lot, Run, More string
	Booth                         string
	Mass                          measure.Mass
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

// issue puts something on the attention list.
func (a *applier) issue(e *Entry, code string, i Issue) {
	i.Code, i.Entry, i.Kind, i.By, i.AtMS = code, e.ID, e.Kind, e.By, e.EffectiveMS
	a.s.Issues = append(a.s.Issues, &i)
}

// settle takes issues off the list: a later entry explained them.
func (a *applier) settle(explained func(*Issue) bool) { a.settleLast(len(a.s.Issues), explained) }

// settleLast is settle for at most n issues, the latest first.
func (a *applier) settleLast(n int, explained func(*Issue) bool) {
	for i := len(a.s.Issues) - 1; i >= 0 && n > 0; i-- {
		if explained(a.s.Issues[i]) {
			a.s.Issues = slices.Delete(a.s.Issues, i, i+1) // the state owns its list, see Clone
			n--
		}
	}
}

// beyond notes that the books could not hold all of what an entry speaks of.
func (a *applier) beyond(e *Entry, place, lot string, m measure.Mass) {
	if m > 0 {
		a.issue(e, "beyond_books", Issue{Place: place, Lot: lot, Mass: m})
	}
}
