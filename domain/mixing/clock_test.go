package mixing_test

import (
	"math/rand"
	"slices"
	"testing"

	"hoppertally/domain/measure"
	"hoppertally/domain/mixing"
)

const minute, hour = int64(60_000), int64(3_600_000)

// at is 10 kg spread by a clock, at the given times, in whole grams.
func at(c *mixing.Clock, times ...int64) (grams []int64) {
	var flows []mixing.Flow
	for _, t := range times {
		flows = append(flows, mixing.Flow{At: t})
	}
	path, _ := c.Path(nil, 10*measure.Kilogram, 10*measure.Kilogram, flows)
	for _, m := range path[:len(times)] {
		grams = append(grams, int64((m+500)/1000))
	}
	return grams
}

func TestClock(t *testing.T) {
	for _, c := range []struct {
		name      string
		to        int64
		breaks    []mixing.Span
		stretches []mixing.Stretch
		times     []int64
		grams     []int64
	}{
		{"without parts the rate is even", 10 * hour, nil, nil,
			[]int64{-hour, 0, hour, 5 * hour, 10 * hour, 11 * hour}, []int64{0, 0, 1000, 5000, 10000, 10000}},
		{"nothing is sprayed at lunch", 9 * hour, []mixing.Span{{From: 4 * hour, To: 5 * hour}}, nil,
			[]int64{4 * hour, 4*hour + 30*minute, 5 * hour, 7 * hour}, []int64{5000, 5000, 5000, 7500}},
		{"breaks may touch, overlap and reach beyond", 10 * hour,
			[]mixing.Span{{From: -hour, To: 2 * hour}, {From: hour, To: 3 * hour}, {From: 2 * hour, To: hour}, {From: 8 * hour, To: 20 * hour}}, nil,
			[]int64{2 * hour, 3 * hour, 4 * hour, 8 * hour}, []int64{0, 0, 2000, 10000}},
		{"a weekend takes nothing", 72 * hour, []mixing.Span{{From: 4 * hour, To: 68 * hour}}, nil,
			[]int64{2 * hour, 4 * hour, 40 * hour, 70 * hour}, []int64{2500, 5000, 5000, 7500}},
		{"a silent booth is all break: even over the bare time", 10 * hour, []mixing.Span{{From: 0, To: 10 * hour}},
			[]mixing.Stretch{{End: hour, Area: 500}, {End: 2 * hour, Area: 100}},
			[]int64{hour, 5 * hour}, []int64{1000, 5000}},
		// Rates 10, 10, 15 per hour; the median is 10, the weights are 1, 1, 1.5.
		{"parts set the rate of their stretch", 3 * hour, nil,
			[]mixing.Stretch{{End: hour, Area: 10}, {End: 2 * hour, Area: 10}, {End: 3 * hour, Area: 15}},
			[]int64{hour, 2 * hour, 150 * minute}, []int64{2857, 5714, 7857}},
		// Rates 10, 100, 10: the second counts as 20. Weights 1, 2, 1.
		{"an area ten times too large counts twice the median", 3 * hour, nil,
			[]mixing.Stretch{{End: hour, Area: 10}, {End: 2 * hour, Area: 100}, {End: 3 * hour, Area: 10}},
			[]int64{hour, 2 * hour}, []int64{2500, 7500}},
		{"an area ten times too small counts half the median", 3 * hour, nil,
			[]mixing.Stretch{{End: hour, Area: 10}, {End: 2 * hour, Area: 1}, {End: 3 * hour, Area: 10}},
			[]int64{hour, 2 * hour}, []int64{4000, 6000}},
		// Rates 10, unknown, 20: the lower one in the middle is the median, 10. Weights 1, 1.5, 2.
		{"a missing area is the mean of the others", 3 * hour, nil,
			[]mixing.Stretch{{End: hour, Area: 10}, {End: 2 * hour}, {End: 3 * hour, Area: 20}},
			[]int64{hour, 2 * hour}, []int64{2222, 5556}},
		// Weights 1 for three hours and 2 for one; the mean by time is 1.25 for the last four.
		{"the mean is weighted by time, and holds after the last parts", 8 * hour, nil,
			[]mixing.Stretch{{End: 3 * hour, Area: 30}, {End: 4 * hour, Area: 20}},
			[]int64{3 * hour, 4 * hour, 6 * hour}, []int64{3000, 5000, 7500}},
		// One hour at 40, three at 10: by time the median is 10, and by count it would not be clear.
		{"the median is weighted by time", 4 * hour, nil,
			[]mixing.Stretch{{End: hour, Area: 40}, {End: 4 * hour, Area: 30}},
			[]int64{hour}, []int64{4000}},
		// Rates 10, 20, 50, 100: weights 0.5, 1, 2, 2 by the median of 20; by 50 the second would be 0.5.
		{"of two in the middle the lower one is the median", 4 * hour, nil,
			[]mixing.Stretch{{End: hour, Area: 10}, {End: 2 * hour, Area: 20}, {End: 3 * hour, Area: 50}, {End: 4 * hour, Area: 100}},
			[]int64{hour, 2 * hour, 3 * hour}, []int64{909, 2727, 6364}},
		// The second stretch worked one hour of two: rate 10 as the first.
		{"the rate of a stretch is by its working time", 3 * hour, []mixing.Span{{From: 90 * minute, To: 150 * minute}},
			[]mixing.Stretch{{End: hour, Area: 10}, {End: 3 * hour, Area: 10}},
			[]int64{hour, 90 * minute, 2 * hour, 150 * minute}, []int64{5000, 7500, 7500, 7500}},
		// 6 and 4 at the same time are 10.
		{"parts recorded at once share their stretch", 3 * hour, nil,
			[]mixing.Stretch{{End: hour, Area: 6}, {End: hour, Area: 4}, {End: 2 * hour, Area: 10}, {End: 3 * hour, Area: 15}},
			[]int64{hour, 2 * hour}, []int64{2857, 5714}},
		{"recorded in a break they share it too", 4 * hour, []mixing.Span{{From: hour, To: 2 * hour}},
			[]mixing.Stretch{{End: hour, Area: 6}, {End: 90 * minute, Area: 4}, {End: 3 * hour, Area: 10}, {End: 4 * hour, Area: 15}},
			[]int64{hour, 3 * hour}, []int64{2857, 5714}},
		{"one without area leaves the stretch without", 3 * hour, nil,
			[]mixing.Stretch{{End: hour, Area: 10}, {End: 2 * hour, Area: 6}, {End: 2 * hour}, {End: 3 * hour, Area: 20}},
			[]int64{hour, 2 * hour}, []int64{2222, 5556}},
		{"parts at the start join the next", 3 * hour, nil,
			[]mixing.Stretch{{End: 0, Area: 1}, {End: 0, Area: 3}, {End: hour, Area: 6}, {End: 2 * hour, Area: 10}, {End: 3 * hour, Area: 15}},
			[]int64{hour, 2 * hour}, []int64{2857, 5714}},
		{"parts without any area are as none", 4 * hour, nil, []mixing.Stretch{{End: hour}, {End: 3 * hour}},
			[]int64{hour, 2 * hour}, []int64{2500, 5000}},
		{"an interval of no length is all at its end", 0, nil, []mixing.Stretch{{End: 0, Area: 5}}, []int64{0}, []int64{0}},
	} {
		var clock mixing.Clock
		clock.Set(7*hour, 8*hour, nil, []mixing.Stretch{{End: 450 * minute, Area: 3}}) // its memory is used again
		clock.Set(0, c.to, c.breaks, c.stretches)
		if got := at(&clock, c.times...); !slices.Equal(got, c.grams) {
			t.Errorf("%s: %v g at %v; want %v", c.name, got, c.times, c.grams)
		}
		if path, rest := clock.Path(nil, 500, 400, nil); path[0] != 400 || rest != 0 {
			t.Errorf("%s: %v mg at the end, %d do not fit", c.name, path, rest)
		}
	}
}

