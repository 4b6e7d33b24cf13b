package coating_test

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"hoppertally/domain/coating"
	"hoppertally/domain/internal/reference"
)

// says makes a failure carry the row's source and mark.
func says(t testing.TB, row reference.Row, what string, got float64, want string) {
	t.Helper()
	if !reference.Printed(got, want) {
		t.Errorf("%v: %s = %.9g; want %s (%s, %s)", row, what, got, want, row["source"], row["mark"])
	}
}

// numbers are those in a cell of prose, such as "85 67 71" or "0.8 mil (20 um)".
func numbers(text string) (list []float64) {
	for _, figure := range reference.Figures(text) {
		x, err := strconv.ParseFloat(figure, 64)
		if err != nil {
			panic("coating: a figure that is no number: " + figure)
		}
		list = append(list, x)
	}
	return list
}

func TestReferenceCoverage(t *testing.T) {
	halfway := func(f reference.Figure) bool { return f.Text == "80.12" } // 80.125, which rounds either way
	reference.Each(t, "coverage.csv", 132, reference.Any(halfway, reference.Columns("mark_of_192_3_column")), func(t testing.TB, row reference.Row) {
		sg, mil := reference.Column(t, row, "specific_gravity"), reference.Column(t, row, "film_mil")
		chart, err := coating.CoverageUS(coating.ChartFT2, sg, mil, 1)
		exact, err2 := coating.CoverageUS(coating.ExactFT2, sg, mil, 1)
		metric, err3 := coating.Coverage(sg, mil*25.4, 1)
		if err != nil || err2 != nil || err3 != nil {
			t.Fatal(err, err2, err3)
		}
		says(t, row, "ft²/lb by the chart's constant", chart, row["ft2_per_lb_const_192_3"])
		says(t, row, "ft²/lb", exact, row["ft2_per_lb_exact_const_192_2216"])
		says(t, row, "m²/kg", metric, row["m2_per_kg_exact"])
	})
	reference.Each(t, "coverage-metric.csv", 56, nil, func(t testing.TB, row reference.Row) {
		sg, um := reference.Column(t, row, "specific_gravity"), reference.Column(t, row, "film_um")
		metric, err := coating.Coverage(sg, um, 1)
		if err != nil {
			t.Fatal(err)
		}
		says(t, row, "m²/kg", metric, row["m2_per_kg"])
		says(t, row, "g/m²", coating.Deposit(sg, um), row["g_per_m2_deposited"])
	})
}

func TestReferenceWorkedExamples(t *testing.T) {
	// C2 reads "as C1 at 50 %".
	reference.Each(t, "coverage-worked-examples.csv", 7, reference.Columns("id"), func(t testing.TB, row reference.Row) {
		check, ok := workedExamples[row["id"]]
		if !ok {
			t.Fatalf("%v is not asserted", row)
		}
		check(t, row, numbers(row["inputs"]), reference.Figures(row["published_output"]), reference.Figures(row["recomputed"]))
	})
}

