package reconcile

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/internal/reference"
	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

// The balances and uncertainties of the rows of data-reconciliation.csv, as their
// column model says them.
var models = map[string]struct {
	a  [][]float64
	sd []float64
}{
	"R1": {[][]float64{{1, -1, -1, 0, 0, 0}, {0, 1, 0, -1, 0, 0}, {0, 0, 1, 0, -1, 0}, {0, 0, 0, 1, 1, -1}}, []float64{1, 1, 1, 1, 1, 1}},
	"R2": {[][]float64{{1, -1, -1}}, []float64{4.8, 3.9, 4.4}},
}

func TestReference(t *testing.T) {
	// The column model spells out the balances; of it only the deviations of R2 are figures.
	reference.Each(t, "data-reconciliation.csv", len(models), reference.Columns("id"), func(t testing.TB, row reference.Row) {
		m, ok := models[row["id"]]
		if !ok {
			t.Fatalf("%v is not asserted", row)
		}
		sd := m.sd
		if said := reference.Figures(row["model"]); len(said) > 0 {
			sd = numbers(t, said)
		}
		s, err := Solve(m.a, numbers(t, reference.Figures(row["measured"])), sd)
		if err != nil {
			t.Fatal(err)
		}
		for i, text := range reference.Figures(row["reconciled"]) {
			if !reference.Printed(s.Reconciled[i], text) {
				t.Errorf("%s: x%d is reconciled to %v; want %s (%s; %s)", row["id"], i+1, s.Reconciled[i], text, row["source"], row["mark"])
			}
		}
	}, "measured", "model")
}

func numbers(t testing.TB, figures []string) (list []float64) {
	t.Helper()
	for _, text := range figures {
		list = append(list, reference.Number(t, text))
	}
	return list
}

// Two flows that should be equal: every figure of the solution by hand.
func TestTwoScalesThatDisagree(t *testing.T) {
	s, err := Solve([][]float64{{1, -1}}, []float64{10, 13}, []float64{1, 2})
	if err != nil {
		t.Fatal(err)
	}
	// By hand: off by −3 with variance 1+4 = 5; shares 1/5 and 4/5.
	tests := []struct {
		name      string
		got, want float64
		source    string
	}{
		{"the first takes a fifth", s.Adjustments[0], 0.6, "3·1/5"},
		{"the second takes four fifths", s.Adjustments[1], -2.4, "−3·4/5"},
		{"both meet", s.Reconciled[0], 10.6, "10 + 0.6"},
		{"both meet", s.Reconciled[1], 10.6, "13 − 2.4"},
		{"sd of what they agree on", s.ReconciledSD[0], math.Sqrt(0.8), "1/(1/1 + 1/4) = 0.8"},
		{"sd of what they agree on", s.ReconciledSD[1], math.Sqrt(0.8), "1/(1/1 + 1/4) = 0.8"},
		{"sd of the first adjustment", s.AdjustmentSD[0], 1 / math.Sqrt(5), "1·√(1/5)"},
		{"sd of the second adjustment", s.AdjustmentSD[1], 4 / math.Sqrt(5), "2·√(4/5)"},
		{"one balance cannot tell them apart", s.Standardised[0], 3 / math.Sqrt(5), "0.6·√5"},
		{"one balance cannot tell them apart", s.Standardised[1], 3 / math.Sqrt(5), "2.4·√5/4"},
		{"statistic", s.Statistic, 1.8, "9/5"},
		{"p-value", s.PValue, math.Erfc(math.Sqrt(1.8 / 2)), "one degree of freedom: erfc(√(χ²/2))"},
		{"sd of their sum", s.SDOf([]float64{1, 1}), 2 * math.Sqrt(0.8), "twice the same figure"},
		{"sd of their difference", s.SDOf([]float64{1, -1}), 0, "they are equal"},
	}
	for _, tt := range tests {
		if math.Abs(tt.got-tt.want) > 1e-7 {
			t.Errorf("%s: %.12g; want %.12g (by hand: %s)", tt.name, tt.got, tt.want, tt.source)
		}
	}
	if s.Redundancy != 1 {
		t.Errorf("redundancy %d; want 1", s.Redundancy)
	}
}

