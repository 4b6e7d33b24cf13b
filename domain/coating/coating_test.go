package coating_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"hoppertally/domain/coating"
	m "hoppertally/domain/measure"

	"pgregory.net/rapid"
)

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(1, math.Abs(a), math.Abs(b)) }

func TestPowderNeed(t *testing.T) {
	job := coating.Job{AreaM2: 200, FilmUM: 60, SG: 1.5, Utilisation: 0.9, StaysKG: 5, LossKG: 1, BoxKG: 20, PriceKG: 4}
	tests := []struct {
		name   string
		change func(*coating.Job)
		want   coating.Need
		source string
	}{
		{"two boxes for 26 kg", func(*coating.Job) {}, coating.Need{OnPartsKG: 18, UsedKG: 20, BuyKG: 26, Boxes: 2, LeftKG: 14, Cost: 160, PerM2: 0.4}, "by hand: 200·60·1.5/1000 = 18; /0.9 = 20"},
		{"boxes that just suffice", func(j *coating.Job) { j.StaysKG, j.LossKG = 0, 0 }, coating.Need{OnPartsKG: 18, UsedKG: 20, BuyKG: 20, Boxes: 1, Cost: 80, PerM2: 0.4}, "by hand"},
		{"a gram more opens another", func(j *coating.Job) { j.StaysKG, j.LossKG = 0, 0.001 }, coating.Need{OnPartsKG: 18, UsedKG: 20, BuyKG: 20.001, Boxes: 2, LeftKG: 19.999, Cost: 160, PerM2: 0.4}, "by hand"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			j := job
			tt.change(&j)
			g, err := coating.PowderNeed(j)
			w := tt.want
			if err != nil || !near(g.OnPartsKG, w.OnPartsKG) || !near(g.UsedKG, w.UsedKG) || !near(g.BuyKG, w.BuyKG) || g.Boxes != w.Boxes ||
				!near(g.LeftKG, w.LeftKG) || !near(g.Cost, w.Cost) || !near(g.PerM2, w.PerM2) {
				t.Errorf("%+v, %v; want %+v (%s)", g, err, w, tt.source)
			}
		})
	}
}

func TestMixSG(t *testing.T) {
	got, err := coating.MixSG([]coating.Ingredient{{MassKG: 3, SG: 1.5}, {MassKG: 4, SG: 2}, {MassKG: 0, SG: 9}})
	if err != nil || !near(got, 1.75) {
		t.Errorf("%v, %v; want 1.75 (by hand: 7 kg in 2 + 2 l)", got, err)
	}
}

func TestExcessFilm(t *testing.T) {
	got, err := coating.ExcessFilm(80, 60, 500, 1.5, 0.75, 4)
	if err != nil || !near(got.OnPartsKG, 15) || !near(got.UsedKG, 20) || !near(got.Money, 80) {
		t.Errorf("%+v, %v; want 15 kg, 20 kg, 80 (by hand: 20·500·1.5/1000)", got, err)
	}
	thin, err := coating.ExcessFilm(50, 60, 500, 1.5, 0.75, 4)
	if err != nil || !near(thin.OnPartsKG, -7.5) {
		t.Errorf("%+v, %v; want −7.5 kg", thin, err)
	}
}

func TestTransfer(t *testing.T) {
	w, err := coating.WeighedTransfer(coating.Weighed{HopperBeforeG: 5000, HopperAfterG: 4000, PartsBeforeG: 2000, PartsAfterG: 2600, HopperSDG: 10, PartsSDG: 3})
	// By hand: T = 0.6; u² = 0.36·(2·9/600² + 2·100/1000²) = 0.36·(5e-5 + 2e-4) = 9e-5
	if err != nil || !near(w.Value, 0.6) || !near(w.SD, math.Sqrt(9e-5)) {
		t.Errorf("weighed: %+v, %v; want 0.6 ± 0.009487 (by hand)", w, err)
	}
	r, err := coating.MeasuredTransfer(coating.Measured{SprayedKG: coating.Figure{Value: 15, SD: 0.3}, AreaM2: coating.Figure{Value: 100, SD: 1},
		FilmUM: coating.Figure{Value: 60, SD: 1.2}, SG: coating.Figure{Value: 1.5}})
	// By hand: 9/15; relative √(0.02² + 0.01² + 0.02²) = 0.03
	if err != nil || !near(r.Value, 0.6) || !near(r.SD, 0.018) {
		t.Errorf("measured: %+v, %v; want 0.6 ± 0.018 (by hand)", r, err)
	}
	none, err := coating.WeighedTransfer(coating.Weighed{HopperBeforeG: 10, HopperAfterG: 0, PartsSDG: 1})
	if err != nil || none.Value != 0 || !near(none.SD, math.Sqrt2/10) {
		t.Errorf("nothing stuck: %+v, %v; want 0 ± 0.1414", none, err)
	}
}

