package mixing

import (
	"math/bits"

	"hoppertally/domain/measure"
)

// Flow is powder that came into the feed (positive) or was moved out of it (negative)
// at a time in ms. A flow of nothing only asks what had been sprayed by then.
type Flow struct {
	At   int64
	Mass measure.Mass
}

// Path spreads sprayed over the interval of c. Start is what was in the feed, and flows
// what came in and went out, in their order. It returns what had been sprayed before
// each flow and, last, at the end; the memory of into is used. In a closed loop sprayed
// is the net, else the gross.
//
// Sprayed so far never exceeds what was there + what came in − what was moved out, nor
// falls below zero. Before a flow out its mass must still be there, and so must that of
// the later ones unless enough comes in between. Where the clock asks for more, the path
// stops at that bound, and the clock spreads what remains over the rest of the time.
// What fits nowhere is returned as rest; it is the whole sprayed where that is negative.
func (c *Clock) Path(into []measure.Mass, start, sprayed measure.Mass, flows []Flow) (path []measure.Mass, rest measure.Mass) {
	path = bounds(into[:0], start, flows)
	if sprayed <= 0 {
		clear(path)
		return path, sprayed
	}
	whole, from, weight := c.Whole(), measure.Mass(0), int64(0) // of the last stop
	for i, f := range flows {
		bound := path[i]
		at := c.At(f.At)
		path[i] = from + portion(sprayed-from, at-weight, whole-weight)
		if path[i] > bound {
			path[i], from, weight = bound, bound, at
		}
	}
	end := len(flows)
	path[end] = min(sprayed, path[end])
	return path, sprayed - path[end]
}

// bounds is how much can have been sprayed before each flow and at the end.
func bounds(path []measure.Mass, start measure.Mass, flows []Flow) []measure.Mass {
	there := start
	for _, f := range flows {
		path = append(path, max(0, there+min(0, f.Mass)))
		there += f.Mass
	}
	path = append(path, max(0, there))
	for i := len(flows) - 1; i >= 0; i-- {
		path[i] = min(path[i], path[i+1])
	}
	return path
}

// portion is m·part/whole, half up; nothing where there is no whole.
func portion(m measure.Mass, part, whole int64) measure.Mass {
	if part <= 0 || whole <= 0 {
		return 0
	}
	hi, lo := bits.Mul64(uint64(m), uint64(part))
	q, r := bits.Div64(hi, lo, uint64(whole)) // part <= whole, so it fits
	if r >= uint64(whole)-r {
		q++
	}
	return measure.Mass(q)
}