func TestWhatNoBalanceTouchesStaysAsItIs(t *testing.T) {
	s, err := Solve([][]float64{{1, -1, 0, 1}, {1, 1, 0, -1}, {2, 0, 0, 0}}, []float64{10, 13, 7, 5}, []float64{1, 2, 3, 0.5})
	if err != nil || s.Redundancy != 2 { // by hand: the third balance is the sum of the others
		t.Fatalf("%+v, %v; want 2 balances that are independent", s, err)
	}
	if s.Reconciled[2] != 7 || s.Adjustments[2] != 0 || s.AdjustmentSD[2] != 0 || s.Standardised[2] != 0 || math.Abs(s.ReconciledSD[2]-3) > 1e-12 {
		t.Errorf("%+v; want the third measurement as it was, 7 ± 3", s)
	}
}

// The chi-squared test against printed quantiles.
func TestPValueIsChiSquared(t *testing.T) {
	for dof, quantile := range map[int]float64{1: 3.841, 2: 5.991, 4: 9.488} { // tables of χ² at 0.95, from memory
		x, sd, a := make([]float64, dof), make([]float64, dof), make([][]float64, dof)
		for i := range dof {
			x[i], sd[i] = math.Sqrt(quantile/float64(dof)), 1
			a[i] = make([]float64, dof)
			a[i][i] = 1
		}
		s, err := Solve(a, x, sd)
		if err != nil || math.Abs(s.PValue-0.05) > 1e-4 || math.Abs(s.Statistic-quantile) > 1e-9 {
			t.Errorf("%d balances off by χ² = %v together: statistic %v, p %v, %v; want p 0.05", dof, quantile, s.Statistic, s.PValue, err)
		}
	}
}