// The stated uncertainty is the spread of many tests with errors of that size.
func TestTransferUncertaintyIsTheSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := coating.Weighed{HopperBeforeG: 5000, HopperAfterG: rapid.Float64Range(3000, 4500).Draw(t, "after"), PartsBeforeG: 1000,
			HopperSDG: rapid.Float64Range(0, 5).Draw(t, "hopper sd"), PartsSDG: rapid.Float64Range(0, 5).Draw(t, "parts sd")}
		w.PartsAfterG = 1000 + (5000-w.HopperAfterG)*rapid.Float64Range(0.2, 0.9).Draw(t, "T")
		f, err := coating.WeighedTransfer(w)
		if err != nil {
			t.Fatal(err)
		}
		var squares float64 // a change by one SD in each weighing, squared and summed
		for i := range 4 {
			x := w
			*[]*float64{&x.HopperBeforeG, &x.HopperAfterG, &x.PartsBeforeG, &x.PartsAfterG}[i] += []float64{w.HopperSDG, w.HopperSDG, w.PartsSDG, w.PartsSDG}[i] * 1e-3
			g, err := coating.WeighedTransfer(x)
			if err != nil {
				t.Fatal(err)
			}
			squares += (g.Value - f.Value) * (g.Value - f.Value) * 1e6
		}
		if math.Abs(math.Sqrt(squares)-f.SD) > 1e-3*f.SD+1e-9 {
			t.Fatalf("SD %v; by small changes %v", f.SD, math.Sqrt(squares))
		}
	})
}

func TestAreaRuleLevels(t *testing.T) {
	at := func(level int, spot float64) []string {
		r, err := coating.AreaRule(level, 100, 200)
		if err != nil {
			t.Fatal(err)
		}
		v, err := r.Judge([]float64{150, 150, 150, 150, spot})
		if err != nil {
			t.Fatal(err)
		}
		return v.Why
	}
	tests := []struct {
		name  string
		level int
		spot  float64
		why   []string
	}{
		{"level 1 takes the minimum", 1, 100, nil}, {"and nothing below", 1, 99.9, []string{coating.ValueLow}},
		{"level 1 takes the maximum", 1, 200, nil}, {"and nothing above", 1, 200.1, []string{coating.ValueHigh}},
		{"level 2 takes 120 %", 2, 240, nil}, {"level 2 does not take 80 %", 2, 80, []string{coating.ValueLow}},
		{"level 3 takes 80 %", 3, 80, nil}, {"and nothing below", 3, 79.9, []string{coating.ValueLow}},
		{"level 4 takes 150 %", 4, 300, nil}, {"and nothing above", 4, 300.1, []string{coating.ValueHigh}},
		{"level 5 takes any", 5, 900, nil},
		{"a mean above the maximum fails at level 4", 4, 0, []string{coating.ValueLow}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if why := at(tt.level, tt.spot); !slices.Equal(why, tt.why) {
				t.Errorf("level %d with a spot of %v: %v; want %v", tt.level, tt.spot, why, tt.why)
			}
		})
	}
	r, _ := coating.AreaRule(3, 100, 120)
	for name, c := range map[string]struct {
		film []float64
		why  []string
	}{
		"four spots are too few":       {[]float64{110, 110, 110, 110}, []string{coating.FewValues}},
		"mean above the maximum":       {[]float64{130, 130, 130, 130, 130}, []string{coating.MeanHigh}},
		"everything wrong that can be": {[]float64{1, 1, 1000}, []string{coating.FewValues, coating.MeanHigh, coating.ValueLow, coating.ValueHigh}},
	} {
		if v, err := r.Judge(c.film); err != nil || !slices.Equal(v.Why, c.why) {
			t.Errorf("%s: %+v, %v; want %v", name, v, err, c.why)
		}
	}
}

func TestSamplingAboveAThousandSquareFeet(t *testing.T) {
	for ft2, want := range map[float64]int64{1001: 4, 2000: 4, 2001: 5, 10000: 12} {
		if s, err := coating.SamplingFor(ft2 * coating.FT2); err != nil || s.Areas != want {
			t.Errorf("%v ft²: %+v, %v; want %d (SSPC-PA 2, from memory)", ft2, s, err, want)
		}
	}
}

