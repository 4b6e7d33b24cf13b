package gun

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

func fault(t *testing.T, err error, what string) {
	t.Helper()
	var e *measure.Fault
	if !errors.As(err, &e) || e.What != what || e.Got == "" || e.Want == "" {
		t.Errorf("%v, want a fault of %s", err, what)
	}
}

var outputTests = []OutputTest{{100, 80_000}, {150, 120_000}, {200, 170_000}, {250, 200_000}}

func TestOutputPassesThroughTheTests(t *testing.T) {
	o, err := FitOutput(outputTests)
	if err != nil || o.Pooled() {
		t.Fatal(err, o.Pooled())
	}
	for _, p := range outputTests {
		if got, err := o.At(float64(p.MainKPA)); err != nil || got != float64(p.MGPerMin) {
			t.Errorf("at %d kPa: %g, %v; weighed %d", p.MainKPA, got, err, p.MGPerMin)
		}
		if got, err := o.For(float64(p.MGPerMin)); err != nil || !near(got, float64(p.MainKPA), 0.01) {
			t.Errorf("for %d mg/min: %g kPa, %v; weighed at %d", p.MGPerMin, got, err, p.MainKPA)
		}
	}
	// By hand: slopes 0.8, 1.0, 0.6 g/min per kPa give 0.8889 and 0.75 at 150 and
	// 200 kPa (Fritsch, Butland), so halfway 145 + 50/8·(0.8889−0.75) = 145.868.
	if got, _ := o.At(175); !near(got, 145_868, 0.1) {
		t.Errorf("at 175 kPa %g, want 145868", got)
	}
	for _, kpa := range []float64{99.9, 250.1, math.NaN()} {
		_, err := o.At(kpa)
		fault(t, err, "main_kpa")
	}
	for _, mg := range []float64{79_999, 200_001, math.NaN()} {
		_, err := o.For(mg)
		fault(t, err, "mg_per_min")
	}
}

func TestTestsThatContradictEachOther(t *testing.T) {
	// By hand: 150 kPa weighed twice is 110; 200 kPa at 100 runs the wrong way, so
	// the three tests become (2·110 + 100)/3 = 106 667.
	o, err := FitOutput([]OutputTest{{150, 100_000}, {150, 120_000}, {200, 100_000}, {100, 80_000}, {250, 180_000}})
	if err != nil || !o.Pooled() {
		t.Fatal(err)
	}
	for _, kpa := range []float64{150, 170, 200} {
		if got, _ := o.At(kpa); !near(got, 320_000.0/3, 1e-6) {
			t.Errorf("at %g kPa %g, want 106666.67", kpa, got)
		}
	}
	if got, _ := o.For(320_000.0 / 3); !near(got, 150, 0.01) {
		t.Errorf("the lowest air for the pooled output is %g, want 150", got)
	}
}

func TestCurveErrorsNameTheField(t *testing.T) {
	output := func(tests ...OutputTest) error { _, err := FitOutput(tests); return err }
	deposit := func(tests ...DepositTest) error { _, err := FitDeposit(tests); return err }
	fault(t, output(), "tests")
	fault(t, output(OutputTest{100, 1}, OutputTest{100, 2}), "tests")
	fault(t, output(make([]OutputTest, PointsMax+1)...), "tests")
	fault(t, output(OutputTest{1001, 1}), "tests[0].main_kpa")
	fault(t, output(OutputTest{1, 1}, OutputTest{1, OutputMax + 1}), "tests[1].mg_per_min")
	fault(t, deposit(DepositTest{100, 600}), "deposits")
	fault(t, deposit(DepositTest{0, 600}), "deposits[0].mg_per_min")
	fault(t, deposit(DepositTest{1, 0}), "deposits[0].te_pm")
	d, err := FitDeposit([]DepositTest{{100_000, 700}, {200_000, 500}})
	if err != nil {
		t.Fatal(err)
	}
	_, err = d.At(200_001)
	fault(t, err, "mg_per_min")
}

// Whatever was weighed, the output never falls with more air, the transfer
// efficiency never rises with more powder, and neither leaves the weighed range.
func TestCurvesAreMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var outs []OutputTest
		var deps []DepositTest
		for i := range rapid.IntRange(2, 12).Draw(t, "tests") {
			kpa := rapid.Int64Range(0, 300).Draw(t, "kpa")
			if i == 0 {
				kpa = 301
			}
			outs = append(outs, OutputTest{kpa, rapid.Int64Range(0, 400_000).Draw(t, "output")})
			deps = append(deps, DepositTest{kpa + 1, rapid.Int64Range(1, 1000).Draw(t, "te")})
		}
		o, err1 := FitOutput(outs)
		d, err2 := FitDeposit(deps)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		lo, hi, least, most := o.Range()
		lastOut, lastTE := least, 1.0
		for i := range 201 {
			x := min(lo+(hi-lo)*float64(i)/200, hi)
			out, err := o.At(x)
			if err != nil || out < lastOut-1e-6 || out > most+1e-6 {
				t.Fatalf("output %g at %g after %g, %v", out, x, lastOut, err)
			}
			te, err := d.At(min(x+1, hi+1))
			if err != nil || te > lastTE+1e-9 || te <= 0 {
				t.Fatalf("te %g at %g after %g, %v", te, x, lastTE, err)
			}
			lastOut, lastTE = out, te
		}
	})
}

func ExampleOutput_At() {
	o, _ := FitOutput(outputTests)
	mg, _ := o.At(175)
	kpa, _ := o.For(150_000)
	fmt.Printf("%.0f mg/min at 175 kPa; %.1f kPa for 150 g/min\n", mg, kpa)
	_, err := o.At(300)
	fmt.Println(err)
	// Output:
	// 145868 mg/min at 175 kPa; 178.8 kPa for 150 g/min
	// main_kpa: got 300, want within the tested range, 100 to 250 kPa
}