func coverageUS(t testing.TB, constant, sg, mil, share float64) float64 {
	t.Helper()
	x, err := coating.CoverageUS(constant, sg, mil, share)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// By id: the row, the numbers in its inputs, and the figures of its two results.
var workedExamples = map[string]func(t testing.TB, row reference.Row, in []float64, published, recomputed []string){
	"C1": func(t testing.TB, row reference.Row, in []float64, published, recomputed []string) {
		got := coverageUS(t, coating.ChartFT2, in[0], in[1], in[2]/100)
		says(t, row, "ft²/lb", got, published[0])
		for i, x := range []float64{coating.ChartFT2, in[0], in[1], got} { // 192.3/(1.6*2)=60.09375
			says(t, row, "recomputed", x, recomputed[i])
		}
	},
	"C2": func(t testing.TB, row reference.Row, in []float64, published, recomputed []string) {
		got := coverageUS(t, coating.ChartFT2, 1.6, 2, in[0]/100)
		says(t, row, "ft²/lb", got, published[0])
		says(t, row, "ft²/lb", got, recomputed[0])
	},
	"C4": theConstantThatIsOff,
	"C5": theConstantThatIsOff,
	"C7": func(t testing.TB, row reference.Row, in []float64, published, recomputed []string) {
		variant := numbers(row["recomputed"]) // 12000/62.37=192.40
		got := coverageUS(t, variant[0]/variant[1], in[0], in[1], in[2]/100)
		says(t, row, "ft²/lb", got, published[0])
		says(t, row, "ft²/lb", got, recomputed[2])
	},
	"C8": func(t testing.TB, row reference.Row, in []float64, _, recomputed []string) {
		need, err := coating.PowderNeed(coating.Job{AreaM2: in[0], SG: in[1], FilmUM: in[2], Utilisation: in[3], BoxKG: 20})
		if err != nil {
			t.Fatal(err)
		}
		says(t, row, "kg", need.UsedKG, recomputed[0])
	},
	"C10": func(t testing.TB, row reference.Row, in []float64, _, recomputed []string) {
		says(t, row, "$/ft²", in[0]/coverageUS(t, coating.ChartFT2, in[1], in[2], in[3]), recomputed[0])
		says(t, row, "the chart's constant", coating.ChartFT2, reference.Figures(row["inputs"])[4])
	},
}

// theConstantThatIsOff: C4 and C5 print what follows from 39.8 m²/kg, which is 1 % off;
// with 1000/25.4 it is what Coverage says.
func theConstantThatIsOff(t testing.TB, row reference.Row, in []float64, published, recomputed []string) {
	share := in[2] / 100
	theirs := in[3] / (in[0] * in[1]) * share
	says(t, row, "as they print it", theirs, published[0])
	for i, x := range []float64{in[3], theirs, 1000 / 25.4} { // with 39.8: 12.603; with 39.370: 12.467
		says(t, row, "recomputed", x, recomputed[i])
	}
	got, err := coating.Coverage(in[0], in[1]*25.4, share)
	if err != nil {
		t.Fatal(err)
	}
	says(t, row, "m²/kg", got, recomputed[3])
}

// judgeArea judges spots in mil by the area rule.
func judgeArea(t testing.TB, minMil, maxMil float64, spots []float64) (coating.Rule, coating.Verdict) {
	t.Helper()
	r, err := coating.AreaRule(3, minMil*25.4, maxMil*25.4)
	if err != nil {
		t.Fatal(err)
	}
	um := make([]float64, len(spots))
	for i := range spots {
		um[i] = spots[i] * 25.4
	}
	v, err := r.Judge(um)
	if err != nil {
		t.Fatal(err)
	}
	return r, v
}

func sampling(t testing.TB, ft2 float64) coating.Sampling {
	t.Helper()
	s, err := coating.SamplingFor(ft2 * coating.FT2)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// By id: the row, the numbers of its input, and the figures of its output.
var areaRules = map[string]func(t testing.TB, row reference.Row, in []float64, out []string){
	"P1": func(t testing.TB, row reference.Row, in []float64, out []string) {
		r, v := judgeArea(t, in[5], 0, in[:5])
		// area mean 2.64 (prints 2.6); lowest spot 2.1 >= 0.8*2.5=2.0
		for i, x := range []float64{v.MeanUM, v.MeanUM, v.LowUM, 25.4 * r.FloorUM / r.MinUM, r.MinUM, r.FloorUM} {
			says(t, row, "figure of the output", x/25.4, out[i])
		}
		verdict(t, row, v)
	},
	"P2": func(t testing.TB, row reference.Row, in []float64, out []string) {
		r, _ := judgeArea(t, in[0], in[1], []float64{10, 10, 10, 10, 10})
		says(t, row, "spot minimum", r.FloorUM/25.4, out[0])
		says(t, row, "spot maximum", r.CeilingUM/25.4, out[1])
	},
	"P4": func(t testing.TB, row reference.Row, in []float64, out []string) {
		n := numbers(row["output"]) // every 100 ft2 (10 m2) area: 5 spots x 3 readings
		for _, ft2 := range []float64{n[0] / 2, n[0], n[0] + 1, 2 * n[0], in[0]} {
			areas := math.Ceil(ft2 / n[0])
			if s := sampling(t, ft2); float64(s.Areas) != areas || float64(s.Spots) != n[2]*areas || float64(s.Readings) != n[2]*n[3]*areas {
				t.Errorf("%v: %v ft² gives %+v; want %v areas (%s, %s)", row, ft2, s, areas, row["source"], row["mark"])
			}
		}
		if n[1] != math.Round(n[0]*coating.FT2/10)*10 {
			t.Errorf("%v: %v ft² are not about %v m²", row, n[0], n[1])
		}
	},
	"P5": func(t testing.TB, row reference.Row, in []float64, out []string) {
		n := numbers(row["output"]) // 3 areas, 15 spots, 45 readings
		want := coating.Sampling{Areas: int64(n[0]), Spots: int64(n[1]), Readings: int64(n[2])}
		for _, ft2 := range []float64{in[0], in[0] + 1, 700, in[1]} {
			if s := sampling(t, ft2); s != want {
				t.Errorf("%v: %v ft² gives %+v (%s, %s)", row, ft2, s, row["source"], row["mark"])
			}
		}
		if in[0]/100 != n[0] || sampling(t, in[1]+1) == want {
			t.Errorf("%v: this is not where the counting changes (%s, %s)", row, row["source"], row["mark"])
		}
	},
	"P7": func(t testing.TB, row reference.Row, in []float64, out []string) {
		r, v := judgeArea(t, in[5], 0, in[:5])
		says(t, row, "mean", v.MeanUM/25.4, out[0])
		says(t, row, "minimum", r.MinUM/25.4, out[1])
		verdict(t, row, v)
	},
	"P8": func(t testing.TB, row reference.Row, in []float64, out []string) {
		r, v := judgeArea(t, in[5], in[6], in[:5])
		// mean 3.98 ok; 4.9 > 1.2*4.0=4.8
		for i, x := range []float64{v.MeanUM, 25.4 * slices.Max(in[:5]), 25.4 * r.CeilingUM / (25.4 * in[6]), 25.4 * in[6], r.CeilingUM} {
			says(t, row, "figure of the output", x/25.4, out[i])
		}
		if in[5] != 2.5 {
			t.Errorf("%v: the minimum is that of P7, 2.5 mil", row)
		}
		verdict(t, row, v)
	},
}

func TestReferenceAreaRule(t *testing.T) {
	// The column rule names the standard.
	reference.Each(t, "film-thickness-area-rule.csv", 6, reference.Columns("id", "rule"), func(t testing.TB, row reference.Row) {
		check, ok := areaRules[row["id"]]
		if !ok {
			t.Fatalf("%v is not asserted", row)
		}
		check(t, row, numbers(row["input"]), reference.Figures(row["output"]))
	})
}

func verdict(t testing.TB, row reference.Row, v coating.Verdict) {
	t.Helper()
	if v.Accept != (row["verdict"] == "accept") {
		t.Errorf("%v: judged %+v; want %s (%s, %s)", row, v, row["verdict"], row["source"], row["mark"])
	}
}

func TestReferenceMeanAnd80(t *testing.T) {
	reference.Each(t, "qualicoat-style-thickness.csv", 3, reference.Columns("case"), func(t testing.TB, row reference.Row) {
		r, err := coating.MeanAnd80(reference.Column(t, row, "spec_min_um"))
		if err != nil {
			t.Fatal(err)
		}
		v, err := r.Judge(numbers(row["measuring_area_values_um"]))
		if err != nil {
			t.Fatal(err)
		}
		says(t, row, "mean", v.MeanUM, row["mean"])
		says(t, row, "mean as printed", v.MeanUM, row["mean_as_printed"])
		says(t, row, "smallest", v.LowUM, row["min"])
		says(t, row, "80 % of the minimum", r.FloorUM, row["limit_80pct"])
		for _, x := range numbers(row["why"]) {
			if x != r.MinUM && x != r.FloorUM && x != v.LowUM {
				t.Errorf("%v: why %v? The limits are %v and %v, the smallest is %v (%s)", row, x, r.MinUM, r.FloorUM, v.LowUM, row["mark"])
			}
		}
		verdict(t, row, v)
	})
}

// Every specification of the table stands in Specs and decides at its own edges. Names of
// standards and grades hold figures of no meaning here; the slips of one sheet are named
// in its own rows.
func TestReferenceSpecs(t *testing.T) {
	slip := func(f reference.Figure) bool {
		return f.Row["standard"] == "AAMA 2604-10" && f.Column == "floor" && f.Nth == 3 || // prints 0.68 mil
			f.Row["standard"] == "AAMA 2605-11" && f.Column == "nominal_minimum" && f.Nth > 2 // prints 7.75 um / 0.4 mil
	}
	reference.Each(t, "film-thickness-specs.csv", 10, reference.Any(reference.Columns("standard", "grade"), slip), func(t testing.TB, row reference.Row) {
		if row["standard"] == "ISO 19840" {
			steel(t, row)
			return
		}
		i := slices.IndexFunc(coating.Specs(), func(s coating.Spec) bool { return s.Standard == row["standard"] && s.Grade == row["grade"] })
		if i < 0 {
			t.Fatalf("%v is not in Specs", row)
		}
		s := coating.Specs()[i]
		if s.Seen != strings.HasPrefix(row["mark"], "found") {
			t.Errorf("%v: Seen is %v", row, s.Seen)
		}
		films(t, row, s)
		if five := strings.Contains(row["floor"], "5 % of readings"); five != (s.BelowFloor == 0.05) {
			t.Errorf("%v: Specs lets %v below the floor", row, s.BelowFloor)
		}
		r, err := s.Rule()
		if err != nil {
			t.Fatal(err)
		}
		edges(t, row, s, r)
	})
}

// films holds every figure of a row's minimum and floor against s.
func films(t testing.TB, row reference.Row, s coating.Spec) {
	t.Helper()
	minimum, floor := numbers(row["nominal_minimum"]), numbers(row["floor"])
	um := func(mil float64) float64 { return 5 * math.Round(mil*25.4/5) } // the sheets round to 5 µm
	var want []bool
	switch row["standard"] {
	case "Qualicoat": // 60 um; no value below 48 um
		want = []bool{minimum[0] == s.MinUM, floor[0] == s.FloorUM}
	case "AAMA 2605-type clause": // 1.2 mil; at least 80 %; not more than 5 % of readings below 1.0 mil (25 um) or 85 %
		want = []bool{um(minimum[0]) == s.MinUM, floor[0]/100 == s.BelowFloor, um(floor[1]) == s.FloorUM, floor[2] == s.FloorUM, ofMinimum(floor[3], s), numbers(row["statistic"])[0] == 80}
	default: // 0.8 mil (20 um); 80 % of readings; 0.68 mil (17 um) or 85 % of specified
		want = []bool{um(minimum[0]) == s.MinUM, minimum[1] == s.MinUM, math.Abs(floor[0]*25.4-s.FloorUM) < 0.5, floor[1] == s.FloorUM, ofMinimum(floor[2], s), numbers(row["statistic"])[0] == 80}
	}
	if s.Standard == "AAMA 2605-11" {
		want = append(want, minimum[2] == 0.3) // of the primer, which is no film of its own here
	}
	if slices.Contains(want, false) {
		t.Errorf("%v: Specs has minimum %v, floor %v and %v below it: %v (%s, %s)", row, s.MinUM, s.FloorUM, s.BelowFloor, want, row["seen_in"], row["mark"])
	}
}

// ofMinimum tells whether the floor is so many percent of the minimum, to 0.5 µm.
func ofMinimum(percent float64, s coating.Spec) bool {
	return percent == 85 && math.Abs(s.MinUM*percent/100-s.FloorUM) <= 0.5
}

// edges: one value of twenty at the floor passes; one just below it fails unless the
// rule lets it; a film at the minimum passes.
func edges(t testing.TB, row reference.Row, s coating.Spec, r coating.Rule) {
	t.Helper()
	for _, c := range []struct {
		odd    float64
		accept bool
	}{{s.MinUM, true}, {s.FloorUM, true}, {s.FloorUM - 0.1, s.BelowFloor > 0}} {
		film := slices.Repeat([]float64{s.MinUM + 2}, 20)
		film[7] = c.odd
		if v, err := r.Judge(film); err != nil || v.Accept != c.accept {
			t.Errorf("%v: one reading of %v µm among twenty judged %+v, %v; want accept %v (%s, %s)", row, c.odd, v, err, c.accept, row["seen_in"], row["mark"])
		}
	}
}

// mean >= NDFT; every value >= 0.8 NDFT; values in 0.8 to 1.0 NDFT at most 20 % of readings
func steel(t testing.TB, row reference.Row) {
	t.Helper()
	const nominal = 100.0
	n := numbers(row["statistic"])
	low, share := n[0]*nominal, n[3]/100
	if n[1] != n[0] || n[2] != 1 || numbers(row["floor"])[0] != n[0] {
		t.Errorf("%v: the floor is named three times, and the nominal once", row)
	}
	r, err := coating.SteelRule(nominal, 300)
	if err != nil {
		t.Fatal(err)
	}
	film := func(below int, at float64) []float64 {
		return append(slices.Repeat([]float64{at}, below), slices.Repeat([]float64{nominal + 100}, 100-below)...)
	}
	most := int(100 * share)
	for _, c := range []struct {
		what   string
		film   []float64
		accept bool
	}{
		{"all at the nominal", []float64{nominal, nominal, nominal, nominal, nominal}, true},
		{"as many as may be at the floor", film(most, low), true},
		{"one more at the floor", film(most+1, low), false},
		{"one below the floor", film(1, low-0.1), false},
		{"mean below the nominal", []float64{low, nominal, nominal, nominal, nominal}, false},
		{"one above the agreed maximum", []float64{nominal, 301, nominal, nominal, nominal}, false},
	} {
		if v, err := r.Judge(c.film); err != nil || v.Accept != c.accept {
			t.Errorf("%v: %s judged %+v, %v (%s)", row, c.what, v, err, row["mark"])
		}
	}
}
