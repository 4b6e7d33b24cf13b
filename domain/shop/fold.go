package shop

import (
	"maps"
	"math"
	"slices"

	"hoppertally/domain/kind"
)

// Fold keeps entries in the order in which they count, (effective time, device,
// device's counter), and the state they make. Entries may come in any order and
// more than once: the state depends on the set alone. Use [NewFold].
//
// A Fold is not safe for use by several goroutines at once.
type Fold struct {
	entries    []*Entry
	ids        byID
	voids      map[string][]*Entry // by target
	rulings    map[string][]*Entry // released or declined, by target
	odd        map[string]*Entry   // held, refused, newer: shown, not folded
	sets       []*Entry            // those that make people, in no order
	base       *State              // before the first entry; never changed
	state      *State              // after the first done entries
	done       int
	savepoints []savepoint // copies of the state to go back to, ascending
	floor      int64       // see [Fold.FloorMS]
	outside    bool        // see [Fold.Outside]
}

// savepoint is a copy of the state after the first done entries.
type savepoint struct {
	done  int
	state *State
}

// NewFold is a fold over no entries.
func NewFold() *Fold { return foldOn(NewState()) }

// Load makes a fold on top of a state written by [Fold.Save]. Entries that the
// state already holds must not be added again.
func Load(data []byte) (*Fold, error) {
	s, err := DecodeState(data)
	if err != nil {
		return nil, err
	}
	return foldOn(s), nil
}

func foldOn(base *State) *Fold {
	return &Fold{
		voids: map[string][]*Entry{}, rulings: map[string][]*Entry{}, odd: map[string]*Entry{},
		base: base, state: base.Clone(), floor: math.MinInt64,
	}
}

// Save writes the state in its canonical form.
func (f *Fold) Save() []byte { return f.State().Encode() }

// State is the state after all entries. It must not be changed and is valid
// until the next Add or Drop.
func (f *Fold) State() *State {
	f.advance()
	return f.state
}

// Len is the number of entries, folded or not.
func (f *Fold) Len() int { return len(f.entries) }

// Entry finds an entry by id; nil if the fold does not hold it.
func (f *Fold) Entry(id string) *Entry { return f.ids.find(id) }

// Entries are all entries in order. The slice must not be changed.
func (f *Fold) Entries() []*Entry { return f.entries }

// Add adds entries, or brings news of ones it has (outcome, effective time).
// Without news nothing happens.
func (f *Fold) Add(es ...Entry) { f.Take(slices.Clone(es)) } // one piece of memory

// Take is Add for entries that the caller has no more use for: the fold keeps them
// where they are.
func (f *Fold) Take(es []Entry) {
	back := len(f.entries) // the first position from which the state must be made anew
	sorted := true
	f.Expect(int64(len(es)))
	f.entries = slices.Grow(f.entries, len(es))
	for i := range es {
		e := &es[i]
		if old := f.ids.find(e.ID); old != nil {
			if old.Sent && !e.Sent {
				continue // an echo of our own unsent copy
			}
			if old.sameEffect(e) {
				isNew := e.Sent && !old.Sent // to the server, which dates it as we did
				if old.Sent, old.Outcome, old.Reason = e.Sent, e.Outcome, e.Reason; isNew {
					f.look(old)
				}
				continue
			}
			back = min(back, f.remove(old))
		}
		f.look(e)
		f.ids.put(e)
		e.isNamed = len(f.voids) > 0 && len(f.voids[e.ID]) > 0
		f.index(e)
		back = min(back, f.reach(e, back))
		if n := len(f.entries); n > 0 && order(f.entries[n-1], e) > 0 {
			if len(es) < 64 {
				at, _ := slices.BinarySearchFunc(f.entries, e, order)
				f.entries = slices.Insert(f.entries, at, e)
				back = min(back, at)
				continue
			}
			sorted = false
			at, _ := slices.BinarySearchFunc(f.entries[:back], e, order)
			back = min(back, at)
		}
		f.entries = append(f.entries, e)
	}
	if !sorted {
		slices.SortFunc(f.entries, order)
	}
	f.rewind(back)
}

// expectMax keeps a server that promises too much from filling the memory.
const expectMax = 1 << 17 // entries