// window: 10 min at 200 °C, at most 20, clock from 180, peak 220.
var window = coating.Window{RefC: 200, MinMin: 10, MaxMin: 20, FromC: 180, PeakC: 220, EaKJ: 60}

func TestJudgeCure(t *testing.T) {
	hold := func(c, minutes float64) []coating.Logged {
		return []coating.Logged{{Minute: 0, C: 20}, {Minute: 10, C: c}, {Minute: 10 + minutes, C: c}, {Minute: 10 + minutes + 0.001, C: 20}}
	}
	tests := []struct {
		name    string
		curve   []coating.Logged
		verdict string
		why     []string
	}{
		{"long enough at temperature", hold(200, 12), coating.CurePass, nil},
		{"too short", hold(200, 8), coating.CureUnder, []string{"minutes.few"}},
		{"too cool makes it too short", hold(185, 12), coating.CureUnder, []string{"minutes.few"}},
		{"warmer makes up for less time", hold(210, 9), coating.CurePass, nil},
		{"too long", hold(200, 21), coating.CureOver, []string{"minutes.many"}},
		{"too hot", hold(221, 6), coating.CureOver, []string{"peak.high"}},
		{"too hot and still too short", hold(225, 2), coating.CureUnder, []string{"peak.high", "minutes.few"}},
		{"never at temperature", hold(170, 60), coating.CureUnder, []string{"minutes.few"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, err := coating.JudgeCure(tt.curve, window)
			if err != nil || c.Verdict != tt.verdict || !slices.Equal(c.Why, tt.why) {
				t.Errorf("%+v, %v; want %s %v", c, err, tt.verdict, tt.why)
			}
		})
	}
	c, err := coating.JudgeCure([]coating.Logged{{Minute: 0, C: 160}, {Minute: 4, C: 200}, {Minute: 8, C: 160}}, window)
	if err != nil || !near(c.AtTempMin, 4) || !near(c.ReachedMin, 2) || !c.Reached || c.PeakC != 200 {
		t.Errorf("a ridge over the window: %+v, %v; want 4 min from minute 2 (by hand)", c, err)
	}
}

// Time at temperature does not depend on how finely the log is cut, nor on what
// happens below the window; a hotter curve never cures less.
func TestJudgeCureProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var curve, finer, hotter []coating.Logged
		minute := 0.0
		for range rapid.IntRange(2, 8).Draw(t, "points") {
			p := coating.Logged{Minute: minute, C: rapid.Float64Range(100, 230).Draw(t, "temperature")}
			if n := len(curve); n > 0 {
				q := curve[n-1]
				finer = append(finer, coating.Logged{Minute: (p.Minute + q.Minute) / 2, C: (p.C + q.C) / 2})
			}
			curve, finer, hotter = append(curve, p), append(finer, p), append(hotter, coating.Logged{Minute: p.Minute, C: p.C + 3})
			minute += rapid.Float64Range(0.5, 10).Draw(t, "minutes")
		}
		a, err := coating.JudgeCure(curve, window)
		b, err2 := coating.JudgeCure(finer, window)
		c, err3 := coating.JudgeCure(hotter, window)
		if err != nil || err2 != nil || err3 != nil {
			t.Fatal(err, err2, err3)
		}
		if !near(a.AtTempMin, b.AtTempMin) || math.Abs(a.EquivalentMin-b.EquivalentMin) > 1e-4*max(1, a.EquivalentMin) {
			t.Fatalf("%+v; cut finer %+v", a, b)
		}
		if c.EquivalentMin < a.EquivalentMin-1e-9 || c.AtTempMin < a.AtTempMin-1e-9 {
			t.Fatalf("%+v; three degrees hotter %+v", a, c)
		}
	})
}

// Two points made from an activation energy give it back.
func TestActivationComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ea := rapid.Float64Range(20, 200).Draw(t, "Ea")
		t1, t2 := rapid.Float64Range(120, 180).Draw(t, "cool"), rapid.Float64Range(185, 240).Draw(t, "hot")
		minutes, err := coating.Equivalent(ea, t1, 20, t2)
		if err != nil {
			t.Fatal(err)
		}
		got, err := coating.Activation(t1, 20, t2, minutes)
		if err != nil || math.Abs(got-ea) > 1e-6*ea {
			t.Fatalf("Activation = %v, %v; want %v", got, err, ea)
		}
	})
}