func TestErrorsNameFieldValueAndRange(t *testing.T) {
	one := [][]float64{{1, -1}}
	solve := func(a [][]float64, x, sd []float64) error { _, err := Solve(a, x, sd); return err }
	flows := func(m []Measured, b ...Balance) error { _, err := Flows(m, b); return err }
	closing := func(change func(*Run)) error { r := booth(); change(&r); _, err := r.Close(); return err }
	level := func(l float64) error { _, err := (Solution{}).Suspects(l); return err }
	two := []Measured{{"a", 1, 1}, {"b", 1, 1}}
	tests := []struct {
		name, field, got string
		err              error
	}{
		{"nothing measured", "measured", "0", solve(one, nil, nil)},
		{"too much measured", "measured", "201", solve(one, make([]float64, 201), make([]float64, 201))},
		{"fewer uncertainties than measurements", "sd", "1", solve(one, []float64{1, 2}, []float64{1})},
		{"an uncertainty of nothing", "sd[1]", "0", solve(one, []float64{1, 2}, []float64{1, 0})},
		{"an uncertainty below nothing", "sd[0]", "-1", solve(one, []float64{1, 2}, []float64{-1, 1})},
		{"an uncertainty that is no number", "sd[0]", "NaN", solve(one, []float64{1, 2}, []float64{math.NaN(), 1})},
		{"uncertainties too far apart", "sd[1]", "1.00001e+06", solve(one, []float64{1, 2}, []float64{1, 1.00001e6})},
		{"a value that is no number", "measured[1]", "NaN", solve(one, []float64{1, math.NaN()}, []float64{1, 1})},
		{"a value too large", "measured[0]", "+Inf", solve(one, []float64{math.Inf(1), 1}, []float64{1, 1})},
		{"a balance of another size", "balances[1]", "3 factors", solve([][]float64{{1, -1}, {1, 1, 1}}, []float64{1, 2}, []float64{1, 1})},
		{"a factor that is no number", "balances[0]", "NaN", solve([][]float64{{math.NaN(), 1}}, []float64{1, 2}, []float64{1, 1})},
		{"more balances than measurements", "balances", "3", solve([][]float64{{1, 1}, {1, 1}, {1, 1}}, []float64{1, 2}, []float64{1, 1})},
		{"no balance", "balances", "0", solve(nil, []float64{1, 2}, []float64{1, 1})},
		{"a balance that touches nothing", "balances", "1", solve([][]float64{{0, 0}}, []float64{1, 2}, []float64{1, 1})},
		{"a flow on both sides cancels, and nothing is left", "balances", "1", flows(two, Balance{[]string{"a"}, []string{"a"}})},
		{"unknown measurement going in", "balances[0].in[1]", "c", flows(two, Balance{[]string{"a", "c"}, []string{"b"}})},
		{"unknown measurement coming out", "balances[1].out[0]", "", flows(two, Balance{[]string{"a"}, []string{"b"}}, Balance{nil, []string{""}})},
		{"a name twice", "measured[1].id", "a", flows([]Measured{{"a", 1, 1}, {"a", 2, 1}})},
		{"a negative weighing", "scrapped.kg", "-1", closing(func(r *Run) { r.Scrapped.KG = -1 })},
		{"a weighing without uncertainty", "left_over.sd_kg", "0", closing(func(r *Run) { r.LeftOver.SD = 0 })},
		{"an assumed loss without uncertainty", "lost.sd_kg", "0", closing(func(r *Run) { r.Lost = &Weighed{1, 0} })},
		{"more than everything on parts", "te.share", "1.1", closing(func(r *Run) { r.TE.Share = 1.1 })},
		{"an uncertainty of a rate below nothing", "recovery_rate.sd", "-0.1", closing(func(r *Run) { r.Recovery.SD = -0.1 })},
		{"a flow without uncertainty", "measured[1].sd", "0", flows([]Measured{{"a", 1, 1}, {"b", 1, 0}}, Balance{[]string{"a"}, []string{"b"}})},
		{"a flow too large", "measured[0].value", "2e+12", flows([]Measured{{"a", 2e12, 1}, {"b", 1, 1}}, Balance{[]string{"a"}, []string{"b"}})},
		{"weighings too far apart in uncertainty", "lost.sd_kg", "60000", closing(func(r *Run) { r.Lost = &Weighed{1, 60000} })},
		{"a level of nothing", "level", "0", level(0)},
		{"a level of one", "level", "1", level(1)},
	}
	for _, tt := range tests {
		var f *measure.Fault
		if !errors.As(tt.err, &f) || f.What != tt.field || f.Got != tt.got || f.Want == "" {
			t.Errorf("%s: %v; want a fault on %s = %s", tt.name, tt.err, tt.field, tt.got)
		}
	}
	if err := solve(one, []float64{1, 2}, []float64{1, 1e6}); err != nil {
		t.Errorf("uncertainties at the widest spread: %v", err)
	}
}

// booth is a sound run: 20 charged, 5 left, so 15 sprayed; 60 % of it is 9 on
// parts, 90 % of the other 6 is 5.4 recovered, 0.2 scrapped and 0.4 lost.
func booth() Run {
	return Run{Charged: Weighed{20, 0.05}, Recovered: Weighed{5.4, 0.05}, Scrapped: Weighed{0.2, 0.05}, OnParts: Weighed{9, 0.3},
		LeftOver: Weighed{5, 0.05}, Lost: &Weighed{0.4, 0.2}, TE: Rate{0.6, 0.03}, Recovery: Rate{0.9, 0.03}}
}

