package mixing

import (
	"math/bits"
	"slices"
)

// Span is a time from From to To, in ms.
type Span struct{ From, To int64 }

// Stretch ends where parts were recorded as coated, in ms. Area is their count × area,
// in whatever unit all stretches of the interval share; 0 where it is not known.
type Stretch struct{ End, Area int64 }

// Clock weights the time of one interval of a feed by how much was probably sprayed in
// it. The zero value is an interval of no length; [Clock.Set] makes it another one and
// uses its memory again.
type Clock struct {
	from, to int64
	work     []Span
	runs     []run
	knots    []knot
}

// run is a stretch with its time at work in ms. Its rate is area per ms in 2^-32, then
// its share of the median in units of even.
type run struct {
	end, time, area int64
	rate            uint64
}

// knot starts a time of one rate; sum is the weight before it.
type knot struct{ at, sum, rate int64 }

// even is the rate of the median stretch. Weights are ms × rate, so an interval may
// last a hundred years.
const even = 1 << 20

// Set makes c the clock of the interval from from to to, in ms. Breaks are the times
// not at work, in order of their starts; they may overlap and reach beyond the
// interval. Stretches are in order of their ends.
//
// The rate of a stretch is its area over its working time, kept between half and twice
// the median of the interval, weighted by time (the lower one where two are in the
// middle). A stretch without area and the time after the last parts get the mean of the
// others by time. A stretch without working time joins the one before, which was
// recorded with it, or at the start the next; if one of the two has no area, both have
// none. An interval that is all break is spread evenly over its whole time.
func (c *Clock) Set(from, to int64, breaks []Span, stretches []Stretch) {
	c.from, c.to = from, max(from, to)
	c.setWork(breaks)
	if len(c.work) == 0 && from < to {
		c.work, stretches = append(c.work, Span{from, to}), nil
	}
	c.setRuns(stretches)
	c.bound()
	c.setKnots()
}

// setWork keeps what is no break.
func (c *Clock) setWork(breaks []Span) {
	c.work = c.work[:0]
	at := c.from
	for _, b := range breaks {
		if b.To <= b.From {
			continue
		}
		if stop := min(b.From, c.to); stop > at {
			c.work = append(c.work, Span{at, stop})
		}
		at = max(at, b.To)
	}
	if at < c.to {
		c.work = append(c.work, Span{at, c.to})
	}
}

// setRuns cuts the time at work at the ends of the stretches and joins those that have none.
func (c *Clock) setRuns(stretches []Stretch) {
	c.runs = c.runs[:0]
	at, w := c.from, 0
	waiting, isWaiting := int64(0), false // area of stretches before any work
	for _, s := range stretches {
		end := min(max(s.End, at), c.to)
		var time int64
		time, w = c.workBetween(at, end, w)
		at = end
		last := len(c.runs) - 1
		switch {
		case time > 0:
			if isWaiting {
				s.Area, isWaiting = joined(waiting, s.Area), false
			}
			c.runs = append(c.runs, run{end: end, time: time, area: s.Area})
		case last >= 0:
			c.runs[last].area = joined(c.runs[last].area, s.Area)
		case isWaiting:
			waiting = joined(waiting, s.Area)
		default:
			waiting, isWaiting = s.Area, true
		}
	}
	if time, _ := c.workBetween(at, c.to, w); time > 0 {
		c.runs = append(c.runs, run{end: c.to, time: time})
	}
}

func joined(a, b int64) int64 {
	if a <= 0 || b <= 0 {
		return 0
	}
	if sum := a + b; sum > 0 {
		return sum
	}
	return max(a, b) // more than an int64 holds; the bound makes it harmless
}

// workBetween is the time at work from from to to; w is the first span of work that
// reaches beyond from, and the one returned the same for to.
func (c *Clock) workBetween(from, to int64, w int) (time int64, next int) {
	for ; w < len(c.work) && c.work[w].From < to; w++ {
		time += max(0, min(to, c.work[w].To)-max(from, c.work[w].From))
		if c.work[w].To > to {
			break
		}
	}
	return time, w
}

// bound turns areas into rates between half and twice the median.
func (c *Clock) bound() {
	var known int64
	for i := range c.runs {
		r := &c.runs[i]
		if r.area > 0 {
			r.rate = perTime(r.area, r.time)
			known += r.time
		}
	}
	median := c.median(known)
	mean := uint64(even)
	if known > 0 {
		var sum uint64
		for i := range c.runs {
			if r := &c.runs[i]; r.area > 0 {
				r.rate = ofMedian(r.rate, median)
				sum += r.rate * uint64(r.time)
			}
		}
		mean = (sum + uint64(known)/2) / uint64(known)
	}
	for i := range c.runs {
		if c.runs[i].area <= 0 {
			c.runs[i].rate = mean
		}
	}
}

// perTime is area/time in 2^-32, at least 1 and at most 2^63.
func perTime(area, time int64) uint64 {
	hi, lo := bits.Mul64(uint64(area), 1<<32)
	if hi >= uint64(time) {
		return 1 << 63
	}
	q, _ := bits.Div64(hi, lo, uint64(time))
	return min(max(q, 1), 1<<63)
}

// median is the rate of the run with area that holds the middle of their time.
func (c *Clock) median(known int64) uint64 {
	if known == 0 {
		return 0
	}
	var few [16]run
	byRate := few[:0]
	for _, r := range c.runs {
		if r.area > 0 {
			byRate = append(byRate, r)
		}
	}
	slices.SortFunc(byRate, func(a, b run) int {
		switch {
		case a.rate < b.rate:
			return -1
		case a.rate > b.rate:
			return 1
		}
		return 0
	})
	var below int64
	for _, r := range byRate {
		if below += r.time; below >= known-below {
			return r.rate
		}
	}
	return byRate[len(byRate)-1].rate
}

// ofMedian is rate/median in units of even, kept between a half and two.
func ofMedian(rate, median uint64) uint64 {
	switch {
	case rate/2 >= median:
		return 2 * even
	case rate <= median/2:
		return even / 2
	}
	hi, lo := bits.Mul64(rate, even)
	q, _ := bits.Div64(hi, lo, median)
	return min(max(q, even/2), 2*even)
}

// setKnots lays the rates over the time at work.
func (c *Clock) setKnots() {
	c.knots = c.knots[:0]
	var sum int64
	r := 0
	for _, span := range c.work {
		for at := span.From; at < span.To && r < len(c.runs); {
			end, rate := min(span.To, c.runs[r].end), int64(c.runs[r].rate)
			if end > at {
				c.knots = append(c.knots, knot{at, sum, rate})
				sum += (end - at) * rate
				at = end
			}
			if c.runs[r].end <= at {
				r++
			}
		}
		c.knots = append(c.knots, knot{span.To, sum, 0})
	}
}

// Whole is the weight of the interval, 0 if it has no length.
func (c *Clock) Whole() int64 {
	if len(c.knots) == 0 {
		return 0
	}
	return c.knots[len(c.knots)-1].sum
}

// At is the weight of the time from the start of the interval to at, in ms: 0 before
// it, Whole after it, and never falling.
func (c *Clock) At(at int64) int64 {
	lo, hi := 0, len(c.knots)
	for lo < hi {
		if mid := (lo + hi) / 2; c.knots[mid].at <= at {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo == 0 {
		return 0
	}
	k := c.knots[lo-1]
	return k.sum + (at-k.at)*k.rate
}