func TestCoatingRefuses(t *testing.T) {
	field := func(err error) string {
		var f *m.Fault
		if errors.As(err, &f) {
			return f.What
		}
		return fmt.Sprint(err)
	}
	last := func(_ any, err error) error { return err }
	lim := coating.Limits{Lower: 50, HasLower: true}
	judged := func(v []float64) error { r, _ := coating.MeanAnd80(60); return last(r.Judge(v)) }
	cure := func(c []coating.Logged, change func(*coating.Window)) error {
		w := window
		change(&w)
		return last(coating.JudgeCure(c, w))
	}
	ok := []coating.Logged{{Minute: 0, C: 20}, {Minute: 1, C: 200}}
	same := func(*coating.Window) {}
	fig := func(v, sd float64) coating.Figure { return coating.Figure{Value: v, SD: sd} }
	tests := []struct {
		name string
		err  error
		want string
	}{
		{"weightless powder", last(coating.Coverage(0, 60, 1)), "sg"},
		{"film not a number", last(coating.Coverage(1.5, math.NaN(), 1)), "film_um"},
		{"utilisation above all", last(coating.Coverage(1.5, 60, 1.01)), "utilisation"},
		{"no film in mils", last(coating.CoverageUS(192.3, 1.5, 0, 1)), "film_mil"},
		{"no utilisation in US units", last(coating.CoverageUS(192.3, 1.5, 1, 0)), "utilisation"},
		{"a mixture of nothing", last(coating.MixSG(nil)), "parts"},
		{"a weightless ingredient", last(coating.MixSG([]coating.Ingredient{{MassKG: 1}})), "parts[0].sg"},
		{"a negative ingredient", last(coating.MixSG([]coating.Ingredient{{MassKG: -1, SG: 1}})), "parts[0].mass_kg"},
		{"a job without boxes", last(coating.PowderNeed(coating.Job{AreaM2: 1, FilmUM: 1, SG: 1, Utilisation: 1})), "box_kg"},
		{"a negative price", last(coating.PowderNeed(coating.Job{AreaM2: 1, FilmUM: 1, SG: 1, Utilisation: 1, BoxKG: 1, PriceKG: -1})), "price_kg"},
		{"more boxes than can be counted", last(coating.PowderNeed(coating.Job{AreaM2: 1e300, FilmUM: 1, SG: 1, Utilisation: 1, BoxKG: 1})), "box_kg"},
		{"no target film", last(coating.ExcessFilm(60, 0, 1, 1, 1, 1)), "target_um"},
		{"hopper did not lose", last(coating.WeighedTransfer(coating.Weighed{HopperBeforeG: 1, HopperAfterG: 1})), "hopper_after_g"},
		{"parts lost", last(coating.WeighedTransfer(coating.Weighed{HopperBeforeG: 2, HopperAfterG: 1, PartsBeforeG: 1})), "parts_after_g"},
		{"parts gained more", last(coating.WeighedTransfer(coating.Weighed{HopperBeforeG: 2, HopperAfterG: 1, PartsAfterG: 2})), "parts_after_g"},
		{"negative uncertainty", last(coating.WeighedTransfer(coating.Weighed{HopperBeforeG: 2, HopperSDG: -1})), "hopper_sd_g"},
		{"nothing sprayed", last(coating.MeasuredTransfer(coating.Measured{})), "sprayed_kg"},
		{"uncertainty not a number", last(coating.MeasuredTransfer(coating.Measured{SprayedKG: fig(1, math.NaN())})), "sprayed_kg_sd"},
		{"level 0", last(coating.AreaRule(0, 1, 2)), "level"},
		{"maximum below the minimum", last(coating.AreaRule(3, 2, 1)), "max_um"},
		{"floor above the minimum", last(coating.ReadingsRule("x", 20, 21, 0)), "floor_um"},
		{"all may lie below the floor", last(coating.ReadingsRule("x", 20, 17, 1)), "below_floor"},
		{"no minimum", last(coating.MeanAnd80(0)), "min_um"},
		{"no values", judged(nil), "values_um"},
		{"a value not a number", judged([]float64{1, math.NaN()}), "values_um[1]"},
		{"no surface", last(coating.SamplingFor(0)), "area_m2"},
		{"a surface beyond measuring", last(coating.SamplingFor(1e300)), "area_m2"},
		{"one value has no deviation", last(coating.Capable([]float64{1}, lim, 0.95)), "values_um"},
		{"values all the same", last(coating.Capable([]float64{60, 60, 60}, lim, 0.95)), "values_um"},
		{"a value infinite", last(coating.Capable([]float64{60, math.Inf(1)}, lim, 0.95)), "values_um[1]"},
		{"no limit at all", last(coating.Capable([]float64{60, 61}, coating.Limits{}, 0.95)), "min_um"},
		{"limits the wrong way round", last(coating.Capable([]float64{60, 61}, coating.Limits{Lower: 2, Upper: 1, HasLower: true, HasUpper: true}, 0.95)), "max_um"},
		{"certainty", last(coating.Capable([]float64{60, 61}, lim, 1)), "confidence"},
		{"one value in Indices", last(coating.Indices(1, 1, 1, lim, 0.9)), "n"},
		{"no spread", last(coating.Indices(5, 1, 0, lim, 0.9)), "sd_um"},
		{"a subgroup of one", last(coating.ChartFactors(1)), "n"},
		{"a subgroup too large", last(coating.ChartFactors(coating.SubgroupMax + 1)), "n"},
		{"a chart of one value", last(coating.IndividualsChart([]float64{1}, 1.128)), "values_um"},
		{"no d2", last(coating.IndividualsChart([]float64{1, 2}, 0)), "d2"},
		{"negative activation energy", last(coating.Equivalent(-1, 200, 10, 190)), "ea_kj_mol"},
		{"colder than any shop", last(coating.Equivalent(60, 200, 10, -51)), "temp_c"},
		{"the same temperature twice", last(coating.Activation(200, 10, 200, 20)), "temp2_c"},
		{"slower when hotter", last(coating.Activation(180, 10, 200, 20)), "minutes2"},
		{"one logged point", cure(ok[:1], same), "curve"},
		{"time runs backwards", cure([]coating.Logged{{Minute: 1, C: 20}, {Minute: 1, C: 30}}, same), "curve[1].minute"},
		{"hotter than any oven", cure([]coating.Logged{{Minute: 1, C: 20}, {Minute: 2, C: 601}}, same), "curve[1].temp_c"},
		{"clock from above the reference", cure(ok, func(w *coating.Window) { w.FromC = 201 }), "from_c"},
		{"most below least", cure(ok, func(w *coating.Window) { w.MaxMin = 5 }), "max_minutes"},
		{"peak below the reference", cure(ok, func(w *coating.Window) { w.PeakC = 199 }), "peak_c"},
		{"no least minutes", cure(ok, func(w *coating.Window) { w.MinMin = 0 }), "min_minutes"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := field(tt.err); got != tt.want {
				t.Errorf("error %v; want a fault of %s", tt.err, tt.want)
			}
		})
	}
}

