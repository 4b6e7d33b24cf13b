package booth

import (
	"cmp"
	"math"
	"slices"
)

// outlook bounds from below what the colours still to come will cost. With two
// booths nobody knows which booth they go to; then it is nothing.
type outlook struct {
	d       *day
	single  bool
	cost    []int64 // per colour the cheapest change to it
	least   []int64 // per colour the shortest change to it and its spraying
	quick   []int32 // colours by least
	urgent  []int32 // colours that can be late, by due time
	rest    uint32  // the colours still to come
	changes int64   // their cheapest changes
	finish  []int64 // no order finishes its k-th colour earlier than this from now
	due     []int64 // due times of those that can be late, earliest first
	rate    int64   // the lowest of their costs per minute
}

func (d *day) newOutlook(b int) *outlook {
	o := &outlook{d: d, single: len(d.booths) == 1, cost: make([]int64, d.n), least: make([]int64, d.n)}
	booth := &d.booths[b]
	for j, c := range d.colours {
		change := booth.Start[j]
		for i := range d.n {
			if i != j {
				change.Cost = min(change.Cost, booth.Change[i][j].Cost)
				change.Minutes = min(change.Minutes, booth.Change[i][j].Minutes)
			}
		}
		o.cost[j], o.least[j] = change.Cost, change.Minutes+c.Minutes
		o.quick = append(o.quick, int32(j))
		if c.Due > 0 && c.LateCost > 0 {
			o.urgent = append(o.urgent, int32(j))
		}
	}
	slices.SortFunc(o.quick, func(i, j int32) int { return cmp.Or(cmp.Compare(o.least[i], o.least[j]), cmp.Compare(i, j)) })
	slices.SortFunc(o.urgent, func(i, j int32) int {
		return cmp.Or(cmp.Compare(d.colours[i].Due, d.colours[j].Due), cmp.Compare(i, j))
	})
	return o
}

// look turns to the colours that are not in the set s.
func (o *outlook) look(s int) {
	o.rest = uint32(1<<o.d.n-1) &^ uint32(s)
	o.changes, o.finish, o.due, o.rate = 0, o.finish[:0], o.due[:0], math.MaxInt64
	if !o.single {
		return
	}
	sum := int64(0)
	for _, j := range o.quick {
		if o.rest>>j&1 == 1 {
			o.changes += o.cost[j]
			sum += o.least[j]
			o.finish = append(o.finish, sum)
		}
	}
	for _, j := range o.urgent {
		if o.rest>>j&1 == 1 {
			o.due = append(o.due, o.d.colours[j].Due)
			o.rate = min(o.rate, o.d.colours[j].LateCost)
		}
	}
}

// late is the least cost of lateness of the colours still to come from a time:
// the larger of two bounds. Each colour by itself cannot finish before its
// shortest change and spraying are over. And taken together, the earliest
// conceivable finishing times set against the due times in order leave at least
// so many minutes late, each at least at the lowest rate.
func (o *outlook) late(now int64) int64 {
	together, alone := int64(0), int64(0)
	for k, due := range o.due {
		together += max(0, now+o.finish[k]-due)
	}
	if len(o.due) > 0 {
		together *= o.rate
	}
	if o.single {
		for _, j := range o.urgent {
			if o.rest>>j&1 == 1 {
				alone += o.d.lateness(int(j), now+o.least[j])
			}
		}
	}
	return max(together, alone)
}
