package booth

import (
	"math/bits"
	"slices"
)

// label is a way to spray a set and end with a colour: what it costs and when it
// ends. from is the label before it, -1 for the first.
type label struct {
	cost, time int64
	from       int32
	colour     int32
}

// labelsMax bounds the partial plans that are kept, and so time and memory.
const labelsMax = 300_000

// exactLate is exact when due times count: then a dearer way that ends sooner may
// be the better one, so every way that no other beats in both is kept, as long as
// it can still be cheaper than the known order. It returns the known order and
// false when more than labelsMax ways would have to be kept (measured: 16 colours in two
// booths with tight due times).
func (d *day) exactLate(known [][]int32) ([][]int32, bool) {
	best := d.total(known)
	if len(d.booths) == 1 {
		t := d.labels(0, best)
		if t == nil {
			return known, false
		}
		if i, cost := t.end(1<<d.n - 1); cost < best {
			known = [][]int32{t.trace(i)}
		}
		return known, true
	}
	one, two := d.labels(0, best), d.labels(1, best)
	if one == nil || two == nil {
		return known, false
	}
	full := 1<<d.n - 1
	for s := 0; s <= full; s++ {
		i, a := one.end(s)
		j, b := two.end(full &^ s)
		if a+b < best {
			best, known = a+b, [][]int32{one.trace(i), two.trace(j)}
		}
	}
	return known, true
}

// labelTable holds the labels of a booth; those of set s are all[at[s]:at[s+1]].
type labelTable struct {
	d     *day
	booth int
	all   []label
	at    []int32
}

// labels fills the table of a booth, leaving out what cannot lead below bound.
// nil when it would hold more than labelsMax.
func (d *day) labels(b int, bound int64) *labelTable {
	t := &labelTable{d: d, booth: b, at: make([]int32, 1, 1<<d.n+1)}
	o := d.newOutlook(b)
	for s := 0; s < 1<<d.n; s++ {
		o.look(s)
		for m := uint(s); m != 0; m &= m - 1 {
			t.grow(s, bits.TrailingZeros(m), bound, o)
		}
		if len(t.all) > labelsMax {
			return nil
		}
		t.at = append(t.at, int32(len(t.all)))
	}
	return t
}

// grow appends the labels of set s that end with colour j and may lead below bound.
func (t *labelTable) grow(s, j int, bound int64, o *outlook) {
	before, begin := s&^(1<<j), len(t.all)
	if !t.d.may(t.booth, j, before) {
		return
	}
	add := func(l label, c Change) {
		l.time += c.Minutes + t.d.colours[j].Minutes
		l.cost += c.Cost + t.d.lateness(j, l.time)
		l.colour = int32(j)
		if l.cost+o.changes < bound {
			t.all = append(t.all, l)
		}
	}
	booth := &t.d.booths[t.booth]
	if before == 0 {
		add(label{time: booth.Ready, from: -1}, booth.Start[j])
	} else {
		for i := t.at[before]; i < t.at[before+1]; i++ {
			l := t.all[i]
			l.from = i
			add(l, booth.Change[l.colour][j])
		}
	}
	kept := undominated(t.all[begin:])
	kept = slices.DeleteFunc(kept, func(l label) bool { return l.cost+o.changes+o.late(l.time) >= bound })
	t.all = append(t.all[:begin], kept...)
}

// undominated keeps the labels that no other beats in both cost and time.
func undominated(list []label) []label {
	slices.SortFunc(list, func(a, b label) int {
		if c := cmpInt(a.cost, b.cost); c != 0 {
			return c
		}
		if c := cmpInt(a.time, b.time); c != 0 {
			return c
		}
		return int(a.from - b.from)
	})
	kept := list[:0]
	for _, l := range list {
		if len(kept) == 0 || l.time < kept[len(kept)-1].time {
			kept = append(kept, l)
		}
	}
	return kept
}

// end is the cheapest label of a set and its cost with the change to what must
// be in the booth at the end; -1 and nothing for the empty set.
func (t *labelTable) end(s int) (best int32, cost int64) {
	if s == 0 {
		return -1, 0
	}
	best, cost = -1, impossible
	for i := t.at[s]; i < t.at[s+1]; i++ {
		c := t.all[i].cost
		if e := t.d.booths[t.booth].End; e != nil {
			c += e[t.all[i].colour].Cost
		}
		if c < cost {
			best, cost = i, c
		}
	}
	return best, cost
}

func (t *labelTable) trace(i int32) (seq []int32) {
	for ; i >= 0; i = t.all[i].from {
		seq = append(seq, t.all[i].colour)
	}
	slices.Reverse(seq)
	return seq
}
