package mixing_test

import (
	"math/rand"
	"slices"
	"testing"

	"hoppertally/domain/measure"
	"hoppertally/domain/mixing"
)

func TestPath(t *testing.T) {
	in := func(at int64, m measure.Mass) mixing.Flow { return mixing.Flow{At: at * hour, Mass: m} }
	for _, c := range []struct {
		name           string
		start, sprayed measure.Mass
		flows          []mixing.Flow // over ten hours at an even rate
		path           []measure.Mass
		rest           measure.Mass
	}{
		{"by the clock", 20, 10, []mixing.Flow{in(3, 12), in(5, -4)}, []measure.Mass{3, 5, 10}, 0},
		{"half up", 20, 5, []mixing.Flow{in(1, 1), in(3, 1)}, []measure.Mass{1, 2, 5}, 0},
		// 2 are there before the charge at 5 h; the other 18 follow in five hours.
		{"not more than was there, and the remainder by the clock over the rest", 2, 20,
			[]mixing.Flow{in(1, 0), in(5, 30), in(6, 0), in(10, 0)}, []measure.Mass{2, 2, 6, 20, 20}, 0},
		{"a charge at the same time as its parts counts before them", 2, 20, []mixing.Flow{in(0, 30), in(5, 0)}, []measure.Mass{0, 10, 20}, 0},
		{"a charge that was written down late", 5, 25, []mixing.Flow{in(8, 20), in(9, 0)}, []measure.Mass{5, 15, 25}, 0},
		// 20 − 15 = 5 can have been sprayed at 8 h, not 8.
		{"what is moved out must still be there", 20, 10, []mixing.Flow{in(8, -15), in(9, 5)}, []measure.Mass{5, 5, 10}, 0},
		// At 5 h 8 would have been there, but 14 leave at 6 h of 20 + 1.
		{"also for a later flow out", 20, 16, []mixing.Flow{in(5, 1), in(6, -14), in(7, 9)}, []measure.Mass{7, 7, 7, 16}, 0},
		{"a flow in between makes room", 20, 16, []mixing.Flow{in(5, 10), in(6, -14)}, []measure.Mass{8, 10, 16}, 0},
		{"at the end too", 20, 30, []mixing.Flow{in(5, 5)}, []measure.Mass{15, 25}, 5},
		{"more moved out than was there: zero first", 5, 3, []mixing.Flow{in(5, -9), in(6, 10)}, []measure.Mass{0, 0, 3}, 0},
		{"nothing fits", 5, 3, []mixing.Flow{in(5, -9)}, []measure.Mass{0, 0}, 3},
		{"nothing sprayed", 5, 0, []mixing.Flow{in(5, -9)}, []measure.Mass{0, 0}, 0},
		{"more on the scale than there was", 5, -7, []mixing.Flow{in(5, 1)}, []measure.Mass{0, 0}, -7},
	} {
		var clock mixing.Clock
		clock.Set(0, 10*hour, nil, nil)
		path, rest := clock.Path([]measure.Mass{99}, c.start, c.sprayed, c.flows)
		if !slices.Equal(path, c.path) || rest != c.rest {
			t.Errorf("%s: %v, %d do not fit; want %v, %d", c.name, path, rest, c.path, c.rest)
		}
	}
}

// In an interval of no length all is sprayed at its end, but for what must leave before.
func TestPathOfNoLength(t *testing.T) {
	var clock mixing.Clock
	clock.Set(hour, hour, nil, nil)
	path, rest := clock.Path(nil, 10, 8, []mixing.Flow{{At: hour, Mass: 3}, {At: hour, Mass: -5}})
	if !slices.Equal(path, []measure.Mass{0, 0, 8}) || rest != 0 {
		t.Errorf("%v, %d do not fit", path, rest)
	}
}

// Where the masses of an interval agree, there is a path, and the feed is never below zero on it.
func TestPathNeverTakesWhatIsNotThere(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for range 5000 {
		var clock mixing.Clock
		clock.Set(0, 10*hour, []mixing.Span{{From: 2 * hour, To: 3 * hour}}, []mixing.Stretch{{End: hour, Area: r.Int63n(9)}, {End: 7 * hour, Area: r.Int63n(9)}})
		start := measure.Mass(r.Intn(1000))
		there, sprayed := start, measure.Mass(0)
		var flows []mixing.Flow
		for at := int64(0); at < 10*hour; at += r.Int63n(3 * hour) { // first what truly happened
			took := measure.Mass(r.Int63n(int64(there) + 1))
			sprayed, there = sprayed+took, there-took
			m := measure.Mass(r.Intn(1000))
			if r.Intn(2) == 0 {
				m = -measure.Mass(r.Int63n(int64(there) + 1))
			}
			there += m
			flows = append(flows, mixing.Flow{At: at, Mass: m})
		}
		path, rest := clock.Path(nil, start, sprayed, flows)
		if rest != 0 || path[len(flows)] != sprayed || !slices.IsSorted(path) {
			t.Fatalf("%d, %d by %v: %v, %d do not fit", start, sprayed, flows, path, rest)
		}
		there = start
		for i, f := range flows {
			if there-path[i] < 0 || there-path[i]+f.Mass < 0 {
				t.Fatalf("%d, %d by %v: %v is not there", start, sprayed, flows, path)
			}
			there += f.Mass
		}
	}
}

// A shift with forty flows, ten jobs and a lunch, in memory that is used again.
func BenchmarkPath(b *testing.B) {
	var flows []mixing.Flow
	var stretches []mixing.Stretch
	for i := range int64(40) {
		flows = append(flows, mixing.Flow{At: i * 12 * minute, Mass: 500_000})
		if i%4 == 3 {
			stretches = append(stretches, mixing.Stretch{End: i * 12 * minute, Area: 1000 + i*37%500})
		}
	}
	breaks := []mixing.Span{{From: 4 * hour, To: 4*hour + 30*minute}}
	b.ReportAllocs()
	var clock mixing.Clock
	var path []measure.Mass
	for b.Loop() {
		clock.Set(0, 8*hour, breaks, stretches)
		path, _ = clock.Path(path, 20_000_000, 25_000_000, flows)
	}
}
