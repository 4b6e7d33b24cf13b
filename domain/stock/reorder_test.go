package stock

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"hoppertally/domain/measure"

	"hoppertally/testdata/reference"
	"pgregory.net/rapid"
)

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

func TestReorderPoint(t *testing.T) {
	tests := []struct {
		name          string
		d             Demand
		z             float64
		safety, point float64 // recomputed from the inputs
		tol           float64
		source        string
	}{
		{"I1: steady lead time, varying demand", Demand{30, 5, 10, 0}, 1.65, 26.0888, 326.0888, 5e-5, "inventory-examples.csv I1; published 26.1 and 326.1"},
		{"I2: given by the deviation over the lead time", Demand{70, 15 / 2.0, 4, 0}, 1.65, 24.75, 304.75, 1e-9, "inventory-examples.csv I2: σ over 4 days 15, so 7.5 a day"},
		{"I4: three days exactly", Demand{5, 2, 3, 0}, 1.65, 5.7158, 20.7158, 5e-5, "inventory-examples.csv I4"},
		{"I5: steady demand, varying lead time", Demand{5, 0, 3, 2}, 1.65, 16.5, 31.5, 1e-9, "inventory-examples.csv I5"},
		{"nothing varies, nothing is kept for bad luck", Demand{5, 0, 3, 0}, 1.65, 0, 15, 0, "by hand"},
	}
	for _, tt := range tests {
		got, err := ReorderPoint(tt.d, tt.z)
		if err != nil || !near(got.SafetyKG, tt.safety, tt.tol) || !near(got.PointKG, tt.point, tt.tol) {
			t.Errorf("%s: %+v, %v; want %g and %g (%s)", tt.name, got, err, tt.safety, tt.point, tt.source)
		}
	}
	// The published figures, to the digits printed.
	if got, _ := ReorderPoint(Demand{30, 5, 10, 0}, 1.65); !near(got.SafetyKG, 26.1, 0.05) || !near(got.PointKG, 326.1, 0.05) {
		t.Errorf("I1 as published: %+v", got)
	}
	if len(reference.Table(t, "inventory-examples.csv")) != 5 {
		t.Error("inventory-examples.csv no longer has the 5 rows asserted here")
	}
}

func TestOrderSize(t *testing.T) {
	if got, err := OrderSize(1000, 50, 2); err != nil || !near(got, 223.6068, 5e-5) {
		t.Errorf("I7: %g, %v; want 223.6068 (inventory-examples.csv)", got, err)
	}
}

func TestZ(t *testing.T) {
	for service, want := range map[measure.Share]float64{500: 0, 950: 1.6449, 990: 2.3263} { // normal tables, from memory
		if got, err := Z(service); err != nil || !near(got, want, 5e-5) {
			t.Errorf("z for %d ‰ is %g, %v; want %g", service, got, err, want)
		}
	}
}

func TestOrderingErrorsNameTheField(t *testing.T) {
	point := func(d Demand, z float64) error { _, err := ReorderPoint(d, z); return err }
	size := func(d, s, h float64) error { _, err := OrderSize(d, s, h); return err }
	boxes := func(need, box measure.Mass) error { _, _, err := Boxes(need, box); return err }
	suggest := func(p, s float64) error { _, err := Suggest(Position{}, p, s, kg); return err }
	_, errZ := Z(1000)
	_, errLowZ := Z(499)
	count := func(l ...Counted) error { _, _, err := CountVariance(l); return err }
	nan := math.NaN()
	tests := []struct {
		what string
		err  error
	}{
		{"per_day_kg", point(Demand{-1, 0, 0, 0}, 1)},
		{"per_day_kg", point(Demand{nan, 0, 0, 0}, 1)},
		{"per_day_kg", point(Demand{DemandMax + 1, 0, 0, 0}, 1)},
		{"sd_per_day_kg", point(Demand{1, -1, 0, 0}, 1)},
		{"lead_days", point(Demand{1, 0, 366, 0}, 1)},
		{"sd_lead_days", point(Demand{1, 0, 0, nan}, 1)},
		{"z", point(Demand{1, 0, 0, 0}, 5.1)},
		{"service_pm", errZ},
		{"service_pm", errLowZ},
		{"per_year_kg", size(-1, 1, 1)},
		{"order_cost", size(1, nan, 1)},
		{"keep_cost", size(1, 1, 0)},
		{"box_mg", boxes(1, 0)},
		{"box_mg", boxes(1, measure.MassMax)},
		{"need_mg", boxes(measure.MassMax-1, 1)},
		{"point_kg", suggest(-1, 0)},
		{"size_kg", suggest(0, nan)},
		{"books_mg", count(Counted{Books: -1})},
		{"found_mg", count(Counted{Found: measure.MassMax})},
		{"found_mg", count(Counted{Found: measure.MassMax - 1}, Counted{Found: 1})},
		{"price", count(Counted{Price: PriceMax + 1})},
	}
	for _, tt := range tests {
		var e *measure.Fault
		if !errors.As(tt.err, &e) || e.What != tt.what || e.Got == "" || e.Want == "" {
			t.Errorf("%v, want a fault of %s", tt.err, tt.what)
		}
	}
}

