package calc_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"hoppertally/domain/calc"
)

// What is not known is absent, never 0: nobody can tell such a 0 from a figure.
func TestWhatIsNotKnownIsAbsent(t *testing.T) {
	tests := []struct{ calc, in, absent string }{
		{"gun.advice", `{"symptom":"symptom.surging"}`, `"from"`},
		{"gun.advice", `{"symptom":"symptom.surging"}`, `"to"`},
		{"gun.advice", `{}`, `"extra_kpa":0`},
		{"gun.advice", `{}`, `"powder":0`},
		{"gun.output", `{"tests":[{"main_kpa":100,"mg_per_min":80000},{"main_kpa":200,"mg_per_min":170000}],"main_kpa":175}`, `"main_kpa"`},
		{"gun.output", `{"tests":[{"main_kpa":100,"mg_per_min":80000},{"main_kpa":200,"mg_per_min":170000}],"mg_per_min":100000}`, `"mg_per_min"`},
		{"gun.setup", `{"powder":"sky","setups":[{"setup":"soft"}],"uses":[]}`, `"latest"`},
		{"gun.setup", `{"powder":"sky","setups":[{"setup":"soft"}],"uses":[]}`, `"last_ms"`},
		{"stock.label", `{"text":"white 25","year":2026}`, `"net_mg"`},
		{"stock.label", `{"text":"white 25","year":2026}`, `"use_by"`},
		{"stock.reorder", `{"per_day_kg":0,"lead_days":9,"usable_mg":100000000,"box_mg":25000000}`, `"cover_days"`},
		{"stock.reorder", `{"per_day_kg":0,"lead_days":9,"usable_mg":100000000,"box_mg":25000000}`, `"size_kg"`},
		{"reconcile.run", strings.Replace(exampleOf(t, "reconcile.run"), `"lost":{"kg":0.4,"sd_kg":0.2},`, "", 1), `"off_kg"`},
	}
	for _, tt := range tests {
		out, err := calc.Run(tt.calc, []byte(tt.in))
		if err != nil || strings.Contains(string(out), tt.absent) {
			t.Errorf("%s with %s: %s, %v; want no %s", tt.calc, tt.in, out, err, tt.absent)
		}
	}
}

func exampleOf(t *testing.T, name string) string {
	t.Helper()
	c, err := calc.Find(name)
	if err != nil {
		t.Fatal(err)
	}
	return c.Example
}

type runFigures struct {
	Figures []struct {
		ID         string   `json:"id"`
		Measured   float64  `json:"measured"`
		Reconciled *float64 `json:"reconciled"`
		Why        string   `json:"why"`
	} `json:"figures"`
}

// A rate is a share where the masses are in kg: what was expected, and what the masses
// give once they add up. One that no run can have is marked.
func TestTheRatesOfARunAreShares(t *testing.T) {
	example := exampleOf(t, "reconcile.run")
	tests := []struct {
		name, in string
		notes    string // of te and recovery_rate
	}{
		{"the example", example, " "},
		{"more on parts than was sprayed", strings.Replace(example, `"on_parts":{"kg":9,"sd_kg":0.3}`, `"on_parts":{"kg":40,"sd_kg":0.01}`, 1), "figure.impossible rate.nothing_sprayed"},
		{"nothing sprayed", `{"charged":{"kg":5,"sd_kg":0.05},"recovered":{"kg":0,"sd_kg":0.05},"scrapped":{"kg":0,"sd_kg":0.05},"on_parts":{"kg":0,"sd_kg":0.05},` +
			`"left_over":{"kg":5,"sd_kg":0.05},"te":{"share":0.6,"sd":0.03},"recovery_rate":{"share":0.9,"sd":0.03}}`, "rate.nothing_sprayed rate.nothing_sprayed"},
	}
	for _, tt := range tests {
		out, err := calc.Run("reconcile.run", []byte(tt.in))
		var got runFigures
		if err != nil || json.Unmarshal(out, &got) != nil {
			t.Fatalf("%s: %s, %v", tt.name, out, err)
		}
		kg, notes := map[string]float64{}, []string{}
		for _, f := range got.Figures {
			rates := map[string][2]float64{
				"te":            {0.6, kg["on_parts"] / (kg["charged"] - kg["left_over"])},
				"recovery_rate": {0.9, kg["recovered"] / (kg["charged"] - kg["left_over"] - kg["on_parts"])},
			}
			want, isRate := rates[f.ID]
			if !isRate {
				kg[f.ID] = *f.Reconciled
				continue
			}
			notes = append(notes, f.Why)
			if f.Measured != want[0] || f.Reconciled != nil && math.Abs(*f.Reconciled-want[1]) > 1e-9 {
				t.Errorf("%s: %+v; want %v expected, %v by the reconciled masses", tt.name, f, want[0], want[1])
			}
		}
		if strings.Join(notes, " ") != tt.notes {
			t.Errorf("%s: notes %q; want %q: %s", tt.name, notes, tt.notes, out)
		}
	}
}
