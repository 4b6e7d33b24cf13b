package booth

import "slices"

// A round is a closed tour through n nodes under costs that differ by direction.
// It is improved by moves that keep every stretch in its direction: two
// neighbouring stretches change places (the 3-opt move without reversal, which
// holds or-opt), and where none helps by turning a short stretch round; both are
// tried only where the first new edge is cheaper than the old one.
//
// Source: Johnson, McGeoch, "The traveling salesman problem: a case study in
// local optimization" (1997) for neighbour lists and don't-look bits; Lourenço,
// Martin, Stützle, "Iterated local search" (2003) for kicks (both from memory).
type round struct {
	n     int
	cost  []int64 // n × n, from row to column, less the prices of [duals]: never negative
	base  int64   // what the prices add to every tour
	near  []int32 // per node its k cheapest successors, cheapest first
	k     int
	order []int32 // the tour
	pos   []int32 // where a node stands in it
	queue []int32 // nodes to be looked at
	in    []bool  // whether a node is in the queue
	spare []int32
}

// nearMax is how many successors of a node are tried.
const nearMax = 12

// nearReduced is how many of them are chosen by reduced cost.
const nearReduced = 8

func newRound(n int, cost []int64) *round {
	r := &round{n: n, cost: make([]int64, n*n), k: min(nearMax, n-1),
		order: make([]int32, n), pos: make([]int32, n), in: make([]bool, n), spare: make([]int32, n)}
	leave, enter := duals(n, cost)
	for i := range n {
		r.base += leave[i] + enter[i]
		for j := range n {
			if i != j {
				r.cost[i*n+j] = cost[i*n+j] - leave[i] - enter[j]
			}
		}
	}
	for i := range n {
		r.near = append(r.near, nearest(i, n, r.k, r.cost[i*n:(i+1)*n], cost[i*n:(i+1)*n])...)
	}
	return r
}

// nearest are the k best successors of node i, cheapest first by reduced cost: most
// of them by that, the others by the cost as given, which says more where prices hide
// a neighbourhood. Nodes that cost the same are taken from i on, so that they are not
// the same few for everybody.
func nearest(i, n, k int, reduced, given []int64) []int32 {
	others := make([]int32, 0, n-1)
	for d := 1; d < n; d++ {
		others = append(others, int32((i+d)%n))
	}
	by := func(row []int64) func(a, b int32) int { return func(a, b int32) int { return cmpInt(row[a], row[b]) } }
	slices.SortStableFunc(others, by(reduced))
	list, rest := slices.Clone(others[:min(nearReduced, k)]), others[min(nearReduced, k):]
	slices.SortStableFunc(rest, by(given))
	list = append(list, rest[:k-len(list)]...)
	slices.SortStableFunc(list, by(reduced))
	return list
}