func TestBoxesAndCover(t *testing.T) {
	tests := []struct {
		name      string
		need, box measure.Mass
		n         int64
	}{
		{"nothing is no box", 0, 25 * kg, 0},
		{"a milligram is a box", 1, 25 * kg, 1},
		{"exactly two", 50 * kg, 25 * kg, 2},
		{"a milligram more is three", 50*kg + 1, 25 * kg, 3},
	}
	for _, tt := range tests {
		n, total, err := Boxes(tt.need, tt.box)
		if err != nil || n != tt.n || total != measure.Mass(n)*tt.box {
			t.Errorf("%s: %d boxes of together %d, %v; want %d", tt.name, n, total, err, tt.n)
		}
	}
	if days, ok := DaysOfCover(75*kg, 2.5); !ok || days != 30 {
		t.Errorf("75 kg at 2.5 kg a day cover %g days, %v; want 30", days, ok)
	}
	if _, ok := DaysOfCover(75*kg, 0); ok {
		t.Error("a stock nobody uses was given an end")
	}
	// By hand: mean 2, deviations −2, 0, 2, so variance 8/2 = 4.
	if mean, sd := DailyUse([]measure.Mass{0, 2 * kg, 4 * kg}); mean != 2 || sd != 2 {
		t.Errorf("daily use %g ± %g, want 2 ± 2", mean, sd)
	}
	if mean, sd := DailyUse([]measure.Mass{3 * kg}); mean != 3 || sd != 0 {
		t.Errorf("a single day: %g ± %g, want 3 ± 0", mean, sd)
	}
}

func TestSuggestLiftsThePositionToThePoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Position{measure.Mass(rapid.Int64Range(0, 200_000_000).Draw(t, "usable")), measure.Mass(rapid.Int64Range(0, 100_000_000).Draw(t, "on order"))}
		point := float64(rapid.IntRange(0, 200).Draw(t, "point"))
		size := float64(rapid.IntRange(0, 200).Draw(t, "size"))
		box := measure.Mass(rapid.Int64Range(1, 30).Draw(t, "box")) * kg
		s, err := Suggest(p, point, size, box)
		if err != nil {
			t.Fatal(err)
		}
		at := p.Usable + p.OnOrder
		if limit := measure.Mass(point) * kg; at > limit && s.Boxes != 0 || at <= limit && at+s.Mass < limit {
			t.Fatalf("position %d, point %d: %+v", at, limit, s)
		}
		if s.Boxes > 0 && s.Mass-box >= max(s.Short, measure.Mass(size)*kg) {
			t.Fatalf("one box less would do: %+v", s)
		}
	})
}

func TestCountVariance(t *testing.T) {
	lines := []Counted{
		{Place: "S2", Lot: "B", By: "ana", Reason: "spill", Books: 10 * kg, Found: 9 * kg, Price: 1250},
		{Place: "S1", Lot: "A", By: "ana", Reason: "spill", Books: 5 * kg, Found: 5*kg + 4, Price: 1250},
		{Place: "S1", Lot: "C", By: "ben", Books: 1 * kg, Found: 1 * kg, Price: 900},
		{Place: "S3", Lot: "D", By: "ben", Books: 0, Found: 2 * kg},
	}
	total, groups, err := CountVariance(lines)
	// By hand: −1 kg at 12.50 is −12.50; 4 mg are worth nothing; 2 kg without a price.
	want := Variance{Lines: 4, Off: 3, Mass: kg + 4, Gross: 3*kg + 4, Money: -1250, Unknown: 1}
	if err != nil || total != want {
		t.Errorf("total %+v, %v; want %+v", total, err, want)
	}
	if len(groups) != 2 || groups[0].By != "ana" || groups[0].Mass != 4-kg || groups[1].Mass != 2*kg {
		t.Errorf("groups %+v", groups)
	}
	for i, l := range BlindSheet(lines) {
		if l.Books != 0 || l.Found != 0 || l.Price != 0 || l.Lot != []string{"A", "C", "B", "D"}[i] {
			t.Errorf("line %d of the blind sheet shows %+v", i, l)
		}
	}
}

func ExampleReorderPoint() {
	z, _ := Z(950)
	r, _ := ReorderPoint(Demand{PerDayKG: 12, SDPerDayKG: 4, LeadDays: 9}, z)
	fmt.Printf("keep %.1f kg, order at %.1f kg\n", r.SafetyKG, r.PointKG)
	s, _ := Suggest(Position{Usable: 100 * kg, OnOrder: 25 * kg}, r.PointKG, 60, 25*kg)
	fmt.Println(s.Boxes, "boxes")
	// Output:
	// keep 19.7 kg, order at 127.7 kg
	// 3 boxes
}
