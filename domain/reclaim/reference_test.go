package reclaim_test

import (
	"testing"

	"hoppertally/domain/internal/reference"
	"hoppertally/domain/reclaim"
)

func TestReferenceSteadyState(t *testing.T) {
	reference.Each(t, "utilisation-steady-state.csv", 47, nil, func(t testing.TB, row reference.Row) {
		s, err := reclaim.SteadyState(reclaim.Booth{TE: reference.Column(t, row, "first_pass_TE"), Recovery: reference.Column(t, row, "recovery_R")}, 1)
		if err != nil {
			t.Fatal(err)
		}
		for column, got := range map[string]float64{
			"overall_utilisation": s.Utilisation, "reclaim_fraction_of_feed": s.Reclaim, "virgin_fraction_of_feed": s.Virgin,
			"mean_passes_of_sprayed_powder": s.MeanPasses, "loss_fraction_of_virgin": s.Loss,
		} {
			if !reference.Printed(got, row[column]) {
				t.Errorf("T %s, R %s: %s = %.8f; want %s (utilisation-steady-state.csv, %s)",
					row["first_pass_TE"], row["recovery_R"], column, got, row[column], row["mark"])
			}
		}
	})
}

func TestReferenceByPass(t *testing.T) {
	halfway := func(f reference.Figure) bool { return f.Text == "0.956357" } // 0.9563575, which rounds either way
	reference.Each(t, "utilisation-by-pass.csv", 22, halfway, func(t testing.TB, row reference.Row) {
		b := reclaim.Booth{TE: reference.Column(t, row, "first_pass_TE"), Recovery: reference.Column(t, row, "recovery_R")}
		k := int(reference.Column(t, row, "pass_k"))
		s, err := reclaim.SteadyState(b, 1)
		if err != nil {
			t.Fatal(err)
		}
		for column, got := range map[string]float64{
			"cumulative_utilisation_after_k_passes": reclaim.AfterPasses(b, k), "share_of_steady_feed_on_its_kth_pass": s.OnPass(k),
		} {
			if !reference.Printed(got, row[column]) {
				t.Errorf("T %v, R %v, pass %d: %s = %.8f; want %s (utilisation-by-pass.csv, %s)", b.TE, b.Recovery, k, column, got, row[column], row["mark"])
			}
		}
	})
}