func TestRuns(t *testing.T) {
	tests := []struct {
		name     string
		change   func(*Run)
		suspects string
		lost     float64
		within   float64
		source   string
	}{
		{"a sound run keeps its figures", func(*Run) {}, "", 0.4, 1e-12, "by hand: 20 − 5 − 9 − 5.4 − 0.2"},
		{"a loss nobody knows is what is left", func(r *Run) { r.Lost = nil }, "", 0.4, 1e-12, "by hand: the same"},
		{"a loss nobody knows, and no rates", func(r *Run) { r.Lost, r.TE, r.Recovery = nil, Rate{}, Rate{} }, "", 0.4, 1e-12, "by hand: the same"},
		{"more found than charged is a loss below nothing", func(r *Run) { r.Lost, r.TE, r.Recovery, r.Scrapped.KG = nil, Rate{}, Rate{}, 1 }, "", -0.4, 1e-12, "by hand: 20 − 5 − 9 − 5.4 − 1"},
		{"without rates nobody can say which of six", func(r *Run) { r.TE, r.Recovery, r.LeftOver.KG = Rate{}, Rate{}, 9 }, "charged recovered scrapped on_parts left_over lost", 0.4 - 4*0.04/0.14, 1e-12, "by hand: 4 short over variance 0.14, of which the loss takes 0.04"},
	}
	for _, tt := range tests {
		r := booth()
		tt.change(&r)
		c, err := r.Close()
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		list, err := c.Suspects(0.05)
		if got := strings.Join(Named(c.Measured, list), " "); got != tt.suspects || err != nil {
			t.Errorf("%s: suspects %q, %v; want %q (χ² %.3g, p %.3g, standardised %.3g)", tt.name, got, err, tt.suspects, c.Statistic, c.PValue, c.Standardised)
		}
		if math.Abs(c.LostKG-tt.lost) > tt.within || !(c.LostSD > 0) {
			t.Errorf("%s: lost %v ± %v kg; want %v (%s)", tt.name, c.LostKG, c.LostSD, tt.lost, tt.source)
		}
	}
}

// One gross error in a run whose rates are known. Once the suspect is set aside,
// by an uncertainty of 10 kg, the rest fits and gives the true loss again.
func TestAWrongWeighingIsPointedAt(t *testing.T) {
	tests := []struct {
		name     string
		wrong    func(*Run) *Weighed
		kg       float64
		suspects string
	}{
		{"a digit too many in recovered", func(r *Run) *Weighed { return &r.Recovered }, 15.4, "recovered"},
		{"film read twice as thick as it is", func(r *Run) *Weighed { return &r.OnParts }, 18, "on_parts"},
		{"a box of scrap never booked: scrap and loss stand in the same one balance", func(r *Run) *Weighed { return &r.Scrapped }, 4, "scrapped lost"},
		{"half of what went in never booked: charged and left over have the same balances", func(r *Run) *Weighed { return &r.Charged }, 14, "charged left_over"},
	}
	for _, tt := range tests {
		r := booth()
		tt.wrong(&r).KG = tt.kg
		c, err := r.Close()
		if err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		list, err := c.Suspects(0.05)
		if got := strings.Join(Named(c.Measured, list), " "); got != tt.suspects || err != nil {
			t.Errorf("%s: suspects %q, %v; want %q (χ² %.3g, standardised %.3g)", tt.name, got, err, tt.suspects, c.Statistic, c.Standardised)
		}
		tt.wrong(&r).SD = 10
		c, err = r.Close()
		if err != nil || math.Abs(c.LostKG-0.4) > 0.2 || c.PValue < 0.5 {
			t.Errorf("%s: with it set aside the loss is %v, p %v, %v; want about 0.4 and a fit", tt.name, c.LostKG, c.PValue, err)
		}
	}
}

func TestUnknownLossCarriesTheUncertaintyOfTheRest(t *testing.T) {
	r := booth()
	r.Lost, r.TE, r.Recovery = nil, Rate{}, Rate{}
	c, err := r.Close()
	want := math.Sqrt(4*0.05*0.05 + 0.3*0.3) // by hand: root of the sum of squares
	if err != nil || math.Abs(c.LostSD-want) > 1e-12 || c.Redundancy != 0 || c.PValue != 1 || c.Off != 0 {
		t.Errorf("%+v, %v; want a loss with sd %v and nothing tested", c, err, want)
	}
	r.TE = Rate{0.6, 0.03}
	if d, err := r.Close(); err != nil || d.LostSD >= c.LostSD || d.Redundancy != 1 {
		t.Errorf("with a known rate the loss is known to %v, %v; want better than %v", d.LostSD, err, c.LostSD)
	}
}

