package reclaim_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	m "hoppertally/domain/measure"
	"hoppertally/domain/reclaim"

	"pgregory.net/rapid"
)

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(1, math.Abs(a), math.Abs(b)) }

func TestSteadyStateWithCap(t *testing.T) {
	b := reclaim.Booth{TE: 0.6, Recovery: 0.95} // q = 0.38
	tests := []struct {
		name   string
		cap    float64
		want   reclaim.Steady
		source string
	}{
		{"a cap below q binds", 0.3, reclaim.Steady{Reclaim: 0.3, Virgin: 0.7, MeanPasses: 1 / 0.7, Utilisation: 0.6 / 0.7, Loss: 0.1 / 0.7, Surplus: 0.08, CapBinds: true}, "by hand"},
		{"a cap at q does not", 0.38, reclaim.Steady{Reclaim: 0.38, Virgin: 0.62, MeanPasses: 1 / 0.62, Utilisation: 0.6 / 0.62, Loss: 0.02 / 0.62}, "by hand"},
		{"no reclaim allowed is spray to waste", 0, reclaim.Steady{Virgin: 1, MeanPasses: 1, Utilisation: 0.6, Loss: 0.4, Surplus: 0.38, CapBinds: true}, "by hand"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := reclaim.SteadyState(b, tt.cap)
			g, w := got, tt.want
			if err != nil || g.CapBinds != w.CapBinds || !near(g.Reclaim, w.Reclaim) || !near(g.Virgin, w.Virgin) || !near(g.MeanPasses, w.MeanPasses) ||
				!near(g.Utilisation, w.Utilisation) || !near(g.Loss, w.Loss) || !near(g.Surplus, w.Surplus) {
				t.Errorf("cap %v: %+v, %v; want %+v (%s)", tt.cap, g, err, w, tt.source)
			}
		})
	}
}

// What is put in ends on parts or is lost; passes add up to the whole feed.
func TestSteadyStateBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := reclaim.Booth{TE: rapid.Float64Range(0.05, 1).Draw(t, "T"), Recovery: rapid.Float64Range(0, 1).Draw(t, "R")}
		s, err := reclaim.SteadyState(b, rapid.Float64Range(0, 1).Draw(t, "cap"))
		if err != nil || !near(s.Utilisation+s.Loss, 1) {
			t.Fatalf("%+v, %v", s, err)
		}
		var sum, mean float64
		for k := 1; k <= 2000; k++ {
			sum += s.OnPass(k)
			mean += float64(k) * s.OnPass(k)
		}
		if !near(sum, 1) || math.Abs(mean-s.MeanPasses) > 1e-6 {
			t.Fatalf("passes add up to %v with mean %v; %+v", sum, mean, s)
		}
	})
}

// ShareAfter against spraying the feed in many small steps.
func TestShareAfterAgainstSmallSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := reclaim.Booth{TE: rapid.Float64Range(0.1, 1).Draw(t, "T"), Recovery: rapid.Float64Range(0, 1).Draw(t, "R")}
		cap, start := rapid.Float64Range(0.01, 1).Draw(t, "cap"), rapid.Float64Range(0, 1).Draw(t, "start")
		turnovers := rapid.Float64Range(0, 4).Draw(t, "turnovers")
		got, err := reclaim.ShareAfter(b, cap, start, turnovers)
		if err != nil {
			t.Fatal(err)
		}
		const steps = 40_000
		h, d := start, turnovers/steps
		for range steps {
			back := b.Q() * d
			if room := max(cap-h*(1-d), 0); back > room { // what the cap leaves room for
				back = room
			}
			h = h*(1-d) + back
		}
		if math.Abs(got-h) > 1e-3 {
			t.Fatalf("ShareAfter(%+v, %v, %v, %v) = %v; in small steps %v", b, cap, start, turnovers, got, h)
		}
	})
}

func TestTurnoversToIsWhenTheShareArrives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := reclaim.Booth{TE: rapid.Float64Range(0.1, 1).Draw(t, "T"), Recovery: rapid.Float64Range(0, 1).Draw(t, "R")}
		cap, start := rapid.Float64Range(0, 1).Draw(t, "cap"), rapid.Float64Range(0, 1).Draw(t, "start")
		tol := rapid.Float64Range(0.001, 0.1).Draw(t, "tolerance")
		n, err := reclaim.TurnoversTo(b, cap, start, tol)
		if err != nil || n < 0 || math.IsInf(n, 0) {
			t.Fatal(n, err)
		}
		s, _ := reclaim.SteadyState(b, cap)
		h, err := reclaim.ShareAfter(b, cap, start, n)
		off := math.Abs(h - s.Reclaim)
		if err != nil || off > tol*(1+1e-6) || n > 0 && off < tol*(1-1e-6) {
			t.Fatalf("after %v turnovers %v is %v off %v", n, h, off, s.Reclaim)
		}
	})
}

func TestSteadyRefuses(t *testing.T) {
	ok := reclaim.Booth{TE: 0.6, Recovery: 0.9}
	steady := func(b reclaim.Booth, cap float64) error { _, err := reclaim.SteadyState(b, cap); return err }
	after := func(b reclaim.Booth, cap, start, n float64) error {
		_, err := reclaim.ShareAfter(b, cap, start, n)
		return err
	}
	to := func(b reclaim.Booth, cap, start, tol float64) error {
		_, err := reclaim.TurnoversTo(b, cap, start, tol)
		return err
	}
	tests := []struct {
		name  string
		err   error
		field string
	}{
		{"nothing reaches the parts", steady(reclaim.Booth{Recovery: 1}, 1), "te"},
		{"more than all reaches the parts", steady(reclaim.Booth{TE: 1.1}, 1), "te"},
		{"transfer not a number", steady(reclaim.Booth{TE: math.NaN()}, 1), "te"},
		{"recovery above all", steady(reclaim.Booth{TE: 0.5, Recovery: 1.1}, 1), "recovery"},
		{"cap above all", steady(ok, 1.1), "share_cap"},
		{"start below nil", after(ok, 1, -0.1, 1), "start_share"},
		{"negative turnovers", after(ok, 1, 0, -1), "turnovers"},
		{"cap not a number", after(ok, math.NaN(), 0, 1), "share_cap"},
		{"start above all", to(ok, 1, 1.1, 0.01), "start_share"},
		{"no tolerance", to(ok, 1, 0, 0), "tolerance"},
		{"bad booth", to(reclaim.Booth{}, 1, 0, 0.1), "te"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var f *m.Fault
			if !errors.As(tt.err, &f) || f.What != tt.field {
				t.Errorf("error %v; want a fault of %s", tt.err, tt.field)
			}
		})
	}
}

func ExampleSteadyState() {
	// Six tenths reach the parts, 95 % of the overspray comes back, at most 30 % reclaim.
	s, _ := reclaim.SteadyState(reclaim.Booth{TE: 0.6, Recovery: 0.95}, 0.3)
	fmt.Printf("utilisation %.3f, surplus %.3f of what is sprayed, mean passes %.2f\n", s.Utilisation, s.Surplus, s.MeanPasses)
	// Output: utilisation 0.857, surplus 0.080 of what is sprayed, mean passes 1.43
}
