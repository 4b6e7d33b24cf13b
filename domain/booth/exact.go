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

// paths fills the table of one booth. Impossible sets stay impossible. From each set
// on, the ends that are possible are gathered once for all colours that may follow.
func (d *day) paths(b int) []int64 {
	n, booth := d.n, &d.booths[b]
	into := make([][ExactMax]int64, n) // into[j][i]: from i to j
	for i := range n {
		for j := range n {
			into[j][i] = booth.Change[i][j].Cost
		}
	}
	paths := make([]int64, n<<n)
	full := 1<<n - 1
	var ends [ExactMax]int
	var costs [ExactMax]int64
	for s := range full {
		k := 0
		for rest := uint(s); rest != 0; rest &= rest - 1 {
			i := bits.TrailingZeros(rest)
			ends[k], costs[k] = i, paths[s*n+i]
			k++
		}
		for rest := uint(full &^ s); rest != 0; rest &= rest - 1 {
			j := bits.TrailingZeros(rest)
			best := int64(impossible)
			if d.may(b, j, s) {
				if s == 0 {
					best = booth.Start[j].Cost
				}
				col := &into[j]
				for x, i := range ends[:k] {
					best = min(best, costs[x]+col[i&(ExactMax-1)])
				}
			}
			paths[(s|1<<j)*n+j] = best
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
