package shop

import (
	"slices"

	"hoppertally/domain/kind"
)

func (f *Fold) index(e *Entry) {
	switch b := e.Body.(type) {
	case nil:
		f.odd[e.ID] = e
	case *kind.EntryVoided:
		f.voids[b.Entry] = append(f.voids[b.Entry], e)
		if t := f.ids.find(b.Entry); t != nil {
			t.isNamed = true
		}
	case *kind.EntryReleased, *kind.EntryDeclined:
		f.rulings[kind.Target(e.Body)] = append(f.rulings[kind.Target(e.Body)], e)
	case *kind.PersonSet:
		f.sets = append(f.sets, e)
	}
	if e.Outcome == Held || e.Outcome == Refused {
		f.odd[e.ID] = e
	}
}

func (f *Fold) unindex(e *Entry) {
	delete(f.odd, e.ID)
	same := func(o *Entry) bool { return o == e }
	if e.Kind == SetsPerson {
		f.sets = slices.DeleteFunc(f.sets, same)
	}
	t := kind.Target(e.Body)
	if t == "" {
		return
	}
	if _, ok := e.Body.(*kind.EntryVoided); ok {
		f.voids[t] = slices.DeleteFunc(f.voids[t], same)
	} else {
		f.rulings[t] = slices.DeleteFunc(f.rulings[t], same)
	}
}

// Waits tells whether an entry is shown and not folded: it was refused, it is held and
// nobody has ruled on it, or this program does not know its kind.
func (f *Fold) Waits(e *Entry) bool {
	return f.odd[e.ID] != nil && (e.Outcome != Held || f.RuledBy(e) == nil)
}

// VoidedBy is the entry that takes e out of the books: the first in order of
// those that count; nil if none does. Voids and rulings cannot be voided.
func (f *Fold) VoidedBy(e *Entry) (by *Entry) {
	if kind.Target(e.Body) != "" {
		return nil
	}
	return f.first(f.voids[e.ID], e)
}

// RuledBy is the first ruling on a held entry that counts; nil if there is none.
func (f *Fold) RuledBy(e *Entry) *Entry { return f.first(f.rulings[e.ID], e) }

func (f *Fold) first(es []*Entry, target *Entry) (by *Entry) {
	for _, e := range es {
		if e.Outcome != Held && e.Outcome != Refused && !e.barred() && e.reaches(target) && (by == nil || order(e, by) < 0) {
			by = e
		}
	}
	return by
}

// counts tells whether an entry goes into the state.
func (f *Fold) counts(e *Entry) bool {
	if e.Body == nil || e.Outcome == Refused {
		return false
	}
	if e.Outcome == Held {
		if len(f.rulings) == 0 {
			return false
		}
		if r := f.RuledBy(e); r == nil || r.Kind != "entry.released" {
			return false
		}
	}
	return !e.isNamed || f.VoidedBy(e) == nil
}
