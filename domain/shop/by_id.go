package shop

import (
	"cmp"
	"maps"
	"slices"
)

// byID finds entries by id. An id begins with its time, so most come in rising order,
// or nearly: those stand in a list, which costs nothing to make and little to copy;
// the others stand in a table. The zero value is empty.
type byID struct {
	rising  []*Entry
	others  map[string]*Entry
	highest string // no id was ever higher
}

// find is the entry with an id; nil if there is none.
func (x *byID) find(id string) *Entry {
	if id > x.highest {
		return nil
	}
	if e := x.others[id]; e != nil {
		return e
	}
	if i, ok := x.search(id); ok {
		return x.rising[i]
	}
	return nil
}

// search says where in the list an id stands, or would.
func (x *byID) search(id string) (int, bool) {
	n := len(x.rising)
	if n == 0 || x.rising[n-1].ID < id {
		return n, false
	}
	return slices.BinarySearchFunc(x.rising, id, func(e *Entry, id string) int { return cmp.Compare(e.ID, id) })
}

// put adds an entry, in the place of one with the same id.
func (x *byID) put(e *Entry) {
	if e.ID > x.highest {
		x.highest = e.ID
		x.rising = append(x.rising, e)
		return
	}
	i, ok := x.search(e.ID)
	switch {
	case ok:
		x.rising[i] = e
	case x.others[e.ID] != nil || len(x.rising)-i > asideMax:
		x.aside(e)
	default:
		for _, higher := range x.rising[i:] {
			x.aside(higher)
		}
		x.rising = append(x.rising[:i], e)
	}
}

func (x *byID) aside(e *Entry) {
	if x.others == nil {
		x.others = map[string]*Entry{}
	}
	x.others[e.ID] = e
}

func (x *byID) drop(id string) {
	delete(x.others, id)
	if i, ok := x.search(id); ok {
		x.rising = slices.Delete(x.rising, i, i+1)
	}
}

func (x *byID) clone() byID { return byID{slices.Clone(x.rising), maps.Clone(x.others), x.highest} }

// asideMax is how many entries at the end of the list make way for one that is lower.
// Each makes way once, so that a phone whose clock is ahead costs the others nothing.
const asideMax = 64
