package stock

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"hoppertally/domain/internal/reference"
	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// By id: the demand and z that the inputs say, in the order of their numbers. Where a
// service of 95 % is asked for, the table recomputes with a z of 1.65.
var demands = map[string]func(in []float64) (d Demand, z float64){
	"I1": func(in []float64) (Demand, float64) { return Demand{in[0], in[1], in[2], 0}, in[3] },
	"I2": func(in []float64) (Demand, float64) { return Demand{in[1], in[3] / math.Sqrt(in[2]), in[2], 0}, in[4] }, // σ over the lead time
	"I4": func(in []float64) (Demand, float64) { return Demand{in[0], in[1], in[2], 0}, 1.65 },
	"I5": func(in []float64) (Demand, float64) { return Demand{in[0], 0, in[1], in[2]}, 1.65 },
}

func TestPublishedOrders(t *testing.T) {
	reference.Each(t, "inventory-examples.csv", 5, reference.Columns("id"), func(t testing.TB, row reference.Row) {
		in := numbers(t, row["inputs"])
		published, again := reference.Figures(row["published"]), reference.Figures(row["recomputed_ss_then_rop"])
		says := func(what string, got float64, want string) {
			t.Helper()
			if !reference.Printed(got, want) {
				t.Errorf("%s: %s %g; want %s (%s, %s)", row["id"], what, got, want, row["source"], row["mark"])
			}
		}
		if row["id"] == "I7" {
			got, err := OrderSize(in[0], in[1], in[2])
			if err != nil {
				t.Fatal(err)
			}
			says("order size", got, again[0])
			return
		}
		of, ok := demands[row["id"]]
		if !ok {
			t.Fatalf("%v is not asserted", row)
		}
		d, z := of(in)
		got, err := ReorderPoint(d, z)
		if err != nil {
			t.Fatal(err)
		}
		switch row["id"] {
		case "I1":
			says("safety stock", got.SafetyKG, published[0])
			says("reorder point", got.PointKG, published[1])
		case "I2": // mean lead-time demand 280; safety stock 24.75 (25); reorder point 305
			says("demand over the lead time", in[1]*in[2], reference.Figures(row["inputs"])[0])
			for i, x := range []float64{got.SafetyKG, got.SafetyKG, got.PointKG} {
				says("published", x, published[i])
			}
		case "I4", "I5": // z 1.65: sigma_L 3.4641; 5.7158; 20.7158
			if in[3] != 95 {
				t.Errorf("%s: a service of %v %%; want 95", row["id"], in[3])
			}
			says("z", z, again[0])
			says("deviation over the lead time", got.SafetyKG/z, again[1])
			again = again[2:]
		}
		says("safety stock", got.SafetyKG, again[0])
		says("reorder point", got.PointKG, again[1])
	})
	if got, err := ReorderPoint(Demand{5, 0, 3, 0}, 1.65); err != nil || got.SafetyKG != 0 || got.PointKG != 15 { // by hand
		t.Errorf("nothing varies, but something is kept for bad luck: %+v, %v", got, err)
	}
}

func numbers(t testing.TB, cell string) (list []float64) {
	t.Helper()
	for _, text := range reference.Figures(cell) {
		list = append(list, reference.Number(t, text))
	}
	return list
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
