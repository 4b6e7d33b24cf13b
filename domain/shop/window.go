package shop

import (
	"math"
	"slices"

	"hoppertally/domain/kind"
)

// A phone does not carry the whole history. It carries a window: the state as it
// was at a time, the floor, and every entry from then on. Our rule for how much:
const (
	WindowMS = 14 * 24 * 3600 * 1000 // the floor lies so far back
	KeepMS   = 90 * 24 * 3600 * 1000 // runs and changes that ended earlier before the floor stay on the server
)

// Window is a fold cut in two at FloorMS. Base is the state before FloorMS, with the
// runs of KeepMS. On top of it belong all entries from FloorMS on, and the entries with
// the ids in Before: they do not count yet, or their target does not.
//
// Folding those entries onto Base gives the same state as folding everything,
// except for what [State.Compacted] leaves out.
type Window struct {
	Base    *State
	FloorMS int64
	Before  []string // ascending in order of the fold
}

// Window cuts the fold for a phone that asks at nowMS. The floor lies WindowMS
// back, or where the books are closed if that is later: nothing that arrives from
// now on counts before closed books. It folds the entries
// after the last savepoint before the floor once more; in a large shop these can be
// all entries.
func (f *Fold) Window(nowMS int64) Window {
	floor := nowMS - WindowMS
	if closed := f.State().Closed; closed != 0 {
		floor = max(floor, closed+1)
	}
	return f.window(floor, floor-KeepMS)
}

func (f *Fold) window(floorMS, cutMS int64) Window {
	last := f.State()
	w := Window{FloorMS: floorMS}
	at, _ := slices.BinarySearchFunc(f.entries, w.FloorMS, func(e *Entry, ms int64) int {
		if e.EffectiveMS < ms {
			return -1
		}
		return 1
	})
	base := f.entries[:at:at]
	for _, e := range base {
		if f.isOnTop(e, floorMS, 0) {
			w.Before = append(w.Before, e.ID)
		}
	}
	k := keep{runs: map[string]bool{}, jobs: map[string]bool{}, changes: map[string]bool{}}
	for _, e := range f.entries[at:] {
		k.all(kind.RefsOf(e.Body))
	}
	for _, id := range w.Before {
		e := f.ids.find(id)
		k.all(kind.RefsOf(e.Body))
	}
	w.Base = f.only(base)
	w.Base.compact(cutMS, k, last)
	return w
}

// isOnTop tells whether an entry from before the floor belongs on top of the base:
// it does not count yet, or it speaks of an entry on top. Entries that speak of
// entries that speak of entries end somewhere, but a forged ring would not.
func (f *Fold) isOnTop(e *Entry, floorMS int64, depth int) bool {
	if f.Waits(e) || depth > 8 {
		return true
	}
	target := kind.Target(e.Body)
	if target == "" {
		return false
	}
	t := f.ids.find(target)
	return t == nil || t.EffectiveMS >= floorMS || f.isOnTop(t, floorMS, depth+1)
}

// only is the state that some of the fold's entries make, as they count with all
// that is known now. A savepoint saves work if the entries before it are
// also the first ones here.
func (f *Fold) only(es []*Entry) *State {
	g := &Fold{entries: es, ids: f.ids, odd: f.odd, voids: f.voids, rulings: f.rulings, base: f.base, state: f.base.Clone()}
	for _, m := range f.savepoints {
		if n := m.done; n > 0 && n <= len(es) && es[n-1] == f.entries[n-1] {
			g.done, g.state = n, m.state.Clone()
		}
	}
	return g.State()
}

// LoadWindow makes a fold that stands on a base written by [State.Encode]. Add the
// window's entries with [Entry.Tail] set, then whatever came later.
func LoadWindow(base []byte, floorMS int64) (*Fold, error) {
	f, err := Load(base)
	if err != nil {
		return nil, err
	}
	f.floor = floorMS
	return f, nil
}

// FloorMS is where the fold's entries begin; what lies before is in its base.
// math.MinInt64 if it holds everything.
func (f *Fold) FloorMS() int64 { return f.floor }

// Outside tells whether an entry of the server reaches behind the floor, or to
// something that the base does not list: then the state is no longer exact, and
// the phone needs a new window.
func (f *Fold) Outside() bool {
	f.advance()
	return f.outside
}

// inBase tells whether the base has done what an entry on top of it does. A void or
// a ruling that counts lies on top for the sake of its target, which does not count
// yet; what it did by itself, an issue at most, has its place in the base.
func (f *Fold) inBase(e *Entry) bool { return e.Tail && e.EffectiveMS < f.floor }

// look notes whether an entry that is added reaches behind the floor. Entries that
// came with the base were known when it was made, and what the server has not seen
// it cannot have folded.
func (f *Fold) look(e *Entry) {
	if f.floor == math.MinInt64 || e.Tail || !e.Sent || e.Body == nil || e.Outcome == Refused {
		return
	}
	if target := kind.Target(e.Body); target != "" {
		t := f.ids.find(target)
		f.outside = f.outside || !e.barred() && e.Outcome != Held && (t == nil || t.EffectiveMS < f.floor)
	}
	// A held one counts too, if the ruling on it was here before.
	f.outside = f.outside || e.EffectiveMS < f.floor && (e.Outcome != Held || f.RuledBy(e) != nil)
}

// missed notes that an entry names something that the state does not list.
func (a *applier) missed(e *Entry) {
	if a.s.Past != nil && e.Sent && !e.Tail {
		a.f.outside = true
	}
}
