package shop

import "hoppertally/domain/kind"

// recent is a small cache in front of a map, with 256 slots. The same place or lot is
// needed again within a few entries, and where a program hashes texts slowly, as in a
// browser, the lookup in the map costs more than booking the powder. When two ids share
// a slot, the later one replaces the earlier one. Only the map can say that an id is
// unknown.
type recent[T any] struct {
	slots [256]struct {
		id string
		is *T
	}
}

func (n *recent[T]) look(m map[string]*T, id string) *T {
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

// forget empties the slot of an id. Whoever replaces the value of an id in the map calls it.
func (n *recent[T]) forget(id string) { n.slots[slotOf(id)].is = nil }

func slotOf(id string) int {
	n := len(id)
	if n < 3 {
		return n
	}
	return (int(id[n-1]) + int(id[n-2])*11 + int(id[n-3])*131 + n) & 255
}

// recents are the caches that an applier keeps over many entries.
type recents struct {
	places  recent[spot]
	lots    recent[Lot]
	runs    recent[Run]
	powders recent[kind.PowderSet]
}

// lot finds a lot; nil if there is none.
func (a *applier) lot(id string) *Lot {
	if a.recent == nil {
		return a.s.Lots[id]
	}
	return a.recent.lots.look(a.s.Lots, id)
}

// run finds a run; nil for "" and for one that is not there.
func (a *applier) run(id string) *Run {
	if a.recent == nil || id == "" {
		return a.s.Run(id)
	}
	return a.recent.runs.look(a.s.Runs, id)
}

// powder finds a powder; nil if there is none.
func (a *applier) powder(id string) *kind.PowderSet {
	if a.recent == nil {
		return a.s.Powders[id]
	}
	return a.recent.powders.look(a.s.Powders, id)
}

func (a *applier) powderOfLot(lot string) string {
	if l := a.lot(lot); l != nil {
		return l.Powder
	}
	return ""
}
