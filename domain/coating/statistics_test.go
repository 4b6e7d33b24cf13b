package coating_test

import (
	"math"
	"slices"
	"strconv"
	"testing"

	"hoppertally/domain/coating"
	"hoppertally/testdata/reference"
)

func dataset(t *testing.T, file string, rows int, name string) (list []float64) {
	t.Helper()
	for _, row := range reference.Rows(t, file, rows) {
		if name == "" || row["dataset"] == name {
			list = append(list, reference.Column(t, row, "value"))
		}
	}
	return list
}

func TestReferenceCapability(t *testing.T) {
	amps, cpcon := dataset(t, "capability-data.csv", 125, "amps"), dataset(t, "capability-data.csv", 125, "cpcon")
	both := func(lo, hi float64) coating.Limits {
		return coating.Limits{Lower: lo, Upper: hi, HasLower: true, HasUpper: true}
	}
	asserted := map[string]func(row map[string]string){
		"K1": func(row map[string]string) {
			c, err := coating.Capable(amps, both(4, 6), 0.9)
			if err != nil || c.N != 75 {
				t.Fatal(c, err)
			}
			for _, x := range []struct {
				what string
				got  float64
				want string
			}{{"mean", c.Mean, "4.809333"}, {"s", c.SD, "0.654928"}, {"Cp", c.Cp, "0.508962"}, {"Cpk", c.Cpk, "0.411920"},
				{"low", c.CpkLow, "0.327599"}, {"high", c.CpkHigh, "0.496241"}, {"low as published", c.CpkLow, "0.328"}, {"high as published", c.CpkHigh, "0.496"}} {
				says(t, row, x.what, x.got, x.want)
			}
		},
		"K2": func(row map[string]string) {
			c, err := coating.Capable(cpcon, both(0.8, 2.4), 0.95)
			if err != nil || c.N != 50 {
				t.Fatal(c, err)
			}
			says(t, row, "mean", c.Mean, "1.521200")
			says(t, row, "s", c.SD, "0.132951")
			says(t, row, "Cp", c.Cp, "2.005745")
			says(t, row, "Cpk", c.Cpk, "1.808179")
			// χ² at 2.5 % and 97.5 % with 49 degrees of freedom: 31.5549 and 70.2224 (tables, from memory)
			says(t, row, "low of Cp", c.CpLow, strconv.FormatFloat(2.005745*math.Sqrt(31.5549/49), 'f', 4, 64))
			says(t, row, "high of Cp", c.CpHigh, strconv.FormatFloat(2.005745*math.Sqrt(70.2224/49), 'f', 4, 64))
		},
		"K4": func(row map[string]string) {
			c, err := coating.Indices(30, 15.9, 0.1, both(15.8, 16.2), 0.95)
			if err != nil {
				t.Fatal(err)
			}
			says(t, row, "Cpk", c.Cpk, "0.33")
			says(t, row, "Cpk", c.Cpk, "0.3333")
		},
		"K5": func(row map[string]string) {
			values := numbers(row["inputs"])
			c, err := coating.IndividualsChart(values, 1.128)
			if err != nil || len(values) != 10 {
				t.Fatal(c, err)
			}
			says(t, row, "mean", c.Mean, "50.81")
			says(t, row, "mean moving range", c.MovingRange, "1.8778")
			says(t, row, "upper limit", c.Upper, "55.8041")
			says(t, row, "lower limit", c.Lower, "45.8159")
			says(t, row, "upper limit recomputed", c.Upper, "55.80409")
			says(t, row, "lower limit recomputed", c.Lower, "45.81591")
			f, err := coating.ChartFactors(2)
			if err != nil || !reference.Printed(f.D2, "1.128") {
				t.Errorf("%v: d2 of pairs %v, %v; want 1.128", row, f.D2, err)
			}
		},
		"K7": func(row map[string]string) {
			// The mean 9.26146 of these 195 values stands in no file here; from memory (NIST ZARR13).
			got, df := coating.TAgainst(9.261460, 0.02278881, 195, 5)
			if df != 194 || math.Abs(got-2611.2838) > 0.005 {
				t.Errorf("%v: t = %v with %d; want 2611.2838 with 194 (%s, %s)", row, got, df, row["source"], row["mark"])
			}
		},
	}
	for _, row := range reference.Rows(t, "capability-and-control-examples.csv", 5) {
		f, ok := asserted[row["id"]]
		if !ok {
			t.Fatalf("%v is not asserted", row)
		}
		f(row)
	}
}

