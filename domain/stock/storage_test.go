package stock

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/measure"
	"hoppertally/testdata/reference"
)

// The limits that makers and coaters publish, row by row: a store kept at the
// highest temperature of a row costs nothing of the shelf life there, a store 10 °C
// warmer a day a day. What is said of humidity, cold and the dew point of the air
// is no rule of this package: only that it stands in the table is checked.
func TestPublishedStorageLimits(t *testing.T) {
	var warmest []measure.Temp
	for _, row := range reference.Table(t, "storage-limits.csv") {
		says := row["quantity"] + " " + row["high"] + " " + row["other"] + " (" + row["source"] + row["source_kind"] + ", " + row["mark"] + ")"
		switch row["quantity"] {
		case "temp_C", "temp_F":
			warmest = append(warmest, warmestOf(t, row["quantity"], row["high"]))
			keepsAt(t, says, warmest[len(warmest)-1])
		case "age_months":
			if got, err := UseBy("2026-01-15", int64(reference.Number(t, row["high"]))); err != nil || got != "2027-01-15" {
				t.Errorf("%s: good through %s, %v; want 2027-01-15", says, got, err)
			}
		case "dew_point_C":
			if high := strings.TrimPrefix(row["high"], "below "); reference.Number(t, high) != 3 {
				t.Errorf("%s: want 3", says)
			}
		default:
			t.Errorf("%s is not asserted", says)
		}
		if strings.Contains(row["other"], "clumps above") && !strings.Contains(row["other"], fmt.Sprintf("(clumps above %d)", RHMaxPM/10)) {
			t.Errorf("%s: powder is taken to clump above %d ‰", says, RHMaxPM)
		}
		if row["mark"] == "practice" && !strings.Contains(row["other"], "12 months at 25 C; 6 months for low-cure") {
			t.Errorf("%s: want the usual shelf lives of 12 and 6 months", says)
		}
	}
	if strictest := slices.Min(warmest); strictest != StoreMax {
		t.Errorf("the strictest published limit is %d tenths of °C; assumed %d", strictest, StoreMax)
	}
	if len(warmest) != 6 {
		t.Errorf("%d limits of temperature; want 6", len(warmest))
	}
}

// warmestOf reads "25 (35 absolute maximum; …)", "below 25", "27 (80 F)", "below 80".
func warmestOf(t *testing.T, quantity, high string) measure.Temp {
	t.Helper()
	figure, _, _ := strings.Cut(strings.TrimPrefix(high, "below "), " ")
	limit, err := measure.Style{Units: map[string]string{"temp_C": "metric", "temp_F": "us"}[quantity]}.ParseTemp(figure)
	if err != nil {
		t.Fatalf("%s %q: %v", quantity, high, err)
	}
	if limit < 250 || limit > 300 {
		t.Errorf("%s %q reads as %d tenths of °C; the published limits lie from 25 to 30 °C", quantity, high, limit)
	}
	return limit
}

func keepsAt(t *testing.T, says string, limit measure.Temp) {
	t.Helper()
	days := func(warmer measure.Temp) []RoomDay {
		return []RoomDay{{"2026-06-01", limit + warmer}, {"2026-06-02", limit + warmer}}
	}
	for warmer, lost := range map[measure.Temp]int64{0: 0, 100: 2} { // by hand: 2·(2^1−1)
		s, err := ShortenUseBy("2026-12-31", "2026-01-10", limit, days(warmer))
		if err != nil || s.LostDays != lost || s.Estimated != (lost > 0) {
			t.Errorf("%s: two days %d tenths of °C above: %+v, %v; want %d days lost", says, warmer, s, err, lost)
		}
	}
}