// Whatever was measured: reconciled values keep every balance, what keeps them
// already is left alone, an extra copy of a balance changes nothing, uncertainty
// never grows.
func TestSolutionsHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(t, "measurements")
		x := rapid.SliceOfN(rapid.Float64Range(0, 100), n, n).Draw(t, "x")
		sd := rapid.SliceOfN(rapid.Float64Range(0.01, 2), n, n).Draw(t, "sd")
		a := make([][]float64, rapid.IntRange(1, n).Draw(t, "balances"))
		touched := false
		for k := range a {
			a[k] = make([]float64, n)
			for i := range a[k] {
				a[k][i] = float64(rapid.IntRange(-1, 1).Draw(t, "factor"))
				touched = touched || a[k][i] != 0
			}
		}
		s, err := Solve(a, x, sd)
		if !touched {
			if err == nil {
				t.Fatal("no balance touches anything, and it is solved")
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		for k, row := range a {
			if off := dot(row, s.Reconciled); math.Abs(off) > 1e-9 || s.SDOf(row) > 1e-6 {
				t.Fatalf("balance %d is off by %v ± %v after reconciling", k, off, s.SDOf(row))
			}
		}
		again, err := Solve(append(a[:len(a):len(a)], a[0])[:min(n, len(a)+1)], s.Reconciled, sd)
		if err != nil || again.Statistic > 1e-12 || again.Redundancy != s.Redundancy {
			t.Fatalf("solving again moves it by χ² = %v (%v)", again.Statistic, err)
		}
		sum := 0.0
		for i := range x {
			sum += math.Pow(s.Adjustments[i]/sd[i], 2)
			if s.ReconciledSD[i] > sd[i]*(1+1e-12) || s.Standardised[i] > math.Sqrt(s.Statistic)*(1+1e-6)+1e-9 {
				t.Fatalf("measurement %d: %+v", i, s)
			}
		}
		if math.Abs(sum-s.Statistic) > 1e-9*(1+sum) || !(s.PValue >= 0 && s.PValue <= 1) {
			t.Fatalf("χ² %v is not the sum of squares %v; p %v", s.Statistic, sum, s.PValue)
		}
	})
}

// A large error in a flow that two balances see is pointed at.
func TestTheWrongFlowIsPointedAt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := []float64{100, 64, 36, 64, 36, 100}            // R1's network, in balance
		i := rapid.SampledFrom([]int{0, 5}).Draw(t, "flow") // x2 and x4, x3 and x5 and their likes can stand for each other only in pairs
		x[i] += rapid.SampledFrom([]float64{-1, 1}).Draw(t, "sign") * rapid.Float64Range(8, 50).Draw(t, "error")
		s, err := Solve(models["R1"].a, x, models["R1"].sd)
		if err != nil {
			t.Fatal(err)
		}
		if list, err := s.Suspects(0.05); err != nil || !slices.Equal(list, []int{i}) {
			t.Fatalf("flow %d is wrong, suspects are %v, %v (standardised %v)", i, list, err, s.Standardised)
		}
	})
}

func dot(a, b []float64) (sum float64) {
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// χ² by hand: off by 2 and −0.1; with sd 0.05 it is 80·(3·2² + 4·2·(−0.1) + 3·0.1²) = 898.4.
func ExampleFlows() {
	weighed := []Measured{{"charged", 20, 0.05}, {"hopper", 14.1, 0.05}, {"bin", 3.9, 0.05}, {"sum of both", 18.1, 0.05}}
	s, _ := Flows(weighed, []Balance{
		{In: []string{"charged"}, Out: []string{"hopper", "bin"}},
		{In: []string{"hopper", "bin"}, Out: []string{"sum of both"}},
	})
	suspects, _ := s.Suspects(0.05)
	fmt.Printf("%.2f χ² %.0f with %d balances, suspect: %v\n", s.Reconciled, s.Statistic, s.Redundancy, Named(weighed, suspects))
	// Output:
	// [18.84 14.52 4.32 18.84] χ² 898 with 2 balances, suspect: [charged]
}

func ExampleRun() {
	r := Run{Charged: Weighed{20, 0.05}, Recovered: Weighed{4.2, 0.05}, Scrapped: Weighed{0.2, 0.05},
		OnParts: Weighed{9, 0.4}, LeftOver: Weighed{5, 0.05}}
	c, _ := r.Close()
	fmt.Printf("lost %.2f ± %.2f kg\n", c.LostKG, c.LostSD)
	// Output:
	// lost 1.60 ± 0.41 kg
}