func ExampleWeighedTransfer() {
	te, _ := coating.WeighedTransfer(coating.Weighed{HopperBeforeG: 5000, HopperAfterG: 4000, PartsBeforeG: 2000, PartsAfterG: 2600, HopperSDG: 10, PartsSDG: 3})
	fmt.Printf("%.1f %% ± %.1f %%\n", 100*te.Value, 100*te.SD)
	// Output: 60.0 % ± 0.9 %
}

func ExampleJudgeCure() {
	c, _ := coating.JudgeCure([]coating.Logged{{Minute: 0, C: 25}, {Minute: 8, C: 180}, {Minute: 10, C: 200}, {Minute: 22, C: 200}, {Minute: 26, C: 60}},
		coating.Window{RefC: 200, MinMin: 10, MaxMin: 20, FromC: 180, PeakC: 220, EaKJ: 60})
	fmt.Printf("%s: %.1f min at temperature, worth %.1f min at 200 °C\n", c.Verdict, c.AtTempMin, c.EquivalentMin)
	// By hand: ramps of 2.57 min between 180 and 200 °C count (1−e^−0.673)/0.673 = 0.728.
	// Output: pass: 14.6 min at temperature, worth 13.9 min at 200 °C
}

func ExampleRule_Judge() {
	r, _ := coating.AreaRule(3, 60, 90)
	v, _ := r.Judge([]float64{62, 58, 66, 71, 47})
	fmt.Printf("%s: accept %v, mean %.1f µm, %v\n", r.Standard, v.Accept, v.MeanUM, v.Why)
	// Output: SSPC-PA 2 level 3: accept false, mean 60.8 µm, [value.low]
}
