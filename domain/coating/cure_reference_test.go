package coating_test

import (
	"math"
	"testing"

	"hoppertally/domain/coating"
	"hoppertally/domain/internal/reference"
)

// Where the reference temperature is that of the row, the activation energy plays no part.
func TestReferenceCureArrhenius(t *testing.T) {
	same := func(f reference.Figure) bool {
		return f.Column == "Ea_kJ_mol" && f.Row["temp_C"] == f.Row["ref_temp_C"]
	}
	reference.Each(t, "cure-arrhenius.csv", 22, same, func(t testing.TB, row reference.Row) {
		got, err := coating.Equivalent(reference.Column(t, row, "Ea_kJ_mol"), reference.Column(t, row, "ref_temp_C"), reference.Column(t, row, "ref_minutes"), reference.Column(t, row, "temp_C"))
		if err != nil {
			t.Fatal(err)
		}
		says(t, row, "minutes", got, row["equivalent_minutes"])
	})
}

// The schedules as published, °C and minutes at metal temperature. No rule of ours takes
// them over: each powder brings its own.
var schedules = map[string]string{
	"polyester-TGIC product data sheet, film 50-80 um":                             "200 10",
	"hybrid (indoor) type":                                                         "180 15",
	"polyester, workpiece temperature 190-200 C":                                   "195 10",
	"polyurethane, metal temperature, film 50-70 um":                               "200 12",
	"typical thermoset":                                                            "200 10",
	"supplier recommendation quoted in an expert column (400 F metal temperature)": "204.4 20",
	"US rule of thumb (400 F part metal temperature)":                              "204.4 10",
	"low-temperature polyester, common data-sheet pair":                            "160 20",
	"common data-sheet triple 180":                                                 "180 20",
	"common data-sheet triple 190":                                                 "190 15",
}

// A schedule kept to the second passes; a hundredth less is under, and what the
// schedule says itself at its own temperature is what it is worth.
func TestReferenceCureSchedules(t *testing.T) {
	reference.Each(t, "cure-schedules.csv", 10, reference.Columns("what"), func(t testing.TB, row reference.Row) {
		published, ok := schedules[row["what"]]
		if !ok {
			published = schedules[row["what"]+" "+row["part_temp_C"]]
		}
		if got := row["part_temp_C"] + " " + row["minutes_at_temp"]; got != published {
			t.Errorf("%v: %s; want %s (%s, %s)", row, got, published, row["source"], row["mark"])
		}
		c, minutes := reference.Column(t, row, "part_temp_C"), reference.Column(t, row, "minutes_at_temp")
		w := coating.Window{RefC: c, MinMin: minutes, MaxMin: 2 * minutes, FromC: c, PeakC: c + 20, EaKJ: 60}
		for held, want := range map[float64]string{minutes: coating.CurePass, minutes * 0.99: coating.CureUnder, minutes * 2.01: coating.CureOver} {
			got, err := coating.JudgeCure([]coating.Logged{{Minute: 0, C: 25}, {Minute: 5, C: c}, {Minute: 5 + held, C: c}, {Minute: 9 + held, C: 60}}, w)
			if err != nil || got.Verdict != want || math.Abs(got.AtTempMin-held) > 1e-9 || math.Abs(got.EquivalentMin-held) > 1e-9 {
				t.Errorf("%v: %v minutes judged %+v, %v; want %s (%s, %s)", row, held, got, err, want, row["source"], row["mark"])
			}
		}
	})
}
