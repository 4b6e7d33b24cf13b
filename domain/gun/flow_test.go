package gun

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

func deposits(t testing.TB) *Deposit {
	t.Helper()
	d, err := FitDeposit([]DepositTest{{80_000, 780}, {150_000, 700}, {220_000, 580}, {300_000, 430}})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

var work = Work{Need: 120 * measure.Gram, PerMinute: 110, Price: 900}

func TestBestFlowWeighsTimeAgainstPowder(t *testing.T) {
	d := deposits(t)
	b, err := BestFlow(d, work)
	if err != nil || !b.Found {
		t.Fatal(b, err)
	}
	// By hand at the best flow: minutes = need/(g·T), powder = need·(1/T−1)·price.
	g, te := b.Best.MGPerMin, b.Best.TE
	if want, _ := d.At(g); te != want {
		t.Errorf("T %g, curve says %g", te, want)
	}
	if want := 120_000 / (g * te); !near(b.Best.Minutes, want, 1e-9) {
		t.Errorf("minutes %g, want %g", b.Best.Minutes, want)
	}
	if want := 0.120 * (1/te - 1) * 900; !near(b.Best.Powder, want, 1e-9) {
		t.Errorf("powder %g, want %g", b.Best.Powder, want)
	}
	if !near(b.Best.Total, b.Best.Time+b.Best.Powder, 1e-9) || len(b.Curve) != shown+1 {
		t.Errorf("%+v", b.Best)
	}
	if !(b.FlatLo < g && g < b.FlatHi) {
		t.Errorf("best %g is not inside its flat part %g to %g", g, b.FlatLo, b.FlatHi)
	}
	dear, cheap := work, work
	dear.Price, cheap.Price = 5000, 100
	slow, _ := BestFlow(d, dear)
	fast, _ := BestFlow(d, cheap)
	if !(slow.Best.MGPerMin < g && g < fast.Best.MGPerMin) {
		t.Errorf("dear powder %g, usual %g, cheap %g mg/min", slow.Best.MGPerMin, g, fast.Best.MGPerMin)
	}
}

func TestEndsOfTheTestedRange(t *testing.T) {
	d := deposits(t)
	free := work
	free.PerMinute = 0 // time costs nothing: as little blow-by as was tested
	if b, _ := BestFlow(d, free); b.Best.MGPerMin != 80_000 {
		t.Errorf("without the cost of time %g, want 80000", b.Best.MGPerMin)
	}
	all := work
	all.Recovered = 1000 // nothing is lost: as fast as deposits come, g·T
	b, _ := BestFlow(d, all)
	most := 0.0
	for _, p := range b.Curve {
		most = max(most, p.MGPerMin*p.TE)
	}
	if got := b.Best.MGPerMin * b.Best.TE; got < most-1e-9 {
		t.Errorf("deposits %g mg/min, the curve shows %g", got, most)
	}
}

func TestLimitsOfTheFlow(t *testing.T) {
	d := deposits(t)
	with := func(f func(*Work)) Best {
		w := work
		f(&w)
		b, err := BestFlow(d, w)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	if b := with(func(w *Work) { w.DustMaxMG = 100_000 }); !b.Found || b.Best.MGPerMin > 100_000 || b.FlatHi > 100_000 {
		t.Errorf("dust: %+v", b.Best)
	}
	if b := with(func(w *Work) { w.HoseMaxMG = 90_000 }); !b.Found || b.Best.MGPerMin > 90_000 {
		t.Errorf("hose: %+v", b.Best)
	}
	if b := with(func(w *Work) { w.Price = 20_000; w.TaktMin = 1.2 }); !b.Found || b.Best.Minutes > 1.2 || b.Best.Minutes < 1.19 {
		t.Errorf("takt: %+v", b.Best)
	}
	b := with(func(w *Work) { w.TaktMin = 0.1 })
	if b.Found || !slices.Equal(b.Limits, []Limit{TooSlow}) || len(b.Curve) != shown+1 {
		t.Errorf("a takt nobody can keep: %+v", b)
	}
	if b := with(func(w *Work) { w.DustMaxMG, w.HoseMaxMG = 10_000, 10_000 }); b.Found || !slices.Equal(b.Limits, []Limit{TooDusty, TooMuch}) {
		t.Errorf("neither dust nor hose: %+v", b.Limits)
	}
}

func TestNoAllowedFlowIsCheaper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var tests []DepositTest
		for i := range rapid.IntRange(2, 6).Draw(t, "tests") {
			tests = append(tests, DepositTest{50_000 * int64(i+1), rapid.Int64Range(200, 950).Draw(t, "te")})
		}
		d, err := FitDeposit(tests)
		if err != nil {
			t.Fatal(err)
		}
		w := Work{
			Need: measure.Mass(rapid.Int64Range(1, 500_000).Draw(t, "need")), PerMinute: rapid.Float64Range(0, 500).Draw(t, "per minute"),
			Price: rapid.Int64Range(0, 5000).Draw(t, "price"), Recovered: measure.Share(rapid.Int64Range(0, 1000).Draw(t, "recovered")),
			TaktMin: rapid.SampledFrom([]float64{0, 1, 3}).Draw(t, "takt"), DustMaxMG: rapid.SampledFrom([]float64{0, 120_000}).Draw(t, "dust"),
		}
		b, err := BestFlow(d, w)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range b.Curve {
			if p.Limits == nil && (!b.Found || p.Total < b.Best.Total) {
				t.Fatalf("%+v is cheaper than %+v (found %v)", p, b.Best, b.Found)
			}
			inFlat := b.Found && p.MGPerMin >= b.FlatLo && p.MGPerMin <= b.FlatHi
			if inFlat && (p.Limits != nil || p.Total > 1.02*b.Best.Total+1e-9) {
				t.Fatalf("%+v lies in the flat part %g to %g of %+v", p, b.FlatLo, b.FlatHi, b.Best)
			}
		}
	})
}

func TestFlowErrorsNameTheField(t *testing.T) {
	for what, spoil := range map[string]func(*Work){
		"need_mg":      func(w *Work) { w.Need = 0 },
		"per_minute":   func(w *Work) { w.PerMinute = math.NaN() },
		"price":        func(w *Work) { w.Price = -1 },
		"recovered_pm": func(w *Work) { w.Recovered = 1001 },
		"takt_min":     func(w *Work) { w.TaktMin = -1 },
		"dust_max_mg":  func(w *Work) { w.DustMaxMG = 2e9 },
		"hose_max_mg":  func(w *Work) { w.HoseMaxMG = -1 },
	} {
		w := work
		spoil(&w)
		_, err := BestFlow(deposits(t), w)
		fault(t, err, what)
	}
	w := work
	w.Need = NeedMax + 1
	_, err := BestFlow(deposits(t), w)
	fault(t, err, "need_mg")
}

func ExampleBestFlow() {
	d, _ := FitDeposit([]DepositTest{{80_000, 780}, {150_000, 700}, {220_000, 580}, {300_000, 430}})
	b, _ := BestFlow(d, Work{Need: 120 * measure.Gram, PerMinute: 110, Price: 900})
	fmt.Printf("%.0f g/min, %.2f min a part; within 2 %% from %.0f to %.0f g/min\n",
		b.Best.MGPerMin/1000, b.Best.Minutes, b.FlatLo/1000, b.FlatHi/1000)
	// Output:
	// 170 g/min, 1.06 min a part; within 2 % from 148 to 194 g/min
}
