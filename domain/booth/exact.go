package booth

import (
	"math/bits"
	"slices"
)

// exact is the cheapest order when nothing is due: dynamic programming over
// subsets. paths[S·n+j] is the cheapest way to spray the set S and end with j;
// for two booths every split of the colours is tried.
//
// Source: Held, Karp, "A dynamic programming approach to sequencing problems"
// (1962). Work 2^n·n²/4 and 2^n·n·8 bytes per booth: 16 colours, 4 million steps.
func (d *day) exact() [][]int32 {
	full := 1<<d.n - 1
	if len(d.booths) == 1 {
		paths := d.paths(0)
		return [][]int32{d.trace(0, paths, full)}
	}
	one, two := d.paths(0), d.paths(1)
	best, split := int64(impossible), 0
	for s := 0; s <= full; s++ {
		_, a := d.end(0, one, s)
		_, b := d.end(1, two, full&^s)
		if a+b < best {
			best, split = a+b, s
		}
	}
	return [][]int32{d.trace(0, one, split), d.trace(1, two, full&^split)}
}

// paths fills the table of one booth. Impossible sets stay impossible.
func (d *day) paths(b int) []int64 {
	n, booth := d.n, &d.booths[b]
	into := make([]int64, n*n) // into[j·n+i]: from i to j
	for i := range n {
		for j := range n {
			into[j*n+i] = booth.Change[i][j].Cost
		}
	}
	paths := make([]int64, n<<n)
	for s := 1; s < 1<<n; s++ {
		for rest := uint(s); rest != 0; rest &= rest - 1 {
			j := bits.TrailingZeros(rest)
			best := int64(impossible)
			if before := s &^ (1 << j); d.may(b, j, before) {
				if before == 0 {
					best = booth.Start[j].Cost
				} else {
					row, col := paths[before*n:before*n+n], into[j*n:j*n+n]
					for m := uint(before); m != 0; m &= m - 1 {
						i := bits.TrailingZeros(m)
						best = min(best, row[i]+col[i])
					}
				}
			}
			paths[s*n+j] = best
		}
	}
	return paths
}

// may tells whether colour j may be sprayed in booth b after the set before.
func (d *day) may(b, j, before int) bool {
	return (d.only[j] < 0 || d.only[j] == b) && uint32(before)&^d.before[j] == 0
}

// end is the cheapest last colour of a set, -1 for the empty set, and the cost
// with the change to what must be in the booth at the end.
func (d *day) end(b int, paths []int64, s int) (last int, cost int64) {
	if s == 0 {
		return -1, 0
	}
	last, cost = -1, impossible
	for rest := uint(s); rest != 0; rest &= rest - 1 {
		j := bits.TrailingZeros(rest)
		c := paths[s*d.n+j]
		if d.booths[b].End != nil {
			c += d.booths[b].End[j].Cost
		}
		if c < cost {
			last, cost = j, c
		}
	}
	return last, cost
}

// trace walks back through the table from the best end of the set s.
func (d *day) trace(b int, paths []int64, s int) (seq []int32) {
	n := d.n
	j, _ := d.end(b, paths, s)
	for j >= 0 {
		seq = append(seq, int32(j))
		cost, before := paths[s*n+j], s&^(1<<j)
		j = -1
		for rest := uint(before); rest != 0; rest &= rest - 1 {
			i := bits.TrailingZeros(rest)
			if paths[before*n+i]+d.booths[b].Change[i][seq[len(seq)-1]].Cost == cost {
				j = i
				break
			}
		}
		s = before
	}
	slices.Reverse(seq)
	return seq
}

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
// false when more than labelsMax ways would have to be kept (measured: from about 15 colours
// that are nearly all late).
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
	ahead := d.ahead(b)
	for s := 0; s < 1<<d.n; s++ {
		rest := int64(0) // what the colours still to come cost at least
		if len(d.booths) == 1 {
			for m := uint(1<<d.n-1) &^ uint(s); m != 0; m &= m - 1 {
				rest += ahead[bits.TrailingZeros(m)]
			}
		}
		for m := uint(s); m != 0; m &= m - 1 {
			t.grow(s, bits.TrailingZeros(m), bound-rest)
		}
		if len(t.all) > labelsMax {
			return nil
		}
		t.at = append(t.at, int32(len(t.all)))
	}
	return t
}

// ahead is per colour the cheapest change to it.
func (d *day) ahead(b int) []int64 {
	least := make([]int64, d.n)
	for j := range least {
		least[j] = d.booths[b].Start[j].Cost
		for i := range d.n {
			if i != j {
				least[j] = min(least[j], d.booths[b].Change[i][j].Cost)
			}
		}
	}
	return least
}

// grow appends the labels of set s that end with colour j and cost less than bound.
func (t *labelTable) grow(s, j int, bound int64) {
	before, begin := s&^(1<<j), len(t.all)
	if !t.d.may(t.booth, j, before) {
		return
	}
	add := func(l label, c Change) {
		l.time += c.Minutes + t.d.colours[j].Minutes
		l.cost += c.Cost + t.d.lateness(j, l.time)
		l.colour = int32(j)
		if l.cost < bound {
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
	t.all = append(t.all[:begin], undominated(t.all[begin:])...)
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
