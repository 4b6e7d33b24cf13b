package reclaim_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"hoppertally/domain/reclaim"
)

// reference reads a file of published values as rows by column name. It fails if
// the file does not hold that many rows, so that none is dropped unnoticed.
func reference(t *testing.T, file string, rows int) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(all)-1 != rows {
		t.Fatalf("%s holds %d rows; want %d", file, len(all)-1, rows)
	}
	var list []map[string]string
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = line[i]
		}
		list = append(list, row)
	}
	return list
}

func number(t *testing.T, row map[string]string, name string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(row[name], 64)
	if err != nil {
		t.Fatalf("%s of %v: %v", name, row, err)
	}
	return x
}

// printed tells whether x is what a table with that text shows: within half a unit
// of its last figure (and the rounding of float64).
func printed(x float64, text string) bool {
	want, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return false
	}
	half := 0.5
	for i := len(text) - 1; i >= 0 && text[i] != '.'; i-- {
		if i == 0 {
			return x-want <= 0.5+1e-9 && want-x <= 0.5+1e-9 // no decimal point
		}
		half /= 10
	}
	return x-want <= half*(1+1e-6) && want-x <= half*(1+1e-6)
}

func TestReferenceSteadyState(t *testing.T) {
	for _, row := range reference(t, "utilisation-steady-state.csv", 47) {
		s, err := reclaim.SteadyState(reclaim.Booth{TE: number(t, row, "first_pass_TE"), Recovery: number(t, row, "recovery_R")}, 1)
		if err != nil {
			t.Fatal(err)
		}
		for column, got := range map[string]float64{
			"overall_utilisation": s.Utilisation, "reclaim_fraction_of_feed": s.Reclaim, "virgin_fraction_of_feed": s.Virgin,
			"mean_passes_of_sprayed_powder": s.MeanPasses, "loss_fraction_of_virgin": s.Loss,
		} {
			if !printed(got, row[column]) {
				t.Errorf("T %s, R %s: %s = %.8f; want %s (utilisation-steady-state.csv, %s)",
					row["first_pass_TE"], row["recovery_R"], column, got, row[column], row["mark"])
			}
		}
	}
}

func TestReferenceByPass(t *testing.T) {
	for _, row := range reference(t, "utilisation-by-pass.csv", 22) {
		b := reclaim.Booth{TE: number(t, row, "first_pass_TE"), Recovery: number(t, row, "recovery_R")}
		k := int(number(t, row, "pass_k"))
		s, err := reclaim.SteadyState(b, 1)
		if err != nil {
			t.Fatal(err)
		}
		for column, got := range map[string]float64{
			"cumulative_utilisation_after_k_passes": reclaim.AfterPasses(b, k), "share_of_steady_feed_on_its_kth_pass": s.OnPass(k),
		} {
			if !printed(got, row[column]) {
				t.Errorf("T %v, R %v, pass %d: %s = %.8f; want %s (utilisation-by-pass.csv, %s)", b.TE, b.Recovery, k, column, got, row[column], row["mark"])
			}
		}
	}
}