func cmpInt(a, b int64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func (r *round) set(order []int32) {
	copy(r.order, order)
	for i, v := range r.order {
		r.pos[v] = int32(i)
	}
}

func (r *round) length() int64 {
	sum := r.base + r.cost[int(r.order[r.n-1])*r.n+int(r.order[0])]
	for i := 1; i < r.n; i++ {
		sum += r.cost[int(r.order[i-1])*r.n+int(r.order[i])]
	}
	return sum
}

func (r *round) look(v int32) {
	if !r.in[v] {
		r.in[v] = true
		r.queue = append(r.queue, v)
	}
}

// at is the node i steps from the start of the tour.
func (r *round) at(i int) int32 {
	if i >= r.n {
		i -= r.n
	}
	return r.order[i]
}

func (r *round) before(v int32) int32 {
	if i := r.pos[v]; i > 0 {
		return r.order[i-1]
	}
	return r.order[r.n-1]
}

// improve looks at the queued nodes until none has a better move, and returns
// what was gained.
func (r *round) improve() (gained int64) {
	for head := 0; head < len(r.queue); head++ {
		v := r.queue[head]
		r.in[v] = false
		for {
			g := r.move(v)
			if g == 0 {
				g = r.turn(v)
			}
			if g == 0 {
				break
			}
			gained += g
		}
	}
	r.queue = r.queue[:0]
	return gained
}

// move finds and makes the first move that replaces the edge after a and
// shortens the tour: a→a2 ... b→x ... c→y becomes a→x ... c→a2 ... b→y.
func (r *round) move(a int32) int64 {
	n, pa := r.n, int(r.pos[a])
	a2 := r.at(pa + 1)
	old := r.cost[int(a)*n+int(a2)]
	for _, x := range r.near[int(a)*r.k : (int(a)+1)*r.k] {
		g1 := old - r.cost[int(a)*n+int(x)]
		if g1 <= 0 {
			break
		}
		b := r.before(x)
		g2 := g1 + r.cost[int(b)*n+int(x)]
		toX := r.steps(pa, x)
		for _, y := range r.near[int(b)*r.k : (int(b)+1)*r.k] {
			g3 := g2 - r.cost[int(b)*n+int(y)]
			if g3 <= 0 {
				break
			}
			toY := r.steps(pa, y)
			if toY <= toX {
				continue
			}
			c := r.before(y)
			if g := g3 + r.cost[int(c)*n+int(y)] - r.cost[int(c)*n+int(a2)]; g > 0 {
				r.exchange(pa+1, toX-1, toY-toX)
				for _, v := range [...]int32{a, a2, b, x, c, y} {
					r.look(v)
				}
				return g
			}
		}
	}
	return 0
}

// turn finds and makes the first move that turns a short stretch round:
// a→a2 ... x→x2 becomes a→x ... a2→x2. Every edge within counts anew, so it is only
// for stretches of up to turnMax; without it the search sticks where both directions
// cost about the same.
func (r *round) turn(a int32) int64 {
	n, pa := r.n, int(r.pos[a])
	a2 := r.at(pa + 1)
	old := r.cost[int(a)*n+int(a2)]
	for _, x := range r.near[int(a)*r.k : (int(a)+1)*r.k] {
		g := old - r.cost[int(a)*n+int(x)]
		if g <= 0 {
			break
		}
		toX := r.steps(pa, x)
		if toX > turnMax || toX > n-2 {
			continue
		}
		x2 := r.at(wrap(pa+toX, n) + 1)
		g += r.cost[int(x)*n+int(x2)] - r.cost[int(a2)*n+int(x2)]
		u := a2
		for i := 2; i <= toX; i++ {
			v := r.at(wrap(pa+i, n))
			g += r.cost[int(u)*n+int(v)] - r.cost[int(v)*n+int(u)]
			u = v
		}
		if g > 0 {
			for i, j := pa+1, pa+toX; i < j; i, j = i+1, j-1 {
				u, v := r.at(wrap(i, n)), r.at(wrap(j, n))
				r.put(i, v)
				r.put(j, u)
			}
			for _, v := range [...]int32{a, a2, x, x2} {
				r.look(v)
			}
			return g
		}
	}
	return 0
}

// turnMax is the longest stretch that is turned round.
const turnMax = 30

// steps is the way from position p to node v, 1 to n.
func (r *round) steps(p int, v int32) int {
	d := int(r.pos[v]) - p
	if d <= 0 {
		d += r.n
	}
	return d
}

// exchange swaps the stretch of n1 nodes at position p with the n2 nodes after it.
func (r *round) exchange(p, n1, n2 int) {
	if rest := r.n - n1 - n2; rest < n1 || rest < n2 { // the same tour with less to write
		if n1 >= n2 {
			p, n1, n2 = p+n1, n2, rest
		} else {
			p, n1, n2 = p+n1+n2, rest, n1
		}
	}
	if p >= r.n {
		p -= r.n
	}
	s := r.spare[:0]
	for i := range n1 {
		s = append(s, r.at(p+i))
	}
	for i := range n2 {
		r.put(p+i, r.at(wrap(p+n1+i, r.n)))
	}
	for i, v := range s {
		r.put(p+n2+i, v)
	}
}

func wrap(i, n int) int {
	if i >= n {
		i -= n
	}
	return i
}

func (r *round) put(i int, v int32) {
	i = wrap(i, r.n)
	r.order[i] = v
	r.pos[v] = int32(i)
}

// kick reverses the order of three short neighbouring stretches without turning
// them (the double bridge) and queues the nodes at the cuts. It returns the
// change in length. It needs at least 8 nodes.
func (r *round) kick(d *dice) int64 {
	most := min(r.n/4, kickMax)
	p, n1, n2, n3 := d.below(r.n), 1+d.below(most), 1+d.below(most), 1+d.below(most)
	cuts := [...]int{p, p + n1, p + n1 + n2, p + n1 + n2 + n3}
	before := r.edges(cuts[:])
	for _, i := range cuts {
		r.look(r.at(wrap(i+r.n-1, r.n)))
		r.look(r.at(wrap(i, r.n)))
	}
	s := r.spare[:0]
	for _, part := range [...][2]int{{n1 + n2, n3}, {n1, n2}, {0, n1}} {
		for i := range part[1] {
			s = append(s, r.at(wrap(p+part[0]+i, r.n)))
		}
	}
	for i, v := range s {
		r.put(p+i, v)
	}
	return r.edges([]int{p, p + n3, p + n3 + n2, p + n1 + n2 + n3}) - before
}

// kickMax bounds the stretches of a kick, so that it stays local.
const kickMax = 30

// edges is the length of the edges that end at these positions.
func (r *round) edges(at []int) (sum int64) {
	for _, i := range at {
		i = wrap(i, r.n)
		sum += r.cost[int(r.at(i+r.n-1))*r.n+int(r.order[i])]
	}
	return sum
}

// dice is SplitMix64: the same seed throws the same numbers on every machine.
// Source: Steele, Lea, Flood, "Fast splittable pseudorandom number generators"
// (2014), from memory.
type dice struct{ state uint64 }

func (d *dice) next() uint64 {
	d.state += 0x9E3779B97F4A7C15
	z := d.state
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return z ^ z>>31
}

// below is a number from 0 to n-1. The bias for the small n used here is below
// one in 10^15.
func (d *dice) below(n int) int { return int(d.next() % uint64(n)) }

// search improves a tour by kicks, starting from the given one, and returns the
// best one found. After a kick a tour that is longer by up to the slack may go
// on; the slack falls from eight mean reduced edges (four in a large tour, which
// has no time to wander) to nothing. The work is bounded by kicks, never by a clock.
func (r *round) search(start []int32, kicks int, d *dice) (best []int32, length int64) {
	r.set(start)
	for i := range r.n {
		r.look(int32(i))
	}
	r.improve()
	now := r.length()
	best, length = slices.Clone(r.order), now
	if r.n < 8 {
		return best, length
	}
	kept := slices.Clone(r.order)
	edges := int64(8)
	if r.n > 120 {
		edges = 4
	}
	for i := range kicks {
		then := now + r.kick(d) - r.improve()
		slack := edges * (length - r.base) / int64(r.n) * int64(kicks-i) / int64(kicks)
		if then <= now+int64(d.next()%uint64(slack+1)) {
			now = then
			copy(kept, r.order)
		} else {
			r.set(kept)
		}
		if now < length {
			length = now
			copy(best, r.order)
		}
	}
	return best, length
}