func TestClockNeverRunsBack(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	var c mixing.Clock
	for range 3000 {
		from := r.Int63n(1 << 40)
		to := from + r.Int63n(1<<r.Intn(41))
		var breaks []mixing.Span
		var stretches []mixing.Stretch
		moment := func() int64 { return from - 100 + r.Int63n(to-from+200) }
		for range r.Intn(4) {
			breaks = append(breaks, mixing.Span{From: moment(), To: moment()})
		}
		for range r.Intn(6) {
			stretches = append(stretches, mixing.Stretch{End: moment(), Area: r.Int63n(1<<r.Intn(63)) - 1})
		}
		slices.SortFunc(breaks, func(a, b mixing.Span) int { return int(a.From - b.From) })
		slices.SortFunc(stretches, func(a, b mixing.Stretch) int { return int(a.End - b.End) })
		c.Set(from, to, breaks, stretches)
		if c.At(from) != 0 || c.At(to) != c.Whole() || (c.Whole() > 0) != (to > from) {
			t.Fatalf("%d to %d, %v, %v: %d, %d, %d", from, to, breaks, stretches, c.At(from), c.At(to), c.Whole())
		}
		for at, last, step := from-10, int64(0), (to-from)/50+1; at < to+10; at += step {
			if w := c.At(at); w < last {
				t.Fatalf("%d to %d, %v, %v: the weight falls at %d", from, to, breaks, stretches, at)
			} else {
				last = w
			}
		}
	}
}
