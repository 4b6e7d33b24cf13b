package booth

import (
	"math"
	"math/bits"
	"slices"
)

// exact is the cheapest order when nothing is due: dynamic programming over
// subsets. Row S of a table holds, at j, the cheapest way to spray the set S and end
// with j; for two booths every split of the colours is tried.
//
// Source: Held, Karp, "A dynamic programming approach to sequencing problems"
// (1962). 16 colours: half a million entries, each the least of 16 sums. In 32 bits a
// row of 16 is one line of a processor's cache, and the table 4 MB for each booth.
func (d *day) exact() [][]int32 {
	var most int64 // no order costs more
	for b := range d.booths {
		most = max(most, d.booths[b].most())
	}
	if most*int64(d.n+1) < 1<<30 {
		return exactIn[int32](d, 1<<30)
	}
	return exactIn[int64](d, impossible)
}

// most is the dearest change of a booth.
func (b *BoothDay) most() (most int64) {
	for _, row := range append(slices.Clone(b.Change), b.Start, b.End) {
		for _, c := range row {
			most = max(most, c.Cost)
		}
	}
	return most
}

// cost is wide enough for the costs of whole orders and for twice never, the cost of
// what cannot be.
type cost interface{ int32 | int64 }

func exactIn[T cost](d *day, never T) [][]int32 {
	full := 1<<d.n - 1
	if len(d.booths) == 1 {
		t := newTable(d, 0, never)
		return [][]int32{t.trace(full)}
	}
	one, two := newTable(d, 0, never), newTable(d, 1, never)
	best, split := int64(impossible), 0
	for s := 0; s <= full; s++ {
		_, a := one.end(s)
		_, b := two.end(full &^ s)
		if a < never && b < never && int64(a)+int64(b) < best {
			best, split = int64(a)+int64(b), s
		}
	}
	return [][]int32{one.trace(split), two.trace(full &^ split)}
}

// table is the table of one booth.
type table[T cost] struct {
	d     *day
	b     int
	never T
	rows  []T // row S from S·ExactMax on
}

func newTable[T cost](d *day, b int, never T) *table[T] {
	n, booth := d.n, &d.booths[b]
	var into [ExactMax][ExactMax]T // into[j][i]: from i to j
	for i := range n {
		for j := range n {
			into[j][i] = T(booth.Change[i][j].Cost)
		}
	}
	t := &table[T]{d, b, never, slices.Repeat([]T{never}, ExactMax<<n)}
	for j := range n {
		if d.may(b, j, 0) {
			t.rows[ExactMax<<j+j] = T(booth.Start[j].Cost)
		}
	}
	rows, isFree := t.rows, d.isFree()
	for s, full := 1, 1<<n-1; s < full; s++ {
		row := (*[ExactMax]T)(rows[s*ExactMax:])
		for rest := uint(full &^ s); rest != 0; rest &= rest - 1 {
			if j := bits.TrailingZeros(rest) & (ExactMax - 1); isFree || d.may(b, j, s) {
				rows[(s|1<<j)*ExactMax+j] = min(leastSum(row, &into[j]), never)
			}
		}
	}
	return t
}

// isFree tells whether any colour may be sprayed anywhere, at any time.
func (d *day) isFree() bool {
	for j := range d.n {
		if d.only[j] >= 0 || d.before[j] != math.MaxUint32 {
			return false
		}
	}
	return true
}

// leastSum is the least of a[i] + b[i], in four chains that do not wait for each other.
func leastSum[T cost](a, b *[ExactMax]T) T {
	w := min(a[0]+b[0], a[4]+b[4], a[8]+b[8], a[12]+b[12])
	x := min(a[1]+b[1], a[5]+b[5], a[9]+b[9], a[13]+b[13])
	y := min(a[2]+b[2], a[6]+b[6], a[10]+b[10], a[14]+b[14])
	z := min(a[3]+b[3], a[7]+b[7], a[11]+b[11], a[15]+b[15])
	return min(w, x, y, z)
}

// may tells whether colour j may be sprayed in booth b after the set before.
func (d *day) may(b, j, before int) bool {
	return (d.only[j] < 0 || d.only[j] == b) && uint32(before)&^d.before[j] == 0
}

// end is the cheapest last colour of a set, -1 for the empty set, and the cost
// with the change to what must be in the booth at the end.
func (t *table[T]) end(s int) (last int, cost T) {
	if s == 0 {
		return -1, 0
	}
	last, cost = -1, t.never
	for rest := uint(s); rest != 0; rest &= rest - 1 {
		j := bits.TrailingZeros(rest)
		c := t.rows[s*ExactMax+j]
		if end := t.d.booths[t.b].End; end != nil {
			c += T(end[j].Cost)
		}
		if c < cost {
			last, cost = j, c
		}
	}
	return last, cost
}

// trace walks back through the table from the best end of the set s.
func (t *table[T]) trace(s int) (seq []int32) {
	j, _ := t.end(s)
	for j >= 0 {
		seq = append(seq, int32(j))
		cost, before := t.rows[s*ExactMax+j], s&^(1<<j)
		j = -1
		for rest := uint(before); rest != 0; rest &= rest - 1 {
			i := bits.TrailingZeros(rest)
			if t.rows[before*ExactMax+i]+T(t.d.booths[t.b].Change[i][seq[len(seq)-1]].Cost) == cost {
				j = i
				break
			}
		}
		s = before
	}
	slices.Reverse(seq)
	return seq
}
