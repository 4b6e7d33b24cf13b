package booth

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"hoppertally/domain/internal/reference"
	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

func guns(n int, perMin measure.Mass) (g []measure.Mass) {
	for range n {
		g = append(g, perMin)
	}
	return g
}

func TestDustOfTheTable(t *testing.T) {
	reference.Each(t, "booth-concentration.csv", 4, reference.Columns("id"), func(t testing.TB, r reference.Row) {
		d, err := DustIn(Exhaust{
			Guns:   guns(int(reference.Number(t, r["guns"])), measure.Mass(reference.Number(t, r["g_per_min_each"]))*measure.Gram),
			AirM3H: int64(reference.Number(t, r["airflow_m3_per_h"])),
			TE:     measure.Share(math.Round(1000 * reference.Number(t, r["TE"]))),
		})
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range []struct {
			what      string
			got, want float64
		}{
			{"concentration", d.Conc, reference.Number(t, r["conc_no_deposit_g_m3"])},
			{"credited", d.Credited, reference.Number(t, r["conc_after_deposit_g_m3"])},
			{"air needed", float64(d.AirM3H), reference.Number(t, r["airflow_needed_for_10_g_m3_m3_per_h"])},
		} {
			if math.Abs(v.got-v.want) > 5e-5 {
				t.Errorf("%s: %s %g, want %g (booth-concentration.csv)", r["id"], v.what, v.got, v.want)
			}
		}
		if d.Allowed != (r["verdict_no_deposit_vs_10"] == "pass") || d.Rule != TenGrams || d.Limit != 10 {
			t.Errorf("%s: %+v, want %s", r["id"], d, r["verdict_no_deposit_vs_10"])
		}
	})
}

func TestAtTheLimitTheRuleDecides(t *testing.T) {
	tests := []struct {
		name    string
		perMin  measure.Mass
		mec     int64
		allowed bool
		at      bool
		rule    LimitRule
		air     int64
		guns    int
	}{
		// 10 guns on 9000 m³/h: 150 g/min each are 10 g/m³ exactly.
		{"10 g/m³ itself is allowed", 150_000, 0, true, true, TenGrams, 9000, 10},
		{"a milligram a minute more is not", 150_001, 0, false, false, TenGrams, 9001, 9},
		{"half the MEC itself is not allowed", 150_000, 20_000, false, true, HalfMEC, 9001, 9},
		{"a milligram a minute less is", 149_999, 20_000, true, false, HalfMEC, 9000, 10},
		{"a known MEC counts even where 10 g/m³ would forbid", 200_000, 60_000, true, false, HalfMEC, 4001, 22},
	}
	for _, tt := range tests {
		d, err := DustIn(Exhaust{Guns: guns(10, tt.perMin), AirM3H: 9000, MECMGM3: tt.mec})
		if err != nil || d.Allowed != tt.allowed || d.AtLimit != tt.at || d.Rule != tt.rule || d.AirM3H != tt.air || d.Guns != tt.guns {
			t.Errorf("%s: %+v, %v", tt.name, d, err)
		}
	}
}

// Air needed and guns allowed are the last ones that keep the rule.
func TestAirAndGunsAreTheLeastAndTheMost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := Exhaust{
			Guns:    guns(rapid.IntRange(1, 12).Draw(t, "guns"), measure.Mass(rapid.Int64Range(1000, 600_000).Draw(t, "output"))),
			AirM3H:  rapid.Int64Range(100, 30_000).Draw(t, "air"),
			MECMGM3: rapid.SampledFrom([]int64{0, 0, 15_000, 30_000, 65_001}).Draw(t, "mec"),
		}
		allowed := func(x Exhaust) bool {
			d, err := DustIn(x)
			if err != nil {
				t.Fatal(err)
			}
			return d.Allowed
		}
		d, err := DustIn(x)
		if err != nil {
			t.Fatal(err)
		}
		y := x
		y.AirM3H = d.AirM3H
		if !allowed(y) {
			t.Fatalf("the needed air %d is not enough", y.AirM3H)
		}
		if y.AirM3H--; y.AirM3H > 0 && allowed(y) {
			t.Fatalf("%d m³/h would do", y.AirM3H)
		}
		if n := d.Guns; n < GunsMax {
			y = x
			if y.Guns = guns(n+1, x.Guns[0]); allowed(y) {
				t.Fatalf("%d guns would be allowed", n+1)
			}
			if y.Guns = guns(n, x.Guns[0]); n > 0 && !allowed(y) {
				t.Fatalf("%d guns are too many", n)
			}
		}
	})
}

func TestDustErrorsNameTheField(t *testing.T) {
	good := Exhaust{Guns: guns(1, 1000), AirM3H: 100}
	tests := []struct {
		what  string
		spoil func(*Exhaust)
	}{
		{"guns", func(x *Exhaust) { x.Guns = nil }},
		{"guns", func(x *Exhaust) { x.Guns = guns(GunsMax+1, 1) }},
		{"guns[0]", func(x *Exhaust) { x.Guns = guns(1, 0) }},
		{"guns[1]", func(x *Exhaust) { x.Guns = []measure.Mass{1, GunMax + 1} }},
		{"air_m3h", func(x *Exhaust) { x.AirM3H = 0 }},
		{"air_m3h", func(x *Exhaust) { x.AirM3H = AirMax + 1 }},
		{"mec_mg_m3", func(x *Exhaust) { x.MECMGM3 = -1 }},
		{"te_pm", func(x *Exhaust) { x.TE = 1001 }},
	}
	for _, tt := range tests {
		x := good
		tt.spoil(&x)
		_, err := DustIn(x)
		var e *measure.Fault
		if !errors.As(err, &e) || e.What != tt.what {
			t.Errorf("%v, want a fault of %s", err, tt.what)
		}
	}
}

func ExampleDustIn() {
	d, _ := DustIn(Exhaust{Guns: []measure.Mass{300_000, 300_000}, AirM3H: 4000, MECMGM3: 30_000, TE: 600})
	fmt.Printf("%g g/m³, limit %g by %s, allowed: %v; with the parts credited %g\n", d.Conc, d.Limit, d.Rule, d.Allowed, d.Credited)
	// Output:
	// 9 g/m³, limit 15 by half_mec, allowed: true; with the parts credited 3.6
}
