package handsim

import (
	"math"
	"testing"
)

// 20 kg of virgin powder, T = 0.60, R = 0.95, until 12 kg remain: 8 kg left, 12.903 kg
// passed the gun, and 26.88 % of the feed is reclaim (own arithmetic, 1 − e^(−s)).
func TestLoopAgreesWithItsDifferentialEquation(t *testing.T) {
	const seconds = 7200
	b := Booth{Mode: Loop, TE: 0.6, Recovery: 0.95, Start: Powder{{"a", 0, 20e6}}, Seconds: seconds,
		Rate: func(int) float64 { return 8e6 / 0.62 / seconds }, Events: []Event{{At: seconds, Job: "j"}}}
	truth := b.Run()
	for _, c := range []struct {
		name      string
		got, want float64
		within    float64
	}{
		{"feed", truth.Feed.Total(), 12e6, 1}, {"left", truth.Left, 8e6, 1}, {"reclaim", truth.Feed.Reclaim(), 0.268813, 1e-4},
		{"on parts", truth.Jobs["j"].Total(), 8e6 / 0.62 * 0.6, 1},
	} {
		if math.Abs(c.got-c.want) > c.within {
			t.Errorf("%s is %f; want %f", c.name, c.got, c.want)
		}
	}
}

func TestNothingIsLostInAnyMode(t *testing.T) {
	for _, mode := range []Mode{Waste, Collect, Loop} {
		b := Booth{Mode: mode, TE: 0.6, Recovery: 0.9, Start: Powder{{"a", 0, 5e6}}, Seconds: 3600, Rate: func(s int) float64 { return float64(1000 + s%7*100) },
			Events: []Event{{At: 600, In: Powder{{"b", 0, 3e6}}, Look: true}, {At: 1200, FromBin: 2e5}, {At: 1800, Out: 1e6, Job: "j"}, {At: 3600, Look: true}}}
		truth := b.Run()
		fromBin := 0.0
		if mode == Collect {
			fromBin = 2e5
		}
		if d := truth.Feed.Total() + truth.Left + truth.MovedOut[0].Total() - 8e6 - fromBin; math.Abs(d) > 0.01 {
			t.Errorf("mode %d: %f mg too much", mode, d)
		}
		if len(truth.Looks) != 2 || truth.Jobs["j"].OfLot("b") <= 0 {
			t.Errorf("mode %d: %d looks, and the job carries %v", mode, len(truth.Looks), truth.Jobs["j"])
		}
	}
}
