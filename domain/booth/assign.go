package booth

import "math"

// duals are prices of leaving and entering each node that make the cheapest
// assignment of successors tight: no edge costs less than leaving plus entering, and
// those of the assignment cost just that. Their sum is a bound below every tour.
//
// Source: the Hungarian method by shortest augmenting paths (Kuhn 1955; Jonker,
// Volgenant 1987), from memory. Work n³ at worst, far less as a rule.
func duals(n int, cost []int64) (leave, enter []int64) {
	leave, enter = make([]int64, n), make([]int64, n+1)
	from, way := make([]int, n+1), make([]int, n+1) // per column its row and the column before it; column n is the start
	least, done := make([]int64, n+1), make([]bool, n+1)
	for j := range from {
		from[j] = -1
	}
	for i := range n {
		for j := range least {
			least[j], done[j] = math.MaxInt64, false
		}
		from[n] = i
		at := n
		for from[at] >= 0 {
			done[at] = true
			row, best, next := from[at], int64(math.MaxInt64), -1
			for j := range n {
				if done[j] {
					continue
				}
				if j != row {
					if c := cost[row*n+j] - leave[row] - enter[j]; c < least[j] {
						least[j], way[j] = c, at
					}
				}
				if least[j] < best {
					best, next = least[j], j
				}
			}
			for j := range n + 1 {
				switch {
				case done[j]:
					leave[from[j]] += best
					enter[j] -= best
				case least[j] < math.MaxInt64:
					least[j] -= best
				}
			}
			at = next
		}
		for at != n {
			from[at] = from[way[at]]
			at = way[at]
		}
	}
	return leave, enter[:n]
}
