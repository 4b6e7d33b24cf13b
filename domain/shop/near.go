package shop

import "hoppertally/domain/kind"

// near remembers what was found in a map lately. A place or a lot comes back within a
// few entries, and where texts are hashed slowly, as in a browser, looking them up
// costs more than booking the powder. Of two things that fall into one slot the later
// stays. It never says that there is nothing: the map does.
type near[T any] struct {
	slots [256]struct {
		id string
		is *T
	}
}

func (n *near[T]) look(m map[string]*T, id string) *T {
	x := &n.slots[slotOf(id)]
	if x.id == id && x.is != nil {
		return x.is
	}
	v := m[id]
	if v != nil {
		x.id, x.is = id, v
	}
	return v
}

// forget is called when the map gives an id something else.
func (n *near[T]) forget(id string) { n.slots[slotOf(id)].is = nil }

func slotOf(id string) int {
	n := len(id)
	if n < 3 {
		return n
	}
	return (int(id[n-1]) + int(id[n-2])*11 + int(id[n-3])*131 + n) & 255
}

// nears is what an applier remembers over many entries.
type nears struct {
	places  near[spot]
	lots    near[Lot]
	runs    near[Run]
	powders near[kind.PowderSet]
}

// lot finds a lot; nil if there is none.
func (a *applier) lot(id string) *Lot {
	if a.near == nil {
		return a.s.Lots[id]
	}
	return a.near.lots.look(a.s.Lots, id)
}

// run finds a run; nil for "" and for one that is not there.
func (a *applier) run(id string) *Run {
	if a.near == nil || id == "" {
		return a.s.Run(id)
	}
	return a.near.runs.look(a.s.Runs, id)
}

// powder finds a powder; nil if there is none.
func (a *applier) powder(id string) *kind.PowderSet {
	if a.near == nil {
		return a.s.Powders[id]
	}
	return a.near.powders.look(a.s.Powders, id)
}

func (a *applier) powderOfLot(lot string) string {
	if l := a.lot(lot); l != nil {
		return l.Powder
	}
	return ""
}