// Expect makes room for n entries in a fold that is empty as yet, at most 131 072:
// a place that grows as they come is made several times.
func (f *Fold) Expect(n int64) {
	if cap(f.entries) == 0 && n > 0 {
		n = min(n, expectMax)
		f.entries, f.ids.rising = make([]*Entry, 0, n), make([]*Entry, 0, n)
	}
}

// With is the state as it would be with some entries more. f stays as it is.
func (f *Fold) With(es []Entry) *State {
	f.advance()
	g := &Fold{entries: slices.Clone(f.entries), ids: f.ids.clone(), odd: maps.Clone(f.odd), sets: slices.Clone(f.sets), base: f.base,
		voids: cloneLists(f.voids), rulings: cloneLists(f.rulings), state: f.state.Clone(), done: f.done, savepoints: slices.Clone(f.savepoints), floor: f.floor}
	g.Add(es...)
	return g.State()
}

func cloneLists(m map[string][]*Entry) map[string][]*Entry {
	out := make(map[string][]*Entry, len(m))
	for k, v := range m {
		out[k] = slices.Clone(v)
	}
	return out
}

// Drop forgets an entry that never left the phone.
func (f *Fold) Drop(id string) {
	if e := f.ids.find(id); e != nil {
		back := f.remove(e)
		f.ids.drop(id)
		f.rewind(back)
	}
}

// remove takes an entry out and says from where the state must be made anew.
func (f *Fold) remove(e *Entry) int {
	at, ok := slices.BinarySearchFunc(f.entries, e, order)
	if !ok || f.entries[at] != e { // unsorted while a large Add is under way
		at = slices.Index(f.entries, e)
	}
	f.entries = slices.Delete(f.entries, at, at+1)
	f.unindex(e)
	return min(at, f.reach(e, at))
}

// reach says how far back an entry changes what counts: a void or a ruling
// reaches back to its target.
func (f *Fold) reach(e *Entry, back int) int {
	target := kind.Target(e.Body)
	if target == "" {
		return back
	}
	if t := f.ids.find(target); t != nil {
		if at, ok := slices.BinarySearchFunc(f.entries, t, order); ok {
			return min(back, at)
		}
		return 0
	}
	return back
}

// rewind makes sure that the state stands at or before position back.
func (f *Fold) rewind(back int) {
	for n := len(f.savepoints); n > 0 && f.savepoints[n-1].done > back; n-- {
		f.savepoints = f.savepoints[:n-1]
	}
	if f.done <= back {
		return
	}
	if n := len(f.savepoints); n > 0 {
		f.done, f.state = f.savepoints[n-1].done, f.savepoints[n-1].state.Clone()
		return
	}
	f.done, f.state = 0, f.base.Clone()
}

// Savepoints lie where late entries are likely: close to the end.
const (
	savepointEvery = 256 // entries
	savepointReach = 4096
	savepointsMax  = 8
)

// manyEntries is from how many on it is worth while to remember what was looked up.
const manyEntries = 64

func (f *Fold) advance() {
	if f.done == len(f.entries) {
		return
	}
	a := applier{s: f.state, f: f}
	if len(f.entries)-f.done > manyEntries {
		a.recent = new(recents)
	}
	f.state.owner = new(owner)
	for f.done < len(f.entries) {
		if e := f.entries[f.done]; f.counts(e) && !f.inBase(e) {
			a.apply(e)
			f.state.Folded++
		}
		f.done++
		f.setSavepoint()
	}
}

func (f *Fold) setSavepoint() {
	last := 0
	if n := len(f.savepoints); n > 0 {
		last = f.savepoints[n-1].done
	}
	left := len(f.entries) - f.done
	// The gap between savepoints grows with the distance from the end: 256, 512, …; and
	// with the state: copying it should not take longer than folding from one savepoint to the next.
	if gap := f.done - last; left > savepointReach || gap < max(savepointEvery, left/2) || gap < min(f.state.size()/20, savepointReach/2) {
		return
	}
	if len(f.savepoints) == savepointsMax {
		f.savepoints = slices.Delete(f.savepoints, 0, 1)
	}
	f.savepoints = append(f.savepoints, savepoint{f.done, f.state.Clone()})
	f.state.owner = new(owner)
}