// Printed factors are rounded from d2 and d3 that were rounded to three or four
// decimals before, so some are one unit off in their last figure; to seven decimals
// they are what stands here (own integration; d3 of 19 is 0.7335 in longer tables).
var roundedTwice = map[string]string{"3 D4": "2.5746", "18 D4": "1.6087", "19 D4": "1.5965", "19 d3": "0.7335", "19 D3": "0.4035"}

func TestReferenceChartFactors(t *testing.T) {
	for _, row := range reference.Rows(t, "control-chart-constants.csv", 19) {
		n, err := strconv.Atoi(row["n"])
		if err != nil {
			t.Fatal(err)
		}
		f, err := coating.ChartFactors(n)
		if err != nil {
			t.Fatal(err)
		}
		for column, got := range map[string]float64{"A2": f.A2, "A3": f.A3, "c4": f.C4, "B3": f.B3, "B4": f.B4, "B5": f.B5, "B6": f.B6,
			"d2": f.D2, "d3": f.D3Sigma, "D3": f.D3, "D4": f.D4} {
			if exact, ok := roundedTwice[row["n"]+" "+column]; ok {
				says(t, row, column+" to four decimals", got, exact)
				if want := reference.Column(t, row, column); math.Abs(got-want) > 0.001 {
					t.Errorf("%v: %s = %v; want %v to one unit of the last figure (%s)", row, column, got, want, row["mark"])
				}
				continue
			}
			says(t, row, column, got, row[column])
		}
	}
}

// Certified means and deviations, to the digits that the difficulty of the set
// leaves in float64.
func TestReferenceCertifiedStatistics(t *testing.T) {
	pairs := func(first, low, high float64) []float64 {
		return append([]float64{first}, slices.Repeat([]float64{low, high}, 500)...)
	}
	real := func(name string) []float64 { return dataset(t, "nist-strd-data.csv", 518, name) }
	sets := map[string][]float64{
		"Lottery": real("Lottery"), "Lew": real("Lew"), "Mavro": dataset(t, "nist-mavro.csv", 50, ""),
		"Michelso": real("Michelso"), "NumAcc1": {10000001, 10000003, 10000002}, "NumAcc2": pairs(1.2, 1.1, 1.3),
		"NumAcc3": pairs(1000000.2, 1000000.1, 1000000.3), "NumAcc4": pairs(10000000.2, 10000000.1, 10000000.3),
	}
	tolerance := map[string]float64{"lower": 1e-12, "average": 1e-9, "higher": 1e-8}
	for _, row := range reference.Rows(t, "nist-strd-univariate.csv", 9) {
		if row["dataset"] == "PiDigits" {
			continue // its data are not here, and π itself has a mean of 4.5358, not the certified 4.5348: see SOURCES.md
		}
		values := sets[row["dataset"]]
		if len(values) != int(reference.Column(t, row, "n")) {
			t.Errorf("%v: %d values here", row, len(values))
			continue
		}
		c, err := coating.Capable(values, coating.Limits{Upper: 1e9, HasUpper: true}, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		for column, got := range map[string]float64{"certified_mean": c.Mean, "certified_sd_n_minus_1": c.SD} {
			if want := reference.Column(t, row, column); math.Abs(got-want) > tolerance[row["difficulty"]]*math.Abs(want) {
				t.Errorf("%v: %s %.15g; want %.15g (NIST StRD, %s)", row, column, got, want, row["mark"])
			}
		}
	}
}
