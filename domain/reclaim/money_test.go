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

func TestWorthCollecting(t *testing.T) {
	got, err := reclaim.WorthCollecting(reclaim.Booth{TE: 0.6, Recovery: 0.9}, 36, 5, 60, 1.5)
	if err != nil || !near(got.SprayedKG, 20) || !near(got.AreaM2, 20*0.6*1000/90) {
		t.Errorf("%+v, %v; want 20 kg and 133.3 m² (by hand: 36/(0.4·0.9·5) = 20; 12 kg at 90 g/m²)", got, err)
	}
	for name, b := range map[string]reclaim.Booth{"nothing recovered": {TE: 0.6}, "nothing sprayed past": {TE: 1, Recovery: 1}} {
		if got, err := reclaim.WorthCollecting(b, 36, 5, 60, 1.5); err != nil || !got.Never {
			t.Errorf("%s: %+v, %v; want never", name, got, err)
		}
	}
	if got, err := reclaim.WorthCollecting(reclaim.Booth{TE: 0.6, Recovery: 0.9}, 0, 5, 60, 1.5); err != nil || got.Never || got.SprayedKG != 0 {
		t.Errorf("no extra cost: %+v, %v; want at once", got, err)
	}
}

func TestThreeWays(t *testing.T) {
	// By hand: 100 m² × 60 µm × 1.5 = 9 kg on parts; T 0.6 sprays 15 kg, R 0.9 brings back 5.4 kg.
	b, w := reclaim.Booth{TE: 0.6, Recovery: 0.9}, reclaim.Work{AreaM2: 100, FilmUM: 60, SG: 1.5, Parts: 50}
	p := reclaim.Prices{PowderKG: 5, ReclaimedKG: 3, HandlingKG: 0.5, DisposalKG: 1, WasteChange: 10, CollectChange: 20, LoopChange: 40}
	ways, best, err := reclaim.ThreeWays(b, 1, w, p)
	if err != nil || len(ways) != 3 {
		t.Fatal(ways, err)
	}
	want := []reclaim.Way{
		{Name: "waste", SprayedKG: 15, VirginKG: 15, ScrapKG: 6, Cost: 91},                                    // 10 + 75 + 6
		{Name: "collect", SprayedKG: 15, VirginKG: 15, KeptKG: 5.4, ScrapKG: 0.6, Cost: 20 + 75 - 13.5 + 0.6}, // kept at 3−0.5
		{Name: "loop", SprayedKG: 15, VirginKG: 9.6, ScrapKG: 0.6, Cost: 40 + 48 + 0.6 + 2.7},                 // 15·0.36·0.5
	}
	for i, x := range want {
		g := ways[i]
		if g.Name != x.Name || !near(g.SprayedKG, x.SprayedKG) || !near(g.VirginKG, x.VirginKG) || !near(g.KeptKG, x.KeptKG) || !near(g.ScrapKG, x.ScrapKG) ||
			!near(g.Cost, x.Cost) || !near(g.PerM2, x.Cost/100) || !near(g.PerPart, x.Cost/50) {
			t.Errorf("%+v; want %+v (by hand)", g, x)
		}
	}
	if best != "collect" {
		t.Errorf("cheapest %s; want collect (82.1 against 91 and 91.3)", best)
	}
}

// The masses of every way add up, and with free changes and handling the loop is
// never dearer than waste.
func TestThreeWaysBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := reclaim.Booth{TE: rapid.Float64Range(0.05, 1).Draw(t, "T"), Recovery: rapid.Float64Range(0, 1).Draw(t, "R")}
		w := reclaim.Work{AreaM2: rapid.Float64Range(0.1, 1e4).Draw(t, "area"), FilmUM: rapid.Float64Range(10, 300).Draw(t, "film"), SG: rapid.Float64Range(0.8, 2.5).Draw(t, "sg")}
		p := reclaim.Prices{PowderKG: rapid.Float64Range(0, 50).Draw(t, "price"), DisposalKG: rapid.Float64Range(0, 5).Draw(t, "disposal")}
		ways, _, err := reclaim.ThreeWays(b, rapid.Float64Range(0, 1).Draw(t, "cap"), w, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range ways {
			if !near(x.VirginKG, w.DepositKG()+x.KeptKG+x.ScrapKG) || x.ScrapKG < -1e-9 || x.PerPart != 0 {
				t.Fatalf("%+v does not add up with %v kg on parts", x, w.DepositKG())
			}
		}
		if ways[2].Cost > ways[0].Cost*(1+1e-9) {
			t.Fatalf("loop %v dearer than waste %v", ways[2].Cost, ways[0].Cost)
		}
	})
}

func TestMoneyRefuses(t *testing.T) {
	ok := reclaim.Booth{TE: 0.6, Recovery: 0.9}
	worth := func(b reclaim.Booth, extra, price, film, sg float64) error {
		_, err := reclaim.WorthCollecting(b, extra, price, film, sg)
		return err
	}
	ways := func(b reclaim.Booth, cap float64, w reclaim.Work) error {
		_, _, err := reclaim.ThreeWays(b, cap, w, reclaim.Prices{})
		return err
	}
	tests := []struct {
		name  string
		err   error
		field string
	}{
		{"no transfer", worth(reclaim.Booth{}, 1, 1, 60, 1.5), "te"},
		{"negative extra cost", worth(ok, -1, 1, 60, 1.5), "extra_change_cost"},
		{"negative price", worth(ok, 1, -1, 60, 1.5), "price_kg"},
		{"no film", worth(ok, 1, 1, 0, 1.5), "film_um"},
		{"weightless powder", worth(ok, 1, 1, 60, 0), "sg"},
		{"no area", ways(ok, 1, reclaim.Work{FilmUM: 60, SG: 1.5}), "area_m2"},
		{"infinite area", ways(ok, 1, reclaim.Work{AreaM2: math.Inf(1), FilmUM: 60, SG: 1.5}), "area_m2"},
		{"cap above all", ways(ok, 2, reclaim.Work{AreaM2: 1, FilmUM: 60, SG: 1.5}), "share_cap"},
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

func ExampleWorthCollecting() {
	// Collecting costs 36 more at the change; 60 % transfer, 90 % recovery, powder at 5 a kilogram.
	e, _ := reclaim.WorthCollecting(reclaim.Booth{TE: 0.6, Recovery: 0.9}, 36, 5, 60, 1.5)
	fmt.Printf("pays from %.0f kg sprayed, %.0f m²\n", e.SprayedKG, e.AreaM2)
	// Output: pays from 20 kg sprayed, 133 m²
}
