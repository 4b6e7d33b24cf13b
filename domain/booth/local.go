package booth

import "slices"

// kicksOf is the number of kicks of a search over n nodes for one booth without due
// times. Measured as processor time of one core: 0.65 s for 100 nodes, 0.6 s for 443.
func kicksOf(n int) int { return min(80_000, 12_000_000/max(n, 1)) }

// workMax bounds the search with due times or two booths, in colours looked at.
const workMax = 30_000_000

// local improves the given order without proof, within about as much work. It
// never returns a worse one.
func (d *day) local(given [][]int32, dice *dice, work int) [][]int32 {
	best, least := given, d.total(given)
	try := func(seq [][]int32) {
		if c := d.total(seq); c < least {
			best, least = seq, c
		}
	}
	if len(d.booths) == 1 {
		try([][]int32{d.around(given[0], dice, min(kicksOf(d.n), work/300))})
		if !d.late() {
			return best
		}
	}
	try(d.byDue())
	w := &walk{d: d, dice: dice, left: work}
	starts := [][][]int32{best}
	if d.total(given) > least {
		starts = append(starts, given)
	}
	for _, s := range starts {
		try(w.descend(copySeq(s)))
	}
	for w.left > 0 {
		try(w.descend(w.shake(copySeq(best))))
	}
	return best
}

// around is the order of one booth by changes alone. The colours kept first
// stand still; the rest is a round from the last of them, back at no cost or at
// the cost of End.
func (d *day) around(given []int32, dice *dice, kicks int) []int32 {
	head := 0
	for head < len(given) && d.colours[given[head]].First {
		head++
	}
	from, rest := int32(-1), given[head:]
	if head > 0 {
		from = given[head-1]
	}
	n := len(rest) + 1
	if n < 3 {
		return given
	}
	b, cost := &d.booths[0], make([]int64, n*n)
	for i, v := range rest {
		cost[i+1] = b.step(from, v).Cost
		if b.End != nil {
			cost[(i+1)*n] = b.End[v].Cost
		}
		for j, w := range rest {
			cost[(i+1)*n+j+1] = b.Change[v][w].Cost
		}
	}
	start := make([]int32, n)
	for i := range start {
		start[i] = int32(i)
	}
	tour, _ := newRound(n, cost).search(start, kicks, dice)
	zero := slices.Index(tour, 0)
	seq := slices.Clone(given[:head])
	for i := 1; i < n; i++ {
		seq = append(seq, rest[tour[(zero+i)%n]-1])
	}
	return seq
}

// byDue is the order by due time, those without one last, in the booths of the
// given order.
func (d *day) byDue() [][]int32 {
	seq := d.givenOrder()
	for b := range seq {
		slices.SortStableFunc(seq[b], func(i, j int32) int {
			x, y := &d.colours[i], &d.colours[j]
			switch {
			case x.First != y.First:
				if x.First {
					return -1
				}
				return 1
			case x.First:
				return 0
			case (x.Due == 0) != (y.Due == 0):
				if y.Due == 0 {
					return -1
				}
				return 1
			}
			return cmpInt(x.Due, y.Due)
		})
	}
	return seq
}

func copySeq(seq [][]int32) [][]int32 {
	out := make([][]int32, len(seq))
	for b := range seq {
		out[b] = slices.Clone(seq[b])
	}
	return out
}

// walk is a local search over orders in any number of booths.
type walk struct {
	d    *day
	dice *dice
	left int // work that may still be done
	buf  [BoothsMax][]int32
}

// cost counts the work.
func (w *walk) cost(b int, seq []int32) int64 {
	w.left -= len(seq) + 1
	return w.d.cost(b, seq)
}

// descend moves stretches of one to three colours to a better place, in their
// booth or the other one, until none is left or the work is used up.
func (w *walk) descend(seq [][]int32) [][]int32 {
	costs := make([]int64, len(seq))
	for b := range seq {
		costs[b] = w.cost(b, seq[b])
	}
	for better := true; better && w.left > 0; {
		better = false
		for b := range seq {
			for length := 1; length <= 3; length++ {
				for at := 0; at+length <= len(seq[b]) && w.left > 0; at++ {
					better = w.move(seq, costs, b, at, length) || better
				}
			}
		}
	}
	return seq
}

// move tries every other place for a stretch and takes the first better one.
func (w *walk) move(seq [][]int32, costs []int64, b, at, length int) bool {
	part := [3]int32{}
	copy(part[:], seq[b][at:at+length])
	without := append(append(w.buf[0][:0], seq[b][:at]...), seq[b][at+length:]...)
	w.buf[0] = without
	bare := w.cost(b, without)
	for to := range seq {
		base := seq[to]
		if to == b {
			base = without
		}
		for p := 0; p <= len(base); p++ {
			if to == b && p == at {
				continue
			}
			tried := append(append(append(w.buf[1][:0], base[:p]...), part[:length]...), base[p:]...)
			w.buf[1] = tried
			c := w.cost(to, tried)
			if to == b && c < costs[b] {
				seq[b], costs[b] = append(seq[b][:0], tried...), c
				return true
			}
			if to != b && bare+c < costs[b]+costs[to] {
				seq[b], costs[b] = append(seq[b][:0], without...), bare
				seq[to], costs[to] = append(seq[to][:0], tried...), c
				return true
			}
		}
	}
	return false
}

// shake moves a few colours to random places that break no rule.
func (w *walk) shake(seq [][]int32) [][]int32 {
	for range 2 + w.dice.below(4) {
		kept := copySeq(seq)
		b, to := w.dice.below(len(seq)), w.dice.below(len(seq))
		if len(seq[b]) == 0 {
			continue
		}
		i := w.dice.below(len(seq[b]))
		v := seq[b][i]
		seq[b] = slices.Delete(seq[b], i, i+1)
		seq[to] = slices.Insert(seq[to], w.dice.below(len(seq[to])+1), v)
		if w.d.total(seq) >= impossible {
			seq = kept
		}
	}
	w.left -= w.d.n
	return seq
}
